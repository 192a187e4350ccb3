"""One question's run through the rules: an experta engine with a matcher and a strategy of its own.

Facts, fact list, agenda, activations and rules are experta's.  The matcher replaces RETE: every fact is
an attribute with its settled value, so one table look-up tells which conjunctions gain a literal, and a
counter tells when one is complete.  Nothing is shared between sessions but the compiled rules, which
nobody writes to.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Callable
from typing import Any

from advisor.inference.compile import CompiledRule, CompiledRules, Literal
from advisor.inference.experta_port import (
    AND,
    OR,
    Activation,
    Agenda,
    DepthStrategy,
    Fact,
    FactList,
    KnowledgeEngine,
    Matcher,
    P,
    ReteMatcher,
    Rule,
    Strategy,
)
from advisor.knowledge.model import Value


class Datum(Fact):  # type: ignore[misc]
    """An attribute with its settled value; None when it was settled as unknown."""

    def __init__(self, attribute: str, value: Value | None) -> None:
        # Written straight into the dict: experta would freeze and check values that are plain already.
        dict.__init__(self, attribute=attribute, value=value)


class DatumList(FactList):  # type: ignore[misc]
    """A fact list that knows its facts are data about distinct attributes."""

    def declare(self, fact: Datum) -> Datum:
        """Add one fact; the session declares each attribute once, so there is nothing to compare."""
        index = self.last_index
        dict.__setitem__(fact, "__factid__", index)
        self[index] = fact
        self.last_index = index + 1
        self.added.append(fact)
        return fact


class RuleActivation(Activation):  # type: ignore[misc]
    """A rule whose conditions hold, with its place in the firing order."""

    def __init__(self, rule: Rule, key: int) -> None:
        self.rule = rule
        self.key = key
        self.facts: set[Fact] = set()
        self.context: dict[str, Any] = {}

    def __lt__(self, other: Any) -> bool:
        return bool(self.key < other.key)


class SlotMatcher(Matcher):  # type: ignore[misc]
    """Counts, for every conjunction, the literals still missing."""

    def __init__(self, engine: Session) -> None:
        super().__init__(engine)
        self.reset()

    def reset(self) -> None:
        """Forget all facts."""
        compiled = self.engine.compiled
        self.missing = list(compiled.sizes)
        self.active: set[int] = set()
        # A rule without conditions would have a conjunction of no literals; the schema refuses it.

    def changes(
        self, adding: list[Datum] | None = None, deleting: list[Datum] | None = None
    ) -> tuple[list[RuleActivation], list[RuleActivation]]:
        """Take in new facts; return the activations they complete.  Facts are never withdrawn."""
        compiled = self.engine.compiled
        tables, owner, missing, active = compiled.tables, compiled.owner, self.missing, self.active
        rules = self.engine.rules
        added = []
        for fact in adding or ():
            table = tables.get(fact["attribute"])
            if table is None:
                continue
            for conjunction in table.gains(fact["value"]):
                left = missing[conjunction] - 1
                missing[conjunction] = left
                if not left:
                    position = owner[conjunction].position
                    if position not in active:
                        active.add(position)
                        added.append(RuleActivation(rules[position], -position))
        return added, []


class PositionStrategy(Strategy):  # type: ignore[misc]
    """Fires in the order of position; the agenda pops from its end."""

    def _update_agenda(self, agenda: Agenda, added: list[RuleActivation], removed: list[RuleActivation]) -> None:
        if len(added) == 1:
            insort(agenda.activations, added[0])
        elif added:
            agenda.activations.extend(added)
            agenda.activations.sort(key=_key)


def _key(activation: RuleActivation) -> int:
    return activation.key


class Session(KnowledgeEngine):  # type: ignore[misc]
    """A run of the rules over one question.

    Args:
        compiled: the compiled rules.
        rules: their experta rules, by position (see experta_rules).
    """

    __matcher__ = SlotMatcher
    __strategy__ = PositionStrategy

    def __init__(self, compiled: CompiledRules, rules: tuple[Rule, ...]) -> None:
        self.compiled = compiled
        self.rules = rules
        self.fired: list[CompiledRule] = []
        self.opinions: dict[str, list[CompiledRule]] = {}
        super().__init__()
        self.facts = DatumList()

    def get_rules(self) -> list[Rule]:
        """Return the rules; experta would look through every member of the engine for them."""
        return list(self.rules)

    def declare(self, *facts: Datum) -> None:
        """Declare data and update the agenda."""
        for fact in facts:
            self.facts.declare(fact)
        added, removed = self.get_activations()
        self.strategy.update_agenda(self.agenda, added, removed)

    def record(self, rule: CompiledRule) -> None:
        """Right-hand side of every rule: remember that it fired, and its opinion if it has one."""
        self.fired.append(rule)
        then = rule.rule.then
        if then.verb in ("conclude", "assume"):
            self.opinions.setdefault(then.subject, []).append(rule)

    def run_settling(self) -> None:
        """Fire the conclude and assume rules that are on the agenda."""
        end = -self.compiled.settling_end
        agenda = self.agenda.activations
        while agenda and agenda[-1].key > end:
            self.agenda.get_next().rule(self)

    def run(self, steps: float = float("inf")) -> None:
        """Fire everything on the agenda; rules declare no facts, so nothing new comes up meanwhile."""
        while steps > 0 and (activation := self.agenda.get_next()) is not None:
            steps -= 1
            activation.rule(self)


class ReteSession(Session):
    """The same rules under experta's own RETE matcher, agenda and run loop: slow, and a check on ours."""

    __matcher__ = ReteMatcher
    __strategy__ = DepthStrategy

    def __init__(self, compiled: CompiledRules, rules: tuple[Rule, ...]) -> None:
        super().__init__(compiled, rules)
        self.facts = FactList()

    def declare(self, *facts: Datum) -> None:
        """Declare data through experta's own checks."""
        for fact in facts:
            KnowledgeEngine.declare(self, fact)

    def record(self, rule: CompiledRule) -> None:
        """Remember a firing once; RETE activates a rule for each of its alternatives."""
        if rule not in self.fired:
            super().record(rule)

    def run_settling(self) -> None:
        """Fire everything that holds; later stages change no attribute, so firing them early is harmless."""
        KnowledgeEngine.run(self)

    def run(self, steps: float = float("inf")) -> None:
        """Run experta's loop."""
        KnowledgeEngine.run(self, steps)


def experta_rules(compiled: CompiledRules, *, with_patterns: bool = False) -> tuple[Rule, ...]:
    """Return the experta rule of every compiled rule, by position.

    Args:
        compiled: the compiled rules.
        with_patterns: write the conditions out as experta patterns, which only RETE reads.
    """
    built = []
    for one in compiled.rules:
        patterns = (OR(*(AND(*map(_pattern, c)) for c in one.conjunctions)),) if with_patterns else ()
        built.append(Rule(*patterns, salience=-one.position)(_right_hand_side(one)))
    return tuple(built)


def _pattern(literal: Literal) -> Datum:
    pattern = Datum(literal.condition.attribute, None)
    dict.__setitem__(pattern, "value", P(literal.true_for))
    return pattern


def _right_hand_side(rule: CompiledRule) -> Callable[..., None]:
    def fire(engine: Session, **_: Any) -> None:
        engine.record(rule)

    fire.__name__ = rule.rule.id
    return fire
