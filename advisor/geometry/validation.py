"""Published figures of edge geometry beside what this package computes for the same inputs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import sqrt
from typing import Any

from advisor.abrasives.validation import compare
from advisor.geometry import edge, load, rod, strop
from advisor.geometry.apex import ApexWidths, rounding_setback_um, slicing_angle, width_behind_apex_um
from advisor.validation_row import ValidationRow

FILES = ("geometry", "apex")


def rows(published: Mapping[str, Any], knowledge: Mapping[str, Any]) -> list[ValidationRow]:
    """Return one row per published figure.

    Args:
        published: file stem -> parsed list of ``tests/published``; the files in ``FILES`` are used.
        knowledge: file stem -> parsed YAML of ``rules/abrasives``; needs apex.
    """
    checks = {**_PLAIN, "apex_width": ApexWidths.from_data(knowledge["apex"]).width_um}
    return [compare(row, checks[row["check"]](**row["inputs"])) for name in FILES for row in published[name]]


def _thicker_stone(reach_mm: float, thicker_mm: float) -> float:
    """Return the change of angle for a thicker stone at a reach R = sqrt(H^2 + D^2), degrees."""
    return rod.Pivot(reach_mm / sqrt(10), 3 * reach_mm / sqrt(10)).angle_change(thicker_mm)


def _curve_angle(height_mm: float, distance_mm: float, **point: float) -> float:
    return rod.Pivot(height_mm, distance_mm).angle_at(**point)


def _clamp_distance(height_mm: float, distance_mm: float, **point: float) -> float:
    return rod.Pivot(height_mm, distance_mm).clamp_distance(**point)


_PLAIN: Mapping[str, Callable[..., float]] = {
    "bevel_width": lambda **given: edge.bevel(**given).width_mm,
    "bevel_height": lambda **given: edge.bevel(**given).height_mm,
    "land_height": edge.land_height_um,
    "regrind_height": lambda **given: edge.regrind(**given).bevel.height_mm,
    "regrind_width": lambda **given: edge.regrind(**given).bevel.width_mm,
    "regrind_shoulder": lambda **given: edge.regrind(**given).shoulder_mm,
    "regrind_area": lambda **given: edge.regrind(**given).area_mm2,
    "micro_top": lambda **given: edge.micro_bevel(**given).top_um,
    "rod_angle": lambda **given: rod.Pivot(**given).angle,
    "pivot_height": rod.pivot_height,
    "thicker_stone": _thicker_stone,
    "inclinometer": rod.inclinometer_reading,
    "curve_angle": _curve_angle,
    "clamp_distance": _clamp_distance,
    "strength_ratio": load.strength_ratio,
    "stiffness_ratio": load.stiffness_ratio,
    "side_load": load.side_load_at_yield,
    "pressure": load.contact_pressure_mpa,
    "wedging_ratio": load.wedging_force_ratio,
    "dent_height": load.dent_height_um,
    "strop_gain": lambda indentation_mm, recovery_mm: (
        strop.contact_from_indentation(indentation_mm, recovery_mm).angle_gain
    ),
    "width_behind": width_behind_apex_um,
    "rounding_setback": rounding_setback_um,
    "slicing_angle": slicing_angle,
}
