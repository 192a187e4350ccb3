"""From a kit, or a usual set, to rungs; and from the job to what the progression has to span."""

from __future__ import annotations

from advisor.abrasives.stones import Stone, apparent_size
from advisor.planning.data import PlanningData, Steps, UsualLadder
from advisor.planning.model import TOUCH_UP, PlanRequest
from advisor.planning.progression import Aim
from advisor.planning.removal import Job
from advisor.planning.rungs import CUTS, Rung, coarse_first


def rungs_for(request: PlanRequest, data: PlanningData) -> tuple[Rung, ...]:
    """Return the stones and films of the kit, or of a usual set where no kit is named, coarse to fine."""
    if request.kit is None:
        return _usual_rungs(usual_ladder(request, data), request, data)
    return coarse_first(_rung(stone, request, data) for stone in request.kit.shaping())


def usual_ladder(request: PlanRequest, data: PlanningData) -> UsualLadder:
    """Return the usual set of the class asked for, or of one that cuts the carbides of this steel."""
    asked = data.class_of_abrasive.get(request.abrasive or "")
    hard = request.hardest_family in data.hard_families
    class_id = asked or data.default_class["hard" if hard else "other"]
    return next(ladder for ladder in data.ladders if ladder.class_id == class_id)


def aim_for(request: PlanRequest, job: Job, data: PlanningData) -> Aim:
    """Return the span of the progression: from the coarseness the job asks for to the finish band."""
    work = request.finish_pick_um
    if job.kind != TOUCH_UP:
        work = max(work, _reached(data.start.by_work, job.work_mm2))
        if job.kind == "chipped" and request.chip_depth_mm is not None:
            work = max(work, _reached(data.start.by_chip, request.chip_depth_mm))
    start = max(work, request.finish_coarsest_um)
    return Aim(
        work,
        start,
        start * data.start.slack,
        request.finish_coarsest_um,
        request.finish_pick_um,
        request.finish_finest_um,
    )


def without_burr(request: PlanRequest, data: PlanningData) -> bool:
    """Whether no burr is to be raised on purpose: in this steel, or on an edge this acute."""
    return request.burr_kind in data.no_burr_kinds or request.angle_deg <= data.no_burr_angle_deg


def _usual_rungs(ladder: UsualLadder, request: PlanRequest, data: PlanningData) -> tuple[Rung, ...]:
    name = data.minerals.mineral(ladder.abrasive).name
    cutting = _cutting(ladder.abrasive, request, data)
    return tuple(
        Rung(f"{ladder.label} {um:g} µm", um, ladder.abrasive, name, cutting, label=ladder.label) for um in ladder.um
    )


def _rung(stone: Stone, request: PlanRequest, data: PlanningData) -> Rung:
    um = stone.um
    assert um is not None  # only strops can be bare
    fresh, looks = data.fresh, apparent_size(stone, data.effects)
    return Rung(
        name=stone.name,
        um=um,
        abrasive=stone.abrasive_class or "",
        abrasive_name=data.minerals.mineral(stone.abrasive).name if stone.abrasive else "",
        cutting=_cutting(stone.abrasive, request, data),
        asked=request.abrasive in (None, stone.abrasive_class),
        fresh=(
            stone.state in fresh.states
            and stone.abrasive_class in fresh.abrasives
            and stone.bond in fresh.bonds
            and um >= fresh.from_um
        ),
        state=stone.state or "",
        thickness_mm=stone.thickness_mm,
        looks_um=(looks.low_um, looks.high_um) if looks else None,
    )


def _cutting(abrasive: str | None, request: PlanRequest, data: PlanningData) -> str:
    if abrasive is None or request.hardest_family is None:
        return CUTS
    return data.minerals.cuts(abrasive, request.hardest_family)


def _reached(steps: Steps, value: float) -> float:
    return next((um for up_to, um in steps if value <= up_to), steps[-1][1])
