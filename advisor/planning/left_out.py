"""What a progression leaves open and leaves out: wide jumps with their cost, stones with the reason."""

from __future__ import annotations

from itertools import pairwise

from advisor.planning.data import PlanningData
from advisor.planning.model import Gap, Skipped
from advisor.planning.progression import Aim, Progression
from advisor.planning.rungs import CUTS, Rung


def gaps(found: Progression, aim: Aim, data: PlanningData) -> tuple[Gap, ...]:
    """Name every jump wider than the widest ratio: before the start, between steps, after the finish."""
    first, finish = found.rungs[0], found.finish
    jumps = [("start", aim.start_um, first.um, first.name)]
    jumps += [("between", a.um, b.um, b.name) for a, b in pairwise(found.rungs)]
    if finish.um > aim.coarsest_um:
        jumps.append(("finish", finish.um, aim.pick_um, finish.name))
    return tuple(
        Gap(
            place,
            coarse,
            fine,
            coarse / fine,
            data.texts.fill(f"gap.{place}", coarse=coarse, fine=fine, ratio=round(coarse / fine, 1), stone=stone),
        )
        for place, coarse, fine, stone in jumps
        if coarse / fine > data.ratios.widest
    )


def skipped(
    rungs: tuple[Rung, ...], found: Progression, deburr: Rung | None, aim: Aim, data: PlanningData
) -> tuple[Skipped, ...]:
    """Give the reason for every rung that is not a step, coarse to fine."""
    return tuple(
        Skipped(rung.name, rung.um, _reason(rung, found, rung is deburr, aim, data))
        for rung in rungs
        if rung not in found.rungs
    )


def _reason(rung: Rung, found: Progression, deburrs: bool, aim: Aim, data: PlanningData) -> str:
    start, finish = found.rungs[0], found.finish
    coarser = [step for step in found.rungs if step.um > rung.um]
    finer = [step for step in found.rungs if step.um <= rung.um]
    slots: dict[str, object] = {
        "stone": rung.name,
        "um": rung.um,
        "finish": finish.name,
        "start": start.name,
        "coarsest": aim.coarsest_um,
        "finest": aim.finest_um,
    }
    if finer and finer[0].um == rung.um:
        return data.texts.fill("skipped.same-size", finer=finer[0].name, **slots)
    if not finer:
        key = "deburr-only" if deburrs else "finer-than-finish"
        if rung.um >= aim.finest_um and not deburrs:
            key = "finish-elsewhere"
        return data.texts.fill(f"skipped.{key}", **slots)
    if coarser:
        slots |= {
            "coarser": coarser[-1].name,
            "finer": finer[0].name,
            "ratio": round(coarser[-1].um / finer[0].um, 1),
        }
        return data.texts.fill("skipped.adds-nothing", **slots)
    return data.texts.fill(f"skipped.{_too_coarse(rung, found, aim)}", finer=start.name, **slots)


def _too_coarse(rung: Rung, found: Progression, aim: Aim) -> str:
    if rung.um > aim.start_limit_um:
        return "coarser-than-needed"
    if (rung.fresh and not found.rungs[0].fresh) or (rung.cutting != CUTS and found.rungs[0].cutting == CUTS):
        return "start-elsewhere"
    return "finish-does-it" if len(found.rungs) == 1 else "coarser-than-needed"
