"""Why not another value: what stands against it, as a page and as JSON."""

from __future__ import annotations

from flask import jsonify, make_response, render_template, request, url_for
from flask.typing import ResponseReturnValue

from advisor.errors import ErrorList, InputError, WhetruleError
from advisor.knowledge.vocabulary import Attribute
from advisor.question import Question
from advisor.report.wording import subject
from advisor.web.error_pages import json_errors
from advisor.web.forms import build_form
from advisor.web.problems import put_errors
from advisor.web.query import Query, query_string
from advisor.web.state import site
from advisor.web.views_base import canonical, checked_question, read_inputs
from advisor.why_not import WhyNot, why_not

WANT = Attribute(
    "want",
    "Why not",
    "text",
    "asked",
    question="Why not another value?",
    hint="Write angle, finish, passes or compound and a value, for example: finish 1 µm, or angle 15",
)


def _read() -> Query:
    return read_inputs((WANT, *site().consultant.kb.asked))


def _found(query: Query) -> tuple[Question, WhyNot]:
    """Return the question and what stands against the value; raises ErrorList with every error."""
    errors = list[WhetruleError]()
    question = None
    try:
        question = checked_question(query, leave_out=(WANT.name,))
    except ErrorList as exc:
        errors += exc.errors
    try:
        if question is not None:
            return question, why_not(site().consultant, question, query.raw.get(WANT.name, ""))
    except InputError as exc:
        errors.append(InputError(exc.message, field=WANT.name, hint=exc.hint))
    raise ErrorList(errors)


def answer_address(question: Question) -> str:
    """Return the address of the answer that a question belongs to: the page that takes all its inputs."""
    sections = {site().consultant.kb.attributes[name].section for name in question.text}
    mode = "diagnose" if "trouble" in sections else "check" if "plan" in sections else "ask"
    return f"{url_for(f'advice.{mode}')}?{query_string(question.text)}"


def why_not_page() -> ResponseReturnValue:
    """What stands against a value, and a form to ask about another."""
    query = _read()
    form = build_form((WANT,), query.raw)
    kept = {k: v for k, v in query.raw.items() if k != WANT.name}
    shown = {"form": form, "kept": kept, "errors": (), "found": None}
    if not query.raw and not query.errors:
        return render_template("why_not.html", **shown)
    try:
        question, found = _found(query)
    except ErrorList as exc:
        errors = put_errors(form, exc, site().consultant.kb, url_for("advice.why_not"))
        return make_response(render_template("why_not.html", **{**shown, "errors": errors}), 400)
    moved = canonical({**{k: v for k, v in kept.items() if k in question.text}, WANT.name: query.raw[WANT.name]})
    if moved is not None:
        return moved
    about = subject(site().consultant.ask(question, sensitivity=False))
    lines = found.lines(site().consultant)
    return render_template(
        "why_not.html",
        **{**shown, "found": found, "lines": lines},
        subject=about,
        back=answer_address(question),
        twin=f"{url_for('advice.why_not_json')}?{request.query_string.decode('latin-1')}",
    )


def why_not_twin() -> ResponseReturnValue:
    """The same as JSON."""
    try:
        _, found = _found(_read())
    except ErrorList as exc:
        return json_errors(exc)
    return jsonify(found.to_json())


RULES = (("/why-not", "why_not", why_not_page), ("/why-not.json", "why_not_json", why_not_twin))
"""Address, endpoint and view of each page."""
