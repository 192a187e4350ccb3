"""Figures shown beside an answer, against hand calculation and published tables."""

from __future__ import annotations

import math

import pytest

from advisor import facts
from advisor.consult import Consultant
from advisor.facts import Facts


def figures(consultant: Consultant, **raw: object) -> dict[str, object]:
    """Return the computed figures of one answer."""
    return dict(consultant.ask(consultant.question(raw), sensitivity=False).computed)


def test_hardness_in_vickers_follows_the_table(consultant: Consultant) -> None:
    """ASTM E140 Table 1: 60 HRC is 697 HV."""
    assert figures(consultant, grade="D2", hardness=60)["hardness_hv"] == pytest.approx(697, abs=1)


def test_bevel_width_is_half_the_thickness_over_the_sine(consultant: Consultant) -> None:
    """w = t / (2 sin a), elementary trigonometry."""
    answer = consultant.ask(
        consultant.question({"grade": "440C", "use": "camp", "edge_thickness": 0.5}), sensitivity=False
    )
    assert answer.angle is not None
    width = answer.computed["bevel_mm"]["width"]
    assert width == pytest.approx(0.5 / (2 * math.sin(math.radians(answer.angle.pick))), abs=0.001)


def test_published_carbide_volumes_win_and_say_so(consultant: Consultant) -> None:
    """PM X230CrVMo14-9-1: 9 vol % MC and 13 vol % chromium carbide (knife-metallurgy article, 11 Feb 2019)."""
    found = figures(consultant, grade="PM X230CrVMo14-9-1")
    assert found["carbides"]["MC"] == 9 and found["carbides"]["CrC"] == 13  # type: ignore[index]
    assert found["carbide_basis"]["MC"] == "published"  # type: ignore[index]


def test_a_steel_beyond_the_carbide_model_is_still_advised_on(consultant: Consultant) -> None:
    """7 % nickel lies outside the model; the answer says so and goes on."""
    answer = consultant.ask(consultant.question({"grade": "H1", "use": "camp"}), sensitivity=False)
    assert answer.angle is not None and "carbides" not in answer.computed
    assert "not computed" in answer.computed["carbide_notes"][0]


def test_a_composition_gets_its_en_name(consultant: Consultant) -> None:
    """EN 10027-1: 1.05 C, 17 Cr, 0.5 Mo prints as X105CrMo17 (1.4125)."""
    assert figures(consultant, composition="C 1.05, Cr 17, Mo 0.5")["en_name"] == "X105CrMo17"


def test_edge_life_falls_with_angle(consultant: Consultant) -> None:
    """Card-cut regression: 17.8 mm less for each included degree (article of 11 February 2019)."""
    ratios = figures(consultant, grade="440C", use="everyday-carry")["retention"]["relative_to_pick"]  # type: ignore[index]
    assert ratios["-2_deg_a_side"]["ratio"] > 1 > ratios["+2_deg_a_side"]["ratio"]


def test_a_present_angle_beyond_beam_theory_only_costs_the_figure(consultant: Consultant) -> None:
    """The slender wedge ends at 30 degrees a side; the answer does not."""
    found = figures(consultant, grade="D2", use="camp", present_angle=40)
    assert "side_strength_ratio" not in found and "apex_width_um" in found
    assert "side_strength_ratio" in figures(consultant, grade="D2", use="camp", present_angle=30)


def test_not_every_composition_ever_asked_for_is_kept(consultant: Consultant, monkeypatch: pytest.MonkeyPatch) -> None:
    """Anybody may ask a server for any composition; memory stays bounded and answers stay the same."""
    monkeypatch.setattr(facts, "MOST_REMEMBERED", 3)
    kept = Facts(consultant.bench)
    steels = [{"composition": f"C 1, Cr {n}", "process": "ingot"} for n in range(1, 9)]
    first = [kept.carbides(steel) for steel in steels]
    assert len(kept._steels) <= 3
    assert [kept.carbides(steel) for steel in steels] == first
