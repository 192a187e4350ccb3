"""Favours, shifts and limits on hand-worked cases, and against the plain combination."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_bands import plain_bands
from tiny import LINEAR, LOG, TARGETS, WEIGHTS, asks, favour, limit, rule

from advisor.inference.bands import Band, combine
from advisor.knowledge.rule import Conclusion, Rule

ALWAYS = asks("colour", "known")


def band(*conclusions: Conclusion, **more: int) -> Band:
    rules = [rule(f"r{i}", ALWAYS, then) for i, then in enumerate(conclusions)]
    (found,) = combine(rules, TARGETS, WEIGHTS).values()
    return found


def ends(found: Band) -> tuple[float, float, float]:
    return found.low, found.pick, found.high


def test_favours_are_averaged_by_strength() -> None:
    """(4 x 10 + 1 x 20) / 5 = 12 and (4 x 16 + 1 x 31) / 5 = 19."""
    found = band(favour("angle", 10, 16, "strong"), favour("angle", 20, 31, "weak"))
    assert ends(found) == (12.0, 15.5, 19.0)
    assert found.favoured_by == ("r0", "r1")
    assert found.low_set_by == found.high_set_by == ("r0", "r1")


def test_micrometres_are_averaged_as_logarithms() -> None:
    """Geometric mean of 1 and 4 is 2, of 4 and 16 is 8; the pick is their geometric middle, 4."""
    assert ends(band(favour("finish", 1, 4), favour("finish", 4, 16))) == (2.0, 4.0, 8.0)


def test_shifts_move_both_ends() -> None:
    assert ends(band(favour("angle", 12, 18), Conclusion("shift", "angle", by=2.0))) == (14.0, 17.0, 20.0)
    assert ends(band(favour("finish", 2, 8), Conclusion("shift", "finish", times=0.5))) == (1.0, 2.0, 4.0)


def test_a_shift_never_leaves_the_range_nor_turns_the_band_over() -> None:
    assert ends(band(favour("angle", 30, 34), Conclusion("shift", "angle", by=9.0))) == (35.0, 35.0, 35.0)
    assert ends(band(favour("angle", 6, 7), Conclusion("shift", "angle", by=-9.0))) == (5.0, 5.0, 5.0)


def test_a_limit_binds_its_end_and_is_named() -> None:
    found = band(favour("angle", 12, 20), limit("angle", low=15.0), limit("angle", high=18.0))
    assert ends(found) == (15.0, 16.5, 18.0)
    assert (found.low_set_by, found.high_set_by) == (("r1",), ("r2",))
    assert not found.trade_offs


def test_a_limit_that_pushes_the_band_aside_is_a_trade_off() -> None:
    """The band is 2 wide, at most twice the least width of 1, so it keeps its width above the floor."""
    found = band(favour("angle", 10, 12), limit("angle", low=15.0))
    assert ends(found) == (15.0, 16.0, 17.0)
    (trade,) = found.trade_offs
    assert (trade.stands, trade.gives_way) == (("r1",), ("r0",))


@pytest.mark.parametrize(
    ("floor", "ceiling", "stands", "why"),
    [
        ({"firm": True}, {}, "floor", "a firm limit stands before a soft one"),
        ({}, {"firm": True}, "ceiling", "a firm limit stands before a soft one"),
        ({}, {"priority": 3}, "ceiling", "higher priority"),
        ({"conditions": 2}, {}, "floor", "more conditions"),
        ({}, {}, "floor", "equal rank"),
    ],
)
def test_limits_that_cross(floor: dict[str, int], ceiling: dict[str, int], stands: str, why: str) -> None:
    """Firm, then priority, then conditions, then the vocabulary's side."""

    def made(name: str, then: Conclusion, about: dict[str, int]) -> Rule:
        from tiny import all_of

        when = all_of(*[ALWAYS] * about.get("conditions", 1))
        return rule(name, when, then, priority=about.get("priority", 0))

    low = made("floor", limit("angle", low=20.0, firm=bool(floor.get("firm"))), floor)
    high = made("ceiling", limit("angle", high=15.0, firm=bool(ceiling.get("firm"))), ceiling)
    found = combine([low, high], {"angle": LINEAR}, WEIGHTS)["angle"]
    (trade,) = found.trade_offs
    assert trade.stands == (stands,)
    assert why in trade.why
    assert (found.floor is None) is (stands == "ceiling")
    assert found.low >= 20.0 if stands == "floor" else found.high <= 15.0


def test_a_band_exactly_as_wide_as_the_least_is_left_alone() -> None:
    """1.2 to 4 um times 0.75 is 0.9 to 3; above a floor of 2 there remains 2 to 3, a ratio of 1.5."""
    found = band(favour("finish", 1.2, 4), Conclusion("shift", "finish", times=0.75), limit("finish", low=2.0))
    assert ends(found) == (2.0, 2.4, 3.0)


MICRONS = st.floats(0.06, 100)
CONCLUSIONS = st.one_of(
    st.builds(
        lambda low, ratio, strength: favour("finish", low, min(low * ratio, 150.0), strength),
        MICRONS,
        st.floats(1, 9),
        st.sampled_from(sorted(WEIGHTS)),
    ),
    st.builds(lambda times: Conclusion("shift", "finish", times=times), st.floats(0.2, 5)),
    st.builds(lambda low, firm: limit("finish", low=low, firm=firm), MICRONS, st.booleans()),
    st.builds(lambda high, firm: limit("finish", high=high, firm=firm), MICRONS, st.booleans()),
)


@settings(max_examples=400, deadline=None)
@given(
    conclusions=st.lists(CONCLUSIONS, min_size=1, max_size=7),
    priorities=st.lists(st.integers(0, 2), min_size=7, max_size=7),
)
def test_bands_keep_their_promises(conclusions: list[Conclusion], priorities: list[int]) -> None:
    """Ends in order, inside the limits that stand, never rounded over one, and as the plain way has it."""
    rules = [
        rule(f"r{i}", ALWAYS, then, priority=p)
        for i, (then, p) in enumerate(zip(conclusions, priorities, strict=False))
    ]
    found = combine(rules, {"finish": LOG}, WEIGHTS)["finish"]
    assert found.low <= found.pick <= found.high
    if found.floor:
        assert found.low >= found.floor[0]
    if found.ceiling:
        assert found.high <= found.ceiling[0]
    assert combine(list(reversed(rules)), {"finish": LOG}, WEIGHTS)["finish"] == found
    other = plain_bands(rules, {"finish": LOG}, WEIGHTS)["finish"]
    for name in ("low", "pick", "high"):
        assert getattr(found, name) == pytest.approx(other[name], rel=0.06)
    assert (set(found.low_set_by), set(found.high_set_by)) == (other["low_by"], other["high_by"])
    assert [(t.stands[0], t.gives_way[0]) for t in found.trade_offs[: len(other["crossed"])]] == other["crossed"]
