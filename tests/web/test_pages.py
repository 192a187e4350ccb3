"""Every kind of page: structure that assistive technology and print rely on, and what each must hold."""

from __future__ import annotations

import dataclasses
import json
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from bs4 import BeautifulSoup
from flask import Flask
from flask.testing import FlaskClient

from advisor.consult import Consultant
from advisor.knowledge.words import plain
from advisor.web import create_app
from advisor.why_not import why_not

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
    for field in shown.select("main input:not([type=hidden]), main textarea, main select"):
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
        a["href"].rsplit("/", 1)[1]: a.find_parent("li").get_text(" ", strip=True)
        for a in shown.select(".reason a[href^='/rules/']")
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
    wrong = shown.select(".verdict.wrong-edge")
    assert wrong and all("Smallest change" in v.get_text() for v in wrong)
    assert "What does not fit" in shown.select_one("#verdicts").get_text()


@pytest.mark.parametrize(
    ("edge", "level", "heading"),
    [
        ("angle=18", "fits", "Yes, this fits"),
        ("finish=6+um", "works", "What works, with a reserve"),
        ("finish=1+um", "wrong-edge", "What does not fit"),
    ],
)
def test_a_verdict_has_one_of_three_levels(page: Callable[..., Any], edge: str, level: str, heading: str) -> None:
    shown = page(f"/check?{edge}&{ANSWER.split('?')[1]}")
    assert [v["class"] for v in shown.select(".verdict")] == [["verdict", level]]
    assert [h.string for h in shown.select(".verdicts h2")] == [heading]


def test_diagnosis_ranks_causes_and_tells_two_apart(page: Callable[..., Any]) -> None:
    shown = page("/diagnose?grade=440C&symptom=lost-bite-after-strop")
    first = shown.select_one(".causes > li")
    assert "To tell it from the next" in first.get_text() and "Remedy" in first.get_text()


def test_a_diagnosis_is_headed_by_its_symptoms_and_folds_the_plan(page: Callable[..., Any]) -> None:
    shown = page("/diagnose?grade=440C&symptom=chips,rolls")
    assert shown.h1.get_text() == "The edge chips; The edge rolls over"
    assert shown.select_one("#plan").name == "details"


def test_a_lone_cause_is_not_told_from_a_next_one(consultant: Consultant) -> None:
    rules = [r for r in consultant.kb.rules if r.then.verb != "suspect" or r.id == "suspect-size-jump"]
    client = create_app(Consultant.of(dataclasses.replace(consultant.kb, rules=tuple(rules)))).test_client()
    query = urlencode({"finish": "8 µm", "progression": "80 µm", "symptom": "never-sharp"})
    shown = BeautifulSoup(client.get(f"/diagnose?{query}").get_data(as_text=True), "html.parser")
    (cause,) = shown.select(".causes > li")
    assert "To make sure" in cause.get_text() and "To tell it from the next" not in cause.get_text()


@pytest.mark.parametrize(
    ("query", "says", "never"),
    [
        ("", "Not given, so this was taken: thickness", "Nothing."),
        ("&edge_length=90&edge_state=dull&edge_thickness=0.4&kit=diamond+resin+1000+JIS", "Nothing.", "Not given"),
    ],
)
def test_nothing_assumed_is_said_only_where_the_plan_assumed_nothing_too(
    page: Callable[..., Any], query: str, says: str, never: str
) -> None:
    shown = page(f"/ask?grade=440C&hardness=58&use=everyday-carry{query}")
    text = shown.select_one("section[aria-labelledby=assumed]").get_text()
    assert says in text and never not in text


def test_why_not_shows_what_stands_against_it(
    client: FlaskClient, consultant: Consultant, page: Callable[..., Any]
) -> None:
    form = page(ANSWER).select_one("form.ask-why")
    hidden = {i["name"]: i["value"] for i in form.select("input[type=hidden]")}
    query = urlencode(sorted({**hidden, "want": "finish 1 um"}.items()))
    found = why_not(consultant, consultant.question(hidden), "finish 1 um")
    shown = page(f"{form['action']}?{query}")
    assert shown.select_one(".lead").get_text().replace("\xa0", " ") == found.lines(consultant)[0]
    linked = [a["href"] for a in shown.select(".why-not a")]
    assert found.barred_by
    assert all(f"/rules/{r.id}" in linked for r in (*found.barred_by, *found.pulled_away_by))
    assert shown.select_one("a.go")["href"] == ANSWER
    assert client.get(f"/why-not.json?{query}").get_json() == json.loads(json.dumps(found.to_json()))


@pytest.mark.parametrize("want", ["", "mirror", "angle abc", "finish 9999 um"])
def test_why_not_puts_its_error_at_its_field(client: FlaskClient, page: Callable[..., Any], want: str) -> None:
    query = urlencode({"grade": "440C", "want": want})
    shown = page(f"/why-not?{query}", status=400)
    assert shown.select_one("#problem a")["href"] == "#want"
    assert shown.select_one("input[type=hidden][name=grade]")["value"] == "440C"
    assert [e["field"] for e in client.get(f"/why-not.json?{query}").get_json()["errors"]] == ["want"]


def test_compare_says_what_decides_and_puts_equal_rows_apart(page: Callable[..., Any]) -> None:
    shown = page("/compare?grades=440C@58%0AD2&use=everyday-carry")
    heads = [th.get_text() for th in shown.select(".compare thead th")][1:]
    assert len(heads) == 2 and not any("Pocket" in head for head in heads)
    assert "against" in shown.select_one(".lead").get_text()
    for row in shown.select(".compare tbody tr"):
        cells = [td.get_text().removeprefix(td.select_one(".whose").get_text()) for td in row.select("td")]
        assert cells[0] != cells[1]
    (hardness,) = [r for r in shown.select(".compare tbody tr") if r.th.get_text() == "Hardness"]
    assert [td.select_one(".tag") is not None for td in hardness.select("td")] == [False, True]
    assert shown.select("details dt")


def test_any_name_of_a_steel_is_offered_once(consultant: Consultant, page: Callable[..., Any]) -> None:
    names = [o["value"] for o in page("/").select("#grade-names option")]
    assert {"440C", "1.4116", "X153CrMoV12", "D2"} <= set(names)
    assert len({plain(n) for n in names}) == len(names)
    assert {plain(n) for g in consultant.kb.grades.values() for n in g.aliases} <= {plain(n) for n in names}
    assert page("/compare").select("#grade-names") == []


def test_rules_and_sources_show_no_raw_words(page: Callable[..., Any]) -> None:
    text = page("/rules").get_text()
    assert "{" not in text and "[" not in text
    assert "withheld" not in page("/sources").get_text()


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


def test_print_style_hides_what_cannot_be_clicked_and_what_is_folded(app: Flask) -> None:
    css = (Path(app.static_folder or "") / "whetrule.css").read_text(encoding="utf-8")
    printed = css[css.index("@media print {") :]
    hidden = printed[: printed.index("display: none")]
    assert "nav" in hidden and "form" in hidden and "details:not([open])" in hidden
    assert ".print-only { display: inline; }" in printed
    assert "@media screen" not in printed, "print comes last, so that no later rule takes it back"


def test_printed_answer_names_address_and_knowledge(page: Callable[..., Any], consultant: Consultant) -> None:
    footer = page(ANSWER).find("footer").get_text()
    assert consultant.kb.digest[:12] in footer
    assert re.search(r"http://localhost/ask\?grade=440C&hardness=58", footer)
