"""Forms generated from the vocabulary; what a value may be is judged by the consultant alone."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from werkzeug.datastructures import MultiDict
from wtforms import RadioField, SelectMultipleField, StringField, TextAreaField
from wtforms.form import BaseForm

from advisor.knowledge.vocabulary import Attribute, Choice
from advisor.question import LONGEST_TEXT

NOT_KNOWN = Choice("", "I do not know")
HELP = {"strop_passes": "Write 0 for no strop"}
"""What a form adds to the vocabulary's hints: how to say in its field what has no field of its own."""
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
        "description": " ".join(part for part in (attribute.hint, HELP.get(attribute.name, "")) if part),
        "render_kw": {"attribute": attribute, "choices": choices},
    }
    if group:
        kind = RadioField if attribute.type == "choice" else SelectMultipleField
        values: Any = [c.value for c in choices]
        return kind(choices=values, validate_choice=False, **common)
    return TextAreaField(**common) if attribute.type == "kit" else StringField(**common)
