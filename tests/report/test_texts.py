"""Renderings say the same as the answer they render."""

from __future__ import annotations

import re

import pytest

from advisor.advice import Advice
from advisor.consult import Consultant
from advisor.errors import OutOfRangeError
from advisor.inference.trace import near_misses
from advisor.report import EXPLAIN
from advisor.report.bench_card import bench_card
from advisor.report.reply import reply
from advisor.report.text import render_text
from advisor.summary import number

QUESTIONS = [
    {"grade": "440C", "hardness": "58", "use": "everyday-carry"},
    {"grade": "1.4116", "use": "kitchen-slicing", "method": "guided-rod"},
    {"composition": "C 1.2, Cr 14, V 4, Mo 2", "process": "powder", "use": "camp", "wish": "shine"},
    {"use": "shaving"},
    {},
]


@pytest.fixture(params=QUESTIONS, ids=lambda q: "-".join(q.values()) or "nothing")
def advice(request: pytest.FixtureRequest, consultant: Consultant) -> Advice:
    """The answer to one question."""
    return consultant.ask(consultant.question(request.param))


def test_full_text_names_every_rule_of_the_trace(advice: Advice, consultant: Consultant) -> None:
    """Text and JSON are renderings of one trace."""
    near = near_misses(advice.outcome, consultant.reasoner.compiled.rules)
    text = re.sub(r"\s+", " ", render_text(advice, "full", near))
    for step in advice.to_json()["trace"]:
        assert f"[{step['rule']}]" in text


@pytest.mark.parametrize("explain", EXPLAIN)
def test_text_names_no_rule_that_did_not_fire(advice: Advice, consultant: Consultant, explain: str) -> None:
    """Only near misses may name a rule that stayed quiet, and they say so."""
    text = render_text(advice, explain, [])
    fired = {c.rule.id for c in advice.outcome.fired}
    named = set(re.findall(r"\[([a-z0-9]+(?:-[a-z0-9]+)+)\]", text))
    assert named <= fired | {step["rule"] for step in advice.trace}


def test_the_bench_card_ticks_off_every_step(advice: Advice) -> None:
    """Each stone of the plan and each deburring step has its box."""
    card = bench_card(advice, "http://127.0.0.1/ask")
    assert card.startswith("# ")
    for step in advice.plan.steps if advice.plan else ():
        assert f"- [ ] **{step.stone}**" in card
    for note in advice.by_topic("caution"):
        assert note.text in card


@pytest.mark.parametrize("limit", [300, 600, 1500])
@pytest.mark.parametrize("markdown", [False, True])
def test_a_reply_fits_and_carries_the_figures(advice: Advice, limit: int, markdown: bool) -> None:
    """Angle and finish come first; the permalink always fits in."""
    link = "http://127.0.0.1:8000/ask?grade=440C"
    text = reply(advice, limit, markdown, link)
    assert len(text) <= limit and link in text
    if advice.angle and limit >= 600:
        assert f"{number(advice.angle.pick)}°" in text
    for name in advice.outcome.assumed if limit >= 600 else ():
        assert advice.outcome.kb.attributes[name].label in text


def test_a_reply_too_short_to_be_honest_is_refused(advice: Advice) -> None:
    """Below 300 characters nothing true fits."""
    with pytest.raises(OutOfRangeError):
        reply(advice, 200)


def test_the_summary_is_short(advice: Advice) -> None:
    """Under 140 characters, for cards and lists."""
    assert 10 < len(advice.summary) < 140


@pytest.mark.parametrize("limit", [300, 600, 1500])
def test_a_link_longer_than_the_reply_is_left_out(advice: Advice, limit: int) -> None:
    """A kit of many stones makes a long address; the figures matter more."""
    link = "http://127.0.0.1:8000/ask?kit=" + "x" * 3000
    text = reply(advice, limit, link=link)
    assert len(text) <= limit and link not in text and len(text) > 40
