"""The trace: every fired rule with what was wanted and what was, the same in every rendering."""

from __future__ import annotations

import re

import pytest

from advisor.consult import Consultant
from advisor.inference import compile as compiling
from advisor.inference.trace import near_misses
from advisor.report.text import render_text

QUESTIONS = [
    {"grade": "440C"},
    {"grade": "440C", "use": "boning", "wish": "shine"},
    {"use": "shaving", "hardness": "61"},
]


@pytest.mark.parametrize("raw", QUESTIONS)
def test_all_renderings_name_the_same_rules(consultant: Consultant, raw: dict[str, str]) -> None:
    """JSON, the full text, and the outcome itself."""
    advice = consultant.ask(consultant.question(raw))
    fired = {c.rule.id for c in advice.outcome.fired}
    as_json = {s["rule"] for s in advice.to_json()["trace"] if s["stage"] != "computed"}
    text = render_text(advice, "full", near_misses(advice.outcome, consultant.reasoner.compiled.rules))
    trace = re.sub(r"\s+", " ", text.split("\nTrace\n")[1])
    in_text = {name for name in re.findall(r"\[([a-z0-9-]+)\]", trace) if name in consultant.kb.rules_by_id}
    assert as_json == fired
    assert in_text >= fired
    assert [s["step"] for s in advice.trace] == list(range(1, len(advice.trace) + 1))


@pytest.mark.parametrize("raw", QUESTIONS)
def test_what_is_shown_as_actual_is_what_was_tested(consultant: Consultant, raw: dict[str, str]) -> None:
    outcome = consultant.reasoner.reason(consultant.question(raw).given)
    steps = {s["rule"]: s for s in consultant.ask(consultant.question(raw)).trace}
    for compiled in outcome.fired:
        rows = steps[compiled.rule.id]["when"]
        for condition, row in zip(compiled.rule.conditions, rows, strict=True):
            assert row["attribute"] == condition.attribute
            assert row["held"] is compiling.test(condition, outcome.values.get(condition.attribute))


def test_a_rule_that_lost_says_so_and_does_not_count(consultant: Consultant) -> None:
    advice = consultant.ask(consultant.question({"grade": "440C", "use": "everyday-carry", "wish": "shine"}))
    outcome = advice.outcome
    out = {c.rule.id for c, _ in outcome.overruled} | {c.rule.id for c in outcome.set_aside}
    assert out
    for step in advice.trace:
        if step["stage"] != "computed":
            assert step["counts"] is (step["rule"] not in out)
            assert bool(step["note"]) is (step["rule"] in out)


def test_near_misses_fail_in_exactly_one_condition(consultant: Consultant) -> None:
    """Each is one test away: none of them fired, and the value shown does not pass."""
    question = consultant.question({"grade": "440C", "use": "everyday-carry"})
    outcome = consultant.reasoner.reason(question.given)
    misses = near_misses(outcome, consultant.reasoner.compiled.rules, most=10)
    assert misses
    fired = {c.rule.id for c in outcome.fired}
    for miss in misses:
        assert miss["rule"] not in fired
        compiled = consultant.reasoner.compiled.by_id[miss["rule"]]
        failing = [
            [x for x in c if not x.true_for(outcome.values.get(x.condition.attribute))] for c in compiled.conjunctions
        ]
        assert [miss["attribute"]] in [[x.condition.attribute for x in some] for some in failing]
