"""The rule language evaluated the plain way: three-valued logic on the conditions as written.

Nothing here shares code with advisor.inference but the data types.  Attributes are settled by asking for
them, one by one and backwards from the rules, so no order has to be worked out beforehand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from advisor.inference.reason import Computation
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Condition, Group, Rule
from advisor.knowledge.vocabulary import Value

Truth = bool | None
_NUMBER_TESTS: dict[str, Callable[[Any, Any], bool]] = {
    "at_least": lambda value, bound: not value < bound,
    "at_most": lambda value, bound: not value > bound,
    "above": lambda value, bound: bound < value,
    "below": lambda value, bound: bound > value,
    "between": lambda value, ends: not (value < ends[0] or value > ends[1]),
}


def truth(part: Condition | Group, look_up: Callable[[str], Value | None]) -> Truth:
    """Kleene's strong three-valued logic; None is "unknown"."""
    if isinstance(part, Condition):
        return _tested(part.operator, part.operand, look_up(part.attribute))
    found = [truth(inner, look_up) for inner in part.parts]
    if part.kind == "all":
        return False if False in found else None if None in found else True
    one_holds = True if True in found else None if None in found else False
    if part.kind == "any" or one_holds is None:
        return one_holds
    return not one_holds


def _tested(operator: str, operand: Any, value: Value | None) -> Truth:
    if operator in ("known", "unknown"):
        return (value is not None) == (operator == "known")
    if value is None:
        return None
    if operator in _NUMBER_TESTS:
        return _NUMBER_TESTS[operator](value, operand)
    wanted = set(operand) if operator in ("in", "not_in") else {operand}
    having = set(value) if isinstance(value, tuple) else {value}
    return bool(wanted & having) != (operator == "not_in")


@dataclass
class PlainAnswer:
    """What came out; the same words as Outcome, in sets where it has lists."""

    values: dict[str, Value] = field(default_factory=dict)
    origin: dict[str, str] = field(default_factory=dict)
    set_by: dict[str, set[str]] = field(default_factory=dict)
    fired: set[str] = field(default_factory=set)
    set_aside: set[str] = field(default_factory=set)
    overruled: set[str] = field(default_factory=set)
    conflicts: set[str] = field(default_factory=set)
    """Attributes on which opinions of equal rank disagree; they stay unsettled."""


class PlainEvaluator:
    """Answers one question at a time."""

    def __init__(
        self, kb: KnowledgeBase, computations: Iterable[Computation] = (), rules: Iterable[Rule] | None = None
    ) -> None:
        self.kb = kb
        self.rules = list(kb.active_rules if rules is None else rules)
        self.computing = {output: c for c in computations for output in c.outputs}

    def reason(self, given: Mapping[str, Value]) -> PlainAnswer:
        self.answer = PlainAnswer(dict(given), dict.fromkeys(given, "given"))
        self.given = given
        self.settled = set(given)
        for name in self.kb.attributes:
            self.look_up(name)
        answer = self.answer
        for rule in self.rules:
            if truth(rule.when, self.look_up) is True:
                answer.fired.add(rule.id)
                if answer.values.get("wish") in rule.unless_you_want:
                    answer.set_aside.add(rule.id)
                elif rule.then.verb in ("conclude", "assume") and rule.id not in answer.set_by.get(
                    rule.then.subject, ()
                ):
                    answer.overruled.add(rule.id)
        return answer

    def look_up(self, name: str) -> Value | None:
        if name not in self.settled:
            self.settled.add(name)
            self._compute(name)
            if name not in self.answer.values:
                self._conclude(name)
        return self.answer.values.get(name)

    def _compute(self, name: str) -> None:
        computation = self.computing.get(name)
        if computation is not None:
            inputs = {i: v for i in computation.inputs if (v := self.look_up(i)) is not None}
            finding = computation.run(inputs if computation.inputs else self.given).get(name)
            if finding is not None:
                self.answer.values[name], self.answer.origin[name] = finding.value, "computed"

    def _conclude(self, name: str) -> None:
        wish = self.look_up("wish") if name != "wish" else None
        opinions: list[tuple[tuple[int, int, int], Value, Rule]] = []
        for rule in self.rules:
            then = rule.then
            if then.verb in ("conclude", "assume") and then.subject == name and truth(rule.when, self.look_up) is True:
                value = self.look_up(then.same_as) if then.same_as else then.value
                if value is not None and wish not in rule.unless_you_want:
                    standing = (1 if then.verb == "conclude" else 0, rule.priority, _count(rule.when))
                    opinions.append((standing, value, rule))
        if not opinions:
            return
        highest = max(standing for standing, _, _ in opinions)
        chosen = {value for standing, value, _ in opinions if standing == highest}
        if len(chosen) > 1:
            self.answer.conflicts.add(name)
            return
        (value,) = chosen
        self.answer.values[name] = value
        self.answer.origin[name] = "concluded" if highest[0] else "assumed"
        self.answer.set_by[name] = {rule.id for _, v, rule in opinions if v == value}


def _count(part: Condition | Group) -> int:
    return 1 if isinstance(part, Condition) else sum(_count(inner) for inner in part.parts)
