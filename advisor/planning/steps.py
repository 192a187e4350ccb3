"""The chosen stones as steps: purpose, passes, when to go on, notes and cautions."""

from __future__ import annotations

from advisor.planning.data import PlanningData
from advisor.planning.model import TOUCH_UP, PlanRequest, Step
from advisor.planning.progression import Progression
from advisor.planning.removal import (
    Job,
    exact_passes,
    minutes_for,
    section_after,
    shown_minutes,
    shown_passes,
)
from advisor.planning.rungs import CUTS, Rung
from advisor.planning.selection import without_burr

SOFTER = {"does-not-cut": "softer-than-carbide", "marginal": "marginal-carbide"}


def steps_for(found: Progression, request: PlanRequest, job: Job, data: PlanningData) -> tuple[Step, ...]:
    """Return one step a rung, coarse to fine."""
    before: Rung | None = None
    steps = []
    for rung in found.rungs:
        steps.append(_step(rung, before, rung is found.finish, request, job, data))
        before = rung
    return tuple(steps)


def _step(rung: Rung, before: Rung | None, last: bool, request: PlanRequest, job: Job, data: PlanningData) -> Step:
    section = job.section_mm2 if before is None else section_after(before, request, data)
    exact = exact_passes(section, rung, request.wear_resistance, data.removal)
    role = _role(before is None, last)
    slots: dict[str, object] = {
        "stone": rung.name,
        "um": rung.um,
        "before": before.name if before else "",
        "angle": request.angle_deg,
        "chip": request.chip_depth_mm or "",
        "present": request.present_angle_deg or "",
    }
    purpose = f"{role}-{job.kind}" if role in ("only", "start") else role
    return Step(
        stone=rung.name,
        micron=rung.um,
        ratio=before.um / rung.um if before else None,
        purpose=data.texts.fill(f"purpose.{purpose}", **slots),
        passes=shown_passes(exact, data.removal),
        until=data.texts.fill(f"until.{_until(role, request, job, data)}", **slots),
        notes=_notes(rung, request, data),
        cautions=_cautions(rung, data),
        minutes=shown_minutes(minutes_for(exact, request, data.removal), data.removal),
    )


def _role(first: bool, last: bool) -> str:
    if first:
        return "only" if last else "start"
    return "finish" if last else "refine"


def _until(role: str, request: PlanRequest, job: Job, data: PlanningData) -> str:
    if job.kind == TOUCH_UP:
        return TOUCH_UP
    return f"{role}-no-burr" if role != "refine" and without_burr(request, data) else role


def _notes(rung: Rung, request: PlanRequest, data: PlanningData) -> tuple[str, ...]:
    notes = []
    if rung.cutting != CUTS:
        slots = {"abrasive": rung.abrasive_name.capitalize(), "family": request.hardest_family}
        notes.append(data.texts.fill(f"note.{SOFTER[rung.cutting]}", **slots))
    if rung.state == "worn":
        notes.append(data.texts.fill("note.worn"))
    return tuple(notes)


def _cautions(rung: Rung, data: PlanningData) -> tuple[str, ...]:
    looks = rung.looks_um
    if rung.fresh and looks:
        return (data.texts.fill("caution.fresh-coarse", low=looks[0], high=looks[1]),)
    if rung.state == "fresh" and looks:
        return (data.texts.fill("caution.fresh", low=looks[0], high=looks[1]),)
    return ()
