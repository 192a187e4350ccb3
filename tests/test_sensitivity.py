"""What matters and what would change it: every figure comes from a re-run."""

from __future__ import annotations

import pytest

from advisor.consult import Consultant

QUESTIONS = [
    {"grade": "440C"},
    {"grade": "440C", "hardness": "58", "use": "everyday-carry"},
    {"use": "kitchen-slicing"},
    {"composition": "C 0.95, Cr 17, Mo 0.5", "use": "camp", "wish": "shine"},
]


@pytest.mark.parametrize("raw", QUESTIONS)
def test_every_counterfactual_holds_when_it_is_asked(consultant: Consultant, raw: dict[str, str]) -> None:
    """``would_change`` is what a person gets who makes the change."""
    question = consultant.question(raw)
    before = consultant.ask(question)
    for entry in before.would_change:
        after = consultant.reasoner.reason(question.changed(**{entry["attribute"]: entry["to"]}))
        for change in entry["changes"]:
            if change["about"] == "strop.verdict":
                assert after.values.get("strop.verdict") == change["after"] != change["before"]
            else:
                band = after.bands.get(change["about"])
                shown = {"low": band.low, "pick": band.pick, "high": band.high} if band else None
                assert shown == change["after"] != change["before"]


@pytest.mark.parametrize("raw", QUESTIONS)
def test_the_next_question_moves_the_answer_and_is_not_answered_yet(
    consultant: Consultant, raw: dict[str, str]
) -> None:
    """Nobody is asked what cannot matter, or what was said."""
    advice = consultant.ask(consultant.question(raw))
    for entry in advice.ask_next:
        assert entry["attribute"] not in raw
        assert entry["moves"]


def test_without_a_use_the_use_is_asked_first(consultant: Consultant) -> None:
    """Common practice, no source: the use decides more than anything else that is missing."""
    assert consultant.ask(consultant.question({"grade": "440C", "hardness": "58"})).ask_next[0]["attribute"] == "use"
