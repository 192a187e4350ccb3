"""The band combination as the design words it, written without a look at advisor.inference.bands' helpers.

Favours: mean of the ends, weighted by strength, on the target's scale; shifts are added on that scale.
Limits: the tightest stand; where two cross, the stronger stands (firm, priority, conditions, then the side
the vocabulary names) and the weaker is out.  A limit that leaves less than the least width gives back the
band's own width, at most twice the least, inside the other limit.  Ends are rounded, never over a limit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from advisor.knowledge.rule import Rule
from advisor.knowledge.vocabulary import Target

NOISE = 1e-9
"""Differences below this are rounding errors."""


def plain_bands(
    rules: Iterable[Rule], targets: Mapping[str, Target], weights: Mapping[str, float]
) -> dict[str, dict[str, Any]]:
    """Return low, pick, high and who sets them, for every target some rule speaks about."""
    rules = [r for r in rules if r.then.verb in ("favour", "shift", "limit")]
    return {
        name: _one(target, [r for r in rules if r.then.subject == name], weights)
        for name, target in targets.items()
        if any(r.then.subject == name for r in rules)
    }


def _strength(rule: Rule) -> tuple[bool, int, int]:
    return (rule.then.firm, rule.priority, len(rule.conditions))


def _one(target: Target, rules: list[Rule], weights: Mapping[str, float]) -> dict[str, Any]:
    logarithmic = target.scale == "log"
    scale = math.log if logarithmic else float
    back = math.exp if logarithmic else float
    least = scale(target.least_width)
    favours = [r for r in rules if r.then.verb == "favour"]
    shifts = [r for r in rules if r.then.verb == "shift"]
    move = sum(scale(r.then.times) if logarithmic else r.then.by for r in shifts)
    if favours:
        total = sum(weights[r.then.strength] for r in favours)
        low, high = (
            sum(weights[r.then.strength] * scale(getattr(r.then, end)) for r in favours) / total + move
            for end in ("low", "high")
        )
    else:
        low, high = scale(target.range[0]) + move, scale(target.range[1]) + move
    own_width = min(max(high - low, least), 2 * least)
    floor, ceiling, crossed = _standing_limits(target, [r for r in rules if r.then.verb == "limit"])
    bottom = scale(floor.then.low if floor else target.range[0])
    top = scale(ceiling.then.high if ceiling else target.range[1])
    names = {r.id for r in favours + shifts} or {"vocabulary"}
    low_by, high_by = names, names
    pushed = []
    if floor and low < bottom - NOISE:
        if favours and high < bottom - NOISE:
            pushed.append((floor.id, {r.id for r in favours}))
        low, low_by = bottom, {floor.id}
        if high - low < least - NOISE:
            high, high_by = low + own_width, {floor.id}
    if ceiling and high > top + NOISE:
        if favours and low > top + NOISE:
            pushed.append((ceiling.id, {r.id for r in favours}))
        high, high_by = top, {ceiling.id}
        if high - low < least - NOISE:
            low, low_by = high - own_width, {ceiling.id}
            if low <= bottom + NOISE:
                low, low_by = bottom, {floor.id} if floor else {ceiling.id}
    low, high = min(max(low, bottom), top), min(max(high, bottom), top)
    high = max(low, high)
    ends = {"low": low, "pick": (low + high) / 2, "high": high}
    shown = {}
    for name, value in ends.items():
        value = _rounded(target, back(value))
        value = max(value, floor.then.low) if floor else value  # type: ignore[type-var]
        shown[name] = min(value, ceiling.then.high) if ceiling else value  # type: ignore[type-var]
    return {**shown, "low_by": low_by, "high_by": high_by, "crossed": crossed, "pushed": pushed,
            "edges": (low, (low + high) / 2, high)}  # fmt: skip


def _standing_limits(target: Target, limits: list[Rule]) -> tuple[Rule | None, Rule | None, list[tuple[str, str]]]:
    out: set[tuple[str, str]] = set()
    crossed: list[tuple[str, str]] = []
    while True:
        floors = [r for r in limits if r.then.low is not None and ("low", r.id) not in out]
        ceilings = [r for r in limits if r.then.high is not None and ("high", r.id) not in out]
        # Of equal bounds the stronger rule is named, of equal strength the one first by id for a
        # floor; ceilings are the same.
        floor = min(floors, key=lambda r: (-r.then.low, [-int(s) for s in _strength(r)], r.id), default=None)  # type: ignore[operator]
        ceiling = min(ceilings, key=lambda r: (r.then.high, [-int(s) for s in _strength(r)], r.id), default=None)
        if not floor or not ceiling or floor.then.low <= ceiling.then.high:  # type: ignore[operator]
            return floor, ceiling, crossed
        a, b = _strength(floor), _strength(ceiling)
        floor_stands = target.when_limits_tie == "lower" if a == b else a > b
        crossed.append((floor.id, ceiling.id) if floor_stands else (ceiling.id, floor.id))
        out.add(("high", ceiling.id) if floor_stands else ("low", floor.id))


def _rounded(target: Target, value: float) -> float:
    return round(round(value / target.step) * target.step, 6) if target.step else float(f"{value:.2g}")
