"""Filters and values that every template may use."""

from __future__ import annotations

import re
from typing import Any

from flask import Flask, request, url_for
from markupsafe import Markup, escape

from advisor.inference.trace import slots
from advisor.report.wording import BASIS_WORDS
from advisor.summary import number
from advisor.web.problems import target_id
from advisor.web.state import Site
from advisor.web.typeset import typeset, unbroken

_RULE_ID = re.compile(r"\[([a-z0-9.-]+)\]")
_WANTS = re.compile(r"^ wants ([a-z_.]+) ")
LONGEST_SHOWN = 16_000
"""Characters of an address that a page prints; the longest kit, percent-encoded, fits."""


def register(app: Flask, site: Site) -> None:
    """Give the templates what they share."""
    kb = site.consultant.kb
    app.jinja_env.filters.update(
        number=number, first_words=first_words, basis=BASIS_WORDS.get, typeset=typeset, unbroken=unbroken
    )
    app.jinja_env.globals.update(kb=kb, site=site, target_id=target_id, topic_label=topic_label)

    @app.template_filter("open_slots")
    def open_slots(text: str) -> str:
        """Show a rule's ``{attribute}`` slots by the attribute's label, as a sentence without a question can."""
        for name in slots(text):
            label = _inside(kb.attributes[name].label) if name in kb.attributes else "…"
            text = text.replace(f"{{{name}}}", f"‹{label}›")
        return text

    @app.template_filter("link_rules")
    def link_rules(text: str) -> Markup:
        """Return text with every ``title [rule-id]`` as a link to that rule, and attributes by their labels."""
        found = Markup()
        for place, part in enumerate(_RULE_ID.split(text)):
            rule = kb.rules_by_id.get(part) if place % 2 else None
            if rule is None:
                found += _WANTS.sub(label_after, part) if place % 2 == 0 else f"[{part}]"
                continue
            found = Markup(found.rstrip().removesuffix(escape(rule.title)))
            address = url_for("catalogue.rule", rule_id=part)
            found += Markup('<a href="{}">{}</a>').format(address, rule.title)
        return found

    def label_after(match: re.Match[str]) -> str:
        attribute = kb.attributes.get(match[1])
        return f": wants {_inside(attribute.label)} " if attribute else match[0]

    @app.context_processor
    def addresses() -> dict[str, Any]:
        here = request.url if len(request.url) <= LONGEST_SHOWN else request.base_url
        return {"style": url_for("static", filename="whetrule.css", v=site.code), "here": here}


def first_words(text: str) -> str:
    """Return a choice's label without its examples: the part before the first colon or bracket."""
    return text.split(":")[0].split(" (")[0]


def _inside(label: str) -> str:
    """Return a label as it stands inside a sentence; abbreviations keep their capitals."""
    return label if label[:2].isupper() else label[:1].lower() + label[1:]


def topic_label(topic: str) -> str:
    """Return the name of a folder of rules as a title."""
    return topic.replace("-", " ").capitalize()
