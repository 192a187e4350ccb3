"""Reason about conditions without asking: what can hold together, what must hold, what implies what.

Every attribute is reduced to a finite set of values that its conditions can tell apart: all its words, or
for a number every threshold, a number between each two, and one beyond each end within its range; and
"not known".  Over these the answers are exact, as far as attributes are independent of each other; what
the computations tie together is left to questions that are really asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from advisor.inference.compile import Literal, conjunctions
from advisor.knowledge.rule import Rule
from advisor.knowledge.vocabulary import NUMBER_TYPES, Attribute, Value

Conjunction = tuple[Literal, ...]
Domains = dict[str, tuple[Value | None, ...]]
OTHER = "(any)"
"""Stands for a value of an attribute that can only be known or unknown."""


def domain(attribute: Attribute, literals: Iterable[Literal]) -> tuple[Value | None, ...]:
    """Return the values of an attribute that the literals can tell apart; None is "not known"."""
    if attribute.type in NUMBER_TYPES:
        numbers: set[float] = set()
        for literal in literals:
            operand = literal.condition.operand
            if literal.condition.operator not in ("known", "unknown"):
                numbers |= set(operand) if isinstance(operand, tuple) else {operand}
        low, high = attribute.range or (-math.inf, math.inf)
        cuts = sorted(numbers)
        between = [(a + b) / 2 for a, b in pairwise(cuts)]
        ends = (
            [low if math.isfinite(low) else cuts[0] - 1, high if math.isfinite(high) else cuts[-1] + 1]
            if cuts
            else [low]
        )
        return (*sorted({v for v in (*cuts, *between, *ends) if low <= v <= high}), None)
    if attribute.type == "choices":
        words = attribute.words
        return (*((w,) for w in words), *((a, b) for i, a in enumerate(words) for b in words[i + 1 :]), None)
    return (*(attribute.words or (OTHER,)), None)


def domains(attributes: Mapping[str, Attribute], conjs: Iterable[Conjunction]) -> Domains:
    """Return the domain of every attribute that the conjunctions test."""
    tests: dict[str, list[Literal]] = {}
    for conjunction in conjs:
        for literal in conjunction:
            tests.setdefault(literal.condition.attribute, []).append(literal)
    return {name: domain(attributes[name], literals) for name, literals in tests.items()}


def alternatives(rule: Rule) -> list[Conjunction]:
    """Return a rule's conditions as a list of alternatives, each a list of literals that must all be true.

    An attribute that the rule assumes is unknown, or the rule would not count.
    """
    return list(conjunctions(rule.when))


def narrowed(conjunction: Conjunction, over: Domains) -> Domains | None:
    """Return the domains cut down to what makes the conjunction true; None when nothing does."""
    left = dict(over)
    for literal in conjunction:
        name = literal.condition.attribute
        values = tuple(v for v in left[name] if literal.true_for(v))
        if not values:
            return None
        left[name] = values
    return left


def satisfiable(attributes: Mapping[str, Attribute], conjs: Sequence[Conjunction]) -> bool:
    """Whether some values make one of the conjunctions true."""
    over = domains(attributes, conjs)
    return any(narrowed(c, over) is not None for c in conjs)


def can_meet(attributes: Mapping[str, Attribute], a: Rule, b: Rule) -> list[Conjunction]:
    """Return the pairs of alternatives, joined, in which two rules could hold together."""
    joined = [(*x, *y) for x in alternatives(a) for y in alternatives(b)]
    over = domains(attributes, joined)
    return [c for c in joined if narrowed(c, over) is not None]


def escape(attributes: Mapping[str, Attribute], conjs: Sequence[Conjunction]) -> Domains | None:
    """Return values under which none of the conjunctions is true; None when there are none."""
    return _escape(list(conjs), domains(attributes, conjs))


def _escape(conjs: list[Conjunction], over: Domains) -> Domains | None:
    if not conjs:
        return over
    first, rest = conjs[0], conjs[1:]
    for literal in first:
        name = literal.condition.attribute
        values = tuple(v for v in over[name] if not literal.true_for(v))
        if values:
            found = _escape(rest, {**over, name: values})
            if found is not None:
                return found
    return None


def implies(attributes: Mapping[str, Attribute], special: Rule, general: Rule) -> bool:
    """Whether ``general`` holds wherever ``special`` does, by their conditions alone."""
    a, b = alternatives(special), alternatives(general)
    over = domains(attributes, [*a, *b])
    return all(_covered(narrowed(x, over), b) for x in a)


def _covered(left: Domains | None, conjs: list[Conjunction]) -> bool:
    return left is None or _escape(conjs, left) is None


def constant(attribute: Attribute, literal: Literal) -> bool | None:
    """Return True or False when every known value of the attribute decides the literal alike, else None."""
    if literal.condition.operator in ("known", "unknown"):
        return None
    found = {literal.true_for(v) for v in domain(attribute, [literal]) if v is not None}
    return found.pop() if len(found) == 1 else None


def picks(left: Domains, names: Iterable[str]) -> Iterator[dict[str, Value]]:
    """Yield inputs that fit the domains, one attribute after another varied, the first values first."""
    chosen = [n for n in names if n in left]
    base = {n: left[n][0] for n in chosen}
    yield _known(base)
    for name in chosen:
        for value in left[name][1:]:
            yield _known({**base, name: value})


def _known(values: Mapping[str, Value | None]) -> dict[str, Value]:
    return {n: v for n, v in values.items() if v is not None}
