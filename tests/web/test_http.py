"""Status codes, entity tags, cache rules, security headers, and errors in the site's own form."""

from __future__ import annotations

import dataclasses
import logging
from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from advisor.consult import Consultant
from advisor.web import create_app

ANSWER = "/ask?grade=440C&hardness=58&use=everyday-carry"


def test_a_known_tag_is_answered_without_asking_the_rules(
    client: FlaskClient, app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = client.get(ANSWER)
    tag = first.headers["ETag"]
    monkeypatch.setattr(Consultant, "ask", lambda *a, **k: pytest.fail("the rules were run"))
    again = client.get(ANSWER, headers={"If-None-Match": tag})
    assert again.status_code == 304
    assert again.data == b""
    assert again.headers["ETag"] == tag
    assert again.headers["Cache-Control"] == first.headers["Cache-Control"] == "public, no-cache"


def test_the_tag_follows_knowledge_and_address(client: FlaskClient, consultant: Consultant) -> None:
    other_kb = dataclasses.replace(consultant.kb, digest="0" * 64)
    other = create_app(dataclasses.replace(consultant, kb=other_kb)).test_client()
    tags = {
        client.get(ANSWER).headers["ETag"],
        client.get(ANSWER.replace("58", "59")).headers["ETag"],
        client.get(ANSWER.replace("/ask", "/ask.json")).headers["ETag"],
        client.get(ANSWER, base_url="http://other.test").headers["ETag"],
        other.get(ANSWER).headers["ETag"],
    }
    assert len(tags) == 5


def test_errors_are_not_kept(client: FlaskClient) -> None:
    for address in ("/ask?hardness=80", "/nowhere"):
        response = client.get(address)
        assert "ETag" not in response.headers
        assert response.headers["Cache-Control"] == "no-store"


def test_security_headers_everywhere(client: FlaskClient, page_address: str) -> None:
    response = client.get(page_address)
    policy = response.headers["Content-Security-Policy"]
    for part in ("default-src 'none'", "style-src 'self'", "img-src 'self' data:", "frame-ancestors 'none'"):
        assert part in policy
    assert "script-src" not in policy
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Referrer-Policy"] == "same-origin"
    assert "Set-Cookie" not in response.headers


def test_nothing_on_a_page_needs_what_the_policy_forbids(
    page: Callable[..., Any], page_address: str, client: FlaskClient
) -> None:
    shown = page(page_address, status=client.get(page_address, follow_redirects=True).status_code)
    assert not shown.select("script, style, iframe, object, embed, [style]")
    assert not [t.name for t in shown.find_all(True) for a in t.attrs if a.startswith("on")]


def test_head_answers_as_get_without_a_body(client: FlaskClient, page_address: str) -> None:
    get, head = client.get(page_address), client.head(page_address)
    assert head.status_code == get.status_code
    assert head.data == b""
    assert head.headers.get("ETag") == get.headers.get("ETag")


def test_only_get_exists(app: Flask) -> None:
    for rule in app.url_map.iter_rules():
        assert (rule.methods or set()) <= {"GET", "HEAD", "OPTIONS"}, rule


def test_post_is_refused_in_the_sites_form(client: FlaskClient) -> None:
    response = client.post("/ask", data=b"x" * 1_000_000)
    assert response.status_code == 405
    assert "GET" in response.headers["Allow"]
    assert b"only answers GET" in response.data


def test_json_errors_have_one_shape(client: FlaskClient) -> None:
    for address, status in (
        ("/ask.json?hardness=80", 400),
        ("/ask.json?nosuch=1", 400),
        ("/nowhere.json", 404),
    ):
        response = client.get(address)
        assert response.status_code == status
        assert response.mimetype == "application/json"
        (error,) = response.get_json()["errors"]
        assert {"field", "message", "hint"} <= error.keys()
        assert error["message"]


def test_a_bug_is_a_plain_500_page_and_a_logged_traceback(
    consultant: Consultant, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    client = create_app(consultant).test_client()

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("planted secret")

    monkeypatch.setattr(Consultant, "ask", broken)
    for address, mimetype in (
        (ANSWER, "text/html"),
        (ANSWER.replace("/ask", "/ask.json"), "application/json"),
    ):
        response = client.get(address)
        assert response.status_code == 500
        assert response.mimetype == mimetype
        assert b"planted secret" not in response.data and b"Traceback" not in response.data
    assert [r.levelno for r in caplog.records] == [logging.ERROR, logging.ERROR]


def test_the_style_sheet_is_kept_for_long_and_named_by_the_code(client: FlaskClient, page: Callable[..., Any]) -> None:
    address = page("/").find("link", rel="stylesheet")["href"]
    with client.get(address) as response:
        assert response.status_code == 200 and "v=" in address
        assert response.headers["Cache-Control"] == "public, max-age=31536000"
