"""How much steel a job removes, and a rough range of passes and minutes for it.

The rate follows Archard's abrasive wear law (V = K F s / H): section removed in a pass is proportional to
load and travel, here folded into one estimated constant at a reference grain size, and grows with grain
size by a power.  Wear resistance divides it, less where the abrasive is harder than the carbides.  There
is no published pass count for hand work to check this against; ranges of independent factors are
combined in quadrature of their logarithms.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.geometry.edge import bevel, land_height_um, regrind
from advisor.planning.data import PlanningData, Range, RemovalRules, Rounding
from advisor.planning.model import TOUCH_UP, PlanRequest
from advisor.planning.rungs import CUTS, Rung


@dataclass(frozen=True)
class Job:
    """What has to come off.

    Attributes:
        kind: chipped, rebevel, dull, rolled, factory-new or touch-up.
        section_mm2: section to remove on one side, mm2.
        volume_mm3: steel to remove on both sides over the edge, mm3.
        work_mm2: middle of the section times what wear resistance makes of it, mm2.
        widens: whether the angle asked for is wider than the present one.
    """

    kind: str
    section_mm2: Range
    volume_mm3: Range
    work_mm2: float
    widens: bool


def job_for(request: PlanRequest, data: PlanningData) -> Job:
    """Return the steel to remove for a request whose state, thickness and length are known."""
    state, thickness, length = request.edge_state, request.edge_thickness_mm, request.edge_length_mm
    assert state is not None and thickness is not None and length is not None
    present = request.present_angle_deg or request.angle_deg
    rules = data.removal
    change = present - request.angle_deg
    kind = state if state == "chipped" or change < rules.rebevel_from_deg else "rebevel"
    if abs(change) < rules.rebevel_from_deg:
        present = request.angle_deg
    chip = request.chip_depth_mm or 0.0 if state == "chipped" else 0.0
    acute = (present / rules.land_at_deg) ** rules.land_exponent
    grinds = [
        regrind(
            thickness,
            present,
            request.angle_deg,
            length,
            setback_mm=max(chip, land_height_um(land * acute * 1000, present) / 1000),
        )
        for land in rules.land_mm[state]
    ]
    section = (grinds[0].area_mm2, grinds[1].area_mm2)
    volume = (grinds[0].volume_mm3, grinds[1].volume_mm3)
    work = math.sqrt(section[0] * section[1]) * request.wear_resistance ** rules.wear_exponent[CUTS]
    widens = kind != TOUCH_UP and change <= -rules.rebevel_from_deg
    return Job(kind, section, volume, work, widens)


def section_after(coarser: Rung, request: PlanRequest, data: PlanningData) -> Range:
    """Return the section to remove on one side to replace the scratches of a coarser stone, mm2."""
    assert request.edge_thickness_mm is not None
    width = bevel(request.edge_thickness_mm, request.angle_deg).width_mm
    low, high = data.removal.layer
    return width * low * coarser.um / 1000, width * high * coarser.um / 1000


def exact_passes(section_mm2: Range, rung: Rung, wear_resistance: float, rules: RemovalRules) -> Range:
    """Return the range of passes a side, not rounded."""
    factor = (rung.um / rules.rate_at_um) ** rules.size_exponent
    factor *= rules.abrasive.get(rung.abrasive, rules.abrasive["other"])
    factor *= rules.state.get(rung.state, rules.state["other"])
    factor /= wear_resistance ** rules.wear_exponent[rung.cutting]
    slow, fast = (rate * factor for rate in rules.rate_mm2)
    return quotient_range(section_mm2, (slow, fast))


def quotient_range(work: Range, rate: Range) -> Range:
    """Return the range of work over rate, both ranges independent: log errors add in quadrature."""
    middle = math.sqrt(work[0] * work[1] / (rate[0] * rate[1]))
    spread = math.hypot(math.log(work[1] / work[0]), math.log(rate[1] / rate[0])) / 2
    return middle * math.exp(-spread), middle * math.exp(spread)


def shown_passes(exact: Range, rules: RemovalRules) -> tuple[int, int]:
    """Return passes as a person counts them: at least the least, rounded more coarsely as they grow."""
    low, high = (_rounded(max(value, rules.least_passes), rules.rounding) for value in exact)
    return (low, high) if high > low else (low, low + rules.least_passes)


def shown_minutes(exact: Range, rules: RemovalRules) -> tuple[int, int]:
    """Return minutes as a person says them: whole ones, rounded more coarsely as they grow."""
    low, high = (_rounded(value, rules.minutes_rounding) for value in exact)
    return (low, high) if high > low else (low, low + _unit(high, rules.minutes_rounding))


def minutes_for(exact: Range, request: PlanRequest, rules: RemovalRules) -> Range:
    """Return minutes for both sides and setting up the stone."""
    assert request.edge_length_mm is not None
    length = request.edge_length_mm / rules.seconds_per_mm
    per_minute = (60 / (2 * length * rules.seconds[1]), 60 / (2 * length * rules.seconds[0]))
    least = float(rules.least_passes)
    low, high = quotient_range((max(exact[0], least), max(exact[1], least)), per_minute)
    return low + rules.minutes_per_stone[0], high + rules.minutes_per_stone[1]


def _rounded(value: float, rounding: Rounding) -> int:
    to = _unit(value, rounding)
    return max(to, round(value / to) * to)


def _unit(value: float, rounding: Rounding) -> int:
    return next((to for below, to in rounding if value < below), rounding[-1][1])
