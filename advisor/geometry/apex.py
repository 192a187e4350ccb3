"""The last micrometre: apex width against finish, rounding, and the slicing angle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan, degrees, radians, sin, sqrt, tan
from typing import Any

from advisor.geometry.ranges import check, check_angle


@dataclass(frozen=True)
class ApexWidths:
    """Power law of apex width against the size of the last abrasive, w = c d^n.

    Attributes:
        coefficient, exponent: c (um at 1 um grain) and n.
        finest_um, coarsest_um: range of grain sizes it was fitted on.
        spread: factor that most measured widths lie within, above or below.
    """

    coefficient: float
    exponent: float
    finest_um: float
    coarsest_um: float
    spread: float

    @classmethod
    def from_data(cls, apex: Mapping[str, Any]) -> ApexWidths:
        """Build from the parsed ``apex.yaml``."""
        fit = apex["apex_width"]
        return cls(
            float(fit["coefficient"]),
            float(fit["exponent"]),
            float(fit["finest_um"]),
            float(fit["coarsest_um"]),
            float(fit["spread"]),
        )

    def width_um(self, finish_um: float) -> float:
        """Return the apex width that alternating edge-leading strokes leave, um.

        Args:
            finish_um: grain size of the last stone, within the fitted range.

        Raises:
            OutOfRangeError: the size is outside the fitted range.
        """
        check("finish", finish_um, self.finest_um, self.coarsest_um, "um")
        return self.coefficient * float(finish_um**self.exponent)


def width_behind_apex_um(apex_um: float, angle: float, distance_um: float) -> float:
    """Return the edge width at a distance behind the apex, b + 2 x tan a, um (within about 30 %).

    Args:
        apex_um: apex width, 0 to 500 um.
        angle: degrees per side, 1 to 60.
        distance_um: 0 to 1000 um.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("apex_width", apex_um, 0, 500, "um")
    check("distance", distance_um, 0, 1000, "um")
    return apex_um + 2 * distance_um * tan(radians(check_angle(angle)))


def rounding_setback_um(radius_um: float, angle: float) -> float:
    """Return how far a rounded apex sits behind the ideal point, r (1/sin a - 1), um.

    Args:
        radius_um: radius tangent to both faces, 0 to 200 um.
        angle: degrees per side, 1 to 60.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("radius", radius_um, 0, 200, "um")
    return radius_um * (1 / sin(radians(check_angle(angle))) - 1)


def slicing_angle(angle: float, slice_push_ratio: float) -> float:
    """Return the angle per side that the wedge has along its path, degrees.

    tan a_eff = tan a / sqrt(1 + xi^2), kinematics of oblique cutting.

    Args:
        angle: degrees per side, 1 to 60.
        slice_push_ratio: speed along the edge over speed across it, 0 to 100.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("slice_push_ratio", slice_push_ratio, 0, 100, "")
    return degrees(atan(tan(radians(check_angle(angle))) / sqrt(1 + slice_push_ratio**2)))
