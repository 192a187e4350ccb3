"""The words of the rules as a JSON Schema, generated from the vocabulary for editors to complete from."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.vocabulary import NUMBER_TYPES, Attribute

NAME = "words.schema.json"
_GROUPS = ("all", "any", "none")


def words_schema(kb: KnowledgeBase) -> dict[str, Any]:
    """Return the schema: conditions on every attribute, and the names a rule may use."""
    testable = {name: _test(attribute) for name, attribute in kb.attributes.items()}
    group = {"type": "array", "minItems": 1, "items": {"$ref": "#/$defs/conditions"}}
    meaning = {"all": "Every one must hold", "any": "One is enough", "none": "None may hold"}
    names = {
        "asked": [a.name for a in kb.asked],
        "attribute": list(kb.attributes),
        "concluded": [a.name for a in kb.attributes.values() if a.origin == "concluded"],
        "target": list(kb.targets),
        "topic": list(kb.topics),
        "wish": list(kb.attributes["wish"].words),
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": NAME,
        "title": "Words of the rules (generated from vocabulary.yaml by 'whetrule rules schemas')",
        "$defs": {
            "conditions": {
                "type": "object",
                "minProperties": 1,
                "additionalProperties": False,
                "properties": {**{g: {**group, "description": meaning[g]} for g in _GROUPS}, **testable},
            },
            **{name: {"enum": words} for name, words in names.items()},
        },
    }


def _test(attribute: Attribute) -> dict[str, Any]:
    tests: dict[str, Any] = {"known": {"const": True}, "unknown": {"const": True}}
    if attribute.type in NUMBER_TYPES:
        low, high = attribute.range or (None, None)
        number = {"type": "number", "minimum": low, "maximum": high}
        tests |= dict.fromkeys(("equals", "at_least", "at_most", "above", "below"), number)
        tests["between"] = {"type": "array", "items": number, "minItems": 2, "maxItems": 2}
    elif attribute.words:
        word = {"enum": list(attribute.words)}
        tests["equals"] = word
        tests |= {o: {"type": "array", "items": word, "minItems": 1, "uniqueItems": True} for o in ("in", "not_in")}
    unit = f" [{attribute.unit}]" if attribute.unit else ""
    return {
        "type": "object",
        "description": f"{attribute.label}{unit}, {attribute.origin}",
        "minProperties": 1,
        "additionalProperties": False,
        "properties": tests,
    }


def as_text(schema: dict[str, Any]) -> str:
    """Return a schema as the file holds it."""
    return json.dumps(schema, ensure_ascii=False, indent=2) + "\n"


def stale_schemas(kb: KnowledgeBase) -> list[str]:
    """Return the names of generated schema files that do not match the vocabulary."""
    path = Path(kb.folder) / "schemas" / NAME
    return [] if path.is_file() and path.read_text(encoding="utf-8") == as_text(words_schema(kb)) else [NAME]


def write_schemas(kb: KnowledgeBase) -> Path:
    """Write the generated schema file and return its path."""
    path = Path(kb.folder) / "schemas" / NAME
    path.write_text(as_text(words_schema(kb)), encoding="utf-8")
    return path
