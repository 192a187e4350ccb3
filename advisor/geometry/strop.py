"""What a compressible strop does to an edge: extra angle, micro-convexity, and the risk of rounding it.

The contact is a thin elastic layer that sinks by d = p T / E and springs back over a length L behind
the edge, so the apex meets a slope of about atan(d/L). Moduli are known only to a factor of several:
the order of backings is safe, the degrees are not. The risk is a model, stated in ``strops.yaml``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import atan, degrees, floor, log2
from typing import Any, Literal

from advisor.errors import InputError, KnowledgeError
from advisor.geometry.ranges import check

Level = Literal["none", "low", "moderate", "high"]
GRAIN_UM = (0.01, 2000.0)
PASSES = (0, 2000)


@dataclass(frozen=True)
class Backing:
    """What a strop is made of.

    Attributes:
        id, name: identifier and title.
        firmness: hard, firm, medium or soft.
        modulus_mpa: Young's modulus of the layer, MPa.
        thickness_mm: thickness of the layer, mm.
        recovery_mm: length over which the surface springs back, mm.
        pass_limit: passes a side that a matched compound takes.
        uncertain: the kind is not known, so its firmness is a guess.
    """

    id: str
    name: str
    firmness: str
    modulus_mpa: float
    thickness_mm: float
    recovery_mm: float
    pass_limit: float
    uncertain: bool = False


@dataclass(frozen=True)
class StropContact:
    """The surface under the edge.

    Attributes:
        indentation_mm: how deep the bevel sinks, mm.
        angle_gain: degrees per side added at the apex.
        radius_mm: radius of the micro-convexity, L^2/(2 d), mm.
    """

    indentation_mm: float
    angle_gain: float
    radius_mm: float


def contact_from_indentation(depth_mm: float, recovery_mm: float) -> StropContact:
    """Return the contact of a surface that sinks by a depth and recovers over a length.

    Args:
        depth_mm: 1e-6 to 2 mm.
        recovery_mm: 0.1 to 50 mm.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("indentation", depth_mm, 1e-6, 2, "mm")
    check("recovery_length", recovery_mm, 0.1, 50, "mm")
    return StropContact(depth_mm, degrees(atan(depth_mm / recovery_mm)), recovery_mm**2 / (2 * depth_mm))


@dataclass(frozen=True)
class StropRisk:
    """How likely stropping is to round away the finish.

    Attributes:
        value: 0 (no stropping) to 1.
        level: none, low, moderate or high.
        jump: last stone over compound size; 1 on a bare strop.
        passes_allowed: passes a side at which the value is one half.
    """

    value: float
    level: Level
    jump: float
    passes_allowed: float


@dataclass(frozen=True)
class StropModel:
    """Backings from firm to soft, pressures, and the constants of the risk."""

    backings: tuple[Backing, ...]
    pressures: tuple[tuple[str, float, float], ...]
    easy_jump: float
    jump_exponent: float
    bare_pass_factor: float
    low_below: float
    high_from: float

    @classmethod
    def from_data(cls, strops: Mapping[str, Any]) -> StropModel:
        """Build from the parsed ``strops.yaml``.

        Raises:
            KnowledgeError: backings are not listed from firm to soft, or thresholds are out of order.
        """
        risk = strops["risk_model"]
        model = cls(
            backings=tuple(
                Backing(
                    row["id"],
                    row["name"],
                    row["firmness"],
                    float(row["modulus_mpa"]),
                    float(row["thickness_mm"]),
                    float(row["recovery_length_mm"]),
                    float(row["pass_limit"]),
                    bool(row.get("uncertain", False)),
                )
                for row in strops["backings"]
            ),
            pressures=tuple(
                (name, float(row["mpa"]), float(row["wear_factor"])) for name, row in strops["pressures"].items()
            ),
            easy_jump=float(risk["easy_jump"]),
            jump_exponent=float(risk["jump_exponent"]),
            bare_pass_factor=float(risk["bare_pass_factor"]),
            low_below=float(risk["low_below"]),
            high_from=float(risk["high_from"]),
        )
        model._check_order()
        return model

    def _check_order(self) -> None:
        pressure = self.pressures[0][0]
        for firm, soft in pairwise(self.backings):
            sinks = self.contact(firm.id, pressure).angle_gain < self.contact(soft.id, pressure).angle_gain
            if not sinks or firm.pass_limit < soft.pass_limit:
                raise KnowledgeError(
                    f"strop backing {soft.id} is listed as softer than {firm.id}, its figures say no",
                    hint="list backings from firm to soft: angle gain rising, pass_limit not rising",
                )
        if not 0 < self.low_below <= self.high_from < 1:
            raise KnowledgeError(
                "risk thresholds are out of order", hint="0 < low_below <= high_from < 1 in risk_model"
            )

    def backing(self, backing_id: str) -> Backing:
        """Return a backing by id. Raises InputError if there is none."""
        for backing in self.backings:
            if backing.id == backing_id:
                return backing
        known = ", ".join(backing.id for backing in self.backings)
        raise InputError(f"unknown strop backing {backing_id!r}", field="backing", hint=f"one of {known}")

    def rank(self, backing_id: str) -> int:
        """Return the place of a backing in the order of softness, 0 the firmest."""
        return self.backings.index(self.backing(backing_id))

    def pressure(self, name: str) -> tuple[float, float]:
        """Return contact pressure in MPa and wear factor. Raises InputError for an unknown name."""
        for known, mpa, factor in self.pressures:
            if known == name:
                return mpa, factor
        names = ", ".join(known for known, _, _ in self.pressures)
        raise InputError(f"unknown pressure {name!r}", field="pressure", hint=f"one of {names}")

    def contact(self, backing_id: str, pressure: str) -> StropContact:
        """Return how far the surface gives and what that adds to the angle.

        Raises:
            InputError: the backing or the pressure is unknown.
        """
        backing = self.backing(backing_id)
        depth = self.pressure(pressure)[0] * backing.thickness_mm / backing.modulus_mpa
        return contact_from_indentation(depth, backing.recovery_mm)

    def passes_allowed(
        self, last_um: float, compound_um: float | None, backing_id: str, pressure: str = "light"
    ) -> float:
        """Return the passes a side at which the risk is one half; at least a fraction of one.

        Args:
            last_um: grain size of the last stone, 0.01 to 2000 um.
            compound_um: grain size of the compound, 0.01 to 2000 um; None on a bare strop.
            backing_id: id of the backing.
            pressure: light, moderate or heavy.

        Raises:
            OutOfRangeError: a size is outside its range.
            InputError: the backing or the pressure is unknown.
        """
        limit = self.backing(backing_id).pass_limit / self.pressure(pressure)[1]
        if compound_um is None:
            check("last_stone", last_um, *GRAIN_UM, "um")
            return limit * self.bare_pass_factor
        jump = self._jump(last_um, compound_um)
        return limit * min(1.0, float((self.easy_jump / jump) ** self.jump_exponent))

    def risk(
        self,
        last_um: float,
        compound_um: float | None,
        backing_id: str,
        passes: int,
        pressure: str = "light",
    ) -> StropRisk:
        """Return the risk of rounding the apex, 1 - 0.5^(passes/allowed).

        Args:
            passes: passes a side, 0 to 2000; the rest as for ``passes_allowed``.

        Raises:
            OutOfRangeError, InputError: as for ``passes_allowed``.
        """
        check("passes", passes, *PASSES, "passes a side")
        allowed = self.passes_allowed(last_um, compound_um, backing_id, pressure)
        jump = 1.0 if compound_um is None else self._jump(last_um, compound_um)
        value = 1 - 0.5 ** (passes / allowed)
        return StropRisk(value, self._level(value), jump, allowed)

    def most_passes(
        self,
        last_um: float,
        compound_um: float | None,
        backing_id: str,
        pressure: str = "light",
        level: Literal["low", "moderate"] = "low",
    ) -> int:
        """Return the largest number of passes a side that keeps the risk at a level; may be 0.

        Raises:
            OutOfRangeError, InputError: as for ``passes_allowed``.
        """
        allowed = self.passes_allowed(last_um, compound_um, backing_id, pressure)
        bound = self.low_below if level == "low" else self.high_from
        passes = floor(-log2(1 - bound) * allowed)
        # The level excludes its upper bound, which a whole number of passes can hit exactly.
        return passes - 1 if passes and 1 - 0.5 ** (passes / allowed) >= bound else passes

    def _level(self, value: float) -> Level:
        if value == 0:
            return "none"
        if value < self.low_below:
            return "low"
        return "high" if value >= self.high_from else "moderate"

    @staticmethod
    def _jump(last_um: float, compound_um: float) -> float:
        check("last_stone", last_um, *GRAIN_UM, "um")
        check("compound", compound_um, *GRAIN_UM, "um")
        return last_um / compound_um
