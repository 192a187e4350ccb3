"""Expectations of a case: a path into the answer's JSON, and a test of what stands there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from advisor.knowledge.vocabulary import Attribute
from advisor.knowledge.words import did_you_mean

ENTRY_NAMES = ("about", "cause", "attribute", "rule", "topic")
"""Keys by which an entry of a list can be named in a path instead of by its number."""


def found_at(answer: Any, path: str) -> list[Any]:
    """Return what stands at a path; empty when nothing does.

    Args:
        answer: JSON data.
        path: names joined by dots; attribute names keep their own dots (``values.burr.kind``); a list
            takes a number from 0, or the name of an entry (``verdicts.angle.verdict``), of which there
            may be several.
    """
    return list(_walk(answer, path.split(".")))


def _walk(here: Any, parts: list[str]) -> Iterator[Any]:
    if not parts:
        if here is not None:
            yield here
    elif isinstance(here, Mapping):
        # The longest name first: names of attributes hold dots themselves.
        for end in range(len(parts), 0, -1):
            name = ".".join(parts[:end])
            if name in here:
                yield from _walk(here[name], parts[end:])
                return
    elif isinstance(here, list):
        if parts[0].isdigit():
            if int(parts[0]) < len(here):
                yield from _walk(here[int(parts[0])], parts[1:])
            return
        for entry in here:
            if isinstance(entry, Mapping) and any(entry.get(key) == parts[0] for key in ENTRY_NAMES):
                yield from _walk(entry, parts[1:])


def wrong_path(answer: Mapping[str, Any], path: str, attributes: Mapping[str, Attribute]) -> str:
    """Return what is wrong with a path that no answer could ever fill; empty when nothing is."""
    first, _, rest = path.partition(".")
    if first not in answer:
        return f"the answer has no part '{first}'; {did_you_mean(first, answer, list_up_to=30)}".rstrip("; ")
    if first == "values" and rest not in attributes:
        return f"there is no attribute '{rest}'; {did_you_mean(rest, attributes)}".rstrip("; ")
    return ""


def holds(operator: str, operand: Any, found: list[Any]) -> bool:
    """Whether a test holds for what was found; of several entries one is enough.

    Args:
        operator: equals, at_least, at_most, above, below, between, in, contains or absent.
        operand: what it is compared with.
        found: values at the path.
    """
    if operator == "absent":
        return (not found) is bool(operand)
    if operator == "equals" and operand is None:
        return not found
    return any(_holds(operator, operand, value) for value in found)


def _holds(operator: str, operand: Any, value: Any) -> bool:
    if operator == "equals":
        return (type(operand) in (int, float) and _is_number(value) and value == operand) or (
            type(value) is type(operand) and value == operand
        )
    if operator == "in":
        return value in operand
    if operator == "contains":
        if isinstance(value, str):
            return str(operand).lower() in value.lower()
        return isinstance(value, list) and operand in value
    if not _is_number(value):
        return False
    if operator == "between":
        return bool(operand[0] <= value <= operand[1])
    tests: dict[str, bool] = {
        "at_least": value >= operand,
        "at_most": value <= operand,
        "above": value > operand,
        "below": value < operand,
    }
    return tests[operator]


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def in_words(operator: str, operand: Any) -> str:
    """Return a test in words."""
    if operator == "absent":
        return "nothing there" if operand else "something there"
    if operator == "between":
        return f"{operand[0]} to {operand[1]}"
    shown = ", ".join(map(str, operand)) if isinstance(operand, list) else str(operand)
    return f"{operator.replace('_', ' ')} {shown}"


def texts_of(answer: Mapping[str, Any]) -> list[str]:
    """Return every sentence a reader of the answer sees, without the rules that do not count."""
    parts = [answer.get(name) for name in ("summary", "plan", "notes", "cautions", "verdicts", "causes")]
    texts = [text for part in parts for text in _strings(part)]
    for step in answer.get("trace", ()):
        if step["counts"]:
            texts += [step["title"], step["then"]["text"], step["because"]]
    return texts


def _strings(part: Any) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, Mapping):
        for key, value in part.items():
            if key not in ("rule", "rules"):
                yield from _strings(value)
    elif isinstance(part, (list, tuple)):
        for value in part:
            yield from _strings(value)
