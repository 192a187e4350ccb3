"""Guided-rod geometry against vectors in space. Worked figures stand in tests/published/geometry.yaml."""

from __future__ import annotations

from math import asin, atan2, cos, degrees, hypot, nan, radians, sin, tan

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from advisor.errors import OutOfRangeError
from advisor.geometry.rod import (
    Pivot,
    inclinometer_reading,
    pivot_height,
    tangent_distance,
)

angles = st.floats(8, 35)
distances = st.floats(100, 300)
offsets = st.floats(0, 15)


@given(angle=angles, distance=distances, offset=offsets)
def test_pivot_height_sets_its_angle(angle: float, distance: float, offset: float) -> None:
    assert Pivot(pivot_height(angle, distance, offset), distance, offset).angle == pytest.approx(angle)


@given(angle=angles, distance=distances, offset=offsets)
def test_the_stone_face_passes_its_offset_from_the_pivot(angle: float, distance: float, offset: float) -> None:
    # A line through the edge at the computed angle runs at exactly the offset from the pivot.
    height = pivot_height(angle, distance, offset)
    found = brentq(lambda a: height * cos(radians(a)) - distance * sin(radians(a)) - offset, 1, 60, xtol=1e-12)
    assert found == pytest.approx(Pivot(height, distance, offset).angle)


@given(angle=angles, distance=distances, along=st.floats(-150, 150))
def test_angle_is_the_same_all_along_a_straight_edge(angle: float, distance: float, along: float) -> None:
    # Dihedral angle between the blade's plane and the plane of the edge line and the pivot.
    height = pivot_height(angle, distance)
    to_pivot = np.array([-distance, -along, height])
    normal = np.cross(np.array([0.0, 1.0, 0.0]), to_pivot)
    dihedral = degrees(atan2(hypot(normal[0], normal[1]), abs(normal[2])))
    assert dihedral == pytest.approx(angle)
    assert Pivot(height, distance).angle_at(distance, along, 0) == pytest.approx(angle)


@given(distance=distances, along=st.floats(0, 150), swing=st.floats(0, 60), angle=angles)
def test_curve_angle_is_the_dihedral_with_its_tangent(
    distance: float, along: float, swing: float, angle: float
) -> None:
    height, psi = pivot_height(angle, distance), radians(swing)
    tangent = np.array([-sin(psi), cos(psi), 0.0])
    normal = np.cross(tangent, np.array([-distance, -along, height]))
    dihedral = degrees(atan2(hypot(normal[0], normal[1]), abs(normal[2])))
    assume(dihedral < 60)
    assert Pivot(height, distance).angle_at(distance, along, swing) == pytest.approx(dihedral)


@given(angle=angles, distance=distances, thicker=st.floats(0.1, 10))
def test_a_thicker_stone_lowers_the_angle_and_a_higher_pivot_restores_it(
    angle: float, distance: float, thicker: float
) -> None:
    pivot = Pivot(pivot_height(angle, distance, 5), distance, 5)
    assume(angle + pivot.with_stone(0).angle > 0 and degrees(asin((5 + thicker) / distance)) < angle)
    assert pivot.angle_change(thicker) < 0
    raised = Pivot(pivot_height(pivot.angle, distance, 5 + thicker), distance, 5 + thicker)
    assert raised.height_mm > pivot.height_mm
    assert raised.angle == pytest.approx(pivot.angle)


@given(out=st.floats(120, 180), swing=st.floats(5, 60), height=st.floats(40, 80))
def test_clamp_distance_keeps_the_angle(out: float, swing: float, height: float) -> None:
    pivot = Pivot(height, 180)
    along = pivot.clamp_distance(out, swing)
    assume(abs(along) < 1000)
    assert pivot.angle_at(out, along, swing) == pytest.approx(pivot.angle)


@given(angle=angles, skew=st.floats(0, 60))
def test_inclinometer_reads_the_slope_of_the_skewed_rod(angle: float, skew: float) -> None:
    # A direction in the stone's plane, skewed in plan: rise over run of that line.
    run = 1 / cos(radians(skew))
    rise = tan(radians(angle))
    assert tan(radians(inclinometer_reading(angle, skew))) == pytest.approx(rise / run)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: Pivot(0, 180), "height"),
        (lambda: Pivot(nan, 180), "height"),
        (lambda: Pivot(60, 1), "distance"),
        (lambda: Pivot(60, 180, -1), "offset"),
        (lambda: Pivot(900, 180), "angle"),
        (lambda: Pivot(5, 180, 30), "angle"),
        (lambda: Pivot(3, 5, 50), "angle"),
        (lambda: Pivot(60, 180).with_stone(-3), "offset"),
        (lambda: Pivot(60, 180).clamp_distance(150, 0), "swing"),
        (lambda: tangent_distance(20, -300, 45), "along"),
        (lambda: tangent_distance(20, 0, 85), "swing"),
        (lambda: pivot_height(80, 180), "angle"),
        (lambda: inclinometer_reading(20, 90), "skew"),
    ],
)
def test_out_of_range(call: object, field: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.field == field
    assert caught.value.hint
