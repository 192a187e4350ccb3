"""Which strop of the kit to use after the last stone, and for how many passes."""

from __future__ import annotations

import math

from advisor.abrasives.stones import Stone
from advisor.planning.data import PlanningData
from advisor.planning.model import PlanRequest, StropStep
from advisor.planning.rungs import Rung, distance

ANY = "any"


def strop_step(request: PlanRequest, finish: Rung, data: PlanningData) -> StropStep:
    """Return the strop step after a finish; it says so where none is wanted, owned or fitting."""
    if not request.strop_allowed or request.strop_max_passes == 0:
        return _none(data.texts.fill("strop.not-advised"))
    if request.kit is None:
        backing = data.stropping.default_backing
        compound = _middle(request)
        passes, risk = _advised(request, finish, compound, backing, data)
        if passes is None:
            return _none(data.texts.fill("strop.not-advised"))
        key = "strop.no-kit-bare" if compound is None else "strop.no-kit"
        text = data.texts.fill(key, low=passes[0], high=passes[1], um=compound)
        return StropStep(None, compound, backing, passes, risk, text)
    strops = request.kit.strops()
    if not strops:
        return _none(data.texts.fill("strop.none-owned"))
    fitting = [strop for strop in strops if not _misfit(strop, request, data)]
    if not fitting:
        why = sorted({data.texts.fill(f"strop.why-{_misfit(strop, request, data)}") for strop in strops})
        return _none(data.texts.fill("strop.none-fits", why=", ".join(why)))
    best = min(fitting, key=lambda strop: _order(strop, request, data))
    return _with(best, request, finish, data)


def _with(strop: Stone, request: PlanRequest, finish: Rung, data: PlanningData) -> StropStep:
    passes, risk = _passes(request, finish, strop.um, _backing(strop, data), data)
    if passes is None:
        return _none(data.texts.fill("strop.not-advised"))
    slots = {"strop": strop.name, "low": passes[0], "high": passes[1], "finish": finish.um}
    bite = finish.um > data.stropping.bite_coarser_than_um
    text = data.texts.fill("strop.burr-only" if bite else "strop.fits", **slots)
    notes: tuple[str, ...] = ()
    if strop.um is not None and finish.um / strop.um > data.stropping.widest_jump:
        jump = finish.um / strop.um
        notes = (data.texts.fill("strop.jump", um=strop.um, ratio=round(jump, 1), finish=finish.um),)
    return StropStep(strop.name, strop.um, strop.backing, passes, risk, text, notes)


def _passes(
    request: PlanRequest, finish: Rung, compound_um: float | None, backing: str, data: PlanningData
) -> tuple[tuple[int, int] | None, float | None]:
    """Return the pass range and the risk at its upper end; None where the risk allows no pass."""
    rules, model = data.stropping, data.strop_model
    limits = [rules.most_passes, model.most_passes(finish.um, compound_um, backing, rules.pressure)]
    if request.strop_max_passes is not None:
        limits.append(request.strop_max_passes)
    if finish.um > rules.bite_coarser_than_um:
        limits.append(rules.bite_passes)
    most = min(limits)
    if most < 1:
        return None, None
    if most >= rules.round_from:
        most -= most % rules.round_to
    least = max(1, round(most * rules.least_share))
    return (least, most), model.risk(finish.um, compound_um, backing, most, rules.pressure).value


def _advised(
    request: PlanRequest, finish: Rung, compound_um: float | None, backing: str, data: PlanningData
) -> tuple[tuple[int, int] | None, float | None]:
    """Return the passes the rules advise; no strop is named whose own limit could be lower."""
    least, most = request.strop_min_passes, request.strop_max_passes
    if least is None or most is None or not 1 <= least <= most:
        return _passes(request, finish, compound_um, backing, data)
    risk = data.strop_model.risk(finish.um, compound_um, backing, most, data.stropping.pressure)
    return (least, most), risk.value


def _misfit(strop: Stone, request: PlanRequest, data: PlanningData) -> str:
    """Return why a strop does not fit: soft, coarse or fine; empty if it does."""
    allowed = request.strop_firmness
    if allowed and ANY not in allowed:
        model = data.strop_model
        softest = max(i for i, b in enumerate(model.backings) if b.firmness in allowed)
        if model.rank(_backing(strop, data)) > softest:
            return "soft"
    if strop.um is None:
        return ""
    coarsest, finest = request.strop_compound_coarsest_um, request.strop_compound_finest_um
    if coarsest is not None and strop.um > coarsest:
        return "coarse"
    return "fine" if finest is not None and strop.um < finest else ""


def _order(strop: Stone, request: PlanRequest, data: PlanningData) -> tuple[object, ...]:
    """Order fitting strops, best first: with compound, firm, near the middle of the band."""
    middle = _middle(request)
    away = 1.0 if strop.um is None or middle is None else distance(strop.um, middle)
    return (strop.um is None, data.strop_model.rank(_backing(strop, data)), away, strop.um or 0.0, strop.name)


def _middle(request: PlanRequest) -> float | None:
    """Return the middle of the band of the compound, on a scale of ratios, to two digits."""
    coarsest, finest = request.strop_compound_coarsest_um, request.strop_compound_finest_um
    if coarsest is None or finest is None:
        return None
    return float(f"{math.sqrt(coarsest * finest):.2g}")


def _backing(strop: Stone, data: PlanningData) -> str:
    return strop.backing or data.stropping.default_backing


def _none(text: str) -> StropStep:
    return StropStep(None, None, None, None, None, text)
