"""Indicators from the matrix: pitting resistance, attainable hardness, hardness margin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Any

from advisor.errors import KnowledgeError, OutOfRangeError


@dataclass(frozen=True)
class MatrixIndicators:
    """Figures computed from the dissolved elements.

    Attributes:
        pitting_resistance: PREN of the matrix (ranking only; tempering above 450 C lowers the real value).
        attainable_hardness: HRC the quenched matrix can reach, None outside the range of the relation.
        attainable_error: one standard deviation of it, HRC.
    """

    pitting_resistance: float
    attainable_hardness: float | None
    attainable_error: float


@dataclass(frozen=True)
class HardnessMargin:
    """A blade's hardness against what its grade is usually given.

    Attributes:
        below_highest: highest practical HRC of the grade minus the blade's; negative is implausible.
        above_usual: HRC above the top of the usual band, negative if inside or below.
        below_usual: HRC below the bottom of the usual band, negative if inside or above.
        share_of_band: 0 at the bottom, 1 at the top of the usual band; may lie outside.
    """

    below_highest: float
    above_usual: float
    below_usual: float
    share_of_band: float


class MatrixModel:
    """Indicators with their coefficients from the parsed ``rules/metallurgy/matrix.yaml``.

    Raises:
        KnowledgeError: an entry is missing or is no number.
    """

    def __init__(self, data: Mapping[str, Any]) -> None:
        try:
            pitting, hardness = data["pitting_resistance"], data["attainable_hardness"]
            self._mo, self._w, self._n = (float(pitting[k]) for k in ("molybdenum", "tungsten", "nitrogen"))
            self._intercept, self._slope = float(hardness["intercept"]), float(hardness["slope"])
            self._highest, self._error = float(hardness["highest"]), float(hardness["error_hrc"])
            low, high = hardness["carbon"]
            self._carbon = (float(low), float(high))
        except (KeyError, TypeError, ValueError) as problem:
            raise KnowledgeError(
                f"the matrix relations are incomplete ({type(problem).__name__}: {problem})",
                path="rules/metallurgy/matrix.yaml",
                hint="add the missing entry",
            ) from problem

    def pitting_resistance(self, matrix: Mapping[str, float]) -> float:
        """Return PREN = Cr + 3.3 (Mo + 0.5 W) + 16 N of the dissolved elements (wt %)."""
        dissolved = {s: matrix.get(s, 0.0) for s in ("Cr", "Mo", "W", "N")}
        return (
            dissolved["Cr"]
            + self._mo * (dissolved["Mo"] + self._w * dissolved["W"])
            + self._n * dissolved["N"]
        )

    def attainable_hardness(self, carbon: float) -> float:
        """Return HRC of quenched martensite with ``carbon`` wt % dissolved, about +- 2 HRC.

        Raises:
            OutOfRangeError: carbon outside the range of the relation.
        """
        low, high = self._carbon
        if not low <= carbon <= high:
            raise OutOfRangeError(
                f"{carbon:.2f} % dissolved carbon is outside {low:g} to {high:g} %",
                field="composition",
                hint="the relation holds for martensite only",
            )
        return min(self._highest, self._intercept + self._slope * sqrt(carbon))

    def indicators(self, matrix: Mapping[str, float]) -> MatrixIndicators:
        """Return all indicators of one matrix (wt % by element)."""
        low, high = self._carbon
        inside = low <= matrix["C"] <= high
        return MatrixIndicators(
            pitting_resistance=self.pitting_resistance(matrix),
            attainable_hardness=self.attainable_hardness(matrix["C"]) if inside else None,
            attainable_error=self._error,
        )


def hardness_margin(hrc: float, usual: tuple[float, float], highest: float) -> HardnessMargin:
    """Compare a hardness with the usual band and the highest practical value of the grade, all in HRC.

    Raises:
        OutOfRangeError: the grade's figures are not in rising order.
    """
    low, high = usual
    if not low < high <= highest:
        raise OutOfRangeError(
            f"usual hardness {low:g} to {high:g} and highest {highest:g} HRC are not in rising order",
            field="hardness",
            hint="correct the figures of the grade",
        )
    return HardnessMargin(
        below_highest=highest - hrc,
        above_usual=hrc - high,
        below_usual=low - hrc,
        share_of_band=(hrc - low) / (high - low),
    )
