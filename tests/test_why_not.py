"""Why not X: limits that bar it, favours that pull away, rules one condition from firing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from advisor.consult import Consultant
from advisor.errors import InputError
from advisor.inference.trace import conditions
from advisor.knowledge.rule import Conclusion, Group
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
    """The one condition named does not hold; all the others of a plain rule do."""
    question = consultant.question({"grade": "440C", "hardness": "59"})
    values = consultant.reasoner.reason(question.given).values
    misses = why_not(consultant, question, "finish 1 µm").near_misses
    assert misses
    for miss in misses:
        rule = consultant.kb.rules_by_id[miss["rule"]]
        assert rule.then.subject == "finish"
        rows = conditions(rule.when, values, consultant.kb)
        assert any(row["attribute"] == miss["attribute"] and not row["held"] for row in rows)
        if not any(isinstance(part, Group) for part in rule.when.parts):
            assert sum(not row["held"] for row in rows) == 1


@pytest.mark.parametrize("wanted", ["mirror", "angle", "angle steep", "angle 80", "finish extra fine", "speed 3"])
def test_what_cannot_be_understood_gets_a_hint(consultant: Consultant, wanted: str) -> None:
    """One clear error, with how to write it."""
    with pytest.raises(InputError) as caught:
        why_not(consultant, consultant.question({"grade": "D2"}), wanted)
    assert caught.value.field == "why_not" and caught.value.hint


def test_a_number_is_read_as_in_a_question(consultant: Consultant) -> None:
    """Unit and decimal comma are as welcome as elsewhere."""
    assert why_not(consultant, consultant.question({"grade": "D2"}), "angle 12,5° a side").value == 12.5


def test_a_limit_that_gave_way_bars_nothing(consultant: Consultant) -> None:
    """Where a firm limit stands against a soft one, the advised value is not barred by the loser."""
    question = consultant.question({"grade": "D2", "hardness": "60", "use": "everyday-carry"})
    floor = consultant.reasoner.reason(question.given).bands["angle"].floor
    assert floor is not None
    ceiling = Conclusion("limit", "angle", high=floor[0] - 2, firm=True)
    winner = replace(floor[1], id="ceiling-of-this-test", then=ceiling, priority=99)
    loser = replace(floor[1], then=replace(floor[1].then, firm=False))
    rules = [r for r in consultant.kb.rules if r.then.verb != "limit" or r.then.subject != "angle"]
    crossed = Consultant.of(replace(consultant.kb, rules=(*rules, winner, loser)))
    advised = crossed.reasoner.reason(question.given).bands["angle"]
    assert advised.trade_offs and advised.pick < floor[0]
    found = why_not(crossed, question, f"angle {advised.pick}")
    assert found.allowed and loser.id in {r.id for r in found.pulled_away_by}
    assert why_not(crossed, question, f"angle {floor[0]}").barred_by == (winner,)


def test_where_nothing_is_advised_it_does_not_speak_of_a_band(consultant: Consultant) -> None:
    """Without any rule about it, a value is neither inside nor outside."""
    speechless = Consultant.of(replace(consultant.kb, rules=()))
    lines = why_not(speechless, speechless.question({"grade": "D2"}), "angle 15").lines(speechless)
    assert len(lines) == 1 and "nothing is advised" in lines[0]
