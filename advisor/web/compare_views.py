"""Two to five steels side by side: form, comparison and JSON twin."""

from __future__ import annotations

from dataclasses import dataclass

from flask import jsonify, render_template, request, url_for
from flask.typing import ResponseReturnValue

from advisor.compare import MOST, Comparison, compare, option_inputs
from advisor.errors import ErrorList, InputError, WhetruleError
from advisor.knowledge.vocabulary import Attribute
from advisor.question import Question
from advisor.web.error_pages import json_errors
from advisor.web.query import Query, attributes_of, query_string
from advisor.web.state import site
from advisor.web.views_base import canonical, form_page, read_inputs

GRADES = Attribute(
    "grades",
    "Steels",
    "kit",
    "asked",
    section="steel",
    question="Which steels, or which hardness of one steel?",
    hint=f"Two to {MOST}, one a line; add @ and the hardness where you know it, as in 440C@58",
)


@dataclass(frozen=True)
class ComparedRow:
    """One property: its label, a cell for each option, and which cells rest on an assumption."""

    label: str
    cells: tuple[str, ...]
    assumed: tuple[bool, ...]

    @property
    def same(self) -> bool:
        """Whether every option has the same."""
        return len(set(self.cells)) == 1


def _inputs() -> tuple[Attribute, ...]:
    return (GRADES, *attributes_of(site().consultant.kb, "compare"))


def _rows(found: Comparison) -> list[ComparedRow]:
    hardness = site().consultant.kb.attributes["hardness"].label
    assumed = tuple("hardness" in o.advice.outcome.assumed for o in found.options)
    nothing = (False,) * len(found.options)
    return [ComparedRow(name, cells, assumed if name == hardness else nothing) for name, cells in found.rows]


def _short(found: Comparison, text: str) -> str:
    """Return a sentence with each option by what tells it apart; the common work is said once, above."""
    for option in sorted(found.options, key=lambda o: -len(o.label)):
        text = text.replace(option.label, option.short)
    return text[:1].upper() + text[1:]


def _options(query: Query) -> list[Question]:
    """Return one question for each line of ``grades``; raises ErrorList."""
    query.check()
    lines = [part.strip() for part in query.raw.get("grades", "").replace(",", "\n").split("\n") if part.strip()]
    shared = {k: v for k, v in query.raw.items() if k != "grades"}
    if not 2 <= len(lines) <= MOST:
        raise InputError(f"{len(lines)} cannot be compared", field="grades", hint=f"name two to {MOST} steels")
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


def compare_form() -> ResponseReturnValue:
    """The form, filled as the address says."""
    query = read_inputs(_inputs())
    return form_page("compare", _inputs(), query.raw, ErrorList(query.errors) if query.errors else None)


def compare_page() -> ResponseReturnValue:
    """Two to five steels side by side."""
    if not request.args:
        return form_page("compare", _inputs(), {})
    query = read_inputs(_inputs())
    try:
        questions = _options(query)
        moved = canonical({k: v for k, v in query.raw.items() if k == "grades" or k in questions[0].text})
        if moved is not None:
            return moved
        found = compare(site().consultant, questions)
    except WhetruleError as exc:
        return form_page("compare", _inputs(), query.raw, exc)
    rows = _rows(found)
    use = site().consultant.kb.attributes["use"]
    return render_template(
        "compare.html",
        found=found,
        differing=[r for r in rows if not r.same],
        equal=[r for r in rows if r.same],
        decides=[_short(found, text) for text in found.decides],
        work=use.show(questions[0].given["use"]) if "use" in questions[0].given else "",
        query=query_string(query.raw),
        singles=[f"{url_for('advice.ask')}?{query_string(q.text)}" for q in questions],
    )


def compare_twin() -> ResponseReturnValue:
    """The same as JSON."""
    try:
        return jsonify(compare(site().consultant, _options(read_inputs(_inputs()))).to_json())
    except WhetruleError as exc:
        return json_errors(exc)


RULES = (
    ("/compare/form", "compare_form", compare_form),
    ("/compare", "compare", compare_page),
    ("/compare.json", "compare_json", compare_twin),
)
"""Address, endpoint and view of each page."""
