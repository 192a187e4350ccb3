"""Form -> address -> answer -> edit link -> form, always from a cold client; and the JSON twins."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from urllib.parse import parse_qsl, urlencode, urlsplit

import pytest
from flask import Flask
from flask.testing import FlaskClient

from advisor.compare import compare
from advisor.consult import Consultant

ANSWERS = {
    "grade": "440C",
    "hardness": "58",
    "use": "everyday-carry",
    "wish": "bite",
    "kit": "diamond resin 1000 JIS stone, 6 mm thick, settled\nleather board, 1 um, firm",
    "edge_state": "dull",
    "present_angle": "22",
}


def submitted(form: Any, answers: dict[str, str]) -> list[tuple[str, str]]:
    """Return what a browser sends: every field of the form, text fields even when they are empty."""
    sent = []
    for field in form.find_all(["input", "textarea"]):
        name, wanted = field["name"], answers.get(field["name"], "")
        if field.get("type") in ("radio", "checkbox"):
            if wanted and field["value"] in wanted.split(","):
                sent.append((name, field["value"]))
        else:
            sent.append((name, wanted.replace("\n", "\r\n")))
    return sent


def test_form_to_answer_to_edit_link_to_filled_form(client: FlaskClient, page: Callable[..., Any]) -> None:
    form = page("/").find("form")
    response = client.get(f"{form['action']}?{urlencode(submitted(form, ANSWERS))}")
    assert response.status_code == 302
    permalink = response.headers["Location"]
    kept = parse_qsl(urlsplit(permalink).query, strict_parsing=True)
    assert kept == sorted(ANSWERS.items()), "names sorted, blanks dropped, values as given"

    answer = page(permalink)
    assert {dt.get_text() for dt in answer.select(".answers dt")} >= {"Steel grade", "Hardness", "Use"}
    for link in answer.select(".answers a"):
        assert link.select_one(".hidden") is not None, "an edit link names its question"
        target = urlsplit(link["href"])
        again = page(link["href"])
        assert again.find(id=target.fragment) is not None, link["href"]
        assert dict(submitted(again.find("form"), ANSWERS)).keys() >= ANSWERS.keys()
        assert again.find(id="hardness")["value"] == "58"
        assert again.find(id="kit").get_text().strip() == ANSWERS["kit"]
        assert [i["value"] for i in again.select("input[name=use][checked]")] == ["everyday-carry"]


@pytest.mark.parametrize(
    "address",
    [
        "/ask?use=boning&grade=440C",
        "/ask?grade=440C&hardness=",
        "/ask?grade=+440C+",
        "/ask?grade=440C&hardness=unknown",
        "/diagnose?symptom=chips&symptom=rolls&grade=D2",
        "/compare?use=boning&grades=440C%0D%0AD2",
    ],
)
def test_every_other_spelling_leads_to_one_address(client: FlaskClient, address: str) -> None:
    moved = client.get(address)
    assert moved.status_code == 302
    final = moved.headers["Location"]
    assert client.get(final).status_code == 200, "and that address stands"


def test_a_permalink_shows_the_same_from_any_cold_client(app: Flask) -> None:
    address = "/ask?grade=440C&hardness=58&use=everyday-carry"
    first, second = (app.test_client().get(address) for _ in range(2))
    assert first.data == second.data
    assert "Set-Cookie" not in first.headers


@pytest.mark.parametrize("mode", ["ask", "check", "diagnose"])
def test_json_twin_is_the_contract(client: FlaskClient, consultant: Consultant, mode: str) -> None:
    raw = {"grade": "440C", "hardness": "58", "use": "everyday-carry"}
    if mode != "ask":
        raw |= {"angle": "22", "finish": "1 µm"}
    if mode == "diagnose":
        raw |= {"symptom": "slick-but-shaves"}
    twin = client.get(f"/{mode}.json?{urlencode(raw)}").get_json()
    assert twin == json.loads(json.dumps(consultant.ask(consultant.question(raw), mode).to_json()))


def test_compare_twin_is_the_contract(client: FlaskClient, consultant: Consultant) -> None:
    twin = client.get("/compare.json?grades=440C@58,D2&use=everyday-carry").get_json()
    questions = [
        consultant.question({"grade": "440C", "hardness": "58", "use": "everyday-carry"}),
        consultant.question({"grade": "D2", "use": "everyday-carry"}),
    ]
    assert twin == json.loads(json.dumps(compare(consultant, questions).to_json()))


def test_page_and_twin_say_the_same_figures(client: FlaskClient, page: Callable[..., Any]) -> None:
    query = "grade=440C&hardness=58&use=everyday-carry"
    twin, answer = client.get(f"/ask.json?{query}").get_json(), page(f"/ask?{query}")
    angle, finish = (figure.get_text(" ", strip=True) for figure in answer.select(".figure")[:2])
    assert f"{twin['angle']['per_side_deg']['pick']:g}°" in angle
    assert f"{twin['angle']['per_side_deg']['low']:g} to {twin['angle']['per_side_deg']['high']:g}°" in angle
    assert f"{twin['finish']['micron']['pick']:g} µm" in finish


def test_what_would_change_it_links_to_that_answer(client: FlaskClient, page: Callable[..., Any]) -> None:
    query = "grade=440C&hardness=58&use=everyday-carry"
    entry = client.get(f"/ask.json?{query}").get_json()["would_change"][0]
    links = [a["href"] for a in page(f"/ask?{query}").select("section[aria-labelledby=change] tbody a")]
    wanted = [link for link in links if f"{entry['attribute']}={entry['to']:g}" in link]
    assert wanted
    other = client.get(wanted[0].replace("/ask?", "/ask.json?")).get_json()
    change = entry["changes"][0]
    assert change["about"] == "angle"
    assert other["angle"]["per_side_deg"] == change["after"]


def test_rule_and_grade_links_of_an_answer_lead_somewhere(client: FlaskClient, page: Callable[..., Any]) -> None:
    answer = page("/ask?grade=440C&hardness=58&use=everyday-carry")
    links = {a["href"].split("#")[0] for a in answer.select("main a[href^='/rules/'], main a[href^='/grades/']")}
    assert len(links) > 20
    assert {client.get(link).status_code for link in links} == {200}


def test_cases_of_a_rule_link_to_their_answers(
    client: FlaskClient, consultant: Consultant, page: Callable[..., Any]
) -> None:
    shown = page("/rules/finish-vanadium-rich-floor")
    links = [a["href"] for a in shown.select("section[aria-labelledby=cases] a")]
    assert links
    fires = client.get(links[0].replace("/ask?", "/ask.json?"), follow_redirects=True).get_json()
    assert "finish-vanadium-rich-floor" in [step["rule"] for step in fires["trace"]]
