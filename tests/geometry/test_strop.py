"""The strop's surface and the risk of rounding an edge.

The risk is a model; the cases below are custom of many sharpeners (no single source) and, where
named, observations under an electron microscope.
"""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from advisor.errors import InputError, KnowledgeError, OutOfRangeError
from advisor.geometry.strop import StropModel, contact_from_indentation

BACKINGS = ("hard-plate", "hardwood", "balsa", "firm-leather", "leather", "soft-leather", "felt", "hanging")
PRESSURES = ("light", "moderate", "heavy")
sizes = st.floats(0.1, 60)
backings = st.sampled_from(BACKINGS)


@pytest.mark.parametrize(
    ("last", "compound", "backing", "passes", "level"),
    [
        (4, 0.5, "leather", 40, "high"),
        (4, 0.25, "firm-leather", 40, "high"),
        (4, 0.5, "hardwood", 40, "high"),
        (4, 1, "hardwood", 5, "low"),
        (4, 1, "hard-plate", 5, "low"),
        (4, 1, "firm-leather", 4, "low"),
        (2, None, "leather", 10, "low"),
        (25, 0.5, "soft-leather", 10, "high"),
        (20, 4, "firm-leather", 4, "low"),
        (20, 1, "leather", 5, "high"),
        # Ten passes on 2 um diamond leather after a 1500-class (8 um) stone made paper cutting worse.
        (8, 2, "leather", 10, "high"),
        # Razor steel was near its equilibrium convexity by about 30 laps on a hanging strop (2015).
        (1.2, 0.5, "hanging", 30, "high"),
        (1.2, None, "hanging", 0, "none"),
        (4, 1, "felt", 0, "none"),
    ],
)
def test_risk_agrees_with_custom(
    strops: StropModel, last: float, compound: float | None, backing: str, passes: int, level: str
) -> None:
    assert strops.risk(last, compound, backing, passes).level == level


@given(last=sizes, compound=sizes, backing=backings, passes=st.integers(0, 200), more=st.integers(1, 50))
def test_more_passes_never_lower_the_risk(
    strops: StropModel, last: float, compound: float, backing: str, passes: int, more: int
) -> None:
    one, two = (strops.risk(last, compound, backing, n).value for n in (passes, passes + more))
    assert 0 <= one <= two <= 1
    assert two > one or one > 0.999


@given(last=sizes, compound=sizes, backing=backings, passes=st.integers(1, 60), factor=st.floats(1, 10))
def test_a_larger_jump_never_lowers_the_risk(
    strops: StropModel, last: float, compound: float, backing: str, passes: int, factor: float
) -> None:
    near = strops.risk(last, compound, backing, passes).value
    assert strops.risk(last, compound / factor, backing, passes).value >= near - 1e-12
    assert strops.risk(last * factor, compound, backing, passes).value >= near - 1e-12


@given(last=sizes, compound=st.one_of(st.none(), sizes), passes=st.integers(1, 60))
def test_a_softer_backing_or_more_pressure_never_lowers_the_risk(
    strops: StropModel, last: float, compound: float | None, passes: int
) -> None:
    by_backing = [strops.risk(last, compound, backing, passes).value for backing in BACKINGS]
    by_pressure = [strops.risk(last, compound, "leather", passes, name).value for name in PRESSURES]
    assert by_backing == sorted(by_backing)
    assert by_pressure == sorted(by_pressure)


@given(last=sizes, compound=sizes, backing=backings, passes=st.integers(1, 60))
def test_a_bare_strop_is_never_riskier_than_compound(
    strops: StropModel, last: float, compound: float, backing: str, passes: int
) -> None:
    bare = strops.risk(last, None, backing, passes).value
    assert bare <= strops.risk(last, compound, backing, passes).value


@given(
    last=sizes,
    compound=st.one_of(st.none(), sizes),
    backing=backings,
    level=st.sampled_from(["low", "moderate"]),
)
def test_most_passes_is_the_last_that_keeps_the_level(
    strops: StropModel, last: float, compound: float | None, backing: str, level: str
) -> None:
    order = ["none", "low", "moderate", "high"]
    passes = strops.most_passes(last, compound, backing, level=level)  # type: ignore[arg-type]
    assert order.index(strops.risk(last, compound, backing, passes).level) <= order.index(level)
    assert order.index(strops.risk(last, compound, backing, passes + 1).level) > order.index(level)


def test_backings_run_from_firm_to_soft(strops: StropModel) -> None:
    # Order: film or paper on glass, hardwood, balsa, firm leather, soft leather, hanging leather or cloth.
    assert tuple(backing.id for backing in strops.backings) == BACKINGS
    gains = [strops.contact(backing, "moderate").angle_gain for backing in BACKINGS]
    assert gains == sorted(gains)
    assert gains[0] < 0.01
    assert 1 < strops.contact("leather", "moderate").angle_gain < 4


@given(depth=st.floats(1e-5, 0.2), length=st.floats(0.5, 5))
def test_micro_convexity_is_a_circle_through_the_recovery(depth: float, length: float) -> None:
    # Sinking of a circle of that radius over the length, sqrt form integrated from its slope.
    contact = contact_from_indentation(depth, length)
    radius = contact.radius_mm
    if length < 0.3 * radius:
        rise, _ = quad(lambda x: x / (radius**2 - x**2) ** 0.5, 0, length)
        assert rise == pytest.approx(depth, rel=0.05)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda s: s.risk(0, 1, "balsa", 5), "last_stone"),
        (lambda s: s.risk(4, float("nan"), "balsa", 5), "compound"),
        (lambda s: s.risk(0, None, "balsa", 5), "last_stone"),
        (lambda s: s.risk(4, 1, "balsa", -1), "passes"),
        (lambda s: s.risk(4, 1, "balsa", 10**6), "passes"),
        (lambda s: contact_from_indentation(0, 1), "indentation"),
        (lambda s: contact_from_indentation(0.1, 0), "recovery_length"),
    ],
)
def test_out_of_range(strops: StropModel, call: Any, field: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        call(strops)
    assert caught.value.field == field
    assert caught.value.hint


def test_unknown_words_list_the_known_ones(strops: StropModel) -> None:
    with pytest.raises(InputError, match="one of hard-plate"):
        strops.risk(4, 1, "velvet", 5)
    with pytest.raises(InputError, match="one of light"):
        strops.risk(4, 1, "balsa", 5, "hard")
    assert strops.rank("hard-plate") == 0
    assert strops.rank("hanging") == len(BACKINGS) - 1


def test_backings_out_of_order_are_refused(rules: dict[str, Any]) -> None:
    broken = copy.deepcopy(rules["strops"])
    broken["backings"][2]["modulus_mpa"] = 1
    with pytest.raises(KnowledgeError, match="softer"):
        StropModel.from_data(broken)
    broken = copy.deepcopy(rules["strops"])
    broken["risk_model"]["low_below"] = 0.9
    with pytest.raises(KnowledgeError, match="thresholds"):
        StropModel.from_data(broken)
