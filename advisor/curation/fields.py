"""The field-by-field reference of the rule and case files, generated from their schemas."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from advisor.errors import KnowledgeError

START, END = "<!-- fields -->", "<!-- /fields -->"
DOCUMENT = "DEVELOPERS.md"
_FILES = (("rules", "Rule files, `rules/<topic>/*.yaml`"), ("cases", "Case files, `rules/cases/*.yaml`"))


def field_reference(folder: Path) -> str:
    """Return the reference as Markdown.

    Args:
        folder: a rules/ folder with its schemas.
    """
    parts = []
    for name, title in _FILES:
        schema = json.loads((folder / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8"))
        rows = "\n".join(_rows(schema["items"], ""))
        parts.append(f"#### {title}\n\n| field | form | meaning |\n|---|---|---|\n{rows}\n")
    return "\n".join(["Fields marked * must be there.\n", *parts])


def _rows(schema: dict[str, Any], prefix: str) -> Iterator[str]:
    required = schema.get("required", [])
    for name, part in schema.get("properties", {}).items():
        path = f"{prefix}{name}"
        shown = f"`{path}`" + (" *" if name in required else "")
        yield f"| {shown} | {_form(part)} | {part.get('description', '')} |"
        yield from _rows(part, f"{path}.")
    other = schema.get("additionalProperties")
    if isinstance(other, dict) and other.get("properties"):
        yield from _rows(other, f"{prefix}NAME.")


def _form(part: dict[str, Any]) -> str:
    if "$ref" in part:
        word = part["$ref"].rsplit("/", 1)[1]
        return "map of attribute: {test}" if word == "conditions" else word
    if "enum" in part:
        return ", ".join(str(v) for v in part["enum"])
    if "oneOf" in part:
        return " or ".join(_form(p) for p in part["oneOf"])
    kind = part.get("type", "any")
    if isinstance(kind, list):
        return " or ".join(kind)
    if kind == "array":
        return f"list of {_form(part['items'])}" if "items" in part else "list"
    bounds = [
        f"{label} {part[key]}"
        for key, label in (
            ("minimum", "from"),
            ("exclusiveMinimum", "above"),
            ("maximum", "to"),
            ("minLength", "from"),
            ("maxLength", "to"),
        )
        if key in part
    ]
    unit = " characters" if "maxLength" in part else ""
    if "minLength" in part and "maxLength" not in part:
        bounds = []
    names = {"string": "text", "object": "map", "integer": "whole number"}
    return " ".join([names.get(kind, kind), *bounds]) + unit


def with_reference(text: str, reference: str) -> str:
    """Return a document with the reference between its markers.

    Raises:
        KnowledgeError: the markers are missing.
    """
    if text.count(START) != 1 or text.count(END) != 1 or text.index(START) > text.index(END):
        raise KnowledgeError(
            f"must hold {START} and {END} once, in this order",
            path=DOCUMENT,
            hint="the field reference goes between them",
        )
    before, rest = text.split(START)
    return f"{before}{START}\n\n{reference}\n{END}{rest.split(END)[1]}"


def document_of(folder: Path) -> Path | None:
    """Return the document that belongs to a rules/ folder in a checkout; None for other folders."""
    path = folder.resolve().parent / DOCUMENT
    return path if path.is_file() else None


def stale_document(folder: Path) -> bool:
    """Whether the checkout's document lacks the reference as it is now."""
    path = document_of(folder)
    if path is None:
        return False
    text = path.read_text(encoding="utf-8")
    return text != with_reference(text, field_reference(folder))


def write_document(folder: Path) -> Path | None:
    """Bring the checkout's document up to date; return it if there is one."""
    path = document_of(folder)
    if path is not None:
        text = path.read_text(encoding="utf-8")
        path.write_text(with_reference(text, field_reference(folder)), encoding="utf-8")
    return path
