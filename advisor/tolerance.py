"""Whether the answer survives what is uncertain in its inputs: a hardness reading, a bare grit number."""

from __future__ import annotations

from typing import Any

from advisor.inference.reason import Outcome, Reasoner
from advisor.metallurgy.hardness import HardnessScales
from advisor.question import Question
from advisor.sensitivity import TARGETS


def within_reading(
    reasoner: Reasoner, question: Question, outcome: Outcome, scales: HardnessScales
) -> dict[str, Any] | None:
    """Return whether the answer changes within the tolerance of a Rockwell reading; None without hardness.

    Returns:
        plus_minus (HRC), changes (bool), and for each end of the reading the picks of the bands.
    """
    hardness = outcome.values.get("hardness")
    if not isinstance(hardness, (int, float)):
        return None
    low, high = float(hardness) - scales.tolerance, float(hardness) + scales.tolerance
    ends = {}
    for value in (low, high):
        ends[f"{value:g}"] = _picks(reasoner.reason(question.changed(hardness=value)))
    here = _picks(outcome)
    return {"plus_minus": scales.tolerance, "changes": any(p != here for p in ends.values()), "at": ends}


def other_readings(reasoner: Reasoner, question: Question, outcome: Outcome) -> list[dict[str, Any]]:
    """Return what a bare grit number would mean on other scales, and whether that changes the answer."""
    size = question.finish
    if size is None or not size.assumed:
        return []
    here = _judged(outcome, size.um)
    found = []
    for scale, um in size.alternatives:
        after = reasoner.reason(question.changed(finish=um))
        found.append({"scale": scale, "um": um, "changes": _judged(after, um) != here})
    return found


def _picks(outcome: Outcome) -> dict[str, float]:
    return {name: outcome.bands[name].pick for name in TARGETS if name in outcome.bands}


def _judged(outcome: Outcome, finish: float) -> tuple[Any, ...]:
    """What the answer says about this finish: its side of the band, and the angle that goes with it."""
    band = outcome.bands.get("finish")
    side = None if band is None else (finish > band.high) - (finish < band.low)
    return (side, _picks(outcome).get("angle"))
