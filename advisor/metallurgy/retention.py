"""Edge retention in abrasive slicing by the published regression of the card test.

The regression is linear and describes one abrasive test (ISO 8442-5 type).  Its figures serve to compare
two options; they promise no number of cuts, and say nothing of rolled or chipped edges.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, isfinite
from typing import Any

from advisor.errors import InputError, KnowledgeError, OutOfRangeError
from advisor.metallurgy.carbides import CarbideState

Range = tuple[float, float]


@dataclass(frozen=True)
class EdgeOption:
    """One edge to be compared.

    Attributes:
        hardness: HRC.
        included_angle: degrees, both sides together.
        volume: vol % by term of the regression (cementite, chromium_carbide, ...).
        scale: "published" where the volumes are quoted from literature, "computed" where they come from
            the carbide model.  The regression was made with published ones.
        hardness_tolerance: plus or minus HRC of the hardness; 0 compares as if exact.
    """

    hardness: float
    included_angle: float
    volume: Mapping[str, float]
    scale: str
    hardness_tolerance: float = 0.0


@dataclass(frozen=True)
class CardCut:
    """Total card cut of one edge.

    Attributes:
        millimetres: the regression's figure.
        error: one standard deviation from carbide volumes and hardness, mm; the regression's own scatter
            is not published and not included.
        scale: scale of the carbide volumes, as in ``EdgeOption``.
        extrapolated: names of the inputs outside the range of the regression's data.
    """

    millimetres: float
    error: float
    scale: str
    extrapolated: tuple[str, ...]


@dataclass(frozen=True)
class EdgeLifeRatio:
    """Card cut of one edge over that of another.

    Attributes:
        ratio: first over second.
        error: one standard deviation; errors both options share (same volumes) are counted once.
        mixed_scales: one option has published carbide volumes, the other computed ones.
        extrapolated: inputs of either option outside the range of the regression's data.
    """

    ratio: float
    error: float
    mixed_scales: bool
    extrapolated: tuple[str, ...]


class EdgeRetention:
    """The regression with its coefficients from the parsed ``rules/metallurgy/edge_retention.yaml``.

    Raises:
        KnowledgeError: an entry is missing or is no number.
    """

    def __init__(self, data: Mapping[str, Any]) -> None:
        try:
            self._constant = float(data["constant"])
            self._hardness = float(data["hardness"])
            self._angle = float(data["included_angle"])
            self._volume = {term: float(k) for term, k in data["volume"].items()}
            self._vanadium_rich = float(data["vanadium_in_chromium_carbide"]["fraction"])
            self._fitted = _ranges(data["fitted_range"])
            self._limits = _ranges(data["limits"])
            self._least = float(data["least_millimetres"])
            self._share = {name: float(s["share_error"]) for name, s in data["volume_scales"].items()}
        except (KeyError, TypeError, ValueError, AttributeError) as problem:
            raise KnowledgeError(
                f"the edge-retention data are incomplete ({type(problem).__name__}: {problem})",
                path="rules/metallurgy/edge_retention.yaml",
                hint="add the missing entry",
            ) from problem

    def volumes(self, state: CarbideState) -> dict[str, float]:
        """Sort a computed carbide state into the terms of the regression, vol %."""
        rich = state.metals["M7C3"].get("V", 0.0) >= self._vanadium_rich
        m7c3 = "chromium_vanadium_carbide" if rich else "chromium_carbide"
        volume = dict.fromkeys(self._volume, 0.0)
        volume["cementite"] = state.volume["M3C"]
        volume["chromium_carbide"] = state.volume["M23C6"]
        volume[m7c3] += state.volume["M7C3"]
        volume["vanadium_carbide"] = state.volume["MC"] * (1.0 - state.nitride_share)
        volume["vanadium_nitride"] = state.volume["MC"] * state.nitride_share
        volume["tungsten_molybdenum_carbide"] = state.volume["M6C"]
        volume["chromium_nitride"] = state.volume["M2N"]
        return volume

    def card_cut_mm(self, option: EdgeOption) -> CardCut:
        """Return the total card cut of one edge; use it only beside another.

        Raises:
            InputError: an unknown carbide term or volume scale.
            OutOfRangeError: an input outside the limits, or a figure below what the line can mean.
        """
        self._check(option)
        millimetres = self._constant + self._hardness * option.hardness + self._angle * option.included_angle
        millimetres += sum(self._volume[term] * value for term, value in option.volume.items())
        if millimetres < self._least:
            raise OutOfRangeError(
                f"the card-cut regression gives {millimetres:.0f} mm, less than it can mean",
                field="edge",
                hint="the edge is too obtuse or too soft for this comparison; try a smaller angle",
            )
        hardness = self._hardness * option.hardness_tolerance
        error = hypot(self._volume_error(option, option.volume), hardness)
        return CardCut(millimetres, error, option.scale, self._extrapolated(option))

    def edge_life_ratio(self, first: EdgeOption, second: EdgeOption) -> EdgeLifeRatio:
        """Compare two edges: how far the first cuts for each millimetre of the second.

        Raises:
            InputError, OutOfRangeError: as ``card_cut_mm``.
        """
        a, b = self.card_cut_mm(first), self.card_cut_mm(second)
        ratio = a.millimetres / b.millimetres
        if dict(first.volume) == dict(second.volume) and first.scale == second.scale:
            # the same steel: an error of its volumes moves both figures by as many millimetres
            volume = self._volume_error(first, first.volume) * abs(1.0 - ratio) / b.millimetres
        else:
            volume = hypot(
                self._volume_error(first, first.volume) / b.millimetres,
                self._volume_error(second, second.volume) * ratio / b.millimetres,
            )
        hardness = self._hardness / b.millimetres
        error = hypot(volume, hardness * first.hardness_tolerance, hardness * ratio * second.hardness_tolerance)
        outside = tuple(dict.fromkeys(a.extrapolated + b.extrapolated))
        return EdgeLifeRatio(ratio, error, first.scale != second.scale, outside)

    def _volume_error(self, option: EdgeOption, volume: Mapping[str, float]) -> float:
        share = self._share[option.scale]
        return hypot(*(self._volume[term] * share * value for term, value in volume.items()))

    def _inputs(self, option: EdgeOption) -> dict[str, float]:
        return {
            "hardness": option.hardness,
            "included_angle": option.included_angle,
            "total_carbide": sum(option.volume.values()),
        }

    def _extrapolated(self, option: EdgeOption) -> tuple[str, ...]:
        inputs = self._inputs(option)
        return tuple(n for n, (low, high) in self._fitted.items() if not low <= inputs[n] <= high)

    def _check(self, option: EdgeOption) -> None:
        unknown = [term for term in option.volume if term not in self._volume]
        if unknown or option.scale not in self._share:
            wrong = unknown[0] if unknown else option.scale
            known = self._volume if unknown else self._share
            raise InputError(
                f"unknown carbide term or scale {wrong!r}",
                field="carbides",
                hint=f"use one of: {', '.join(known)}",
            )
        if any(value < 0.0 for value in option.volume.values()):
            raise OutOfRangeError("a carbide volume is negative", field="carbides", hint="give vol %, 0 or more")
        for name, value in self._inputs(option).items():
            low, high = self._limits[name]
            if not isfinite(value) or not low <= value <= high:
                raise OutOfRangeError(
                    f"{name.replace('_', ' ')} {value:g} is outside {low:g} to {high:g}, where the card-cut "
                    "regression can be used",
                    field=name,
                    hint="no relative edge life is given there",
                )


def _ranges(data: Mapping[str, Any]) -> dict[str, Range]:
    names = ("hardness", "included_angle", "total_carbide")
    return {name: (float(data[name][0]), float(data[name][1])) for name in names}
