"""Forms generated from the vocabulary; what a value may be is judged by the consultant alone."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from werkzeug.datastructures import MultiDict
from wtforms import Field, RadioField, SelectMultipleField, StringField, TextAreaField
from wtforms.form import BaseForm

from advisor.errors import WhetruleError
from advisor.knowledge.vocabulary import Attribute, Choice
from advisor.question import LONGEST_TEXT

NOT_KNOWN = Choice("", "I do not know")
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")


def build_form(attributes: Iterable[Attribute], raw: Mapping[str, str]) -> BaseForm:
    """Return a form with one field for each attribute, filled with what was given."""
    attributes = tuple(attributes)
    form = BaseForm({a.name: _field(a) for a in attributes})
    values: MultiDict[str, str] = MultiDict()
    for a in attributes:
        text = _UNPRINTABLE.sub("", raw.get(a.name, "")[:LONGEST_TEXT])
        values.setlist(a.name, text.split(",") if a.type == "choices" else [text])
    form.process(values)
    return form


def _field(attribute: Attribute) -> Any:
    group = attribute.type in ("choice", "choices")
    choices = (*attribute.values, NOT_KNOWN) if attribute.type == "choice" else attribute.values
    common: dict[str, Any] = {
        "label": attribute.label,
        "description": attribute.hint,
        "render_kw": {"attribute": attribute, "choices": choices},
    }
    if group:
        kind = RadioField if attribute.type == "choice" else SelectMultipleField
        values: Any = [c.value for c in choices]
        return kind(choices=values, validate_choice=False, **common)
    return TextAreaField(**common) if attribute.type == "kit" else StringField(**common)


def put_errors(form: BaseForm, error: WhetruleError) -> list[tuple[str, str]]:
    """Put each error at its field.

    Returns:
        (element id, text) of every error, in the order of the form; errors of inputs that the form does
        not have come first, under ids of their own.
    """
    elsewhere, placed = list[tuple[str, str]](), dict[str, str]()
    for one in error.parts:
        field = form._fields.get(one.field)
        text = sentence(one, field)
        if field is None:
            elsewhere.append((f"other-{len(elsewhere) + 1}", text))
        else:
            field.errors = [*field.errors, text]
            placed.setdefault(one.field, text)
    by_form = [(target_id(field), text) for field in form for text in field.errors]
    return [*elsewhere, *by_form]


def target_id(field: Field) -> str:
    """Return the id that a link to a field goes to: the first choice of a group, else the field."""
    return f"{field.id}-0" if isinstance(field, (RadioField, SelectMultipleField)) else str(field.id)


def sentence(error: WhetruleError, field: Field | None) -> str:
    """Return an error as its page shows it: the label, what is wrong, what to do."""
    text = f"{field.label.text}: {error.message}" if field is not None else _capital(error.message)
    return f"{text}. {_capital(error.hint)}" if error.hint else text


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
