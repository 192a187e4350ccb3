"""One question's run through the rules: an experta engine with a matcher and a strategy of its own.

Facts, fact list, agenda, activations and rules are experta's.  The matcher replaces RETE: every fact is
an attribute with its settled value and knows which conjunctions that value leaves possible, so matching
is one AND a fact.  Nothing is shared between sessions but what compiling made, which nobody writes to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import reduce
from itertools import compress, pairwise
from operator import and_, attrgetter
from typing import Any, NamedTuple

from advisor.inference.compile import AttributeTable, CompiledRule, CompiledRules, Literal
from advisor.inference.experta_port import (
    AND,
    OR,
    Activation,
    Agenda,
    DepthStrategy,
    Fact,
    KnowledgeEngine,
    Matcher,
    P,
    ReteMatcher,
    Rule,
    Strategy,
)
from advisor.knowledge.vocabulary import Value

MOST_FACTS = 512
"""Facts kept about one attribute; beyond, they are made afresh."""
_ZERO_OR_ONE = bytes.maketrans(b"01", b"\x00\x01")
_KEY, _POSSIBLE = attrgetter("key"), attrgetter("possible")


class Datum(Fact):  # type: ignore[misc]
    """An attribute with its settled value; None when it was settled as unknown."""


class SettledDatum(Datum):
    """A datum with its number in the fact list and the conjunctions it leaves possible; never changed."""

    def __init__(self, attribute: str, value: Value | None, number: int, possible: int) -> None:
        # Written straight into the dict: experta would freeze and check values that are plain already.
        dict.__init__(self, attribute=attribute, value=value, __factid__=number)
        self.possible = possible


class DatumMaker(NamedTuple):
    """Makes the facts about one attribute; facts never change, so sessions share them.

    Attributes:
        number: fact number, the attribute's place among those that rules read.
        made: value, or None for unknown -> its fact, as far as made already.
    """

    attribute: str
    number: int
    made: dict[Value | None, SettledDatum]
    table: AttributeTable

    @staticmethod
    def build(attribute: str, number: int, table: AttributeTable) -> DatumMaker:
        """Prepare the facts about an attribute: all its words, and unknown."""
        maker = DatumMaker(attribute, number, {}, table)
        for word in (None, *table.by_word):
            maker.make(word)
        return maker

    def make(self, value: Value | None) -> SettledDatum:
        """Return the fact that the attribute was settled with a value, or as unknown."""
        fact = SettledDatum(self.attribute, value, self.number, self.table.possible(value))
        if len(self.made) >= MOST_FACTS:
            self.made.clear()
        self.made[value] = fact
        return fact


RightHandSide = Callable[["Session"], None]


class PlainRule(Rule):  # type: ignore[misc]
    """An experta rule that takes its right-hand side without inspecting its signature."""

    _wrapped: RightHandSide | None

    def __call__(self, *args: Any, **context: Any) -> Any:
        """Take the right-hand side the first time, as a decorator; run it afterwards."""
        if self._wrapped is not None:
            return self._wrapped(*args)
        (fire,) = args
        self._wrapped, self.__name__ = fire, fire.__name__
        return self


class RuleActivation(Activation):  # type: ignore[misc]
    """A rule whose conditions hold, with its place in the firing order; shared by all sessions.

    Attributes:
        fire: the rule's right-hand side; experta would sort out keyword arguments for it first.
    """

    facts: frozenset[Fact] = frozenset()
    __eq__ = object.__eq__
    __hash__ = object.__hash__

    def __init__(self, rule: Rule, fire: RightHandSide, position: int) -> None:
        self.rule, self.fire = rule, fire
        # The agenda fires from its end: the lowest position must stand last.
        self.key = -position
        self.context: dict[str, Any] = {}


@dataclass(frozen=True)
class RuleSet:
    """Compiled rules with their experta counterparts; shared by all sessions, never changed.

    Attributes:
        rules: experta rule of every compiled rule, by position.
        activations: for each level, the activations of its conjunctions' rules, last conjunction first.
        makers: attributes that rules read -> makers of their facts.
    """

    compiled: CompiledRules
    rules: tuple[Rule, ...]
    activations: tuple[tuple[RuleActivation, ...], ...]
    makers: Mapping[str, DatumMaker]

    @staticmethod
    def build(compiled: CompiledRules, *, with_patterns: bool = False) -> RuleSet:
        """Make the experta rules.

        Args:
            compiled: the compiled rules.
            with_patterns: write the conditions out as experta patterns, which only RETE reads.
        """
        rules, of_rule = [], []
        for one in compiled.rules:
            fire = _right_hand_side(one)
            patterns = (OR(*(AND(*map(_pattern, c)) for c in one.conjunctions)),) if with_patterns else ()
            rules.append(PlainRule(*patterns, salience=-one.position)(fire))
            of_rule.append(RuleActivation(rules[-1], fire, one.position))
        activations = tuple(
            tuple(of_rule[one.position] for one in reversed(compiled.owner[start:end]))
            for start, end in pairwise(compiled.starts)
        )
        read = [name for level in compiled.levels for name in level if name in compiled.tables]
        makers = {name: DatumMaker.build(name, i, compiled.tables[name]) for i, name in enumerate(read)}
        return RuleSet(compiled, tuple(rules), activations, makers)


class BitMatcher(Matcher):  # type: ignore[misc]
    """Keeps the conjunctions that all facts so far leave possible; takes the facts level by level."""

    def __init__(self, engine: Session) -> None:
        # A reference back to the engine would leave every session to the garbage collector.
        self.rule_set = engine.rule_set
        self.reset()

    def reset(self) -> None:
        """Forget all facts."""
        self.possible = -1
        self.level = 0
        self.active: set[RuleActivation] = set()

    def changes(
        self, adding: Iterable[SettledDatum] | None = None, deleting: Iterable[SettledDatum] | None = None
    ) -> tuple[list[RuleActivation], list[RuleActivation]]:
        """Take in the facts of the next level; return the activations they complete, first to fire last.

        Facts are never withdrawn, so nothing is ever deactivated.
        """
        rule_set = self.rule_set
        self.possible = possible = reduce(and_, map(_POSSIBLE, adding or ()), self.possible)
        start, end = rule_set.compiled.starts[self.level : self.level + 2]
        ready = rule_set.activations[self.level]
        self.level += 1
        held = possible >> start & (1 << end - start) - 1
        if not held:
            return [], []
        bits = f"{held:0{end - start}b}".encode().translate(_ZERO_OR_ONE)
        # A rule with several conjunctions fires for the first of them that holds.
        added = [a for a in dict.fromkeys(compress(ready, bits)) if a not in self.active]
        self.active.update(added)
        return added, []


class PositionStrategy(Strategy):  # type: ignore[misc]
    """Fires in the order of position; the agenda pops from its end."""

    def update_agenda(self, agenda: Agenda, added: list[RuleActivation], removed: list[RuleActivation]) -> None:
        """Put activations where they belong; experta's watchers are not asked."""
        if added:
            self._update_agenda(agenda, added, removed)

    def _update_agenda(self, agenda: Agenda, added: list[RuleActivation], removed: list[RuleActivation]) -> None:
        agenda.activations.extend(added)
        agenda.activations.sort(key=_KEY)


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

    def settle(self, makers: Iterable[DatumMaker], values: Mapping[str, Value]) -> None:
        """Declare the attributes of the next level and fire the conclude and assume rules that now hold.

        Args:
            makers: of the attributes of the level that rules read.
            values: settled values; an attribute that is missing is settled as unknown.
        """
        facts, adding = self.facts, []
        for maker in makers:
            attribute, number, made, _ = maker
            value = values.get(attribute)
            # Every attribute is settled once: there is no earlier fact to compare it with.
            facts[number] = fact = made.get(value) or maker.make(value)
            adding.append(fact)
        added, removed = self.matcher.changes(adding)
        self.strategy.update_agenda(self.agenda, added, removed)
        end, waiting = -self.rule_set.compiled.settling_end, self.agenda.activations
        while waiting and waiting[-1].key > end:
            waiting.pop().fire(self)

    def run(self, steps: float = float("inf")) -> None:
        """Fire everything on the agenda; rules declare no facts, so nothing new comes up meanwhile."""
        waiting = self.agenda.activations
        while waiting and steps > 0:
            steps -= 1
            waiting.pop().fire(self)


class ReteSession(Session):
    """The same rules under experta's own RETE matcher, agenda and run loop: slow, and a check on ours."""

    __matcher__ = ReteMatcher
    __strategy__ = DepthStrategy

    def settle(self, makers: Iterable[DatumMaker], values: Mapping[str, Value]) -> None:
        """Declare data through experta's own checks and fire everything that holds.

        Later stages change no attribute, so firing them early is harmless.
        """
        for maker in makers:
            value = values.get(maker.attribute)
            KnowledgeEngine.declare(self, Datum(attribute=maker.attribute, value=value))
        self.run()

    def run(self, steps: float = float("inf")) -> None:
        """Run experta's loop; RETE fires a rule for each of its alternatives, but it counts once."""
        KnowledgeEngine.run(self, steps)
        self.fired[:] = dict.fromkeys(self.fired)
        for opinions in self.opinions.values():
            opinions[:] = dict.fromkeys(opinions)


def _pattern(literal: Literal) -> Datum:
    return Datum(attribute=literal.condition.attribute, value=P(literal.true_for))


def _right_hand_side(rule: CompiledRule) -> RightHandSide:
    """Return what a rule does: it is remembered as fired, and its opinion if it has one."""
    then = rule.rule.then

    def fire(engine: Session) -> None:
        engine.fired.append(rule)

    def conclude(engine: Session) -> None:
        engine.fired.append(rule)
        engine.opinions.setdefault(then.subject, []).append(rule)

    chosen = conclude if then.verb in ("conclude", "assume") else fire
    chosen.__name__ = rule.rule.id
    return chosen
