"""Loads on the edge wedge, checked against numerical beam theory."""

from __future__ import annotations

from math import nan, radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from advisor.errors import OutOfRangeError
from advisor.geometry import load

angles = st.floats(3.0, 30.0)


def tip_deflection(angle: float, start_mm: float = 0.01, root_mm: float = 1.0) -> float:
    """Deflection of a unit-width cantilever wedge under 1 N at ``start_mm``, by the unit-load integral."""

    def curvature(z: float) -> float:
        thickness = 2 * z * tan(radians(angle))
        inertia = thickness**3 / 12
        return (z - start_mm) ** 2 / inertia

    return quad(curvature, start_mm, root_mm, epsrel=1e-10)[0]


def yield_load(angle: float, depth_mm: float, yield_mpa: float) -> float:
    """Load at which bending stress M/W of the section at a depth reaches the yield stress, N/mm."""
    thickness = 2 * depth_mm * tan(radians(angle))
    section_modulus = thickness**2 / 6
    return yield_mpa * section_modulus / depth_mm


@given(a=angles, b=angles)
def test_stiffness_goes_with_the_cube_of_the_tangent(a: float, b: float) -> None:
    assert load.stiffness_ratio(a, b) == pytest.approx(tip_deflection(a) / tip_deflection(b), rel=1e-6)


@given(a=angles, b=angles, depth=st.floats(0.005, 1))
def test_strength_goes_with_the_square_of_the_tangent(a: float, b: float, depth: float) -> None:
    assert load.side_load_at_yield(2000, depth, a) == pytest.approx(yield_load(a, depth, 2000))
    ratio = yield_load(b, depth, 2000) / yield_load(a, depth, 2000)
    assert load.strength_ratio(a, b) == pytest.approx(ratio)


def test_weakest_section_is_nearest_the_apex() -> None:
    found = minimize_scalar(lambda z: yield_load(15, z, 2000), bounds=(0.01, 1), method="bounded")
    assert found.x == pytest.approx(0.01, abs=1e-4)


@given(a=angles, b=angles)
def test_ratios_undo_each_other(a: float, b: float) -> None:
    assert load.strength_ratio(a, b) * load.strength_ratio(b, a) == pytest.approx(1)
    assert load.stiffness_ratio(a, b) * load.stiffness_ratio(b, a) == pytest.approx(1)
    assert load.wedging_force_ratio(a, b, 0.3) * load.wedging_force_ratio(b, a, 0.3) == pytest.approx(1)


@given(a=st.floats(5, 29), friction=st.floats(0, 1))
def test_friction_hides_part_of_what_a_thinner_edge_saves(a: float, friction: float) -> None:
    assert 1 < load.wedging_force_ratio(a, a + 1, friction) <= load.wedging_force_ratio(a, a + 1, 0) + 1e-12


@given(arc=st.floats(0.01, 2.9), radius=st.floats(1, 5))
def test_a_longer_dent_is_deeper(arc: float, radius: float) -> None:
    assert load.dent_height_um(arc, radius) < load.dent_height_um(arc + 0.05, radius)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: load.strength_ratio(15, 45), "to_angle"),
        (lambda: load.stiffness_ratio(0, 15), "from_angle"),
        (lambda: load.side_load_at_yield(nan, 0.05, 15), "yield_stress"),
        (lambda: load.side_load_at_yield(2000, 0, 15), "depth"),
        (lambda: load.contact_pressure_mpa(1, 0), "apex_width"),
        (lambda: load.contact_pressure_mpa(-1, 1), "line_load"),
        (lambda: load.wedging_force_ratio(15, 20, -0.1), "friction"),
        (lambda: load.dent_height_um(5, 1), "dent_length"),
        (lambda: load.dent_height_um(0.2, 0), "rod_radius"),
    ],
)
def test_out_of_range(call: object, field: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.field == field
    assert caught.value.hint
