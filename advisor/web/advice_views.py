"""Ask, check, diagnose and compare: form, answer, JSON twin and bench card."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from flask import Blueprint, Response, jsonify, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from advisor.compare import MOST, compare, option_inputs
from advisor.errors import ErrorList, InputError, WhetruleError
from advisor.knowledge.vocabulary import Attribute
from advisor.question import Question
from advisor.report import REPLY_LIMITS
from advisor.report.reply import reply
from advisor.report.wording import subject
from advisor.web.answer_page import AnswerPage
from advisor.web.error_pages import json_errors
from advisor.web.forms import build_form, put_errors
from advisor.web.query import Query, attributes_of, query_string, read_query
from advisor.web.state import site

pages = Blueprint("advice", __name__)

GRADES = Attribute(
    "grades",
    "Steels",
    "kit",
    "asked",
    section="steel",
    question="Which steels, or which hardness of one steel?",
    hint=f"Two to {MOST}, one a line; add @ and the hardness where you know it, as in 440C@58",
)


def _inputs(mode: str) -> tuple[Attribute, ...]:
    found = attributes_of(site().consultant.kb, mode)
    return (GRADES, *found) if mode == "compare" else found


def _read(mode: str) -> Query:
    names = [a.name for a in site().consultant.kb.asked]
    return read_query(request.args, len(request.query_string), _inputs(mode), names)


def _form_page(mode: str, raw: Mapping[str, str], error: WhetruleError | None = None) -> Response:
    inputs = _inputs(mode)
    form = build_form(inputs, raw)
    errors = put_errors(form, error) if error else []
    sections = [(s, [a for a in inputs if a.section == s]) for s in dict.fromkeys(a.section for a in inputs)]
    page = render_template(f"{mode}_form.html", form=form, sections=sections, errors=errors, mode=mode)
    return make_response(page, 400 if errors else 200)


def _form_view(mode: str) -> Callable[[], ResponseReturnValue]:
    def view() -> ResponseReturnValue:
        query = _read(mode)
        return _form_page(mode, query.raw, ErrorList(query.errors) if query.errors else None)

    return view


def _checked(query: Query) -> Question:
    """Return the question, or raise every error of the address and of its values together."""
    errors = list(query.errors)
    try:
        question = site().consultant.question(query.raw)
    except ErrorList as exc:
        raise ErrorList([*errors, *exc.errors]) from None
    query.check()
    return question


def _canonical(kept: Mapping[str, str]) -> Response | None:
    """Return a redirect to the one address of these inputs, unless this is it."""
    wanted = query_string(kept)
    if request.query_string.decode("latin-1") == wanted:
        return None
    return make_response(redirect(request.path + (f"?{wanted}" if wanted else "")))


def _answer_view(mode: str, template: str) -> Callable[[], ResponseReturnValue]:
    def view() -> ResponseReturnValue:
        if mode != "ask" and not request.args:
            return _form_page(mode, {})
        query = _read(mode)
        try:
            question = _checked(query)
        except ErrorList as exc:
            return _form_page(mode, query.raw, exc)
        moved = _canonical({k: v for k, v in query.raw.items() if k in question.text})
        if moved is not None:
            return moved
        advice = site().consultant.ask(question, mode)
        page = AnswerPage(advice, site().consultant, mode)
        replies = [(limit, reply(advice, limit, link=request.url)) for limit in REPLY_LIMITS]
        return render_template(template, page=page, advice=advice, subject=subject(advice), replies=replies)

    return view


def _json_view(mode: str) -> Callable[[], ResponseReturnValue]:
    def view() -> ResponseReturnValue:
        try:
            question = _checked(_read(mode))
        except ErrorList as exc:
            return json_errors(exc)
        return jsonify(site().consultant.ask(question, mode).to_json())

    return view


for _mode, _form_address in (("ask", "/"), ("check", "/check/form"), ("diagnose", "/diagnose/form")):
    pages.add_url_rule(_form_address, f"{_mode}_form", _form_view(_mode))
    pages.add_url_rule(f"/{_mode}", _mode, _answer_view(_mode, "answer.html"))
    pages.add_url_rule(f"/{_mode}.json", f"{_mode}_json", _json_view(_mode))
pages.add_url_rule("/card", "card", _answer_view("ask", "card.html"))
pages.add_url_rule("/compare/form", "compare_form", _form_view("compare"))


def _options(query: Query) -> list[Question]:
    """Return one question for each line of ``grades``; raises ErrorList."""
    query.check()
    lines = [part.strip() for part in query.raw.get("grades", "").replace(",", "\n").split("\n") if part.strip()]
    shared = {k: v for k, v in query.raw.items() if k != "grades"}
    if not 2 <= len(lines) <= MOST:
        raise ErrorList(
            [InputError(f"{len(lines)} cannot be compared", field="grades", hint=f"name two to {MOST} steels")]
        )
    questions, errors = [], dict[str, WhetruleError]()
    for line in lines:
        try:
            questions.append(site().consultant.question({**shared, **option_inputs(line)}))
        except WhetruleError as exc:
            for one in exc.parts:
                about_line = one.field in ("grade", "hardness")
                message = f"{line[:40]}: {one.message}" if about_line else one.message
                kept = InputError(message, hint=one.hint, field="grades" if about_line else one.field)
                errors.setdefault(str(kept), kept)
    if errors:
        raise ErrorList(errors.values())
    return questions


@pages.get("/compare", endpoint="compare")
def compare_page() -> ResponseReturnValue:
    """Two to five steels side by side."""
    if not request.args:
        return _form_page("compare", {})
    query = _read("compare")
    try:
        questions = _options(query)
        moved = _canonical({k: v for k, v in query.raw.items() if k == "grades" or k in questions[0].text})
        if moved is not None:
            return moved
        found = compare(site().consultant, questions)
    except WhetruleError as exc:
        return _form_page("compare", query.raw, exc)
    query_text = query_string(query.raw)
    singles = [f"{url_for('advice.ask')}?{query_string(q.text)}" for q in questions]
    return render_template("compare.html", found=found, query=query_text, singles=singles)


@pages.get("/compare.json", endpoint="compare_json")
def compare_twin() -> ResponseReturnValue:
    """The same as JSON."""
    try:
        return jsonify(compare(site().consultant, _options(_read("compare"))).to_json())
    except WhetruleError as exc:
        return json_errors(exc)
