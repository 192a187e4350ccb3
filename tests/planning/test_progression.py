"""The choice of finish, start and steps: bounds, order, and no harm from owning more."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.planning.progression import Aim, Ratios, choose, place_of
from advisor.planning.rungs import Rung

RATIOS = Ratios(near=2.0, comfortable=2.6, customary=3.0, widest=3.57)


def rung(um: float, cutting: str = "cuts", fresh: bool = False) -> Rung:
    name = f"{um:g} um {cutting}{' fresh' if fresh else ''}"
    return Rung(name, um, "diamond", "diamond", cutting, True, fresh)


def sizes(*um: float) -> tuple[Rung, ...]:
    return tuple(rung(size) for size in um)


rungs = st.builds(
    rung,
    st.one_of(st.floats(0.1, 400), st.sampled_from([80.0, 40.0, 20.0, 10.0, 5.0, 3.0, 1.0])),
    st.sampled_from(["cuts", "marginal", "does-not-cut"]),
    st.booleans(),
)


@st.composite
def aims(draw: st.DrawFn) -> Aim:
    finest, pick, coarsest = sorted(draw(st.lists(st.floats(0.2, 60), min_size=3, max_size=3)))
    work = max(pick, draw(st.floats(0.2, 150)))
    start = max(coarsest, work)
    return Aim(work, start, start * draw(st.floats(1, 2)), coarsest, pick, finest)


kits = st.lists(rungs, min_size=1, max_size=12).map(tuple)


@given(kits, aims())
def test_steps_are_strictly_finer_owned_and_end_at_the_finish(kit, aim):
    found = choose(kit, aim, RATIOS)
    um = [step.um for step in found.rungs]
    assert all(a > b for a, b in pairwise(um))
    assert all(step in kit for step in found.rungs)
    assert found.finish is found.rungs[-1]


@given(kits, aims())
def test_finish_lies_inside_the_band_whenever_an_owned_stone_does(kit, aim):
    found = choose(kit, aim, RATIOS)
    inside = [r for r in kit if aim.finest_um <= r.um <= aim.coarsest_um]
    assert (found.place == "inside") == bool(inside)
    assert found.place == place_of(found.finish.um, aim)


@given(kits, aims())
def test_finer_than_the_band_only_when_nothing_else_can_finish(kit, aim):
    found = choose(kit, aim, RATIOS)
    if found.finish.um < aim.finest_um:
        assert all(r.um < aim.finest_um or r.um > aim.start_um for r in kit)


@settings(max_examples=1000)
@given(kits, rungs, aims())
def test_owning_one_more_stone_never_widens_the_worst_ratio(kit, extra, aim):
    before = choose(kit, aim, RATIOS).worst_ratio
    after = choose((*kit, extra), aim, RATIOS).worst_ratio
    assert after <= before * (1 + 1e-9)


@settings(max_examples=300)
@given(kits, rungs, aims())
def test_with_the_same_ends_a_wide_jump_never_gets_wider(kit, extra, aim):
    """The jumps as shown, from stone to stone, whole and without the shortfall at the ends."""
    old, new = choose(kit, aim, RATIOS).rungs, choose((*kit, extra), aim, RATIOS).rungs
    if (old[0].um, old[-1].um) == (new[0].um, new[-1].um) and len(old) > 1:
        widest = [max(a.um / b.um for a, b in pairwise(p)) for p in (old, new)]
        assert widest[1] <= max(widest[0], RATIOS.comfortable) * (1 + 1e-9)


@given(kits, aims())
def test_order_of_the_kit_never_matters(kit, aim):
    assert choose(kit, aim, RATIOS) == choose(tuple(reversed(kit)), aim, RATIOS)


@pytest.mark.parametrize(
    ("kit", "start", "pick", "expected"),
    [
        ((80, 50, 40, 28, 20, 14, 10), 80, 10, [80, 40, 20, 10]),  # halving; the rest adds nothing
        ((80, 40, 30, 10), 80, 10, [80, 30, 10]),  # 2.7 and 3 rather than one more stone
        ((80, 40, 20, 10, 5, 3, 1), 80, 20, [80, 40, 20]),
        ((80, 40, 20, 10, 5, 3, 1), 40, 5, [40, 20, 10, 5]),
        ((57, 14, 3), 57, 3, [57, 14, 3]),  # two wide jumps that cannot be helped
        ((125, 60, 45), 30, 8, [45]),  # only far too coarse stones: the finest of them
    ],
)
def test_known_ladders(kit, start, pick, expected):
    aim = Aim(start, start, start * 1.5, pick * 1.5, pick, pick / 1.5)
    assert [r.um for r in choose(sizes(*kit), aim, RATIOS).rungs] == expected


def test_a_fresh_coarse_stone_gives_way_to_a_settled_neighbour():
    aim = Aim(80, 80, 120, 12, 10, 8)
    kit = (rung(80, fresh=True), rung(60), rung(30), rung(10))
    assert choose(kit, aim, RATIOS).rungs[0].um == 60


def test_little_work_starts_no_coarser_than_it_asks_where_the_band_lets_two_stones_start():
    """A band that reaches from 57 to 11 um allows 80 and 40 as a start; the light work asks for 30."""
    aim = Aim(30, 57, 85, 57, 26, 11)
    assert [r.um for r in choose(sizes(80, 40, 20), aim, RATIOS).rungs] == [40, 20]


def test_a_stone_that_cuts_the_carbides_finishes_before_a_nearer_one_that_does_not():
    aim = Aim(12, 12, 18, 12, 5, 2)
    kit = (rung(5, "does-not-cut"), rung(8))
    assert choose(kit, aim, RATIOS).finish.um == 8
