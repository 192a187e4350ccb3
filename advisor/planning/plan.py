"""The bench plan for one edge: from a request to steps that can be carried to the bench."""

from __future__ import annotations

from math import sqrt

from advisor.planning.angle import angle_corrections
from advisor.planning.data import PlanningData
from advisor.planning.left_out import gaps, skipped
from advisor.planning.model import TOUCH_UP, Finish, Plan, PlanRequest, Step
from advisor.planning.progression import INSIDE, Aim, Progression, choose, finish_only
from advisor.planning.removal import Job, job_for, shown_minutes
from advisor.planning.rungs import CUTS, Rung, distance
from advisor.planning.selection import aim_for, rungs_for, usual_ladder
from advisor.planning.steps import steps_for
from advisor.planning.stropping import strop_step


def make_plan(request: PlanRequest, data: PlanningData) -> Plan:
    """Plan the work on one edge.

    Adding a stone to the kit never makes ``worst_ratio`` larger; see ``progression``.

    Args:
        request: the edge, the finish band and the kit; what is not given is assumed, and the notes say so.
        data: numbers and sentences of ``rules/planning`` and ``rules/abrasives``.

    Returns:
        The plan; without steps only with ``reason_if_empty``.

    Raises:
        OutOfRangeError: an angle or a length is outside what the edge geometry covers.
    """
    full, assumed = _complete(request, data)
    job = job_for(full, data)
    rungs = rungs_for(full, data)
    if not rungs:
        return _empty(full, job, data)
    aim = aim_for(full, job, data)
    touch_up = job.kind == TOUCH_UP
    found = finish_only(rungs, aim, data.ratios) if touch_up else choose(rungs, aim, data.ratios)
    steps = steps_for(found, full, job, data)
    deburr = _deburr(rungs, found.finish, data)
    minutes = shown_minutes(_total(steps), data.removal)
    return Plan(
        finish=_finish(found, rungs, aim, data),
        steps=steps,
        skipped=skipped(rungs, found, deburr, aim, data) if full.kit else (),
        gaps=() if touch_up else gaps(found, aim, data),
        worst_ratio=None if touch_up else found.worst_ratio,
        strop=strop_step(full, found.finish, data),
        dial_in_stone=found.finish.name,
        deburr_stone=deburr.name if deburr else None,
        removal_mm3=job.volume_mm3,
        minutes_low=minutes[0],
        minutes_high=minutes[1],
        not_worth_it=_not_worth_it(minutes, full, job, data),
        angle_corrections=angle_corrections(found, full, data),
        notes=(*_notes(found, deburr, full, job, data), *assumed),
        reason_if_empty=None,
    )


def _complete(request: PlanRequest, data: PlanningData) -> tuple[PlanRequest, tuple[str, ...]]:
    """Fill in what was not given and say what was taken."""
    thickness = next(value for up_to, value in data.thickness_by_angle if request.angle_deg <= up_to)
    usual = {**data.assumed, "edge_thickness_mm": thickness}
    missing = {key: value for key, value in usual.items() if getattr(request, key) is None}
    state = request.edge_state or missing.get("edge_state")
    if state != "chipped":
        missing.pop("chip_depth_mm", None)
    items = [
        data.texts.fill(
            "note.assumed-item-mm" if key.endswith("_mm") else "note.assumed-item",
            what=data.texts.fill(f"what.{key}"),
            value=value,
        )
        for key, value in missing.items()
    ]
    notes = (data.texts.fill("note.assumed", what=", ".join(items)),) if items else ()
    return request.complete(**missing), notes


def _empty(request: PlanRequest, job: Job, data: PlanningData) -> Plan:
    kit = request.kit
    reason = "empty.no-stones" if kit is not None and kit.items else "empty.empty-kit"
    return Plan(
        None, (), (), (), None, None, None, None, job.volume_mm3, 0, 0, None, (), (),
        data.texts.fill(reason),
    )  # fmt: skip


def _finish(found: Progression, rungs: tuple[Rung, ...], aim: Aim, data: PlanningData) -> Finish:
    finish, place = found.finish, found.place
    key = place
    if place == INSIDE and finish.cutting == CUTS:
        away = distance(finish.um, aim.pick_um)
        nearer = [
            rung
            for rung in rungs
            if aim.finest_um <= rung.um <= aim.coarsest_um and distance(rung.um, aim.pick_um) < away
        ]
        if nearer and all(rung.cutting != CUTS for rung in nearer):
            key = "inside-cuts"
    slots = {
        "stone": finish.name,
        "um": finish.um,
        "coarsest": aim.coarsest_um,
        "pick": aim.pick_um,
        "finest": aim.finest_um,
    }
    return Finish(finish.name, finish.um, place, data.texts.fill(f"finish.{key}", **slots))


def _deburr(rungs: tuple[Rung, ...], finish: Rung, data: PlanningData) -> Rung | None:
    """Return the coarsest stone fine enough for the last deburring passes; the finish if it is that fine."""
    if finish.um <= data.deburr_um:
        return finish
    fine = [rung for rung in rungs if rung.um <= data.deburr_um]
    return min(fine, key=lambda rung: (rung.cutting != CUTS, -rung.um, rung.suits)) if fine else None


def _total(steps: tuple[Step, ...]) -> tuple[float, float]:
    return sum(step.minutes[0] for step in steps), sum(step.minutes[1] for step in steps)


def _not_worth_it(minutes: tuple[float, float], request: PlanRequest, job: Job, data: PlanningData) -> str | None:
    rules = data.removal
    middle = sqrt(minutes[0] * minutes[1])
    hard = request.wear_resistance >= rules.hard_resistance
    if job.kind == TOUCH_UP or middle < (rules.hard_minutes if hard else rules.long_minutes):
        return None
    key = ("hard-wearing" if hard else "long") + ("-rebevel" if job.kind == "rebevel" else "")
    resistance = round(request.wear_resistance, 1)
    return data.texts.fill(f"not_worth_it.{key}", low=minutes[0], high=minutes[1], resistance=resistance)


def _notes(
    found: Progression, deburr: Rung | None, request: PlanRequest, job: Job, data: PlanningData
) -> tuple[str, ...]:
    texts, finish = data.texts, found.finish
    notes = [texts.fill("note.pass-count")]
    if request.kit is None:
        notes.append(texts.fill("note.no-kit", abrasive=usual_ladder(request, data).set_label))
    elif not finish.asked:
        name = data.minerals.mineral(request.abrasive).name if request.abrasive else ""
        notes.append(texts.fill("note.kit-decides", abrasive=name.capitalize(), stone=finish.name))
    if request.wear_resistance >= data.longer_wear_from:
        notes.append(texts.fill("note.longer-wear", resistance=round(request.wear_resistance, 1)))
    if job.widens:
        notes.append(texts.fill("note.higher-angle"))
    if job.kind == TOUCH_UP and request.strop_allowed:
        notes.append(texts.fill("note.strop-only"))
    if deburr is None:
        notes.append(texts.fill("note.no-finer-stone", um=data.deburr_um, finish=finish.name))
    return tuple(notes)
