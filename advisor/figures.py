"""Computed figures that an answer shows: carbides, matrix, bevel geometry, relative edge life."""

from __future__ import annotations

import contextlib
from typing import Any

from advisor.errors import OutOfRangeError
from advisor.facts import CARBIDES, Facts
from advisor.geometry.edge import bevel
from advisor.geometry.load import strength_ratio
from advisor.inference.reason import Outcome
from advisor.metallurgy.composition import parse_composition
from advisor.metallurgy.en_names import en_name
from advisor.metallurgy.retention import EdgeOption
from advisor.workbench import Workbench

_CONTRACT_NAMES = {
    "carbide.mc": "MC",
    "carbide.chromium": "CrC",
    "carbide.m6c": "M6C",
    "carbide.m3c": "M3C",
    "carbide.nitride": "nitrides",
}


def computed_figures(outcome: Outcome, bench: Workbench, facts: Facts) -> dict[str, Any]:
    """Return the figures of one answer, each with its error or basis where it has one."""
    values, figures = outcome.values, dict[str, Any]()
    if refusal := facts.refusal(values):
        figures["carbide_notes"] = [refusal]
    if "carbide.total" in values:
        figures["carbides"] = {_CONTRACT_NAMES[n]: _number(outcome, n) for n in CARBIDES}
        figures["carbide_total"] = _number(outcome, "carbide.total")
        figures["carbide_error"] = {_CONTRACT_NAMES[n]: outcome.findings[n][1].error for n in CARBIDES}
        figures["carbide_basis"] = {_CONTRACT_NAMES[n]: outcome.findings[n][1].basis for n in CARBIDES}
        state = facts.carbide_state(values)
        if state is not None:
            figures["hardening_temperature_c"] = state.temperature_C
            figures["carbide_notes"] = [bench.carbide_model.practice.notes.get(n, n) for n in state.notes]
        figures["matrix"] = {"C": values["matrix.carbon"], "Cr": values["matrix.chromium"]}
        figures["stainless"] = values["matrix.stainless"]
    figures |= _small_figures(outcome, bench)
    angle = outcome.bands.get("angle")
    if angle is None:
        return figures
    thickness = values.get("edge_thickness")
    if isinstance(thickness, (int, float)):
        shape = bevel(float(thickness), angle.pick)
        figures["bevel_mm"] = {
            "thickness_behind": thickness,
            "width": round(shape.width_mm, 3),
            "height": round(shape.height_mm, 3),
        }
    present = values.get("present_angle")
    if isinstance(present, (int, float)):
        with contextlib.suppress(OutOfRangeError):
            figures["side_strength_ratio"] = round(strength_ratio(float(present), angle.pick), 2)
    figures["retention"] = edge_life(outcome, bench, facts, angle.pick)
    return figures


def _small_figures(outcome: Outcome, bench: Workbench) -> dict[str, Any]:
    """Return hardness in Vickers, apex width after this finish, and what the strop adds to the angle."""
    values, figures = outcome.values, dict[str, Any]()
    hardness, finish = values.get("hardness"), outcome.bands.get("finish")
    if isinstance(hardness, (int, float)):
        with contextlib.suppress(OutOfRangeError):
            figures["hardness_hv"] = round(bench.hardness.hv_from_hrc(float(hardness)))
    if finish is not None:
        with contextlib.suppress(OutOfRangeError):
            figures["apex_width_um"] = {
                "value": round(bench.apex.width_um(finish.pick), 2),
                "within_factor": bench.apex.spread,
            }
    backing = values.get("strop_backing")
    if backing is not None:
        contact = bench.strops.contact(str(backing), bench.planning.stropping.pressure)
        figures["strop_adds_deg"] = round(contact.angle_gain, 1)
    if "composition" in values:
        composition = parse_composition(str(values["composition"]))
        prefix = "PM " if values.get("process") == "powder" else ""
        figures["en_name"] = prefix + en_name(bench.en_names, composition)
    return figures


def edge_life(outcome: Outcome, bench: Workbench, facts: Facts, angle: float) -> dict[str, Any] | None:
    """Return edge life in abrasive slicing, relative to other angles; None outside the regression's range."""
    option = edge_option(outcome, bench, facts, angle)
    if option is None:
        return None
    ratios: dict[str, Any] = {}
    for step in (-2, 2):
        other = edge_option(outcome, bench, facts, angle + step)
        try:
            if other is not None and not bench.retention.card_cut_mm(other).extrapolated:
                found = bench.retention.edge_life_ratio(other, option)
                ratios[f"{step:+d}_deg_a_side"] = {
                    "ratio": round(found.ratio, 2),
                    "error": round(found.error, 2),
                }
        except OutOfRangeError:
            continue
    return {"relative_to_pick": ratios, "scale": option.scale} if ratios else None


def edge_option(outcome: Outcome, bench: Workbench, facts: Facts, angle: float) -> EdgeOption | None:
    """Return this edge as the card-cut regression sees it; None while steel or hardness is unknown."""
    state, hardness = facts.carbide_state(outcome.values), outcome.values.get("hardness")
    if state is None or not isinstance(hardness, (int, float)) or angle <= 0:
        return None
    return EdgeOption(float(hardness), 2 * angle, bench.retention.volumes(state), "computed", 1.0)


def _number(outcome: Outcome, name: str) -> float:
    value = outcome.values[name]
    assert isinstance(value, (int, float))
    return float(value)
