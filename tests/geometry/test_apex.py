"""The apex: width against finish (electron-microscope widths of 2015), rounding, slicing."""

from __future__ import annotations

from math import cos, nan, radians, sin, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRangeError
from advisor.geometry.apex import ApexWidths, rounding_setback_um, slicing_angle, width_behind_apex_um


def measured(published: dict[str, Any]) -> tuple[np.ndarray, np.ndarray]:
    rows = [row for row in published["apex"] if row["what"].startswith("apex width after")]
    return (
        np.array([row["inputs"]["finish_um"] for row in rows]),
        np.array([row["published"] for row in rows]),
    )


def test_constants_are_the_least_squares_fit(apex_widths: ApexWidths, published: dict[str, Any]) -> None:
    finish, width = measured(published)
    assert len(finish) == 5
    exponent, intercept = np.polyfit(np.log(finish), np.log(width), 1)
    assert apex_widths.exponent == pytest.approx(exponent, abs=0.001)
    assert apex_widths.coefficient == pytest.approx(np.exp(intercept), abs=0.0001)


def test_stated_spread_covers_every_measured_width(apex_widths: ApexWidths, published: dict[str, Any]) -> None:
    for finish, width in zip(*measured(published), strict=True):
        ratio = apex_widths.width_um(finish) / width
        assert 1 / apex_widths.spread <= ratio <= apex_widths.spread


@given(finish=st.floats(0.9, 11), more=st.floats(0.01, 1))
def test_a_coarser_finish_leaves_a_wider_apex(apex_widths: ApexWidths, finish: float, more: float) -> None:
    assert apex_widths.width_um(finish) < apex_widths.width_um(finish + more)


@given(radius=st.floats(0.01, 20), angle=st.floats(5, 40))
def test_rounding_is_a_circle_tangent_to_both_faces(radius: float, angle: float) -> None:
    # The centre lies where its distance from a face through the ideal apex equals the radius.
    back = rounding_setback_um(radius, angle)
    centre = back + radius
    assert centre * sin(radians(angle)) == pytest.approx(radius)


@given(angle=st.floats(5, 40), ratio=st.floats(0, 20))
def test_slicing_angle_is_that_of_the_oblique_section(angle: float, ratio: float) -> None:
    # Travel direction in the blade's plane is stretched by sqrt(1 + xi^2) over the same rise.
    run = sqrt(1 + ratio**2)
    found = radians(slicing_angle(angle, ratio))
    assert sin(found) / cos(found) == pytest.approx(sin(radians(angle)) / cos(radians(angle)) / run)
    assert slicing_angle(angle, 0) == pytest.approx(angle)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: width_behind_apex_um(-1, 15, 3), "apex_width"),
        (lambda: width_behind_apex_um(1, 15, nan), "distance"),
        (lambda: width_behind_apex_um(1, 0, 3), "angle"),
        (lambda: rounding_setback_um(-1, 15), "radius"),
        (lambda: slicing_angle(15, -1), "slice_push_ratio"),
    ],
)
def test_out_of_range(call: Any, field: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        call()
    assert caught.value.field == field


@pytest.mark.parametrize("finish", [0.1, 100, nan])
def test_no_width_is_claimed_outside_the_fit(apex_widths: ApexWidths, finish: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"0\.9 to 12 um"):
        apex_widths.width_um(finish)
