"""Turn a parsed rule file into rules, checking every word against the vocabulary."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Literal, cast

from advisor.errors import KnowledgeError
from advisor.knowledge.marked_yaml import Key, Marked
from advisor.knowledge.model import (
    NUMBER_TYPES,
    OPERATORS,
    Attribute,
    Conclusion,
    Condition,
    Group,
    Place,
    Rule,
    Target,
    Value,
)
from advisor.knowledge.words import did_you_mean

GROUPS = ("all", "any", "none")
_NUMERIC = frozenset({"at_least", "at_most", "above", "below", "between"})
_CONDITIONABLE = NUMBER_TYPES | {"choice", "choices"}
_BOUNDS = {
    "no_lower_than": "low",
    "no_finer_than": "low",
    "no_higher_than": "high",
    "no_coarser_than": "high",
}


class RuleBuilder:
    """Builds the rules of one file; collects errors instead of stopping at the first.

    Args:
        marked: the file, already valid against rules.schema.json.
        topic: folder the file lies in.
        attributes, targets, strengths, topics, verdicts: the vocabulary.
    """

    def __init__(
        self,
        marked: Marked,
        topic: str,
        attributes: Mapping[str, Attribute],
        targets: Mapping[str, Target],
        strengths: Mapping[str, float],
        topics: Mapping[str, str],
        verdicts: Mapping[str, Any],
    ) -> None:
        self.marked, self.topic = marked, topic
        self.attributes, self.targets, self.strengths = attributes, targets, strengths
        self.topics, self.verdicts = topics, verdicts
        self.errors: list[KnowledgeError] = []

    def build(self) -> list[Rule]:
        """Return the rules of the file; ``errors`` holds what could not be understood."""
        rules = []
        for i, entry in enumerate(self.marked.data or []):
            before = len(self.errors)
            rule = self._rule(entry, (i,))
            if len(self.errors) == before:
                rules.append(rule)
        return rules

    def _error(self, key: Key, message: str, hint: str = "") -> None:
        self.errors.append(self.marked.error(key, message, hint))

    def _rule(self, entry: Mapping[str, Any], key: Key) -> Rule:
        line, column = self.marked.place((*key, "id"))
        cases = entry.get("cases", {})
        sources = tuple(entry.get("sources", ()))
        if entry["basis"] == "published" and not sources:
            self._error(
                (*key, "basis"),
                f"rule '{entry['id']}' says published but names no source",
                "add 'sources:' with keys of rules/sources, or change the basis",
            )
        wishes = tuple(entry.get("unless_you_want", ()))
        known_wishes = self.attributes["wish"].words
        for i, wish in enumerate(wishes):
            if wish not in known_wishes:
                self._error(
                    (*key, "unless_you_want", i), f"unknown wish '{wish}'", did_you_mean(wish, known_wishes)
                )
        then = self._conclusion(entry["then"], (*key, "then"))
        if wishes and then is not None and then.firm:
            self._error(
                (*key, "unless_you_want"),
                "a firm limit cannot be set aside by a wish",
                "drop 'unless_you_want' or 'firm'",
            )
        return Rule(
            id=entry["id"],
            title=entry["title"],
            status=entry["status"],
            topic=self.topic,
            when=self._group(entry["when"], "all", (*key, "when")),
            then=then or Conclusion("advise", ""),
            because=entry["because"].strip(),
            does_not_apply_when=entry["does_not_apply_when"].strip(),
            basis=entry["basis"],
            sources=sources,
            fires_in=tuple(cases.get("fires", ())),
            quiet_in=tuple(cases.get("quiet", ())),
            place=Place(self.marked.path, line, column),
            unless_you_want=wishes,
            priority=entry.get("priority", 0),
        )

    # ---- conditions ------------------------------------------------------------------------------

    def _group(self, tests: Any, kind: str, key: Key) -> Group:
        parts: list[Condition | Group] = []
        for name, test in tests.items():
            here: Key = (*key, name)
            if name in GROUPS:
                if not isinstance(test, list) or not test:
                    self._error(here, f"'{name}' must be a list of conditions", "start each with '- '")
                    continue
                inner: list[Condition | Group] = []
                for i, item in enumerate(test):
                    if isinstance(item, dict) and item:
                        group = self._group(item, "all", (*here, i))
                        inner.append(group.parts[0] if len(group.parts) == 1 else group)
                    else:
                        self._error((*here, i), f"an entry of '{name}' must be 'attribute: {{test}}'")
                parts.append(Group(cast(Literal["all", "any", "none"], name), tuple(inner)))
            else:
                parts.extend(self._tests(name, test, here))
        return Group(cast(Literal["all", "any", "none"], kind), tuple(parts))

    def _tests(self, name: str, test: Any, key: Key) -> list[Condition]:
        attribute = self.attributes.get(name)
        if attribute is None:
            self._error(key, f"unknown attribute '{name}'", did_you_mean(name, [*self.attributes, *GROUPS]))
            return []
        if not isinstance(test, dict) or not test:
            self._error(
                key,
                f"the test of '{name}' must be written as {{operator: value}}",
                f"for example {{equals: {test}}}",
            )
            return []
        found = []
        for operator, operand in test.items():
            here: Key = (*key, operator)
            if operator not in OPERATORS:
                self._error(here, f"unknown operator '{operator}'", did_you_mean(operator, OPERATORS))
                continue
            value = self._operand(attribute, operator, operand, here)
            if value is not None:
                found.append(Condition(name, operator, value))
        return found

    def _operand(self, attribute: Attribute, operator: str, operand: Any, key: Key) -> Any:
        if operator in ("known", "unknown"):
            if operand is not True:
                self._error(key, f"'{operator}' takes only true", "use the opposite word instead of false")
                return None
            return True
        if attribute.type not in _CONDITIONABLE:
            self._error(key, f"'{attribute.name}' can only be tested for known or unknown")
            return None
        many = operator in ("in", "not_in", "between")
        items = operand if isinstance(operand, list) else [operand]
        if many != isinstance(operand, list) or not items or (operator == "between" and len(items) != 2):
            form = {"between": "two numbers in brackets", True: "a list in brackets", False: "one value"}
            self._error(key, f"'{operator}' takes {form[operator if operator in form else many]}")
            return None
        if operator in _NUMERIC and attribute.type not in NUMBER_TYPES:
            self._error(
                key,
                f"'{operator}' compares numbers, but '{attribute.name}' is a word",
                "use equals, in or not_in",
            )
            return None
        values = [self.checked(attribute, item, key) for item in items]
        if any(v is None for v in values):
            return None
        if operator == "between" and values[0] >= values[1]:  # type: ignore[operator]
            self._error(key, "'between' needs the smaller number first")
            return None
        return tuple(values) if many else values[0]

    def checked(self, attribute: Attribute, value: Any, key: Key) -> Value | None:
        """Return a value of the attribute's type, or None after recording the error."""
        if attribute.type in NUMBER_TYPES:
            if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
                self._error(key, f"'{attribute.name}' is a number in {attribute.unit}, not {value!r}")
                return None
            low, high = attribute.range or (-math.inf, math.inf)
            if not low <= value <= high:
                self._error(
                    key,
                    f"{value:g} is outside {low:g} to {high:g} {attribute.unit}, the range of '{attribute.name}'",
                    "such a condition can never decide anything",
                )
                return None
            return float(value)
        if value not in attribute.words:
            self._error(
                key, f"'{attribute.name}' has no value {value!r}", did_you_mean(str(value), attribute.words)
            )
            return None
        return str(value)

    # ---- conclusions -----------------------------------------------------------------------------

    def _conclusion(self, then: Mapping[str, Any], key: Key) -> Conclusion | None:
        if len(then) != 1:
            self._error(key, f"'then' must hold exactly one verb, not {', '.join(then)}", "write two rules")
            return None
        ((verb, body),) = then.items()
        here: Key = (*key, verb)
        method = getattr(self, f"_{verb}")
        return cast("Conclusion | None", method(body, here))

    def _attribute(self, name: str, origins: tuple[str, ...], verb: str, key: Key) -> Attribute | None:
        attribute = self.attributes.get(name)
        allowed = [
            a.name for a in self.attributes.values() if a.origin in origins and a.type in _CONDITIONABLE
        ]
        if attribute is None or attribute.name not in allowed:
            what = "unknown attribute" if attribute is None else f"'{verb}' cannot set"
            self._error(key, f"{what} '{name}'", did_you_mean(name, allowed))
            return None
        return attribute

    def _conclude(self, body: Mapping[str, Any], key: Key) -> Conclusion | None:
        ((name, value),) = body.items()
        attribute = self._attribute(name, ("concluded",), "conclude", (*key, name))
        checked = self.checked(attribute, value, (*key, name)) if attribute else None
        return Conclusion("conclude", name, value=checked) if checked is not None else None

    def _assume(self, body: Mapping[str, Any], key: Key) -> Conclusion | None:
        ((name, value),) = body.items()
        attribute = self._attribute(name, ("asked",), "assume", (*key, name))
        if attribute is None:
            return None
        if isinstance(value, dict):
            other = self.attributes.get(value["same_as"])
            if other is None or other.type != attribute.type:
                self._error(
                    (*key, name, "same_as"),
                    f"'{value['same_as']}' cannot stand for '{name}'",
                    did_you_mean(value["same_as"], self.attributes),
                )
                return None
            return Conclusion("assume", name, same_as=other.name)
        checked = self.checked(attribute, value, (*key, name))
        return Conclusion("assume", name, value=checked) if checked is not None else None

    def _target(self, body: Mapping[str, Any], key: Key, *extras: str) -> Target | None:
        names = [name for name in body if name not in extras]
        if len(names) != 1:
            self._error(key, f"must name exactly one of: {', '.join(self.targets)}")
            return None
        target = self.targets.get(names[0])
        if target is None:
            self._error(
                (*key, names[0]),
                f"nothing is advised about '{names[0]}'",
                did_you_mean(names[0], self.targets),
            )
        return target

    def _favour(self, body: Mapping[str, Any], key: Key) -> Conclusion | None:
        target = self._target(body, key, "strength")
        if target is None:
            return None
        ends = sorted((float(body[target.name]["from"]), float(body[target.name]["to"])))
        if not (self._inside(target, ends[0], key) and self._inside(target, ends[1], key)):
            return None
        return Conclusion("favour", target.name, low=ends[0], high=ends[1], strength=body["strength"])

    def _limit(self, body: Mapping[str, Any], key: Key) -> Conclusion | None:
        target = self._target(body, key, "firm", "verdict")
        if target is None:
            return None
        bounds = {_BOUNDS[word]: float(value) for word, value in body[target.name].items()}
        if len(bounds) != len(body[target.name]):
            self._error((*key, target.name), "bounds the same side twice", "keep one of the two")
            return None
        if not all(self._inside(target, value, (*key, target.name)) for value in bounds.values()):
            return None
        verdict = self._verdict(body.get("verdict", ""), (*key, "verdict"))
        return Conclusion(
            "limit",
            target.name,
            low=bounds.get("low"),
            high=bounds.get("high"),
            firm=bool(body.get("firm", False)),
            verdict=verdict,
        )

    def _shift(self, body: Mapping[str, Any], key: Key) -> Conclusion | None:
        target = self._target(body, key)
        if target is None:
            return None
        amount = body[target.name]
        right = "times" if target.scale == "log" else "by"
        if right not in amount:
            self._error((*key, target.name), f"a shift of '{target.name}' is written with '{right}'")
            return None
        return Conclusion("shift", target.name, by=amount.get("by", 0.0), times=amount.get("times", 1.0))

    def _advise(self, body: Mapping[str, Any], key: Key) -> Conclusion | None:
        if body["topic"] not in self.topics:
            self._error(
                (*key, "topic"), f"unknown topic '{body['topic']}'", did_you_mean(body["topic"], self.topics)
            )
            return None
        verdict = self._verdict(body.get("verdict", ""), (*key, "verdict"))
        return Conclusion(
            "advise", body["topic"], text=body["text"].strip(), order=body.get("order", 50), verdict=verdict
        )

    def _suspect(self, body: Mapping[str, Any], key: Key) -> Conclusion | None:
        return Conclusion("suspect", body["cause"], strength=body["strength"])

    def _inside(self, target: Target, value: float, key: Key) -> bool:
        low, high = target.range
        if low <= value <= high:
            return True
        self._error(
            key, f"{value:g} is outside what '{target.name}' can be ({low:g} to {high:g} {target.unit})"
        )
        return False

    def _verdict(self, name: str, key: Key) -> str:
        if name and name not in self.verdicts:
            self._error(key, f"unknown verdict '{name}'", did_you_mean(name, self.verdicts))
        return name
