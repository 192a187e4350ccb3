"""Reading a kit from a file's data or from typed lines, and writing it as lines again.

One line is one item: an optional name and a colon, then a grain size, an abrasive, a bond, a kind,
a thickness in mm, a dressing state and, for a strop, its backing, in any order::

    diamond resin 1000 JIS stone, 6 mm thick, settled
    strop: firm leather, 1 um diamond
    coarse plate: D151 diamond plate, fresh
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from advisor.abrasives.grits import GritScales
from advisor.abrasives.kit_item import complete, generated_name, unique
from advisor.abrasives.kit_line import read_compound, read_line
from advisor.abrasives.kit_words import FIELDS, KitWords
from advisor.abrasives.stones import Kit, Stone
from advisor.errors import ErrorList, InputError, WhetruleError

__all__ = ["Kit", "Stone", "kit_from_data", "kit_from_text", "kit_to_text"]


def kit_from_data(data: object, scales: GritScales, words: KitWords) -> Kit:
    """Build a kit from parsed YAML: ``{name: ..., items: [{kind: stone, size: JIS 1000, ...}, ...]}``.

    Raises:
        ErrorList: one error per problem; ``field`` is such as ``kit item 3: size``.
    """
    if not isinstance(data, Mapping) or not isinstance(data.get("items"), Sequence | None):
        raise ErrorList([_error("kit", "a kit is a mapping with a name and a list of items")])
    items = data.get("items") or []
    errors: list[WhetruleError] = []
    errors += [_error("kit", f"unknown key {key!r}") for key in data if key not in ("name", "items")]
    name = data.get("name", "kit")
    if not isinstance(name, str) or not 0 < len(name) <= words.name_at_most:
        errors.append(_error("kit: name", f"a name has 1 to {words.name_at_most} characters"))
    if isinstance(items, str):
        errors.append(_error("kit: items", "items is a list"))
        items = []
    stones, problems = _stones([_draft_from_item(item, scales, words) for item in items], "item", words)
    errors += problems
    if errors:
        raise ErrorList(errors)
    return Kit(str(name), stones)


def kit_from_text(text: str, scales: GritScales, words: KitWords, name: str = "kit") -> Kit:
    """Build a kit from lines, one item each; empty lines are skipped.

    Raises:
        ErrorList: one error per problem, each with its line number.
    """
    if len(text) > words.text_at_most:
        raise ErrorList([_error("kit", f"a kit has at most {words.text_at_most} characters")])
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    drafts = [read_line(line, scales, words) for _, line in lines]
    stones, errors = _stones(drafts, "line", words, [number for number, _ in lines])
    if errors:
        raise ErrorList(errors)
    return Kit(name, stones)


def kit_to_text(kit: Kit, words: KitWords) -> str:
    """Write a kit as lines that ``kit_from_text`` reads back to the same items."""
    generated = unique([generated_name(item, words) for item in kit.items])
    return "\n".join(
        _line(item, words, "" if item.name == own else f"{item.name}: ")
        for item, own in zip(kit.items, generated, strict=True)
    )


def _line(item: Stone, words: KitWords, prefix: str) -> str:
    described = [
        words.word(field, value)
        for field in ("abrasive", "bond", "kind")
        if (value := getattr(item, field)) is not None
    ]
    parts = [" ".join(described)]
    if item.size is not None:
        parts.append(item.size.given)
    elif item.bare:
        parts.append("bare")
    if item.thickness_mm is not None:
        parts.append(f"{item.thickness_mm:.10g} mm thick")
    if item.state is not None:
        parts.append(words.word("state", item.state))
    if item.backing is not None:
        parts.append(f"on {words.word('backing', item.backing)}")
    return prefix + ", ".join(parts)


def _draft_from_item(item: object, scales: GritScales, words: KitWords) -> dict[str, Any]:
    """Return the item's fields, with the problems found under ``errors``."""
    if not isinstance(item, Mapping):
        return {"errors": [InputError("an item is a mapping", hint=f"keys: {', '.join(words.keys)}")]}
    errors: list[WhetruleError] = []
    draft: dict[str, Any] = {"errors": errors}
    for key, value in item.items():
        try:
            if key not in words.keys:
                raise InputError(f"unknown key {key!r}", hint=f"keys: {', '.join(words.keys)}")
            if key == "thickness":
                draft["thickness_mm"] = _thickness(value)
            elif key == "compound":
                draft |= read_compound(_text(key, value), scales, words, errors)
            elif key == "size":
                draft["size"] = scales.parse(_text(key, value))
            elif key in FIELDS:
                draft[key] = words.value(key, _text(key, value))
            else:
                draft[key] = _text(key, value)
        except WhetruleError as error:
            error.field = str(key)
            errors.append(error)
    if draft.get("kind") == "strop":
        misplaced = [key for key in ("size", "abrasive", "bond") if key in item]
        if misplaced:
            message = f"a strop has no {' and '.join(misplaced)} of its own"
            errors.append(InputError(message, field=misplaced[0], hint="use compound: 1 um diamond"))
    elif "compound" in item:
        errors.append(InputError("only a strop has a compound", field="compound", hint="use abrasive and size"))
    return draft


def _stones(
    drafts: Sequence[dict[str, Any]], unit: str, words: KitWords, numbers: Sequence[int] | None = None
) -> tuple[tuple[Stone, ...], list[WhetruleError]]:
    """Complete drafts to items; return them with every problem, placed by item or line number."""
    problems: list[WhetruleError] = []
    if len(drafts) > words.items_at_most:
        return (), [_error("kit", f"a kit has at most {words.items_at_most} items, this one {len(drafts)}")]
    places = numbers or range(1, len(drafts) + 1)
    for place, draft in zip(places, drafts, strict=True):
        errors = draft.pop("errors")
        if not errors:
            errors = complete(draft, words)
        for error in errors:
            field = f"kit {unit} {place}: {error.field}" if error.field else f"kit {unit} {place}"
            line = place if unit == "line" else 0
            problems.append(type(error)(error.message, hint=error.hint, field=field, line=line))
    if problems:
        return (), problems
    stones = [Stone(**draft) for draft in drafts]
    names = unique([stone.name or generated_name(stone, words) for stone in stones])
    given = Counter(stone.name for stone in stones if stone.name)
    doubled = [name for name, count in given.items() if count > 1]
    if doubled:
        hint = "give each its own name"
        return (), [_error("kit", f"two items are named {name!r}", hint) for name in doubled]
    named = (Stone(**(vars(stone) | {"name": name})) for stone, name in zip(stones, names, strict=True))
    return tuple(named), []


def _thickness(value: object) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    match = re.fullmatch(r"\s*([0-9]{1,4}(?:[.,][0-9]{1,4})?)\s*(?:mm)?\s*", str(value))
    if not match:
        raise InputError(f"{value!r} is not a thickness", hint="in mm, such as 6")
    return float(match[1].replace(",", "."))


def _text(key: object, value: object) -> str:
    if isinstance(value, str) or (isinstance(value, int) and not isinstance(value, bool)):
        return str(value)
    raise InputError(f"{key} is text, not {type(value).__name__}", hint="put it in quotes")


def _error(field: str, message: str, hint: str = "") -> InputError:
    return InputError(message, field=field, hint=hint)
