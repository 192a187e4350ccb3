"""Bad input: one clear 400 with the same words in summary, at the field, in JSON and from the consultant."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

import pytest
from flask.testing import FlaskClient

from advisor.consult import Consultant
from advisor.errors import ErrorList
from advisor.web.query import LONGEST_QUERY, SECTIONS

BAD = {
    "hardness out of range": {"hardness": "80"},
    "hardness not a number": {"hardness": "hard"},
    "not a finite number": {"hardness": "nan"},
    "negative carbon": {"composition": "C -1, Cr 17"},
    "composition over 100 %": {"composition": "C 60, Cr 50"},
    "included angle": {"present_angle": "60 degrees per side"},
    "unknown use": {"use": "flying"},
    "unknown grade": {"grade": "44OC"},
    "grade and composition": {"grade": "440C", "composition": "C 1, Cr 17"},
    "NUL byte": {"grade": "440\0C"},
    "long field": {"kit": "x" * 5000},
    "kit line": {"kit": "a brick"},
}


@pytest.mark.parametrize("raw", BAD.values(), ids=BAD)
def test_one_clear_error_in_page_and_json(
    client: FlaskClient,
    consultant: Consultant,
    page: Callable[..., Any],
    caplog: pytest.LogCaptureFixture,
    raw: dict[str, str],
) -> None:
    with pytest.raises(ErrorList) as caught:
        consultant.question(raw)
    wanted = [(e.field, e.message, e.hint) for e in caught.value.errors]

    twin = client.get(f"/ask.json?{urlencode(raw)}")
    assert twin.status_code == 400
    assert [(e["field"], e["message"], e["hint"]) for e in twin.get_json()["errors"]] == wanted

    shown = page(f"/ask?{urlencode(raw)}", status=400)
    assert_pattern(shown)
    text = shown.select_one("#problem").get_text()
    for field, message, hint in wanted:
        assert text.count(f"{consultant.kb.attributes[field].label}: ") == 1
        assert message.removeprefix("kit ").split("size: ")[-1] in text
        assert hint[1:].replace("6 um", "6 µm") in text
    assert not [r for r in caplog.records if r.levelno >= logging.ERROR]


def assert_pattern(shown: Any) -> None:
    """D1 to D4 of the usual form pattern, over every field of a page with errors."""
    assert shown.title.string.startswith("Error: ")
    main, summary = shown.find("main"), shown.select_one("#problem")
    assert main.find(True) is summary, "the summary comes first in main, above the heading"
    assert summary["role"] == "alert" and summary["tabindex"] == "-1" and summary.has_attr("autofocus")
    assert summary.find("h2").string == "This cannot be answered yet"
    links = summary.select("a[href^='#']")
    assert links
    for link in links:
        target = shown.find(id=link["href"].removeprefix("#"))
        assert target is not None, link["href"]
        beside = target if target.name == "p" else shown.find(id=f"{target['name']}-error")
        assert beside.find("span", class_="hidden").string == "Error: "
        assert link.string in beside.get_text()
        if target.name != "p" and target.get("type") != "radio":
            assert target["aria-invalid"] == "true"
        if target.name != "p":
            holder = target.find_parent("fieldset") or target
            ids = holder["aria-describedby"].split()
            assert f"{target['name']}-error" in ids
            assert all(shown.find(id=i) is not None for i in ids)


def test_a_name_that_is_not_found_offers_links_that_mend_it(client: FlaskClient, page: Callable[..., Any]) -> None:
    shown = page("/ask?grade=44OC&hardness=58", status=400)
    for offer in (shown.select_one("#problem a.offer"), shown.select_one("#grade-error a.offer")):
        assert offer["href"] == "/ask?grade=440C&hardness=58"
        assert client.get(offer["href"]).status_code == 200
    shown = page("/ask?grade=zzzzzzzz", status=400)
    text, offer = shown.select_one("#problem").get_text(), shown.select_one("#grade-error a.offer")
    assert "whetrule" not in text and "Search the list of steels" in text
    assert client.get(offer["href"]).status_code == 200
    mended = page("/compare?grades=44OC@58%0AD2", status=400).select_one("#grades-error a.offer")["href"]
    assert client.get(mended).status_code == 200, "the line is mended where it stands, its hardness kept"
    assert "440C@58" in mended and "D2" in mended


def test_the_label_is_not_repeated_by_the_parsers_own_names(page: Callable[..., Any]) -> None:
    text = page("/check?finish=abc&grade=440C", status=400).select_one("#problem").get_text()
    assert "Last abrasive on the apex: 'abc' is not a grain size" in text and "6 µm" in text


def test_a_diagnosis_needs_a_symptom(client: FlaskClient, page: Callable[..., Any]) -> None:
    shown = page("/diagnose?grade=440C", status=400)
    assert_pattern(shown)
    assert shown.select_one("#problem a")["href"] == "#symptom-0"
    (error,) = client.get("/diagnose.json?grade=440C").get_json()["errors"]
    assert error["field"] == "symptom"


def test_answers_are_kept_right_and_wrong(page: Callable[..., Any]) -> None:
    shown = page("/ask?grade=440C&hardness=80&use=boning", status=400)
    assert shown.find(id="grade")["value"] == "440C"
    assert shown.find(id="hardness")["value"] == "80"
    assert shown.select_one("input[name=use][checked]")["value"] == "boning"


def test_a_wrong_value_in_a_folded_part_unfolds_it(page: Callable[..., Any]) -> None:
    shown = page("/ask?chip_depth=deep", status=400)
    assert shown.find(id="chip_depth").find_parent("details").has_attr("open")


@pytest.mark.parametrize("address", ["/", "/ask", "/check", "/check/form", "/diagnose", "/compare", "/card"])
def test_unknown_name_is_400_with_the_same_pattern(page: Callable[..., Any], address: str) -> None:
    shown = page(f"{address}?gradd=440C", status=400)
    assert_pattern(shown)
    assert "There is no input called 'gradd'" in shown.select_one("#problem").get_text()


def test_name_of_another_page_is_told_apart_from_an_unknown_one(page: Callable[..., Any]) -> None:
    shown = page("/ask?symptom=chips", status=400)
    assert "not asked on this page" in shown.select_one("#problem").get_text()


def test_name_given_twice(page: Callable[..., Any]) -> None:
    shown = page("/ask?grade=440C&grade=D2", status=400)
    assert_pattern(shown)
    assert "is given 2 times" in shown.select_one("#problem").get_text()


@pytest.mark.parametrize("address", ["/ask", "/ask.json", "/check", "/compare"])
def test_one_megabyte_is_one_400(client: FlaskClient, caplog: pytest.LogCaptureFixture, address: str) -> None:
    response = client.get(address, query_string=f"kit={'x' * 1_000_000}")
    assert response.status_code == 400
    assert len(response.data) < 5_000, "what was sent is not sent back"
    assert str(LONGEST_QUERY) in response.get_data(as_text=True)
    assert not caplog.records


@pytest.mark.parametrize("query", ["%00=%00", "grade=%ff%fe", "=", "&&&", "grade=%F0%9F%94%AA", "grade[]=1", "%"])
def test_odd_queries_never_break(client: FlaskClient, caplog: pytest.LogCaptureFixture, query: str) -> None:
    for address in ("/", "/ask", "/ask.json", "/check", "/diagnose", "/compare", "/rules", "/grades"):
        assert client.get(f"{address}?{query}").status_code in (200, 302, 400)
    assert not [r for r in caplog.records if r.levelno >= logging.ERROR]


def test_markup_in_a_value_stays_text(client: FlaskClient) -> None:
    text = client.get("/ask", query_string={"grade": "<script>alert(1)</script>"}).get_data(as_text=True)
    assert "<script" not in text and "&lt;script&gt;" in text


@pytest.mark.parametrize(
    ("query", "field"),
    [("grades=440C", "grades"), ("grades=440C,nosuch9", "grades"), ("grades=440C,D2@99", "grades")],
)
def test_compare_puts_errors_at_its_steels(
    client: FlaskClient, page: Callable[..., Any], query: str, field: str
) -> None:
    assert_pattern(page(f"/compare?{query}", status=400))
    assert [e["field"] for e in client.get(f"/compare.json?{query}").get_json()["errors"]] == [field]


@pytest.mark.parametrize("mode", SECTIONS)
def test_every_attribute_of_a_form_comes_from_the_vocabulary(
    consultant: Consultant, page: Callable[..., Any], mode: str
) -> None:
    shown = page("/" if mode == "ask" else f"/{mode}/form")
    names = {field["name"] for field in shown.select("form.sheet input, form.sheet textarea")}
    wanted = {a.name for a in consultant.kb.asked if a.section in SECTIONS[mode]}
    assert names - {"grades"} == wanted
    for attribute in consultant.kb.asked:
        if attribute.name in names and attribute.values:
            values = [i["value"] for i in shown.select(f"input[name={attribute.name}]") if i["value"]]
            assert values == list(attribute.words)


def test_forms_leave_judging_to_the_server(page: Callable[..., Any]) -> None:
    for address in ("/", "/check", "/diagnose", "/compare"):
        shown = page(address)
        form = shown.select_one("form.sheet")
        assert form["method"] == "get" and form.has_attr("novalidate")
        assert not shown.select("[required]") and not shown.select("input[type=radio][checked]")
