"""One question's run through the rules: an experta engine with a matcher and a strategy of its own.

Facts, fact list, agenda, activations and rules are experta's.  The matcher replaces RETE: every fact is
an attribute with its settled value and knows which conjunctions that value leaves possible, so matching
is one AND a fact.  Nothing is shared between sessions but what compiling made, which nobody writes to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from operator import attrgetter
from typing import Any

from advisor.inference.compile import AttributeTable, CompiledRule, CompiledRules, Literal
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


class SettledDatum(Datum):
    """A datum with its number in the fact list and the conjunctions it leaves possible; never changed."""

    def __init__(self, attribute: str, value: Value | None, number: int, possible: int) -> None:
        dict.__init__(self, attribute=attribute, value=value, __factid__=number)
        self.possible = possible


@dataclass(frozen=True)
class DatumMaker:
    """Makes the facts about one attribute; those for words and for unknown are made once and shared.

    Attributes:
        number: fact number, the attribute's place among those that rules read.
    """

    attribute: str
    number: int
    table: AttributeTable
    ready_made: Mapping[str | None, SettledDatum]

    @staticmethod
    def build(attribute: str, number: int, table: AttributeTable) -> DatumMaker:
        """Prepare the facts about an attribute."""
        ready: dict[str | None, SettledDatum] = {
            word: SettledDatum(attribute, word, number, table.possible(word)) for word in (*table.by_word, None)
        }
        return DatumMaker(attribute, number, table, ready)

    def make(self, value: Value | None) -> SettledDatum:
        """Return the fact that the attribute was settled with a value, or as unknown."""
        if value is None or isinstance(value, str):
            found = self.ready_made.get(value)
            if found is not None:
                return found
        return SettledDatum(self.attribute, value, self.number, self.table.possible(value))


class RuleActivation(Activation):  # type: ignore[misc]
    """A rule whose conditions hold, with its place in the firing order; shared by all sessions."""

    facts: frozenset[Fact] = frozenset()

    def __init__(self, rule: Rule, position: int) -> None:
        self.rule = rule
        # The agenda fires from its end: the lowest position must stand last.
        self.key = -position
        self.context: dict[str, Any] = {}


@dataclass(frozen=True)
class RuleSet:
    """Compiled rules with their experta counterparts; shared by all sessions, never changed.

    Attributes:
        rules: experta rule of every compiled rule, by position.
        activations: activation of the rule of every conjunction.
        makers: attributes that rules read -> makers of their facts.
    """

    compiled: CompiledRules
    rules: tuple[Rule, ...]
    activations: tuple[RuleActivation, ...]
    makers: Mapping[str, DatumMaker]

    @staticmethod
    def build(compiled: CompiledRules, *, with_patterns: bool = False) -> RuleSet:
        """Make the experta rules.

        Args:
            compiled: the compiled rules.
            with_patterns: write the conditions out as experta patterns, which only RETE reads.
        """
        rules = tuple(_experta_rule(one, with_patterns) for one in compiled.rules)
        of_rule = [RuleActivation(rule, position) for position, rule in enumerate(rules)]
        read = [name for level in compiled.levels for name in level if name in compiled.tables]
        makers = {name: DatumMaker.build(name, i, compiled.tables[name]) for i, name in enumerate(read)}
        return RuleSet(compiled, rules, tuple(of_rule[one.position] for one in compiled.owner), makers)


class BitMatcher(Matcher):  # type: ignore[misc]
    """Keeps the conjunctions that all facts so far leave possible; takes the facts level by level."""

    def __init__(self, engine: Session) -> None:
        self.engine = engine
        self.reset()

    def reset(self) -> None:
        """Forget all facts."""
        self.possible = -1
        self.level = 0
        self.active: set[int] = set()

    def changes(
        self, adding: Iterable[SettledDatum] | None = None, deleting: Iterable[SettledDatum] | None = None
    ) -> tuple[list[RuleActivation], list[RuleActivation]]:
        """Take in the facts of the next level; return the activations they complete, in firing order.

        Facts are never withdrawn, so nothing is ever deactivated.
        """
        possible = self.possible
        for fact in adding or ():
            possible &= fact.possible
        self.possible = possible
        rule_set = self.engine.rule_set
        held = possible & rule_set.compiled.ready[self.level]
        self.level += 1
        activations, active, added = rule_set.activations, self.active, []
        while held:
            lowest = held & -held
            held ^= lowest
            activation = activations[lowest.bit_length() - 1]
            # A rule with several conjunctions fires for the first of them that holds.
            if activation.key not in active:
                active.add(activation.key)
                added.append(activation)
        return added, []

class PositionStrategy(Strategy):  # type: ignore[misc]
    """Fires in the order of position; the agenda pops from its end."""

    def update_agenda(
        self, agenda: Agenda, added: list[RuleActivation], removed: list[RuleActivation]
    ) -> None:
        """Put activations where they belong; experta's watchers are not asked."""
        if added:
            self._update_agenda(agenda, added, removed)

    def _update_agenda(
        self, agenda: Agenda, added: list[RuleActivation], removed: list[RuleActivation]
    ) -> None:
        agenda.activations.extend(reversed(added))
        agenda.activations.sort(key=_KEY)


_KEY = attrgetter("key")


class Session(KnowledgeEngine):  # type: ignore[misc]
    """A run of the rules over one question.

    Args:
        rule_set: the compiled rules.
    """

    __matcher__ = BitMatcher
    __strategy__ = PositionStrategy

    def __init__(self, rule_set: RuleSet) -> None:
        self.rule_set = rule_set
        self.fired: list[CompiledRule] = []
        self.opinions: dict[str, list[CompiledRule]] = {}
        super().__init__()

    def get_rules(self) -> list[Rule]:
        """Return the rules; experta would look through every member of the engine for them."""
        return list(self.rule_set.rules)

    def settle(self, names: Iterable[str], values: Mapping[str, Value]) -> None:
        """Declare the attributes of the next level and fire the conclude and assume rules that now hold.

        Args:
            names: attributes of the level that rules read.
            values: settled values; an attribute that is missing is settled as unknown.
        """
        makers, facts = self.rule_set.makers, self.facts
        for name in names:
            fact = makers[name].make(values.get(name))
            # Every attribute is settled once, so there is nothing to compare the fact with.
            facts[fact["__factid__"]] = fact
            facts.added.append(fact)
        added, removed = self.get_activations()
        self.strategy.update_agenda(self.agenda, added, removed)
        end = -self.rule_set.compiled.settling_end
        waiting = self.agenda.activations
        while waiting and waiting[-1].key > end:
            waiting.pop().rule(self)

    def run(self, steps: float = float("inf")) -> None:
        """Fire everything on the agenda; rules declare no facts, so nothing new comes up meanwhile."""
        while steps > 0 and (activation := self.agenda.get_next()) is not None:
            steps -= 1
            activation.rule(self)


class ReteSession(Session):
    """The same rules under experta's own RETE matcher, agenda and run loop: slow, and a check on ours."""

    __matcher__ = ReteMatcher
    __strategy__ = DepthStrategy

    def settle(self, names: Iterable[str], values: Mapping[str, Value]) -> None:
        """Declare data through experta's own checks and fire everything that holds.

        Later stages change no attribute, so firing them early is harmless.
        """
        for name in names:
            KnowledgeEngine.declare(self, Datum(name, values.get(name)))
        self.run()

    def run(self, steps: float = float("inf")) -> None:
        """Run experta's loop."""
        KnowledgeEngine.run(self, steps)


def _experta_rule(one: CompiledRule, with_patterns: bool) -> Rule:
    patterns = (OR(*(AND(*map(_pattern, c)) for c in one.conjunctions)),) if with_patterns else ()
    return Rule(*patterns, salience=-one.position)(_right_hand_side(one))


def _pattern(literal: Literal) -> Datum:
    pattern = Datum(literal.condition.attribute, None)
    dict.__setitem__(pattern, "value", P(literal.true_for))
    return pattern


def _right_hand_side(rule: CompiledRule) -> Callable[..., None]:
    """Return what a rule does: it is remembered as fired, and its opinion if it has one."""
    then = rule.rule.then

    def fire(engine: Session, **_: Any) -> None:
        engine.fired.append(rule)

    def conclude(engine: Session, **_: Any) -> None:
        engine.fired.append(rule)
        engine.opinions.setdefault(then.subject, []).append(rule)

    chosen = conclude if then.verb in ("conclude", "assume") else fire
    chosen.__name__ = rule.rule.id
    return chosen
