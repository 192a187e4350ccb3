"""Which abrasive cuts which carbide: ratio rule of J. Tribol. 132 (2010) 034502."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from advisor.abrasives.minerals import Minerals
from advisor.errors import InputError, KnowledgeError


@pytest.mark.parametrize(
    ("abrasive", "family", "ratio"),
    # Handbook hardnesses, worked by hand: 2100/2800, 2600/2800, 4700/2800, 8500/2800, 1100/1600.
    [
        ("alumina", "MC", 0.75),
        ("silicon-carbide", "MC", 0.93),
        ("cbn", "mc", 1.68),
        ("diamond", "MC", 3.04),
        ("novaculite", "M7C3", 0.69),
    ],
)
def test_cutting_ratio(minerals: Minerals, abrasive: str, family: str, ratio: float) -> None:
    assert minerals.cutting_ratio(abrasive, family) == pytest.approx(ratio, abs=0.005)


def test_diamond_and_cbn_cut_every_phase_and_quartz_cuts_no_chromium_carbide(minerals: Minerals) -> None:
    # Order of hardness in materials handbooks.
    for phase in minerals.phases:
        assert minerals.cuts("diamond", phase.id) == "cuts"
        assert minerals.cuts("cbn", phase.id) == "cuts"
    assert minerals.cuts("natural", "M7C3") == "does-not-cut"
    assert minerals.cuts("alumina", "M7C3") == "cuts"
    assert minerals.cuts("alumina", "MC") == "does-not-cut"
    assert minerals.cuts("silicon carbide", "MC") == "marginal"


def test_every_class_of_the_question_has_a_mineral_of_that_name(minerals: Minerals) -> None:
    classes = {"diamond", "cbn", "silicon-carbide", "alumina", "natural"}
    assert {mineral.abrasive_class for mineral in minerals.minerals} == classes
    for name in classes:
        assert minerals.mineral(name).abrasive_class == name


def test_a_harder_abrasive_never_cuts_less(minerals: Minerals) -> None:
    order = ["does-not-cut", "marginal", "cuts"]
    by_hardness = sorted(minerals.minerals, key=lambda mineral: mineral.working_hv)
    for phase in minerals.phases:
        verdicts = [order.index(minerals.cuts(mineral.id, phase.id)) for mineral in by_hardness]
        assert verdicts == sorted(verdicts)


def test_unknown_words_get_a_hint(minerals: Minerals) -> None:
    with pytest.raises(InputError, match="did you mean diamond"):
        minerals.cuts("daimond", "MC")
    with pytest.raises(InputError, match="one of m3c"):
        minerals.cuts("diamond", "zzz")


def test_a_working_hardness_outside_its_range_is_refused(rules: dict[str, Any]) -> None:
    broken = copy.deepcopy(rules["minerals"])
    broken["minerals"][0]["working_hv"] = 100
    with pytest.raises(KnowledgeError, match="outside its range"):
        Minerals.from_data(broken, rules["hard_phases"])
