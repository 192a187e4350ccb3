"""What is uncertain in the inputs is carried into the answer."""

from __future__ import annotations

import pytest

from advisor.consult import Consultant
from advisor.sensitivity import TARGETS


def test_a_hardness_reading_is_tried_at_both_ends_of_its_tolerance(consultant: Consultant) -> None:
    """A Rockwell C reading is good to about one point (ISO 6508 practice, from memory)."""
    question = consultant.question({"grade": "1.4116", "hardness": "57", "use": "kitchen-slicing"})
    reading = consultant.ask(question).computed["hardness_reading"]
    assert set(reading["at"]) == {"56", "58"} and reading["plus_minus"] == 1
    for text, picks in reading["at"].items():
        outcome = consultant.reasoner.reason(question.changed(hardness=float(text)))
        assert picks["angle"] == outcome.bands["angle"].pick
    here = {name: consultant.reasoner.reason(question.given).bands[name].pick for name in TARGETS}
    assert reading["changes"] == any(picks != here for picks in reading["at"].values())


def test_a_bare_grit_number_says_whether_its_scale_matters(consultant: Consultant) -> None:
    """JIS 1000 is 11.5 µm, P1000 18.3 µm, F1000 4.5 µm (JIS R 6001, ISO 6344-3, FEPA 42 from memory)."""
    question = consultant.question({"grade": "440C", "use": "kitchen-slicing", "finish": "1000"})
    others = {o["scale"]: o for o in consultant.ask(question, "check").computed["finish_on_other_scales"]}
    assert others["fepa-p"]["um"] == pytest.approx(18.3, abs=0.1)
    assert all(isinstance(o["changes"], bool) for o in others.values())
    named = consultant.question({"grade": "440C", "use": "kitchen-slicing", "finish": "1000 JIS"})
    assert "finish_on_other_scales" not in consultant.ask(named, "check").computed
