"""What the views of forms and answers share: reading an address, showing a form, the canonical redirect."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from flask import Response, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from advisor.errors import ErrorList, InputError, WhetruleError
from advisor.knowledge.vocabulary import Attribute
from advisor.question import Question
from advisor.web.forms import build_form
from advisor.web.problems import put_errors
from advisor.web.query import Query, query_string, read_query
from advisor.web.state import site

View = Callable[[], ResponseReturnValue]
Rule = tuple[str, str, View]
"""Address, endpoint and view of a page."""


def read_inputs(inputs: tuple[Attribute, ...]) -> Query:
    """Read the address of this request; see read_query."""
    names = [a.name for a in site().consultant.kb.asked]
    return read_query(request.args, len(request.query_string), inputs, names)


def form_page(
    mode: str, inputs: tuple[Attribute, ...], raw: Mapping[str, str], error: WhetruleError | None = None
) -> Response:
    """Return a form with what was given; with its errors, and 400, where there are any."""
    form = build_form(inputs, raw)
    action = url_for(f"advice.{mode}")
    errors = put_errors(form, error, site().consultant.kb, action) if error else []
    sections = [(s, [a for a in inputs if a.section == s]) for s in dict.fromkeys(a.section for a in inputs)]
    page = render_template(f"{mode}_form.html", form=form, sections=sections, errors=errors, mode=mode)
    return make_response(page, 400 if errors else 200)


def checked_question(query: Query, mode: str = "ask", leave_out: tuple[str, ...] = ()) -> Question:
    """Return the question, or raise every error of the address and of its values together.

    Args:
        query: the address.
        mode: a diagnosis needs a symptom.
        leave_out: inputs of the page that are not part of the question.

    Raises:
        ErrorList: what is wrong.
    """
    errors = list(query.errors)
    raw = {k: v for k, v in query.raw.items() if k not in leave_out}
    if mode == "diagnose" and "symptom" not in raw:
        errors.append(
            InputError(
                "nothing is named yet", field="symptom", hint="choose at least one, so that its cause can be found"
            )
        )
    try:
        question = site().consultant.question(raw)
    except ErrorList as exc:
        raise ErrorList([*errors, *exc.errors]) from None
    if errors:
        raise ErrorList(errors)
    return question


def canonical(kept: Mapping[str, str]) -> Response | None:
    """Return a redirect to the one address of these inputs, unless this is it."""
    wanted = query_string(kept)
    if request.query_string.decode("latin-1") == wanted:
        return None
    return make_response(redirect(request.path + (f"?{wanted}" if wanted else "")))
