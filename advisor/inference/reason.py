"""From given facts to settled attributes, fired rules and bands.

Attributes are settled in dependency order: what was given stands, else what a computation finds, else
what rules conclude, else what they assume.  Two opinions about one attribute are decided by priority,
then by number of conditions; a remaining tie on different values is an error that names every rule.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from advisor.errors import ConflictError
from advisor.inference.bands import Band, combine
from advisor.inference.compile import CompiledRule, CompiledRules, compile_rules
from advisor.inference.engine import RuleSet, Session
from advisor.knowledge.model import KnowledgeBase, Rule, Value


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
        inputs: attributes it reads; any of them may be unknown.
        outputs: attributes it may set.
        run: settled values -> findings; leaves out what it cannot tell.
    """

    name: str
    formula: str
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    run: Callable[[Mapping[str, Value]], Mapping[str, Finding]]


@dataclass(frozen=True)
class Level:
    """Attributes that depend only on those of earlier levels.

    Attributes:
        computations: run first; settled_by_rules: attributes on which rules may have opinions, decided
            next; read_by_rules: attributes declared as facts in the end.
    """

    computations: tuple[Computation, ...]
    settled_by_rules: tuple[str, ...]
    read_by_rules: tuple[str, ...]


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
        plan = [
            Level(
                tuple(c for c in computations if min(compiled.level_of[o] for o in c.outputs) == level),
                tuple(n for n in names if n in settable),
                tuple(n for n in names if n in compiled.tables),
            )
            for level, names in enumerate(compiled.levels)
        ]
        rule_set = RuleSet.build(compiled, with_patterns=session_type is not Session)
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
        values, opinions = outcome.values, session.opinions
        for level in self.plan:
            for computation in level.computations:
                self._compute(computation, outcome)
            for name in level.settled_by_rules:
                if name in opinions:
                    self._settle(name, opinions[name], outcome)
            session.settle(level.read_by_rules, values)
        session.run()
        outcome.fired = session.fired
        wish = values.get("wish")
        if wish is not None:
            outcome.set_aside = [c for c in session.fired if wish in c.rule.unless_you_want]
        return outcome

    @staticmethod
    def _compute(computation: Computation, outcome: Outcome) -> None:
        values = outcome.values
        for name, finding in computation.run(values).items():
            if name not in values:
                values[name] = finding.value
                outcome.origin[name] = "computed"
                outcome.findings[name] = (computation, finding)

    def _settle(self, name: str, opinions: list[CompiledRule], outcome: Outcome) -> None:
        values = outcome.values
        wish = values.get("wish")
        live = [o for o in opinions if wish is None or wish not in o.rule.unless_you_want]
        if name in values:
            outcome.overruled += [(o, f"you gave {name}, so nothing is assumed") for o in live]
            return
        if not live:
            return
        # A conclusion outranks an assumption; within one kind, priority and then conditions decide.
        ranked = sorted(live, key=lambda o: (o.rule.stage == "conclude", o.rule.rank), reverse=True)
        best = ranked[0].rule
        top = [o for o in ranked if (o.rule.stage, o.rule.rank) == (best.stage, best.rank)]
        wanted = {o.rule.id: self._opinion(o, values) for o in live}
        if len({wanted[o.rule.id] for o in top}) > 1:
            names = "; ".join(f"{o.rule.id} ({o.rule.place}) says {wanted[o.rule.id]}" for o in top)
            raise ConflictError(
                f"rules of equal rank disagree about '{name}': {names}",
                path=best.place.path, line=best.place.line, column=best.place.column,
                hint="give one of them a higher priority or a further condition",
            )  # fmt: skip
        value = wanted[best.id]
        if value is None:
            return
        values[name] = value
        outcome.origin[name] = "assumed" if best.stage == "assume" else "concluded"
        outcome.set_by[name] = tuple(o.rule.id for o in ranked if wanted[o.rule.id] == value)
        for loser in ranked:
            if wanted[loser.rule.id] != value:
                outcome.overruled.append((loser, f"{best.id} decides {name} ({_why_outranked(best, loser.rule)})"))

    @staticmethod
    def _opinion(one: CompiledRule, values: Mapping[str, Value]) -> Value | None:
        then = one.rule.then
        return values.get(then.same_as) if then.same_as else then.value


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
