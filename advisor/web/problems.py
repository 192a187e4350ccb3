"""Errors as a page shows them: one text for the summary and the field, and links that mend them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flask import url_for
from wtforms import Field, RadioField, SelectMultipleField
from wtforms.form import BaseForm

from advisor.errors import WhetruleError
from advisor.knowledge.catalogue import near_grades
from advisor.knowledge.model import KnowledgeBase
from advisor.web.query import query_string
from advisor.web.typeset import typeset

_INNER_NAMES = re.compile(r"^(?:kit )?(line \d+: )?(?:size: )?")
"""What the parsers put before a message; on a page the field's label says it."""
_COMMAND = ("search with 'whetrule grades'", "search the list of steels")
"""A hint for the command line, and what a page says instead."""


@dataclass(frozen=True)
class Offer:
    """A link that mends an error: its words and address."""

    text: str
    link: str


@dataclass(frozen=True)
class Problem:
    """One error: the id of the element it is about, its text, and what mends it."""

    target: str
    text: str
    offers: tuple[Offer, ...] = ()


def put_errors(form: BaseForm, error: WhetruleError, kb: KnowledgeBase, action: str) -> list[Problem]:
    """Put each error at its field, as a Problem in ``field.errors``.

    Args:
        form: the form that is shown again.
        error: what is wrong.
        kb: to look for steels with similar names.
        action: address the form leads to, for links that mend an answer.

    Returns:
        Every error in the order of the form; errors of inputs that the form does not have come first,
        under ids of their own.
    """
    elsewhere, placed = list[Problem](), dict[str, list[Problem]]()
    raw = {field.name: _text(field) for field in form if field.data}
    for one in error.parts:
        field: Any = form._fields.get(one.field)
        if field is None:
            elsewhere.append(Problem(f"other-{len(elsewhere) + 1}", sentence(one, None)))
        else:
            offers = _steel_offers(one, raw, kb, action) if one.field in ("grade", "grades") else ()
            problems = placed.setdefault(one.field, [])
            problems.append(Problem(target_id(field), sentence(one, field), offers))
            field.errors = problems
    return [*elsewhere, *(problem for name in form._fields for problem in placed.get(name, ()))]


def target_id(field: Field) -> str:
    """Return the id that a link to a field goes to: the first choice of a group, else the field."""
    return f"{field.id}-0" if isinstance(field, (RadioField, SelectMultipleField)) else str(field.id)


def sentence(error: WhetruleError, field: Field | None) -> str:
    """Return an error as its page shows it: the label, what is wrong, what to do."""
    message = _INNER_NAMES.sub(r"\1", error.message)
    text = f"{field.label.text}: {message}" if field is not None else _capital(error.message)
    hint = error.hint.replace(*_COMMAND)
    return typeset(f"{text}. {_capital(hint)}" if hint else text)


def _text(field: Field) -> str:
    return ",".join(field.data) if isinstance(field.data, list) else str(field.data)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _steel_offers(error: WhetruleError, raw: Mapping[str, str], kb: KnowledgeBase, action: str) -> tuple[Offer, ...]:
    """Return links that put a steel of a similar name in place, or the list of steels where there is none."""
    lines = raw.get(error.field, "").replace(",", "\n").split("\n")
    for place, line in enumerate(lines):
        wanted, at, hardness = line.strip().partition("@")
        if f"'{wanted.strip()[:37]}" not in error.message:
            continue
        near = near_grades(kb, wanted)
        if not near:
            search = query_string({"q": wanted.strip()[:2]})
            return (Offer("Search the list of steels", f"{url_for('catalogue.grades')}?{search}"),)
        found = []
        for name, _ in near:
            mended = "\n".join(x.strip() for x in (*lines[:place], f"{name}{at}{hardness}", *lines[place + 1 :]))
            found.append(Offer(f"Take {name}", f"{action}?{query_string({**raw, error.field: mended})}"))
        return tuple(found)
    return ()
