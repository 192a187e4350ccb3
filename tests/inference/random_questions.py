"""Random questions: such as people ask, and such as sit on the edges of the conditions."""

from __future__ import annotations

import math
from collections.abc import Iterable
from random import Random

from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Rule
from advisor.knowledge.vocabulary import NUMBER_TYPES, Attribute, Value

COMPOSITIONS = ("C 0.95, Cr 17, Mo 0.5", "C 1.2, Cr 0.5, W 1", "C 2.2, Cr 13, V 4, Mo 1")
"""Made up; any will do."""


def thresholds(rules: Iterable[Rule]) -> dict[str, list[float]]:
    """Return the numbers that conditions compare an attribute with."""
    found: dict[str, set[float]] = {}
    for rule in rules:
        for condition in rule.conditions:
            operand = condition.operand
            for number in operand if isinstance(operand, tuple) else (operand,):
                if isinstance(number, float):
                    found.setdefault(condition.attribute, set()).add(number)
    return {name: sorted(numbers) for name, numbers in found.items()}


def as_asked(kb: KnowledgeBase, edges: dict[str, list[float]], rng: Random) -> dict[str, Value]:
    """Return asked attributes only, as parse_question hands them on."""
    given: dict[str, Value] = {}
    if rng.random() < 0.85:
        given["grade"] = rng.choice(list(kb.grades))
    elif rng.random() < 0.7:
        given["composition"] = rng.choice(COMPOSITIONS)
    for attribute in kb.asked:
        likely = 0.6 if attribute.section in ("steel", "work") else 0.35
        if attribute.type not in ("grade", "composition") and rng.random() < likely:
            given[attribute.name] = _value(attribute, edges.get(attribute.name, []), rng)
    if "grade" in given:
        given.pop("process", None)
    return given


def on_edges(kb: KnowledgeBase, edges: dict[str, list[float]], rng: Random) -> dict[str, Value]:
    """Return any attributes at all, numbers at a threshold or a hair beside it."""
    likely = rng.choice((0.3, 0.7, 0.95))
    concluded = rng.random() < 0.3
    return {
        a.name: _value(a, edges.get(a.name, []), rng, on_edge=0.85)
        for a in kb.attributes.values()
        if (a.origin != "concluded" or concluded) and rng.random() < likely
    }


def _value(attribute: Attribute, edges: list[float], rng: Random, on_edge: float = 0.4) -> Value:
    if attribute.type == "choice":
        return rng.choice(attribute.words)
    if attribute.type == "choices":
        return tuple(rng.sample(attribute.words, rng.randint(1, 3)))
    if attribute.type in NUMBER_TYPES:
        if edges and rng.random() < on_edge:
            edge = rng.choice(edges)
            return rng.choice(
                (
                    edge,
                    math.nextafter(edge, -math.inf),
                    math.nextafter(edge, math.inf),
                    edge - 0.01,
                    edge + 0.01,
                )
            )
        low, high = attribute.range or (0.0, 100.0)
        return round(rng.uniform(low, high), 3)
    return "40 µm, 20 µm, 9 µm" if attribute.type == "grains" else "given"
