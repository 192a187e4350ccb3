"""The ladder of a kit, and what fresh dressing does to a stone's size."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.abrasives.grits import GritScales
from advisor.abrasives.kit import kit_from_text
from advisor.abrasives.kit_words import KitWords
from advisor.abrasives.stones import LadderLimits, apparent_effects, apparent_size


def rungs(lines: list[str], scales: GritScales, words: KitWords, limits: LadderLimits) -> Any:
    return kit_from_text("\n".join(lines), scales, words).ladder(limits)


def test_published_sequences_have_no_gap(scales: GritScales, words: KitWords, limits: LadderLimits) -> None:
    # Diamond films of an electron-microscopy preparation, 15-9-6-3-1-0.5 um: ratios 0.60 0.67 0.50 0.33 0.50.
    films = rungs([f"{um} um diamond film" for um in (1, 15, 6, 9, 0.5, 3)], scales, words, limits)
    assert [round(rung.ratio, 2) for rung in films[1:]] == [0.60, 0.67, 0.50, 0.33, 0.50]
    # Metallographic grinding papers 180-240-400-600 (ANSI B74.18): 0.65 0.43 0.70.
    papers = rungs([f"ANSI {n} paper" for n in (180, 240, 400, 600)], scales, words, limits)
    assert [round(rung.ratio, 2) for rung in papers[1:]] == [0.65, 0.43, 0.70]
    assert not any(rung.gap or rung.adds_little for rung in [*films, *papers])


def test_a_gap_and_a_needless_step_are_named(scales: GritScales, words: KitWords, limits: LadderLimits) -> None:
    found = rungs(["D151 diamond plate", "JIS 1000 stone", "10 um stone"], scales, words, limits)
    assert [(rung.gap, rung.adds_little) for rung in found] == [(False, False), (True, False), (False, True)]
    assert found[0].ratio is None


def test_strops_are_not_on_the_ladder(scales: GritScales, words: KitWords, limits: LadderLimits) -> None:
    kit = kit_from_text("leather strop, bare\nJIS 1000 stone\nbalsa, 1 um diamond", scales, words)
    assert [rung.stone.kind for rung in kit.ladder(limits)] == ["stone"]
    assert [strop.um for strop in kit.strops()] == [1.0, None]
    assert kit_from_text("", scales, words).ladder(limits) == ()


@given(st.lists(st.floats(0.05, 900).map(lambda um: round(um, 3)), min_size=1, max_size=10))
def test_ladder_runs_coarse_to_fine(
    scales: GritScales, words: KitWords, limits: LadderLimits, sizes: list[float]
) -> None:
    found = rungs([f"{um} um stone" for um in sizes], scales, words, limits)
    assert [rung.um for rung in found] == sorted(sizes, reverse=True)
    assert all(0 < rung.ratio <= 1 for rung in found[1:])


def test_fresh_superabrasive_looks_coarser_and_the_rest_does_not(
    rules: dict[str, Any], scales: GritScales, words: KitWords
) -> None:
    effects = apparent_effects(rules["kit"])
    lines = [
        "D46 diamond resin stone, fresh",
        "D46 diamond resin stone, settled",
        "JIS 1000 alumina vitrified stone, fresh",
        "D46 diamond plate, fresh",
        "D46 diamond plate, worn",
    ]
    resin, settled, alumina, plate, worn = (
        apparent_size(stone, effects) for stone in kit_from_text("\n".join(lines), scales, words).items
    )
    assert settled is None and alumina is None
    assert resin and plate and worn
    assert plate.working_um > resin.working_um > 41.5 > worn.working_um
    for size in (resin, plate, worn):
        assert size.low_um <= size.working_um <= size.high_um


def test_items_show_as_json(scales: GritScales, words: KitWords) -> None:
    shown = kit_from_text("mine: 1000 diamond resin stone", scales, words).to_json()
    (item,) = shown["items"]  # type: ignore[misc]
    assert item["name"] == "mine"
    assert item["size"]["assumed"] is True
    assert item["size"]["alternatives"]["fepa-p"] == pytest.approx(18.3)
