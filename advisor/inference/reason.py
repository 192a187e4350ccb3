"""From given facts to settled attributes, fired rules and bands.

Attributes are settled in dependency order: what was given stands, else what a computation finds, else
what rules conclude, else what they assume.  Two opinions about one attribute are decided by priority,
then by number of conditions; a remaining tie on different values is an error that names every rule.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from operator import itemgetter

from advisor.errors import ConflictError
from advisor.inference.bands import Band, combine
from advisor.inference.compile import CompiledRule, CompiledRules, compile_rules
from advisor.inference.engine import DatumMaker, RuleSet, Session
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Rule
from advisor.knowledge.vocabulary import Value


@dataclass(frozen=True)
class Finding:
    """A computed value, and how far to trust it."""

    value: Value
    error: float | None = None
    basis: str = "computed"
    note: str = ""


@dataclass(frozen=True)
class Computation:
    """A formula that settles attributes from others.

    Attributes:
        name: shown in the trace.
        formula: the formula or its source, one line.
        inputs: attributes it reads, and the only ones; any of them may be unknown.  A computation
            without inputs is about the question itself and sees what was given.
        outputs: attributes it may set.
        run: settled values -> findings; leaves out what it cannot tell.
    """

    name: str
    formula: str
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    run: Callable[[Mapping[str, Value]], Mapping[str, Finding]]


Found = tuple[str, Value, tuple[Computation, Finding]]
MOST_REMEMBERED = 1024
"""Sets of inputs a computation remembers the findings for; beyond, it starts afresh."""


class Memory:
    """A computation with the inputs it has met; the same inputs give the same findings.

    Shared by threads: at worst two of them compute the same thing at the same time.
    """

    def __init__(self, computation: Computation) -> None:
        self.computation = computation
        self._inputs = computation.inputs
        self._known: dict[tuple[Value | None, ...], Sequence[Found]] = {}

    def found(self, values: Mapping[str, Value]) -> Sequence[Found]:
        """Return attribute, value and where it comes from, for everything the computation can tell."""
        key = tuple([values.get(name) for name in self._inputs])
        known = self._known.get(key) if key else None
        if known is None:
            findings = self.computation.run(values)
            known = [(name, f.value, (self.computation, f)) for name, f in findings.items()]
            if len(self._known) >= MOST_REMEMBERED:
                self._known.clear()
            self._known[key] = known
        return known


@dataclass(frozen=True)
class Level:
    """Attributes that depend only on those of earlier levels.

    Attributes:
        computations: run first; settled_by_rules: attributes on which rules may have opinions, decided
            next; makers: make the facts about the attributes that rules read, declared in the end.
    """

    computations: tuple[Memory, ...]
    settled_by_rules: tuple[str, ...]
    makers: tuple[DatumMaker, ...]


@dataclass(frozen=True)
class Reasoner:
    """The rules of one knowledge base, compiled; shared by all questions and threads.

    Attributes:
        plan: for each level, what happens there.
    """

    kb: KnowledgeBase
    compiled: CompiledRules
    rule_set: RuleSet
    plan: tuple[Level, ...]
    session_type: type[Session] = Session

    @staticmethod
    def build(
        kb: KnowledgeBase,
        computations: Sequence[Computation] = (),
        *,
        rules: Iterable[Rule] | None = None,
        session_type: type[Session] = Session,
    ) -> Reasoner:
        """Compile a knowledge base.

        Args:
            kb: the knowledge base.
            computations: the formulas that settle computed attributes.
            rules: other rules than the knowledge base's active ones, for tests and what-if.
            session_type: the engine to run; ReteSession for experta's own matcher.
        """
        feeds = {out: c.inputs for c in computations for out in c.outputs}
        compiled = compile_rules(kb.active_rules if rules is None else rules, kb.attributes, feeds)
        settable = {c.rule.then.subject for c in compiled.rules if c.rule.then.verb in ("conclude", "assume")}
        rule_set = RuleSet.build(compiled, with_patterns=session_type is not Session)
        memories = [(min(compiled.level_of[o] for o in c.outputs), Memory(c)) for c in computations]
        plan = [
            Level(
                tuple(memory for at, memory in memories if at == level),
                tuple(n for n in names if n in settable),
                tuple(rule_set.makers[n] for n in names if n in rule_set.makers),
            )
            for level, names in enumerate(compiled.levels)
        ]
        return Reasoner(kb, compiled, rule_set, tuple(plan), session_type)

    def reason(self, given: Mapping[str, Value]) -> Outcome:
        """Run the rules over one question.

        Args:
            given: attribute -> value, already checked against the vocabulary.

        Raises:
            ConflictError: rules of equal rank disagree about an attribute.
        """
        session = self.session_type(self.rule_set)
        outcome = Outcome(self.kb, values=dict(given), origin=dict.fromkeys(given, "given"))
        values, origin, opinions = outcome.values, outcome.origin, session.opinions
        for level in self.plan:
            for memory in level.computations:
                for name, value, finding in memory.found(values):
                    if name not in values:
                        values[name] = value
                        origin[name] = "computed"
                        outcome.findings[name] = finding
            for name in level.settled_by_rules:
                if name in opinions:
                    self._settle(name, opinions[name], outcome)
            session.settle(level.makers, values)
        session.run()
        outcome.fired = session.fired
        wish = values.get("wish")
        if wish is not None:
            outcome.set_aside = [c for c in session.fired if wish in c.rule.unless_you_want]
        return outcome

    def _settle(self, name: str, opinions: list[CompiledRule], outcome: Outcome) -> None:
        values = outcome.values
        wish = values.get("wish")
        live = opinions if wish is None else [o for o in opinions if wish not in o.rule.unless_you_want]
        if name in values:
            outcome.overruled += [(o, f"you gave {name}, so nothing is assumed") for o in live]
            return
        if len(live) == 1 and (value := self._opinion(live[0], values)) is not None:
            _set(name, value, (live[0].rule,), outcome)
            return
        opinions_held = []
        for one in live:
            value = self._opinion(one, values)
            if value is None:
                outcome.overruled.append((one, f"{one.rule.then.same_as} is not known"))
            else:
                opinions_held.append((one.standing, value, one))
        if opinions_held:
            _decide(name, sorted(opinions_held, key=_STANDING, reverse=True), outcome)

    @staticmethod
    def _opinion(one: CompiledRule, values: Mapping[str, Value]) -> Value | None:
        then = one.rule.then
        return values.get(then.same_as) if then.same_as else then.value


_STANDING = itemgetter(0)
Opinion = tuple[tuple[bool, int, int], Value, CompiledRule]


def _decide(name: str, ranked: Sequence[Opinion], outcome: Outcome) -> None:
    """Let the highest-ranking opinion settle an attribute.

    A conclusion outranks an assumption; within one kind, priority and then conditions decide.
    """
    highest, value, best = ranked[0]
    agreeing = []
    for standing, other, one in ranked:
        if other == value:
            agreeing.append(one.rule)
        elif standing == highest:
            raise _conflict(name, [(o.rule, v) for s, v, o in ranked if s == highest])
        else:
            why = _why_outranked(best.rule, one.rule)
            outcome.overruled.append((one, f"{best.rule.id} decides {name} ({why})"))
    _set(name, value, agreeing, outcome)


def _set(name: str, value: Value, by: Sequence[Rule], outcome: Outcome) -> None:
    outcome.values[name] = value
    outcome.origin[name] = "assumed" if by[0].then.verb == "assume" else "concluded"
    outcome.set_by[name] = tuple([rule.id for rule in by])


def _conflict(name: str, tied: Sequence[tuple[Rule, Value]]) -> ConflictError:
    place = tied[0][0].place
    says = "; ".join(f"{rule.id} ({rule.place}) says {value}" for rule, value in tied)
    return ConflictError(
        f"rules of equal rank disagree about '{name}': {says}",
        path=place.path, line=place.line, column=place.column,
        hint="give one of them a higher priority or a further condition",
    )  # fmt: skip


def _why_outranked(best: Rule, loser: Rule) -> str:
    if best.stage != loser.stage:
        return "a conclusion stands above an assumption"
    if best.priority != loser.priority:
        return "higher priority"
    return "more conditions"


@dataclass
class Outcome:
    """What one run found.

    Attributes:
        values: settled attributes; those settled as unknown are missing.
        origin: attribute -> given, computed, concluded or assumed.
        set_by: attribute -> rules that set it, deciding one first.
        findings: computed attribute -> computation and finding.
        fired: rules whose conditions held, in firing order.
        set_aside: fired rules that the wish sets aside.
        overruled: fired rules whose opinion lost, and why.
    """

    kb: KnowledgeBase
    values: dict[str, Value]
    origin: dict[str, str]
    set_by: dict[str, tuple[str, ...]] = field(default_factory=dict)
    findings: dict[str, tuple[Computation, Finding]] = field(default_factory=dict)
    fired: list[CompiledRule] = field(default_factory=list)
    set_aside: list[CompiledRule] = field(default_factory=list)
    overruled: list[tuple[CompiledRule, str]] = field(default_factory=list)

    @cached_property
    def effective(self) -> tuple[Rule, ...]:
        """The fired rules that count: not set aside by the wish."""
        aside = {c.rule.id for c in self.set_aside}
        return tuple(c.rule for c in self.fired if c.rule.id not in aside)

    @cached_property
    def bands(self) -> dict[str, Band]:
        """The band of every target that some rule favours or limits."""
        return combine(self.effective, self.kb.targets, self.kb.strengths)

    @cached_property
    def assumed(self) -> dict[str, str]:
        """Assumed attribute -> deciding rule."""
        return {n: self.set_by[n][0] for n, o in self.origin.items() if o == "assumed"}
