"""Change of angle on a guided rod from one stone of the plan to another of a different thickness."""

from __future__ import annotations

from advisor.geometry.rod import Pivot, pivot_height
from advisor.planning.data import PlanningData
from advisor.planning.model import AngleCorrection, PlanRequest
from advisor.planning.progression import Progression


def angle_corrections(found: Progression, request: PlanRequest, data: PlanningData) -> tuple[AngleCorrection, ...]:
    """Return corrections against the dial-in stone for steps whose thickness is known and matters."""
    base = found.finish.thickness_mm
    if base is None:
        return ()
    reach = request.rod_reach_mm
    reaches = (reach, reach) if reach else data.rod_reach_mm
    corrections = []
    for rung in found.rungs[:-1]:
        if rung.thickness_mm is None:
            continue
        thicker = rung.thickness_mm - base
        changes = sorted(_change(request.angle_deg, distance, thicker, base) for distance in reaches)
        if max(map(abs, changes)) < data.worth_correcting_deg:
            continue
        low, high = sorted(round(abs(change), 1) for change in changes)
        text = data.texts.fill(
            "angle.thicker" if thicker > 0 else "angle.thinner",
            stone=rung.name,
            finish=found.finish.name,
            difference=abs(thicker),
            by=data.texts.fill("angle.by" if low == high else "angle.by-range", low=low, high=high),
        )
        corrections.append(AngleCorrection(rung.name, thicker, (changes[0], changes[1]), text))
    return tuple(corrections)


def _change(angle: float, distance_mm: float, thicker_mm: float, base_mm: float) -> float:
    pivot = Pivot(pivot_height(angle, distance_mm, base_mm), distance_mm, base_mm)
    return pivot.angle_change(thicker_mm)
