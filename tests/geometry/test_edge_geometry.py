"""The section of an edge. Worked figures stand in tests/published/geometry.yaml; here are laws and limits."""

from __future__ import annotations

from math import inf, nan, radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from advisor.errors import OutOfRangeError
from advisor.geometry import edge

thicknesses = st.floats(0.05, 2.0)
angles = st.floats(6.0, 40.0)


@given(thickness=thicknesses, angle=angles)
def test_a_bevel_is_a_right_triangle(thickness: float, angle: float) -> None:
    found = edge.bevel(thickness, angle)
    assert found.width_mm**2 == pytest.approx(found.height_mm**2 + (thickness / 2) ** 2)


def half_width(x: float, apex: float, angle: float, h: float, thickness: float, taper: float) -> float:
    """Half thickness of a blade at x behind the old apex, for a wedge that starts at ``apex``."""
    body = thickness / 2 + (x - h) * tan(radians(taper))
    return max(0.0, min((x - apex) * tan(radians(angle)), body)) if x > apex else 0.0


@given(
    thickness=thicknesses,
    old=angles,
    new=angles,
    taper=st.floats(0, 4),
    setback=st.floats(0, 1.5),
)
def test_regrind_removes_what_integration_of_the_sections_says(
    thickness: float, old: float, new: float, taper: float, setback: float
) -> None:
    h = edge.bevel(thickness, old).height_mm
    found = edge.regrind(thickness, old, new, 100, taper, setback)
    end = setback + found.bevel.height_mm

    def removed(x: float) -> float:
        before = half_width(x, 0.0, old, h, thickness, taper)
        after = min(before, (x - setback) * tan(radians(new))) if x > setback else 0.0
        return before - after

    corners = sorted({x for x in (h, setback) if 0 < x < end})
    expected, _ = quad(removed, 0, max(end, 1e-9), points=corners or None, limit=200)
    assert found.area_mm2 == pytest.approx(expected, abs=1e-7)
    assert found.volume_mm3 == pytest.approx(200 * found.area_mm2)


def test_raising_the_angle_without_losing_height_removes_nothing() -> None:
    assert edge.regrind(0.5, 15, 20, 100).area_mm2 == 0


@given(thickness=thicknesses, old=angles, lower=st.floats(0.5, 5), taper=st.floats(0, 1))
def test_a_lower_angle_removes_more(thickness: float, old: float, lower: float, taper: float) -> None:
    one = edge.regrind(thickness, old, max(old - lower, 2), 100, taper)
    two = edge.regrind(thickness, old, max(old - lower - 1, 2), 100, taper)
    assert two.volume_mm3 >= one.volume_mm3


@given(setback=st.floats(0, 1), more=st.floats(0.01, 1), angle=angles)
def test_a_deeper_chip_removes_more(setback: float, more: float, angle: float) -> None:
    one = edge.regrind(0.4, 20, angle, 150, 2, setback)
    two = edge.regrind(0.4, 20, angle, 150, 2, setback + more)
    assert two.volume_mm3 > one.volume_mm3
    assert two.shoulder_mm >= one.shoulder_mm - 1e-12


@given(width=st.floats(1, 500), bevel_angle=st.floats(5, 25), steeper=st.floats(0.5, 10))
def test_a_micro_bevel_is_a_regrind_with_its_set_back(width: float, bevel_angle: float, steeper: float) -> None:
    micro = edge.micro_bevel(width, bevel_angle + steeper, bevel_angle)
    whole = edge.regrind(2.0, bevel_angle, bevel_angle + steeper, 10, 0, micro.setback_um / 1000)
    assert whole.shoulder_mm * 1000 == pytest.approx(micro.top_um, rel=1e-6)
    assert whole.bevel.width_mm * 1000 == pytest.approx(width, rel=1e-6)
    assert whole.area_mm2 * 1e6 == pytest.approx(micro.area_um2, rel=1e-4)


@given(land=st.floats(0.1, 100), angle=angles)
def test_a_thinner_edge_needs_more_height_for_the_same_land(land: float, angle: float) -> None:
    assert edge.land_height_um(land, angle) > edge.land_height_um(land, angle + 1)


@pytest.mark.parametrize("bad", [0.0, -3.0, 90.0, nan, inf])
def test_angles_outside_the_range_are_refused(bad: float) -> None:
    for call in (
        lambda: edge.bevel(0.5, bad),
        lambda: edge.land_height_um(5, bad),
        lambda: edge.regrind(0.5, bad, 20, 100),
        lambda: edge.regrind(0.5, 20, bad, 100),
        lambda: edge.micro_bevel(50, bad, 15),
        lambda: edge.micro_bevel(50, 20, bad),
    ):
        with pytest.raises(OutOfRangeError) as caught:
            call()
        assert caught.value.field and caught.value.hint


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: edge.bevel(0, 20), "edge_thickness"),
        (lambda: edge.bevel(nan, 20), "edge_thickness"),
        (lambda: edge.land_height_um(-1, 20), "land"),
        (lambda: edge.regrind(0.5, 20, 15, 0), "edge_length"),
        (lambda: edge.regrind(0.5, 20, 15, 100, 15), "taper"),
        (lambda: edge.regrind(0.5, 20, 15, 100, -1), "taper"),
        (lambda: edge.regrind(0.5, 20, 15, 100, nan), "taper"),
        (lambda: edge.regrind(0.5, 20, 15, 100, 0, -1), "setback"),
        (lambda: edge.micro_bevel(0, 20, 15), "width"),
        (lambda: edge.micro_bevel(50, 15, 15), "angle"),
    ],
)
def test_lengths_outside_their_range_are_refused(call: object, field: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.field == field
    assert caught.value.hint
