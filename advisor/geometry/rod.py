"""Clamped rod-guided sharpening: what angle a pivot sets, and what moves it.

The pivot is ``height`` above the blade's mid-plane and ``distance`` from the edge line, measured square to
it in that plane. The abrasive face lies ``offset`` from the rod's axis towards the blade. A flat
stone that may roll about its rod lies in one plane with the pivot and a straight edge, so the angle is
the same all along a straight edge; it changes only where the edge curves. Lengths are in mm, angles in
degrees per side.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan, cos, degrees, hypot, radians, sin, tan

from advisor.errors import OutOfRangeError
from advisor.geometry.ranges import check, check_angle

HEIGHT_MM = (0.1, 1000.0)
DISTANCE_MM = (5.0, 1000.0)
OFFSET_MM = (0.0, 60.0)
SKEW_DEG = (0.0, 80.0)


@dataclass(frozen=True)
class Pivot:
    """Where the rod turns: height 0.1 to 1000 mm, distance 5 to 1000 mm, offset 0 to 60 mm.

    Raises:
        OutOfRangeError: a length is outside its range, or the angle it sets outside 1 to 60 degrees.
    """

    height_mm: float
    distance_mm: float
    offset_mm: float = 0.0

    def __post_init__(self) -> None:
        check("height", self.height_mm, *HEIGHT_MM, "mm")
        check("distance", self.distance_mm, *DISTANCE_MM, "mm")
        check("offset", self.offset_mm, *OFFSET_MM, "mm")
        check_angle(self._raw_angle())

    def _raw_angle(self) -> float:
        reach = hypot(self.height_mm, self.distance_mm)
        if self.offset_mm >= reach:
            return float("nan")
        return degrees(atan(self.height_mm / self.distance_mm) - asin(self.offset_mm / reach))

    @property
    def angle(self) -> float:
        """Angle per side, atan(H/D) - asin(s/sqrt(H^2 + D^2)), degrees."""
        return self._raw_angle()

    def with_stone(self, thicker_mm: float) -> Pivot:
        """Return the same pivot with a stone thicker (or, negative, thinner) by so many mm.

        Raises:
            OutOfRangeError: as for the pivot itself.
        """
        return Pivot(self.height_mm, self.distance_mm, self.offset_mm + thicker_mm)

    def angle_change(self, thicker_mm: float) -> float:
        """Return by how many degrees per side a thicker stone changes the angle (thicker: lower)."""
        return self.with_stone(thicker_mm).angle - self.angle

    def angle_at(self, out_mm: float, along_mm: float, swing: float) -> float:
        """Return the angle per side at a point of a curved edge, degrees.

        Args:
            out_mm: distance of the point from the pivot's foot, square to the straight edge, mm.
            along_mm: distance of the point along the blade from the pivot's foot, mm.
            swing: how far the edge's tangent has swung back towards the spine, 0 to 80 degrees.

        Raises:
            OutOfRangeError: an argument or the angle is outside its range.
        """
        return Pivot(self.height_mm, tangent_distance(out_mm, along_mm, swing), self.offset_mm).angle

    def clamp_distance(self, out_mm: float, swing: float) -> float:
        """Return how far along the blade the pivot is from a point that keeps the straight part's angle, mm.

        Args:
            out_mm: distance of the point from the pivot's foot, square to the straight edge, mm.
            swing: how far the tangent has swung back there, above 0 to 80 degrees.

        Raises:
            OutOfRangeError: an argument is outside its range.
        """
        check("swing", swing, 1, SKEW_DEG[1], "degrees")
        psi = radians(swing)
        return (self.distance_mm - check("out", out_mm, *DISTANCE_MM, "mm") * cos(psi)) / sin(psi)


def pivot_height(angle: float, distance_mm: float, offset_mm: float = 0.0) -> float:
    """Return the pivot height that sets an angle, (s + D sin a)/cos a, mm.

    Args:
        angle: degrees per side, 1 to 60.
        distance_mm: 5 to 1000 mm.
        offset_mm: 0 to 60 mm.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    a = radians(check_angle(angle))
    check("distance", distance_mm, *DISTANCE_MM, "mm")
    check("offset", offset_mm, *OFFSET_MM, "mm")
    return (offset_mm + distance_mm * sin(a)) / cos(a)


def tangent_distance(out_mm: float, along_mm: float, swing: float) -> float:
    """Return the distance from the pivot's foot to the tangent at a point of the edge, mm.

    Args:
        out_mm, along_mm: the point, square to and along the blade, mm; at most 1000 in size.
        swing: degrees that the tangent has swung back, 0 to 80.

    Raises:
        OutOfRangeError: an argument is outside its range, or the tangent passes too near the pivot.
    """
    check("out", out_mm, *DISTANCE_MM, "mm")
    check("along", along_mm, -1000, 1000, "mm")
    psi = radians(check("swing", swing, *SKEW_DEG, "degrees"))
    found = out_mm * cos(psi) + along_mm * sin(psi)
    if found < DISTANCE_MM[0]:
        raise OutOfRangeError(
            f"the tangent there passes {found:.1f} mm from the pivot's foot",
            field="along",
            hint="clamp the blade so that the pivot stays behind the curve",
        )
    return found


def inclinometer_reading(angle: float, skew: float) -> float:
    """Return what an inclinometer on a skewed rod reads, tan r = tan a cos(skew), degrees.

    Args:
        angle: true angle, degrees per side, 1 to 60.
        skew: how far the rod is from square to the edge, 0 to 80 degrees.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    theta = radians(check("skew", skew, *SKEW_DEG, "degrees"))
    return degrees(atan(tan(radians(check_angle(angle))) * cos(theta)))
