"""The removal model: directions that must hold, and the wear law behind its constants."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.planning.model import PlanRequest
from advisor.planning.removal import (
    exact_passes,
    job_for,
    quotient_range,
    section_after,
    shown_minutes,
    shown_passes,
)
from advisor.planning.rungs import Rung

REQUEST = PlanRequest(15, 10, 5, 2, edge_state="dull", edge_thickness_mm=0.5, edge_length_mm=100, present_angle_deg=15)
SECTION = (0.01, 0.02)


def rung(um=40.0, abrasive="diamond", cutting="cuts", state="settled"):
    return Rung("stone", um, abrasive, abrasive, cutting, state=state)


def test_rebevel_section_is_the_worked_one(data):
    """Section from 20 to 15 degrees at 0.5 mm: 0.0308 mm2 a side (plane geometry, worked by hand)."""
    job = job_for(replace(REQUEST, present_angle_deg=20), data)
    assert job.kind == "rebevel"
    assert 0.0308 < job.section_mm2[0] < 0.0308 + 0.5 / 2 * 0.02
    assert job.volume_mm3[0] == pytest.approx(2 * 100 * job.section_mm2[0])


def test_chip_takes_off_half_the_thickness_times_its_depth(data):
    """At an unchanged angle the whole wedge moves back, so a strip t x depth goes, half on each side."""
    job = job_for(replace(REQUEST, edge_state="chipped", chip_depth_mm=0.3), data)
    assert job.section_mm2[0] == pytest.approx(0.5 * 0.3 / 2, rel=1e-6)


def test_a_wider_angle_needs_less_steel_than_the_same_angle_lower_down(data):
    wider = job_for(replace(REQUEST, present_angle_deg=12), data)
    assert wider.widens and wider.kind == "dull"
    assert wider.section_mm2[0] < job_for(REQUEST, data).section_mm2[0]


def test_archard_gives_the_rate(data):
    """K F s / H with 0.3 N/mm, 150 mm and 7 GPa; K inside the published 0.01 to 0.1 for abrasion."""
    per_k = 0.3 * 150 / 7000
    low, high = (rate / per_k for rate in data.removal.rate_mm2)
    assert 0.01 <= low < high <= 0.1


@given(st.floats(0.5, 120), st.floats(1.05, 5))
def test_finer_grain_takes_more_passes(data, um, ratio):
    coarse = exact_passes(SECTION, rung(um * ratio), 1, data.removal)
    fine = exact_passes(SECTION, rung(um), 1, data.removal)
    assert fine[0] > coarse[0] and fine[1] > coarse[1]


@given(st.floats(1, 10), st.floats(1.05, 3))
def test_wear_resistance_takes_more_passes_the_more_so_the_softer_the_abrasive(data, resistance, ratio):
    def factor(cutting):
        easy = exact_passes(SECTION, rung(cutting=cutting), resistance, data.removal)
        hard = exact_passes(SECTION, rung(cutting=cutting), resistance * ratio, data.removal)
        return hard[0] / easy[0]

    assert 1 < factor("cuts") < factor("marginal") < factor("does-not-cut")


def test_worn_and_softer_abrasives_take_more_passes(data):
    best = exact_passes(SECTION, rung(), 1, data.removal)[0]
    assert exact_passes(SECTION, rung(state="worn"), 1, data.removal)[0] > best
    assert exact_passes(SECTION, rung(abrasive="alumina"), 1, data.removal)[0] > best


def test_layer_grows_with_the_scratches_before(data):
    assert section_after(rung(80), REQUEST, data)[0] == pytest.approx(2 * section_after(rung(40), REQUEST, data)[0])


def test_independent_ranges_combine_in_quadrature():
    low, high = quotient_range((1.0, 4.0), (1.0, 1.0))
    assert (low, high) == pytest.approx((1.0, 4.0))
    low, high = quotient_range((1.0, 4.0), (1.0, 4.0))
    assert (low, high) == pytest.approx((2 ** -(2**0.5), 2 ** (2**0.5)))


@given(st.floats(0.001, 5000), st.floats(1, 20))
def test_shown_passes_are_a_rising_range_near_the_exact_one(data, low, spread):
    shown = shown_passes((low, low * spread), data.removal)
    least = data.removal.least_passes
    assert least <= shown[0] < shown[1]
    assert shown[0] == pytest.approx(max(low, least), rel=0.25)


@given(st.floats(0.2, 900), st.floats(1, 20))
def test_shown_minutes_are_a_rising_range_in_steps_of_five_from_ten_on(data, low, spread):
    shown = shown_minutes((low, low * spread), data.removal)
    assert 1 <= shown[0] < shown[1]
    assert all(value < 10 or value % 5 == 0 for value in shown)
    assert shown[0] == pytest.approx(low, rel=0.25, abs=0.8)


def test_an_acute_edge_counts_as_dull_with_a_narrower_land(data):
    """The land goes with the square of the angle and the height of a land with its cotangent."""
    at_8 = job_for(replace(REQUEST, angle_deg=8, present_angle_deg=8), data).section_mm2
    at_16 = job_for(replace(REQUEST, angle_deg=16, present_angle_deg=16), data).section_mm2
    expected = (8 / 16) ** 2 * math.tan(math.radians(16)) / math.tan(math.radians(8))
    assert at_8[0] / at_16[0] == pytest.approx(expected)
