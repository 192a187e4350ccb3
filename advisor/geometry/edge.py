"""The section of a knife edge: bevels, worn lands, what a regrind removes, micro-bevels.

Angles are degrees per side from the blade's mid-plane; lengths in mm unless a name says um.
All formulas are plane geometry of straight lines: real bevels are somewhat convex, so widths measured
on a hand-sharpened knife scatter by about a tenth.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sin, tan

from advisor.errors import OutOfRangeError
from advisor.geometry.ranges import check, check_angle

THICKNESS_MM = (0.02, 10.0)
LAND_UM = (0.0, 500.0)
SETBACK_MM = (0.0, 5.0)
EDGE_MM = (1.0, 1000.0)


@dataclass(frozen=True)
class Bevel:
    """One bevel: width of its face and height along the mid-plane, mm."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Regrind:
    """What grinding to another angle leaves and removes.

    Attributes:
        bevel: the new bevel.
        shoulder_mm: thickness where the new bevel ends, mm.
        area_mm2: section removed on one side, mm2.
        volume_mm3: steel removed on both sides over the edge length, mm3.
    """

    bevel: Bevel
    shoulder_mm: float
    area_mm2: float
    volume_mm3: float


@dataclass(frozen=True)
class MicroBevel:
    """A narrow steeper bevel at the apex.

    Attributes:
        top_um: thickness where it ends, um.
        setback_um: how far the apex moves back, um.
        area_um2: section removed on one side, um2.
    """

    top_um: float
    setback_um: float
    area_um2: float


def bevel(thickness_mm: float, angle: float) -> Bevel:
    """Return the bevel of an edge: width t/(2 sin a), height t/(2 tan a).

    Args:
        thickness_mm: thickness behind the edge, 0.02 to 10 mm.
        angle: degrees per side, 1 to 60.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("edge_thickness", thickness_mm, *THICKNESS_MM, "mm")
    a = radians(check_angle(angle))
    return Bevel(thickness_mm / (2 * sin(a)), thickness_mm / (2 * tan(a)))


def land_height_um(land_um: float, angle: float) -> float:
    """Return the height of steel to remove to erase a worn flat at the apex, b/(2 tan a), um.

    Args:
        land_um: width of the flat, 0 to 500 um.
        angle: degrees per side, 1 to 60.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("land", land_um, *LAND_UM, "um")
    return land_um / (2 * tan(radians(check_angle(angle))))


def regrind(
    thickness_mm: float,
    present_angle: float,
    angle: float,
    edge_mm: float,
    taper: float = 0.0,
    setback_mm: float = 0.0,
) -> Regrind:
    """Return what re-bevelling removes.

    The old section is a wedge of ``present_angle`` up to the shoulder, then primary faces that taper by
    ``taper`` a side. The new wedge starts ``setback_mm`` behind the old apex. Where the new angle is
    steeper and does not reach the old shoulder, the rest of the old bevel stays.

    Args:
        thickness_mm: thickness behind the edge, 0.02 to 10 mm.
        present_angle, angle: old and new angle, degrees per side, 1 to 60.
        edge_mm: edge length, 1 to 1000 mm.
        taper: taper of the primary faces, degrees per side, 0 to less than ``angle``.
        setback_mm: height lost, such as the depth of a chip to remove, 0 to 5 mm.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("edge_thickness", thickness_mm, *THICKNESS_MM, "mm")
    check("edge_length", edge_mm, *EDGE_MM, "mm")
    check("setback", setback_mm, *SETBACK_MM, "mm")
    check_angle(present_angle, "present_angle")
    if not 0 <= taper < min(check_angle(angle), present_angle):
        raise OutOfRangeError(
            f"faces that taper {taper:g} degrees a side behind a {angle:g} degree edge",
            field="taper",
            hint="the taper is at least 0 and smaller than both edge angles",
        )
    old, new, back = (tan(radians(x)) for x in (present_angle, angle, taper))
    h_old = thickness_mm / (2 * old)
    reach = setback_mm * new / (new - old) if new > old else float("inf")
    if reach <= h_old:
        h_new = reach - setback_mm
        before = reach**2 * old / 2
    else:
        h_new = (thickness_mm / 2 + (setback_mm - h_old) * back) / (new - back)
        behind = setback_mm + h_new - h_old
        before = h_old**2 * old / 2 + h_old * old * behind + behind**2 * back / 2
    area = before - h_new**2 * new / 2
    shoulder = 2 * h_new * new
    width = h_new * new / sin(radians(angle))
    return Regrind(Bevel(width, h_new), shoulder, max(area, 0.0), 2 * max(area, 0.0) * edge_mm)


def micro_bevel(width_um: float, angle: float, bevel_angle: float) -> MicroBevel:
    """Return the size of a micro-bevel: top thickness 2 w sin a, and what it costs.

    Args:
        width_um: face width, 1 to 2000 um.
        angle: its angle, degrees per side, more than ``bevel_angle``, at most 60.
        bevel_angle: angle of the bevel it sits on, degrees per side, 1 to 60.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("width", width_um, 1, 2000, "um")
    check_angle(bevel_angle, "bevel_angle")
    if not bevel_angle < check_angle(angle):
        raise OutOfRangeError(
            f"a micro-bevel of {angle:g} degrees on a bevel of {bevel_angle:g}",
            field="angle",
            hint="a micro-bevel is steeper than the bevel it sits on",
        )
    half = width_um * sin(radians(angle))
    setback = half / tan(radians(bevel_angle)) - half / tan(radians(angle))
    return MicroBevel(2 * half, setback, half * setback / 2)
