"""A tiny vocabulary and rules for it, to build exactly the case a test is about."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Conclusion, Condition, Group, Place, Rule
from advisor.knowledge.vocabulary import Attribute, Choice, Target, Value

LINEAR = Target("angle", "Angle", "degrees", "linear", (5, 35), 1, "lower", "below", "above", 0.5)
LOG = Target("finish", "Finish", "µm", "log", (0.05, 150), 1.5, "lower", "finer", "coarser")
TARGETS = {"angle": LINEAR, "finish": LOG}
WEIGHTS = {"weak": 1.0, "moderate": 2.0, "strong": 4.0}


def words(name: str, *values: str, origin: str = "asked") -> Attribute:
    return Attribute(name, name, "choice", origin, values=tuple(Choice(v, v) for v in values))


def number(name: str, origin: str = "asked") -> Attribute:
    return Attribute(name, name, "number", origin, range=(0.0, 100.0))


ATTRIBUTES = {
    a.name: a
    for a in (
        words("wish", "bite", "shine"),
        words("colour", "red", "green", "blue"),
        number("size"),
        number("weight"),
        Attribute("marks", "marks", "choices", "asked", values=tuple(Choice(v, v) for v in "abc")),
        words("kind", "x", "y", "z", origin="concluded"),
        words("other", "x", "y", "z", origin="concluded"),
    )
}


def asks(attribute: str, operator: str, operand: Any = True) -> Condition:
    return Condition(attribute, operator, operand)


def all_of(*parts: Condition | Group) -> Group:
    return Group("all", parts)


def rule(name: str, when: Condition | Group, then: Conclusion, line: int = 1, **more: Any) -> Rule:
    group = when if isinstance(when, Group) else all_of(when)
    return Rule(
        id=name, title=name, status="accepted", topic="t", when=group, then=then, because="b",
        does_not_apply_when="d", basis="memory", sources=(), fires_in=(), quiet_in=(),
        place=Place("rules/t/t.yaml", line), **more,
    )  # fmt: skip


def conclude(attribute: str, value: Value) -> Conclusion:
    return Conclusion("conclude", attribute, value=value)


def favour(target: str, low: float, high: float, strength: str = "moderate") -> Conclusion:
    return Conclusion("favour", target, low=low, high=high, strength=strength)


def limit(target: str, low: float | None = None, high: float | None = None, firm: bool = False) -> Conclusion:
    return Conclusion("limit", target, low=low, high=high, firm=firm)


def tiny(kb: KnowledgeBase, *rules: Rule) -> KnowledgeBase:
    """Return a knowledge base of these rules over the tiny vocabulary."""
    return replace(kb, attributes=ATTRIBUTES, targets=TARGETS, strengths=WEIGHTS, rules=rules)
