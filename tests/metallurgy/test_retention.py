"""Card-cut regression; source: knife-metallurgy web article of 11 February 2019 (tests/published)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from advisor.errors import InputError, OutOfRangeError
from advisor.metallurgy.composition import Composition
from advisor.metallurgy.retention import EdgeOption
from advisor.metallurgy.validation import MetallurgyModels

PM_9V = EdgeOption(62, 30, {"chromium_vanadium_carbide": 13, "vanadium_carbide": 9}, "published")
SOFT_STAINLESS = EdgeOption(56, 30, {"chromium_carbide": 3}, "published")


def test_the_two_published_worked_values(models: MetallurgyModels) -> None:
    assert round(models.retention.card_cut_mm(PM_9V).millimetres) == 714
    assert round(models.retention.card_cut_mm(SOFT_STAINLESS).millimetres) == 227


def test_a_degree_and_a_rockwell_are_worth_what_the_article_says(models: MetallurgyModels) -> None:
    base = models.retention.card_cut_mm(PM_9V).millimetres
    assert models.retention.card_cut_mm(replace(PM_9V, included_angle=29)).millimetres - base == pytest.approx(17.8)
    assert models.retention.card_cut_mm(replace(PM_9V, hardness=63)).millimetres - base == pytest.approx(15.8)


def test_ratio_and_its_inverse(models: MetallurgyModels) -> None:
    ratio = models.retention.edge_life_ratio(PM_9V, SOFT_STAINLESS)
    assert ratio.ratio == pytest.approx(714.2 / 227.4)
    assert models.retention.edge_life_ratio(SOFT_STAINLESS, PM_9V).ratio == pytest.approx(227.4 / 714.2)
    assert models.retention.edge_life_ratio(PM_9V, PM_9V).ratio == 1.0


def test_same_steel_at_two_angles_is_surer_than_two_steels(models: MetallurgyModels) -> None:
    same = models.retention.edge_life_ratio(replace(PM_9V, included_angle=24), PM_9V)
    two = models.retention.edge_life_ratio(replace(PM_9V, included_angle=24), SOFT_STAINLESS)
    assert 0.0 < same.error / same.ratio < 0.5 * two.error / two.ratio


def test_error_of_the_volumes_by_hand(models: MetallurgyModels) -> None:
    # published volumes carry 10 %: hypot(1.3 * 14.6, 0.9 * 26.2)
    assert models.retention.card_cut_mm(PM_9V).error == pytest.approx((18.98**2 + 23.58**2) ** 0.5)
    read = replace(PM_9V, hardness_tolerance=1.0)
    assert models.retention.card_cut_mm(read).error == pytest.approx((18.98**2 + 23.58**2 + 15.8**2) ** 0.5)


def test_computed_volumes_are_marked_and_less_sure(models: MetallurgyModels) -> None:
    computed = replace(PM_9V, scale="computed")
    cut = models.retention.card_cut_mm(computed)
    assert cut.scale == "computed"
    assert cut.error > models.retention.card_cut_mm(PM_9V).error
    assert models.retention.edge_life_ratio(computed, SOFT_STAINLESS).mixed_scales
    assert not models.retention.edge_life_ratio(PM_9V, SOFT_STAINLESS).mixed_scales


def test_carbide_state_is_sorted_into_the_terms(models: MetallurgyModels) -> None:
    steel = Composition(C=1.9, Mn=0.3, Si=0.7, Cr=20.0, Mo=1.0, W=0.6, V=4.0, N=0.05)
    state = models.carbides.hardened(steel, 1150, "powder")
    volumes = models.retention.volumes(state)
    assert sum(volumes.values()) == pytest.approx(state.total)
    # a steel rich in chromium and vanadium: its M7C3 counts as vanadium-enriched
    assert volumes["chromium_vanadium_carbide"] == pytest.approx(state.volume["M7C3"])
    plain = models.carbides.hardened(Composition(C=2.05, Cr=12.0, Si=0.3, Mn=0.3), 960)
    assert models.retention.volumes(plain)["chromium_vanadium_carbide"] == 0.0


def test_outside_the_data_is_said(models: MetallurgyModels) -> None:
    assert models.retention.card_cut_mm(replace(PM_9V, hardness=67)).extrapolated == ("hardness",)
    assert models.retention.card_cut_mm(PM_9V).extrapolated == ()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"hardness": 45}, "hardness"),
        ({"hardness": 75}, "hardness"),
        ({"included_angle": 10}, "included_angle"),
        ({"included_angle": 80}, "included_angle"),
        ({"volume": {"vanadium_carbide": 40}}, "total_carbide"),
        ({"hardness": 52, "included_angle": 40, "volume": {}}, "edge"),
        ({"volume": {"vanadium_carbide": -1}}, "carbides"),
        ({"hardness": float("nan")}, "hardness"),
    ],
)
def test_out_of_range_is_refused(models: MetallurgyModels, change: dict[str, object], field: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        models.retention.card_cut_mm(replace(PM_9V, **change))  # type: ignore[arg-type]
    assert caught.value.field == field


def test_unknown_terms_are_refused(models: MetallurgyModels) -> None:
    with pytest.raises(InputError, match="unknown carbide term"):
        models.retention.card_cut_mm(replace(PM_9V, volume={"diamond": 1}))
    with pytest.raises(InputError, match="unknown carbide term or scale 'guessed'"):
        models.retention.card_cut_mm(replace(PM_9V, scale="guessed"))
