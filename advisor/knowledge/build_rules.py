"""Turn a parsed rule file into rules, checking every word against the vocabulary."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from advisor.knowledge.build_conditions import CONDITIONABLE, ConditionBuilder
from advisor.knowledge.marked_yaml import Key, Marked
from advisor.knowledge.rule import Conclusion, Place, Rule
from advisor.knowledge.vocabulary import Attribute, Target
from advisor.knowledge.words import did_you_mean

_BOUNDS = {
    "no_lower_than": "low",
    "no_finer_than": "low",
    "no_higher_than": "high",
    "no_coarser_than": "high",
}


class RuleBuilder(ConditionBuilder):
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
        super().__init__(marked, attributes)
        self.topic, self.targets, self.strengths = topic, targets, strengths
        self.topics, self.verdicts = topics, verdicts

    def build(self) -> list[Rule]:
        """Return the rules of the file; ``errors`` holds what could not be understood."""
        rules = []
        for i, entry in enumerate(self.marked.data or []):
            before = len(self.errors)
            rule = self._rule(entry, (i,))
            if len(self.errors) == before:
                rules.append(rule)
        return rules

    def _rule(self, entry: Mapping[str, Any], key: Key) -> Rule:
        line, column = self.marked.place((*key, "id"))
        cases = entry.get("cases", {})
        sources = tuple(entry.get("sources", ()))
        if entry["basis"] == "published" and not sources:
            self.error(
                (*key, "basis"),
                f"rule '{entry['id']}' says published but names no source",
                "add 'sources:' with keys of rules/sources, or change the basis",
            )
        wishes = tuple(entry.get("unless_you_want", ()))
        known_wishes = self.attributes["wish"].words
        for i, wish in enumerate(wishes):
            if wish not in known_wishes:
                self.error((*key, "unless_you_want", i), f"unknown wish '{wish}'", did_you_mean(wish, known_wishes))
        then = self._conclusion(entry["then"], (*key, "then"))
        if wishes and then is not None and then.firm:
            self.error(
                (*key, "unless_you_want"),
                "a firm limit cannot be set aside by a wish",
                "drop 'unless_you_want' or 'firm'",
            )
        return Rule(
            id=entry["id"],
            title=entry["title"],
            status=entry["status"],
            topic=self.topic,
            when=self.group(entry["when"], "all", (*key, "when")),
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

    # ---- conclusions -----------------------------------------------------------------------------

    def _conclusion(self, then: Mapping[str, Any], key: Key) -> Conclusion | None:
        if len(then) != 1:
            self.error(key, f"'then' must hold exactly one verb, not {', '.join(then)}", "write two rules")
            return None
        ((verb, body),) = then.items()
        here: Key = (*key, verb)
        method = getattr(self, f"_{verb}")
        return cast("Conclusion | None", method(body, here))

    def _attribute(self, name: str, origins: tuple[str, ...], verb: str, key: Key) -> Attribute | None:
        attribute = self.attributes.get(name)
        allowed = [a.name for a in self.attributes.values() if a.origin in origins and a.type in CONDITIONABLE]
        if attribute is None or attribute.name not in allowed:
            what = "unknown attribute" if attribute is None else f"'{verb}' cannot set"
            self.error(key, f"{what} '{name}'", did_you_mean(name, allowed))
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
                self.error(
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
            self.error(key, f"must name exactly one of: {', '.join(self.targets)}")
            return None
        target = self.targets.get(names[0])
        if target is None:
            self.error(
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
            self.error((*key, target.name), "bounds the same side twice", "keep one of the two")
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
            self.error((*key, target.name), f"a shift of '{target.name}' is written with '{right}'")
            return None
        return Conclusion("shift", target.name, by=amount.get("by", 0.0), times=amount.get("times", 1.0))

    def _advise(self, body: Mapping[str, Any], key: Key) -> Conclusion | None:
        if body["topic"] not in self.topics:
            self.error((*key, "topic"), f"unknown topic '{body['topic']}'", did_you_mean(body["topic"], self.topics))
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
        self.error(key, f"{value:g} is outside what '{target.name}' can be ({low:g} to {high:g} {target.unit})")
        return False

    def _verdict(self, name: str, key: Key) -> str:
        if name and name not in self.verdicts:
            self.error(key, f"unknown verdict '{name}'", did_you_mean(name, self.verdicts))
        return name
