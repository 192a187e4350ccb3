"""Filters and values that every template may use."""

from __future__ import annotations

from typing import Any

from flask import Flask, request, url_for

from advisor.inference.trace import slots
from advisor.report.wording import BASIS_WORDS
from advisor.summary import number
from advisor.web.forms import target_id
from advisor.web.state import Site

LONGEST_SHOWN = 16_000
"""Characters of an address that a page prints; the longest kit, percent-encoded, fits."""


def register(app: Flask, site: Site) -> None:
    """Give the templates what they share."""
    kb = site.consultant.kb
    app.jinja_env.filters.update(number=number, first_words=first_words, basis=BASIS_WORDS.get)
    app.jinja_env.globals.update(kb=kb, site=site, target_id=target_id, topic_label=topic_label)

    @app.template_filter("open_slots")
    def open_slots(text: str) -> str:
        """Show a rule's ``{attribute}`` slots by the attribute's label."""
        for name in slots(text):
            label = kb.attributes[name].label.lower() if name in kb.attributes else name
            text = text.replace(f"{{{name}}}", f"[{label}]")
        return text

    @app.context_processor
    def addresses() -> dict[str, Any]:
        here = request.url if len(request.url) <= LONGEST_SHOWN else request.base_url
        return {"style": url_for("static", filename="whetrule.css", v=site.code), "here": here}


def first_words(text: str) -> str:
    """Return a choice's label without its examples: the part before the first colon or bracket."""
    return text.split(":")[0].split(" (")[0]


def topic_label(topic: str) -> str:
    """Return the name of a folder of rules as a title."""
    return topic.replace("-", " ").capitalize()
