"""Ask, check and diagnose: form, answer, JSON twin and bench card."""

from __future__ import annotations

from collections.abc import Iterator

from flask import jsonify, render_template, request
from flask.typing import ResponseReturnValue

from advisor.errors import ErrorList
from advisor.knowledge.vocabulary import Attribute
from advisor.report import REPLY_LIMITS
from advisor.report.reply import reply
from advisor.report.wording import subject
from advisor.web.answer_page import AnswerPage
from advisor.web.error_pages import json_errors
from advisor.web.query import attributes_of
from advisor.web.state import site
from advisor.web.views_base import Rule, View, canonical, checked_question, form_page, read_inputs


def _inputs(mode: str) -> tuple[Attribute, ...]:
    return attributes_of(site().consultant.kb, mode)


def _form_view(mode: str) -> View:
    def view() -> ResponseReturnValue:
        query = read_inputs(_inputs(mode))
        return form_page(mode, _inputs(mode), query.raw, ErrorList(query.errors) if query.errors else None)

    return view


def _answer_view(mode: str, template: str) -> View:
    def view() -> ResponseReturnValue:
        if mode != "ask" and not request.args:
            return form_page(mode, _inputs(mode), {})
        query = read_inputs(_inputs(mode))
        try:
            question = checked_question(query, mode)
        except ErrorList as exc:
            return form_page(mode, _inputs(mode), query.raw, exc)
        moved = canonical({k: v for k, v in query.raw.items() if k in question.text})
        if moved is not None:
            return moved
        advice = site().consultant.ask(question, mode)
        page = AnswerPage(advice, site().consultant, mode)
        replies = [(limit, reply(advice, limit, link=request.url)) for limit in REPLY_LIMITS]
        return render_template(template, page=page, advice=advice, subject=subject(advice), replies=replies)

    return view


def _json_view(mode: str) -> View:
    def view() -> ResponseReturnValue:
        try:
            question = checked_question(read_inputs(_inputs(mode)), mode)
        except ErrorList as exc:
            return json_errors(exc)
        return jsonify(site().consultant.ask(question, mode).to_json())

    return view


def _rules() -> Iterator[Rule]:
    for mode, form_address in (("ask", "/"), ("check", "/check/form"), ("diagnose", "/diagnose/form")):
        yield form_address, f"{mode}_form", _form_view(mode)
        yield f"/{mode}", mode, _answer_view(mode, "answer.html")
        yield f"/{mode}.json", f"{mode}_json", _json_view(mode)


RULES = (*_rules(), ("/card", "card", _answer_view("ask", "card.html")))
"""Address, endpoint and view of each page."""
