"""Diagnosis: causes ranked in words, and the test that tells the leading two apart."""

from __future__ import annotations

import pytest

from advisor.consult import Consultant
from advisor.knowledge.model import KnowledgeBase


def test_every_symptom_alone_names_a_cause(consultant: Consultant, kb: KnowledgeBase) -> None:
    """Nobody who says only what is wrong gets an empty answer."""
    for symptom in kb.attributes["symptom"].words:
        causes = consultant.ask(consultant.question({"symptom": symptom}), "diagnose", sensitivity=False).causes
        assert causes, symptom
        assert causes[0].remedy and causes[0].tell_apart


@pytest.mark.parametrize(
    ("raw", "cause_words"),
    [
        # Hardness: alumina about 2000 to 2100 HV, VC 2600 to 2900 HV (materials handbooks, from memory).
        (
            {"grade": "PM X230CrVMo14-9-1", "abrasive": "alumina", "finish": "2000 JIS", "symptom": "slick-but-shaves"},
            ["abrasive", "softer"],
        ),
        # Bench report of 2018: at 56 to 57 HRC an edge of 10 degrees a side was dented, one of 12 was not.
        ({"grade": "1.4116", "hardness": 56, "angle": 10, "symptom": "rolls"}, ["angle"]),
        # Common practice, no source.
        (
            {"grade": "52100", "finish": "4 µm", "strop_backing": "leather", "strop_compound": "0.5 µm",
             "strop_passes": 40, "symptom": "lost-bite-after-strop"},
            ["stropped"],
        ),
        # Apex above 600 °C without visible colour on dry belts (Solingen research report 2923, 1980, as quoted).
        ({"grade": "1095", "method": "powered", "symptom": "burnt"}, ["overheated"]),
    ],
)  # fmt: skip
def test_the_right_cause_comes_first(consultant: Consultant, raw: dict[str, object], cause_words: list[str]) -> None:
    """Known pairs of facts and failures."""
    first = consultant.ask(consultant.question(raw), "diagnose", sensitivity=False).causes[0]
    for word in cause_words:
        assert word in first.title.lower()


def test_the_telling_test_has_two_different_outcomes(consultant: Consultant) -> None:
    """Where two causes lead, the test offered shows something else for each."""
    causes = consultant.ask(
        consultant.question({"grade": "440C", "symptom": "dull-next-day"}), "diagnose", sensitivity=False
    ).causes
    assert len(causes) >= 2
    assert "If it is this:" in causes[0].tell_apart and causes[1].title in causes[0].tell_apart
