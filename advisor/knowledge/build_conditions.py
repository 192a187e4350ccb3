"""Build conditions from a parsed rule, checking every word and number against the vocabulary."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Literal, cast

from advisor.errors import KnowledgeError
from advisor.knowledge.marked_yaml import Key, Marked
from advisor.knowledge.rule import OPERATORS, Condition, Group
from advisor.knowledge.vocabulary import NUMBER_TYPES, Attribute, Value
from advisor.knowledge.words import did_you_mean

GROUPS = ("all", "any", "none")
CONDITIONABLE = NUMBER_TYPES | {"choice", "choices"}
_NUMERIC = frozenset({"at_least", "at_most", "above", "below", "between"})


class ConditionBuilder:
    """Builds conditions and groups of one file; collects errors instead of stopping at the first.

    Args:
        marked: the file, already valid against its schema.
        attributes: the vocabulary.
    """

    def __init__(self, marked: Marked, attributes: Mapping[str, Attribute]) -> None:
        self.marked, self.attributes = marked, attributes
        self.errors: list[KnowledgeError] = []

    def error(self, key: Key, message: str, hint: str = "") -> None:
        """Record an error at a place of the file."""
        self.errors.append(self.marked.error(key, message, hint))

    def group(self, tests: Any, kind: str, key: Key) -> Group:
        """Return the group of one mapping of tests, with the groups inside it."""
        parts: list[Condition | Group] = []
        for name, test in tests.items():
            here: Key = (*key, name)
            if name in GROUPS:
                if not isinstance(test, list) or not test:
                    self.error(here, f"'{name}' must be a list of conditions", "start each with '- '")
                    continue
                inner: list[Condition | Group] = []
                for i, item in enumerate(test):
                    if isinstance(item, dict) and item:
                        group = self.group(item, "all", (*here, i))
                        inner.append(group.parts[0] if len(group.parts) == 1 else group)
                    else:
                        self.error((*here, i), f"an entry of '{name}' must be 'attribute: {{test}}'")
                parts.append(Group(cast(Literal["all", "any", "none"], name), tuple(inner)))
            else:
                parts.extend(self._tests(name, test, here))
        return Group(cast(Literal["all", "any", "none"], kind), tuple(parts))

    def _tests(self, name: str, test: Any, key: Key) -> list[Condition]:
        attribute = self.attributes.get(name)
        if attribute is None:
            self.error(key, f"unknown attribute '{name}'", did_you_mean(name, [*self.attributes, *GROUPS]))
            return []
        if not isinstance(test, dict) or not test:
            self.error(
                key,
                f"the test of '{name}' must be written as {{operator: value}}",
                f"for example {{equals: {test}}}",
            )
            return []
        found = []
        for operator, operand in test.items():
            here: Key = (*key, operator)
            if operator not in OPERATORS:
                self.error(here, f"unknown operator '{operator}'", did_you_mean(operator, OPERATORS))
                continue
            value = self._operand(attribute, operator, operand, here)
            if value is not None:
                found.append(Condition(name, operator, value))
        return found

    def _operand(self, attribute: Attribute, operator: str, operand: Any, key: Key) -> Any:
        if operator in ("known", "unknown"):
            if operand is not True:
                self.error(key, f"'{operator}' takes only true", "use the opposite word instead of false")
                return None
            return True
        if attribute.type not in CONDITIONABLE:
            self.error(key, f"'{attribute.name}' can only be tested for known or unknown")
            return None
        many = operator in ("in", "not_in", "between")
        items = operand if isinstance(operand, list) else [operand]
        if many != isinstance(operand, list) or not items or (operator == "between" and len(items) != 2):
            form = {"between": "two numbers in brackets", True: "a list in brackets", False: "one value"}
            self.error(key, f"'{operator}' takes {form[operator if operator in form else many]}")
            return None
        if operator in _NUMERIC and attribute.type not in NUMBER_TYPES:
            self.error(
                key,
                f"'{operator}' compares numbers, but '{attribute.name}' is a word",
                "use equals, in or not_in",
            )
            return None
        values = [self.checked(attribute, item, key) for item in items]
        if any(v is None for v in values):
            return None
        if operator == "between" and values[0] >= values[1]:  # type: ignore[operator]
            self.error(key, "'between' needs the smaller number first")
            return None
        return tuple(values) if many else values[0]

    def checked(self, attribute: Attribute, value: Any, key: Key) -> Value | None:
        """Return a value of the attribute's type, or None after recording the error."""
        if attribute.type in NUMBER_TYPES:
            if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
                self.error(key, f"'{attribute.name}' is a number in {attribute.unit}, not {value!r}")
                return None
            low, high = attribute.range or (-math.inf, math.inf)
            if not low <= value <= high:
                self.error(
                    key,
                    f"{value:g} is outside {low:g} to {high:g} {attribute.unit}, the range of '{attribute.name}'",
                    "such a condition can never decide anything",
                )
                return None
            return float(value)
        if value not in attribute.words:
            self.error(key, f"'{attribute.name}' has no value {value!r}", did_you_mean(str(value), attribute.words))
            return None
        return str(value)
