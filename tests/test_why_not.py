"""Why not X: limits that bar it, favours that pull away, rules one condition from firing."""

from __future__ import annotations

import pytest

from advisor.consult import Consultant
from advisor.errors import InputError
from advisor.why_not import why_not


def test_a_barred_value_names_every_limit_it_crosses(consultant: Consultant) -> None:
    """The limits named are those of the outcome that the value breaks, no more and no fewer."""
    question = consultant.question({"grade": "D2", "hardness": "60", "use": "everyday-carry"})
    found = why_not(consultant, question, "angle 10")
    outcome = consultant.reasoner.reason(question.given)
    limits = [r for r in outcome.effective if r.then.verb == "limit" and r.then.subject == "angle"]
    expected = {r.id for r in limits if (r.then.low or 0) > 10 or (r.then.high or 99) < 10}
    assert {r.id for r in found.barred_by} == expected and expected
    assert not found.allowed


def test_a_value_inside_the_band_is_allowed(consultant: Consultant) -> None:
    """The pick itself is never barred."""
    question = consultant.question({"grade": "1.4116", "use": "kitchen-slicing"})
    pick = consultant.ask(question, sensitivity=False).angle
    assert pick is not None
    assert why_not(consultant, question, f"angle {pick.pick}").allowed


def test_near_misses_lack_exactly_one_condition(consultant: Consultant) -> None:
    """Meeting the one condition makes the rule fire."""
    question = consultant.question({"grade": "440C", "hardness": "59"})
    for miss in why_not(consultant, question, "finish 1 µm").near_misses:
        rule = consultant.kb.rules_by_id[miss["rule"]]
        assert rule.then.subject == "finish"
        assert miss["attribute"] in {c.attribute for c in rule.conditions}


@pytest.mark.parametrize("wanted", ["mirror", "angle", "angle steep", "angle 80", "finish extra fine", "speed 3"])
def test_what_cannot_be_understood_gets_a_hint(consultant: Consultant, wanted: str) -> None:
    """One clear error, with how to write it."""
    with pytest.raises(InputError) as caught:
        why_not(consultant, consultant.question({"grade": "D2"}), wanted)
    assert caught.value.field == "why_not" and caught.value.hint
