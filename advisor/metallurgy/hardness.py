"""Rockwell C and Vickers hardness: conversion by table, and the tolerance of a reading."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import Any

from advisor.errors import KnowledgeError, OutOfRangeError

FIELD = "hardness"
_PATH = "rules/metallurgy/hardness_scales.yaml"


@dataclass(frozen=True)
class HardnessScales:
    """Conversion table and reading tolerance.

    Attributes:
        hrc, hv: rising columns of equal length (ASTM E140 Table 1, non-austenitic steel, HRC 20 to 68).
        conversion_error: one standard deviation of a converted value, share of HV.
        tolerance: customary tolerance of one reading, plus or minus HRC.
        source: where the table stands.
    """

    hrc: tuple[float, ...]
    hv: tuple[float, ...]
    conversion_error: float
    tolerance: float
    source: str

    def hv_from_hrc(self, hrc: float) -> float:
        """Return HV for HRC by linear interpolation.

        Raises:
            OutOfRangeError: ``hrc`` is outside the table (20 to 68).
        """
        return _interpolate(hrc, self.hrc, self.hv, "HRC")

    def hrc_from_hv(self, hv: float) -> float:
        """Return HRC for HV by linear interpolation.

        Raises:
            OutOfRangeError: ``hv`` is outside the table (238 to 940).
        """
        return _interpolate(hv, self.hv, self.hrc, "HV")


def _check(value: float, column: Sequence[float], unit: str) -> None:
    if not isfinite(value) or not column[0] <= value <= column[-1]:
        raise OutOfRangeError(
            f"{value:g} {unit} is outside the conversion table ({column[0]:g} to {column[-1]:g} {unit})",
            field=FIELD,
            hint="check the scale the hardness was given in",
        )


def _interpolate(value: float, column: Sequence[float], wanted: Sequence[float], unit: str) -> float:
    _check(value, column, unit)
    at = min(bisect_right(column, value), len(column) - 1)
    share = (value - column[at - 1]) / (column[at] - column[at - 1])
    return wanted[at - 1] + share * (wanted[at] - wanted[at - 1])


def hardness_scales(data: Mapping[str, Any]) -> HardnessScales:
    """Build the scales from the parsed ``rules/metallurgy/hardness_scales.yaml``.

    Raises:
        KnowledgeError: an entry is missing, or the pairs do not rise.
    """
    try:
        hrc = tuple(float(pair[0]) for pair in data["pairs"])
        hv = tuple(float(pair[1]) for pair in data["pairs"])
        scales = HardnessScales(
            hrc=hrc,
            hv=hv,
            conversion_error=float(data["conversion_error_hv_percent"]) / 100.0,
            tolerance=float(data["rockwell_tolerance"]["hrc"]),
            source=str(data["source"]),
        )
    except (KeyError, TypeError, ValueError, IndexError) as problem:
        raise KnowledgeError(
            f"the hardness table is incomplete ({type(problem).__name__}: {problem})",
            path=_PATH,
            hint="give pairs as [HRC, HV]",
        ) from problem
    for column in (hrc, hv):
        if len(column) < 2 or any(a >= b for a, b in pairwise(column)):
            raise KnowledgeError(
                "the hardness pairs do not rise", path=_PATH, hint="order them by hardness, two at least"
            )
    return scales
