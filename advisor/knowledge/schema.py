"""Check knowledge files against the JSON Schemas in rules/schemas, with the place of every error."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

import jsonschema
from jsonschema.protocols import Validator
from referencing import Registry, Resource

from advisor.errors import KnowledgeError
from advisor.knowledge.marked_yaml import Key, Marked
from advisor.knowledge.words import did_you_mean

# The words (attributes, targets, topics) are checked against the vocabulary itself, with better
# messages than a schema can give; so here they are open, and only editors read the written-out list.
_OPEN_WORDS: dict[str, Any] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "$defs": {
        "conditions": {"type": "object", "minProperties": 1},
        **{name: {"type": "string"} for name in ("asked", "attribute", "concluded", "target", "topic", "wish")},
    },
}
_HOW_TO_WRITE = {
    "number": "write a number, without quotes",
    "integer": "write a whole number, without quotes",
    "string": "write text, in quotes if it looks like a number",
    "boolean": "write true or false",
    "array": "write a list, [one, two]",
    "object": "write keys with values, {key: value}",
}


@lru_cache(maxsize=64)
def _validator(folder: Path, kind: str) -> Validator:
    schema = json.loads((folder / f"{kind}.schema.json").read_text(encoding="utf-8"))
    registry: Registry[Any] = Registry().with_resource("words.schema.json", Resource.from_contents(_OPEN_WORDS))
    return jsonschema.Draft202012Validator(schema, registry=registry)


def schema_errors(marked: Marked, kind: str, folder: Path) -> list[KnowledgeError]:
    """Return what is wrong with one file.

    Args:
        marked: the parsed file.
        kind: name of the schema, for example ``rules``.
        folder: rules/schemas.
    """
    if not (folder / f"{kind}.schema.json").is_file():
        message = f"cannot be checked: {folder.parent.name}/{folder.name}/{kind}.schema.json is missing"
        return [marked.error((), message, "restore it, or correct the name of this file")]
    found = _validator(folder, kind).iter_errors(marked.data)
    return [error for raw in found for error in _translate(raw, marked)]


def _translate(raw: jsonschema.ValidationError, marked: Marked) -> Iterator[KnowledgeError]:
    key: Key = tuple(raw.absolute_path)
    schema: Any = raw.schema
    name = str(key[-1]) if key else "the file"
    if raw.validator == "additionalProperties" and isinstance(raw.instance, dict):
        allowed = list(schema.get("properties", {}))
        for extra in raw.instance:
            if extra not in allowed:
                yield marked.error((*key, extra), f"unknown key '{extra}'", did_you_mean(extra, allowed))
        return
    if raw.validator == "required" and isinstance(raw.instance, dict):
        wanted_keys: Any = raw.validator_value
        missing = [k for k in wanted_keys if k not in raw.instance]
        for word in missing:
            wanted = schema.get("properties", {}).get(word, {}).get("description", "")
            of = _entry_name(raw.instance) or name
            yield marked.error(key, f"'{of}' has no '{word}'", wanted or f"add '{word}:'")
        return
    yield marked.error(key, f"'{name}' {_complaint(raw)}", _hint(raw))


def _entry_name(instance: dict[str, Any]) -> str:
    return next((str(instance[k]) for k in ("id", "name", "use") if k in instance), "")


_FORMS = {
    "^[a-z0-9][a-z0-9-]*$": "lower-case words joined by hyphens",
    "^\\d{4}-\\d{2}-\\d{2}$": "a date such as 2026-03-01",
}


def _complaint(raw: jsonschema.ValidationError) -> str:
    value = raw.instance
    shown = repr(value) if len(repr(value)) < 60 else repr(value)[:57] + "..."
    rule, want = raw.validator, cast(Any, raw.validator_value)
    wanted = " or ".join(want) if isinstance(want, list) and rule == "type" else want
    entries = "entry" if want == 1 else "entries"
    texts = {
        "enum": f"is {shown}, which is not a word it knows",
        "const": f"is {shown}, but must be {want!r}",
        "type": f"is {shown}, but must be {wanted}",
        "minimum": f"is {shown}, but must be at least {want}",
        "maximum": f"is {shown}, but must be at most {want}",
        "exclusiveMinimum": f"is {shown}, but must be above {want}",
        "minLength": f"is {shown}, but must have at least {want} characters",
        "maxLength": f"is longer than {want} characters",
        "minItems": f"needs at least {want} {entries}",
        "maxItems": f"may hold at most {want} {entries}",
        "uniqueItems": "lists something twice",
        "minProperties": f"needs at least {want} {entries}",
        "maxProperties": f"may hold only {want} {entries}",
        "pattern": f"is {shown}, but must be {_FORMS.get(str(want), 'written as the hint says')}",
        "oneOf": f"is {shown}, which fits none of the allowed forms",
    }
    return texts.get(str(rule), raw.message)


def _hint(raw: jsonschema.ValidationError) -> str:
    if raw.validator == "enum":
        return did_you_mean(str(raw.instance), [str(v) for v in cast(Any, raw.validator_value)], list_up_to=20)
    said = str(cast(Any, raw.schema).get("description", "")) if isinstance(raw.schema, dict) else ""
    return said or (_HOW_TO_WRITE.get(str(raw.validator_value), "") if raw.validator == "type" else "")
