"""What an edge can bear: side load on the wedge, contact pressure, push force and dents.

The wedge is an elastic cantilever of section t = 2 z tan a at depth z below the apex (small strain).
It holds for included angles up to about 50 degrees and above the scale of carbides and grains; as a ratio
between two angles of one steel it is good to a few per cent, as a load only to the right order.
"""

from __future__ import annotations

from math import cos, radians, sin, tan

from advisor.geometry.ranges import check, check_angle

WEDGE_DEG = (2.0, 30.0)  # beam theory of a slender wedge


def _wedge(angle: float, field: str = "angle") -> float:
    return radians(check(field, angle, *WEDGE_DEG, "degrees per side"))


def strength_ratio(from_angle: float, to_angle: float) -> float:
    """Return lateral load at yield at ``to_angle`` over that at ``from_angle``, (tan a2 / tan a1)^2.

    Args:
        from_angle, to_angle: degrees per side, 2 to 30.

    Raises:
        OutOfRangeError: an angle is outside its range.
    """
    return (tan(_wedge(to_angle, "to_angle")) / tan(_wedge(from_angle, "from_angle"))) ** 2


def stiffness_ratio(from_angle: float, to_angle: float) -> float:
    """Return lateral stiffness at ``to_angle`` over that at ``from_angle``, (tan a2 / tan a1)^3.

    Args:
        from_angle, to_angle: degrees per side, 2 to 30.

    Raises:
        OutOfRangeError: an angle is outside its range.
    """
    return (tan(_wedge(to_angle, "to_angle")) / tan(_wedge(from_angle, "from_angle"))) ** 3


def side_load_at_yield(yield_mpa: float, depth_mm: float, angle: float) -> float:
    """Return the side load at the apex that yields the wedge at a depth, 2/3 s z tan^2 a, N per mm.

    Args:
        yield_mpa: yield stress, 100 to 5000 MPa.
        depth_mm: distance behind the apex, 0.001 to 5 mm.
        angle: degrees per side, 2 to 30.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("yield_stress", yield_mpa, 100, 5000, "MPa")
    check("depth", depth_mm, 0.001, 5, "mm")
    return 2 / 3 * yield_mpa * depth_mm * tan(_wedge(angle)) ** 2


def contact_pressure_mpa(line_load_n_per_mm: float, apex_um: float) -> float:
    """Return the pressure under an apex in a push cut, load over width, MPa.

    Args:
        line_load_n_per_mm: force per length of edge, 0.001 to 100 N/mm.
        apex_um: apex width, 0.01 to 500 um.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("line_load", line_load_n_per_mm, 0.001, 100, "N/mm")
    check("apex_width", apex_um, 0.01, 500, "um")
    return line_load_n_per_mm / (apex_um / 1000)


def wedging_force_ratio(from_angle: float, to_angle: float, friction: float) -> float:
    """Return the push force of a wedge inside the cut at one angle over that at another.

    Force per side force is 2 (sin a + mu cos a); friction and thickness dominate deep cuts.

    Args:
        from_angle, to_angle: degrees per side, 1 to 60.
        friction: coefficient of friction, 0 to 1.5.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("friction", friction, 0, 1.5, "")
    a1, a2 = radians(check_angle(from_angle, "from_angle")), radians(check_angle(to_angle, "to_angle"))
    return (sin(a2) + friction * cos(a2)) / (sin(a1) + friction * cos(a1))


def dent_height_um(arc_mm: float, rod_radius_mm: float) -> float:
    """Return the height of a dent that a round rod pressed into an upright edge, r (1 - cos(s/2r)), um.

    Args:
        arc_mm: length of the dent along the rod's arc, above 0 to 3 radii, mm.
        rod_radius_mm: 0.1 to 10 mm.

    Raises:
        OutOfRangeError: an argument is outside its range.
    """
    check("rod_radius", rod_radius_mm, 0.1, 10, "mm")
    check("dent_length", arc_mm, 0, 3 * rod_radius_mm, "mm")
    return 1000 * rod_radius_mm * (1 - cos(arc_mm / (2 * rod_radius_mm)))
