"""Combine favours, shifts and limits into one band per target.

Favours are averaged, weighted by strength, on the target's own scale (micrometres on a log scale).
Shifts move the result, limits bound it.  Where a limit leaves less than the target's least width, the band
gets its own width back, at most twice the least, as far as the other limit allows.  Limits that cross are
a trade-off: a firm limit stands before a soft one, then higher priority, then more conditions, then the
side the vocabulary names for the target.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from advisor.knowledge.rule import Rule
from advisor.knowledge.vocabulary import Target


@dataclass(frozen=True)
class TradeOff:
    """Two wishes that cannot both be had.

    Attributes:
        stands, gives_way: rule ids; why: what decided.
    """

    stands: tuple[str, ...]
    gives_way: tuple[str, ...]
    why: str


@dataclass(frozen=True)
class Band:
    """The advised band of one target, in the target's unit.

    Attributes:
        low, pick, high: the band and the value to aim for.
        low_set_by, high_set_by: rules that bind each end.
        favoured_by: all favours and shifts in it, strongest first.
        floor, ceiling: the limits that stand, with None where there is none.
    """

    target: str
    low: float
    pick: float
    high: float
    low_set_by: tuple[str, ...]
    high_set_by: tuple[str, ...]
    favoured_by: tuple[str, ...]
    trade_offs: tuple[TradeOff, ...]
    floor: tuple[float, Rule] | None = None
    ceiling: tuple[float, Rule] | None = None


def combine(rules: Iterable[Rule], targets: Mapping[str, Target], weights: Mapping[str, float]) -> dict[str, Band]:
    """Return the band of every target that the rules speak about.

    Args:
        rules: effective favour, limit and shift rules; others are ignored.
        targets: the vocabulary's targets.
        weights: strength -> weight.
    """
    by_target: dict[str, list[Rule]] = {}
    for rule in rules:
        if rule.then.verb in ("favour", "limit", "shift"):
            by_target.setdefault(rule.then.subject, []).append(rule)
    bands = {}
    for name, target in targets.items():
        if name in by_target:
            bands[name] = _band(target, sorted(by_target[name], key=lambda r: r.id), weights)
    return bands


def _band(target: Target, rules: list[Rule], weights: Mapping[str, float]) -> Band:
    favours = sorted((r for r in rules if r.then.verb == "favour"), key=lambda r: -weights[r.then.strength])
    shifts = [r for r in rules if r.then.verb == "shift"]
    limits = [r for r in rules if r.then.verb == "limit"]
    low, high = _favoured(target, favours, shifts, weights)
    trade_offs: list[TradeOff] = []
    floor, ceiling = _limits(target, limits, trade_offs)
    pullers = tuple(r.id for r in (*favours, *shifts))
    low_by = high_by = pullers or ("vocabulary",)
    width = max(high - low, _width(target))
    bottom = _to(target, floor[0]) if floor else _to(target, target.range[0])
    top = _to(target, ceiling[0]) if ceiling else _to(target, target.range[1])
    if floor and _less(low, bottom):
        if favours and _less(high, bottom):
            trade_offs.append(_pushed(floor[1], favours))
        low, low_by = bottom, (floor[1].id,)
        if _less(high, low + _width(target)):
            high, high_by = low + min(width, _width(target) * 2), (floor[1].id,)
    if ceiling and _less(top, high):
        if favours and _less(top, low):
            trade_offs.append(_pushed(ceiling[1], favours))
        high, high_by = top, (ceiling[1].id,)
        if _less(high, low + _width(target)):
            low, low_by = high - min(width, _width(target) * 2), (ceiling[1].id,)
            if not _less(bottom, low):
                low, low_by = bottom, (floor[1].id,) if floor else low_by
    low, high = (min(max(v, bottom), top) for v in (low, high))
    ends = _round(target, *(_from(target, v) for v in (low, (low + high) / 2, high)))
    # Rounding may not step over a limit.
    least, most = floor[0] if floor else -math.inf, ceiling[0] if ceiling else math.inf
    low, pick, high = (min(max(v, least), most) for v in ends)
    return Band(target.name, low, pick, high, low_by, high_by, pullers, tuple(trade_offs), floor, ceiling)


def _favoured(
    target: Target, favours: list[Rule], shifts: list[Rule], weights: Mapping[str, float]
) -> tuple[float, float]:
    if favours:
        total = math.fsum(weights[r.then.strength] for r in favours)
        ends = []
        for end in ("low", "high"):
            parts = (weights[r.then.strength] * _to(target, getattr(r.then, end)) for r in favours)
            ends.append(math.fsum(parts) / total)
        low, high = ends
    else:
        low, high = (_to(target, v) for v in target.range)
    move = math.fsum(math.log(r.then.times) if target.scale == "log" else r.then.by for r in shifts)
    return low + move, high + move


def _limits(
    target: Target, limits: list[Rule], trade_offs: list[TradeOff]
) -> tuple[tuple[float, Rule] | None, tuple[float, Rule] | None]:
    """Return the floor and ceiling that stand; drop, one by one, those that lose where they cross."""
    floors = [r for r in limits if r.then.low is not None]
    ceilings = [r for r in limits if r.then.high is not None]
    while True:
        floor = max(floors, key=lambda r: (r.then.low or 0.0, _standing(r)), default=None)
        ceiling = min(ceilings, key=lambda r: (r.then.high or 0.0, [-s for s in _standing(r)]), default=None)
        if floor is None or ceiling is None or (floor.then.low or 0.0) <= (ceiling.then.high or 0.0):
            break
        lower_stands, why = _stronger(target, floor, ceiling)
        winner, loser = (floor, ceiling) if lower_stands else (ceiling, floor)
        trade_offs.append(TradeOff((winner.id,), (loser.id,), why))
        (ceilings if lower_stands else floors).remove(loser)
    return (
        (floor.then.low or 0.0, floor) if floor else None,
        (ceiling.then.high or 0.0, ceiling) if ceiling else None,
    )


def _standing(rule: Rule) -> tuple[int, int, int]:
    return (int(rule.then.firm), *rule.rank)


def _stronger(target: Target, floor: Rule, ceiling: Rule) -> tuple[bool, str]:
    a, b = _standing(floor), _standing(ceiling)
    if a == b:
        side = target.when_limits_tie
        return side == "lower", f"equal rank: for {target.name} the {side} limit stands"
    reasons = ("a firm limit stands before a soft one", "higher priority", "more conditions")
    why = next(text for text, x, y in zip(reasons, a, b, strict=True) if x != y)
    return a > b, why


def _pushed(limit: Rule, favours: list[Rule]) -> TradeOff:
    return TradeOff((limit.id,), tuple(r.id for r in favours), "a limit stands before what is favoured")


def _to(target: Target, value: float) -> float:
    return math.log(value) if target.scale == "log" else value


def _from(target: Target, value: float) -> float:
    return math.exp(value) if target.scale == "log" else value


def _less(a: float, b: float) -> bool:
    """Whether a lies below b by more than rounding errors, on the target's scale."""
    return a < b - 1e-9


def _width(target: Target) -> float:
    return math.log(target.least_width) if target.scale == "log" else target.least_width


def _round(target: Target, *values: float) -> tuple[float, ...]:
    """Round to what can be set at a bench, so that no answer shows digits nobody measured."""
    if target.step:
        return tuple(round(round(v / target.step) * target.step, 6) for v in values)
    return tuple(float(f"{v:.2g}") for v in values)
