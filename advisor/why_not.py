"""Why not X: which rules stand against another angle, finish or strop than the advised one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from advisor.consult import Consultant
from advisor.errors import InputError, OutOfRangeError, WhetruleError
from advisor.inference.bands import Band
from advisor.inference.trace import band_text, near_misses
from advisor.knowledge.rule import Rule
from advisor.knowledge.vocabulary import Target
from advisor.question import Question, read_number
from advisor.summary import number

_TARGETS = {"angle": "angle", "finish": "finish", "passes": "strop.passes", "compound": "strop.compound"}


@dataclass(frozen=True)
class WhyNot:
    """What stands against a value.

    Attributes:
        target, value: what was asked for.
        barred_by: limits that stand and that it crosses, firm ones first.
        pulled_away_by: favours whose band does not hold it, and limits it crosses that gave way to others.
        in_favour: favours whose band holds it.
        near_misses: rules about the target that one condition kept from firing.
    """

    target: str
    value: float
    band: Band | None
    barred_by: tuple[Rule, ...]
    pulled_away_by: tuple[Rule, ...]
    in_favour: tuple[Rule, ...]
    near_misses: tuple[dict[str, Any], ...]

    @property
    def allowed(self) -> bool:
        """Whether no limit stands against it."""
        return not self.barred_by

    def to_json(self) -> dict[str, Any]:
        """Return it as plain JSON data."""
        return {
            "target": self.target,
            "value": self.value,
            "allowed": self.allowed,
            "band": {"low": self.band.low, "pick": self.band.pick, "high": self.band.high} if self.band else None,
            "barred_by": [r.id for r in self.barred_by],
            "pulled_away_by": [r.id for r in self.pulled_away_by],
            "in_favour": [r.id for r in self.in_favour],
            "near_misses": list(self.near_misses),
        }

    def lines(self, consultant: Consultant) -> list[str]:
        """Return it as sentences."""
        target = consultant.kb.targets[self.target]
        what = f"{target.label} {number(self.value)} {target.unit}"
        if self.barred_by:
            lines = [f"{what} is barred:"]
        elif self.band is None:
            lines = [f"{what} is not barred by any limit; nothing is advised about it here."]
        elif self.band.low <= self.value <= self.band.high:
            lines = [f"{what} is inside the advised band."]
        else:
            lines = [f"{what} is not barred by any limit, but lies outside the advised band."]
        for rule in self.barred_by:
            lines.append(f"Against it: {rule.title} [{rule.id}]. {rule.because}")
        for rule in self.pulled_away_by:
            lines.append(f"Pulls elsewhere: {band_text(rule.then, consultant.kb)}, {rule.title} [{rule.id}]")
        for rule in self.in_favour:
            lines.append(f"For it: {rule.title} [{rule.id}]")
        for miss in self.near_misses:
            lines.append(
                f"One condition away: {miss['title']} [{miss['rule']}] wants {miss['attribute']} "
                f"{miss['wanted']}; here it is {miss['actual']}."
            )
        return lines


def why_not(consultant: Consultant, question: Question, wanted: str) -> WhyNot:
    """Return what stands against a value.

    Args:
        consultant: the knowledge.
        question: the question the advice was for.
        wanted: such as "angle 15", "finish 1 µm" or "passes 40".

    Raises:
        InputError: it cannot be understood; OutOfRangeError: outside what the target can be.
    """
    target, value = _parse(consultant, wanted)
    outcome = consultant.reasoner.reason(question.given)
    band = outcome.bands.get(target.name)
    about = [r for r in outcome.effective if r.then.subject == target.name]
    limits = [r for r in about if r.then.verb == "limit" and _crosses(r, value)]
    barring = [r for r in limits if band is not None and _stands(r, value, band)]
    favours = [r for r in about if r.then.verb == "favour"]
    rules = tuple(c for c in consultant.reasoner.compiled.rules if c.rule.then.subject == target.name)
    return WhyNot(
        target.name,
        value,
        band,
        tuple(sorted(barring, key=lambda r: (not r.then.firm, r.id))),
        tuple(r for r in (*favours, *limits) if r not in barring and not _holds(r, value)),
        tuple(r for r in favours if _holds(r, value)),
        tuple(near_misses(outcome, rules)),
    )


def _parse(consultant: Consultant, wanted: str) -> tuple[Target, float]:
    match = re.fullmatch(r"\s*(\w+)\s*[ =:]\s*(.+?)\s*", wanted[:200])
    name = _TARGETS.get(match[1].lower()) if match else None
    if match is None or name is None:
        raise InputError(
            f"cannot tell what '{wanted[:40]}' asks for",
            field="why_not",
            hint=f"write one of {', '.join(_TARGETS)} and a value, for example: finish 1 µm",
        )
    target = consultant.kb.targets[name]
    size = target.scale == "log"
    try:
        value = consultant.bench.scales.parse(match[2]).um if size else read_number(match[2], target.unit)
    except WhetruleError as exc:
        raise InputError(exc.message, field="why_not", hint=exc.hint) from None
    low, high = target.range
    if not low <= value <= high:
        raise OutOfRangeError(f"{value:g} {target.unit} cannot be", field="why_not", hint=f"give {low:g} to {high:g}")
    return target, value


def _crosses(rule: Rule, value: float) -> bool:
    low, high = rule.then.low, rule.then.high
    return (low is not None and value < low) or (high is not None and value > high)


def _stands(rule: Rule, value: float, band: Band) -> bool:
    """Whether a side that the value crosses is in force: beyond the binding limit, it gave way."""
    low, high, floor, ceiling = rule.then.low, rule.then.high, band.floor, band.ceiling
    below = low is not None and floor is not None and value < low <= floor[0]
    above = high is not None and ceiling is not None and value > high >= ceiling[0]
    return below or above


def _holds(rule: Rule, value: float) -> bool:
    return not _crosses(rule, value)
