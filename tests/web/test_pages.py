"""Every kind of page: structure that assistive technology and print rely on, and what each must hold."""

from __future__ import annotations

import dataclasses
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from advisor.consult import Consultant
from advisor.web import create_app

ANSWER = "/ask?grade=440C&hardness=58&use=everyday-carry"


def test_structure_of_every_page(client: FlaskClient, page: Callable[..., Any], page_address: str) -> None:
    shown = page(page_address, status=client.get(page_address, follow_redirects=True).status_code)
    assert shown.html["lang"] == "en"
    assert len(shown.find_all("h1")) == 1
    assert shown.title.string.strip().endswith("– Whetrule")
    first = shown.body.find("a")
    assert first["href"] == "#main" and "skip" in first["class"]
    for landmark in ("header", "main", "nav", "footer"):
        assert shown.find(landmark) is not None
    ids = Counter(t["id"] for t in shown.find_all(id=True))
    assert [i for i, n in ids.items() if n > 1] == []
    for attribute in ("aria-labelledby", "aria-describedby", "for"):
        for node in shown.find_all(attrs={attribute: True}):
            value = node[attribute]
            for name in value.split() if isinstance(value, str) else value:
                assert name in ids, f"{attribute}={name}"
    for link in shown.select("a[href^='#']"):
        assert link["href"][1:] in ids, link["href"]
    for field in shown.select("main input, main textarea, main select"):
        assert shown.find("label", attrs={"for": field["id"]}) is not None, field
    for fieldset in shown.find_all("fieldset"):
        assert fieldset.find("legend") is not None


def test_answer_comes_in_the_promised_order(page: Callable[..., Any]) -> None:
    shown = page(ANSWER)
    text = shown.find("main").decode()
    order = ['class="figures"', 'id="plan"', 'id="why"', 'id="change"', 'id="trace"']
    places = [text.index(mark) for mark in order]
    assert places == sorted(places)


def test_why_shows_reason_limit_and_basis_of_each_binding_rule(
    consultant: Consultant, page: Callable[..., Any]
) -> None:
    shown = page(ANSWER)
    raw = {"grade": "440C", "hardness": "58", "use": "everyday-carry"}
    band = consultant.ask(consultant.question(raw)).angle
    assert band is not None
    cards = {
        a["href"].rsplit("/", 1)[1]: a.find_parent("li").get_text(" ", strip=True) for a in shown.select(".reason h4 a")
    }
    for name in {*band.low_set_by, *band.high_set_by, *band.favoured_by}:
        rule = consultant.kb.rules_by_id[name]
        assert rule.does_not_apply_when in cards[name] and "Basis:" in cards[name]


def test_what_was_assumed_is_marked_with_its_rule(page: Callable[..., Any]) -> None:
    assumed = page("/ask?grade=440C&use=everyday-carry").select_one("section[aria-labelledby=assumed]")
    assert "Hardness" in assumed.get_text()
    assert assumed.select_one("a[href^='/rules/']") is not None


def test_without_a_steel_it_says_what_it_cannot_say(page: Callable[..., Any]) -> None:
    shown = page("/ask?use=everyday-carry")
    assert "No steel was named" in shown.find("main").get_text()
    assert shown.select("section[aria-labelledby=next] a")


def test_no_advice_says_why_and_what_to_do(consultant: Consultant) -> None:
    speechless = Consultant.of(dataclasses.replace(consultant.kb, rules=()))
    client = create_app(speechless).test_client()
    for address in ("/ask?edge_length=90", "/check?angle=20", "/diagnose?symptom=chips", "/card"):
        response = client.get(address)
        assert response.status_code == 200
        assert "cannot say which edge" in response.get_data(as_text=True)


def test_check_gives_a_verdict_and_the_smallest_change(page: Callable[..., Any]) -> None:
    shown = page("/check?angle=22&finish=1+um&grade=440C&hardness=58&use=everyday-carry")
    poor = shown.select(".verdict.poor")
    assert poor and all("Smallest change" in v.get_text() for v in poor)
    assert "What does not fit" in shown.select_one("#verdicts").get_text()


def test_diagnosis_ranks_causes_and_tells_two_apart(page: Callable[..., Any]) -> None:
    shown = page("/diagnose?grade=440C&symptom=lost-bite-after-strop")
    first = shown.select_one(".causes > li")
    assert "To tell it from the next" in first.get_text() and "Remedy" in first.get_text()


def test_replies_fit_and_carry_the_address(page: Callable[..., Any]) -> None:
    replies = [pre.get_text() for pre in page(ANSWER).select(".reply-text")]
    assert [len(r) <= n for r, n in zip(replies, (600, 1500), strict=True)] == [True, True]
    assert all("/ask?grade=440C" in r for r in replies)


def test_every_rule_grade_and_source_has_its_page(client: FlaskClient, consultant: Consultant) -> None:
    kb = consultant.kb
    for rule in kb.rules:
        response = client.get(f"/rules/{rule.id}")
        assert response.status_code == 200, rule.id
    for grade in kb.grades:
        assert client.get(f"/grades/{grade}").status_code == 200, grade
    text = client.get("/sources").get_data(as_text=True)
    assert all(f'id="{key}"' in text for key in kb.sources)


def test_retired_rule_says_what_became_of_it(client: FlaskClient, consultant: Consultant) -> None:
    for name in list(consultant.kb.retired)[:3]:
        response = client.get(f"/rules/{name}")
        assert response.status_code == 410 and name in response.get_data(as_text=True)


@pytest.mark.parametrize("query", ["q=vanadium", "topic=finish", "status=contested", "q=vanadium&topic=finish"])
def test_rule_search_narrows_and_keeps_its_words(consultant: Consultant, page: Callable[..., Any], query: str) -> None:
    shown = page(f"/rules?{query}")
    found = len(shown.select(".listing > li"))
    assert 0 < found < len(consultant.kb.rules)
    assert f"{found} of {len(consultant.kb.rules)} rules" in shown.select_one("p.count").get_text()
    wanted = dict(part.split("=") for part in query.split("&"))
    assert shown.find(id="q").get("value", "") == wanted.get("q", "")


def test_grade_search_offers_near_matches(page: Callable[..., Any]) -> None:
    assert "440C" in page("/grades?q=44OC").select_one("p.count").get_text()


def test_print_style_hides_what_cannot_be_clicked_and_opens_details(app: Flask) -> None:
    css = (Path(app.static_folder or "") / "whetrule.css").read_text(encoding="utf-8")
    printed = css[css.index("@media print") :]
    hidden = printed[: printed.index("display: none")]
    assert "nav" in hidden and "form" in hidden
    assert "details-content" in printed and ".print-only { display: inline; }" in printed


def test_printed_answer_names_address_and_knowledge(page: Callable[..., Any], consultant: Consultant) -> None:
    footer = page(ANSWER).find("footer").get_text()
    assert consultant.kb.digest[:12] in footer
    assert re.search(r"http://localhost/ask\?grade=440C&hardness=58", footer)
