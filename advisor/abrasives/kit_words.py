"""The words a kit is described with, and what each one says about a stone, film or strop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from typing import Any

from advisor.abrasives.minerals import Minerals
from advisor.errors import InputError

FIELDS = ("kind", "abrasive", "backing", "bond", "state")


def fold(word: str) -> str:
    """Return a word or phrase lower case, with single spaces and hyphens as spaces."""
    return " ".join(word.lower().replace("-", " ").split())


@dataclass(frozen=True)
class KitWords:
    """Vocabulary of kits, built from data.

    Attributes:
        values: field -> ((value, its words in order of preference), ...).
        implied: phrase -> fields it fills in unless the line says otherwise.
        ignored, bare_words: words that say nothing; words for a strop without compound.
        keys: keys of an item in a kit file.
        default_kind, default_state: taken where an item does not say.
        default_bond: kind -> bond taken where an item does not say.
        classes: mineral id -> abrasive class.
        thickness_mm: smallest and largest thickness accepted, mm.
        items_at_most, text_at_most, name_at_most: limits on a kit, its text and an item's name.
    """

    values: tuple[tuple[str, tuple[tuple[str, tuple[str, ...]], ...]], ...]
    implied: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    ignored: frozenset[str]
    bare_words: frozenset[str]
    keys: tuple[str, ...]
    default_kind: str
    default_state: str
    default_bond: tuple[tuple[str, str], ...]
    classes: tuple[tuple[str, str], ...]
    thickness_mm: tuple[float, float]
    items_at_most: int
    text_at_most: int
    name_at_most: int

    @classmethod
    def from_data(cls, kit: Mapping[str, Any], minerals: Minerals, strops: Mapping[str, Any]) -> KitWords:
        """Build from the parsed ``kit.yaml`` and ``strops.yaml`` and the minerals."""
        tables = {
            "kind": [(key, entry["aliases"]) for key, entry in kit["kinds"].items()],
            "abrasive": [(mineral.id, mineral.aliases) for mineral in minerals.minerals],
            "backing": [(row["id"], row["aliases"]) for row in strops["backings"]],
            "bond": [(key, entry["aliases"]) for key, entry in kit["bonds"].items()],
            "state": [(key, entry["aliases"]) for key, entry in kit["states"].items()],
        }
        defaults = kit["defaults"]
        return cls(
            values=tuple(
                (field, tuple((value, tuple(map(fold, (value, *words)))) for value, words in tables[field]))
                for field in FIELDS
            ),
            implied=tuple((fold(phrase), tuple(entry["sets"].items())) for phrase, entry in kit["phrases"].items()),
            ignored=frozenset(kit["ignored"]),
            bare_words=frozenset(map(fold, kit["bare_words"])),
            keys=tuple(kit["keys"]),
            default_kind=defaults["kind"],
            default_state=defaults["state"],
            default_bond=tuple(defaults["bond"].items()),
            classes=tuple((mineral.id, mineral.abrasive_class) for mineral in minerals.minerals),
            thickness_mm=(float(kit["thickness_mm"]["thinnest"]), float(kit["thickness_mm"]["thickest"])),
            items_at_most=int(kit["items_at_most"]),
            text_at_most=int(kit["text_at_most"]),
            name_at_most=int(kit["name_at_most"]),
        )

    @cached_property
    def phrases(self) -> dict[str, tuple[tuple[str, str], ...]]:
        """Every phrase of a line and the (field, value) pairs it states; the first field wins."""
        found: dict[str, tuple[tuple[str, str], ...]] = {}
        for field, values in self.values:
            for value, words in values:
                for word in words:
                    found.setdefault(word, ((field, value),))
        return found

    @cached_property
    def longest_phrase(self) -> int:
        """Number of words in the longest phrase."""
        everything = [*self.phrases, *dict(self.implied), *self.bare_words]
        return max(len(phrase.split()) for phrase in everything)

    def value(self, field: str, word: str) -> str:
        """Return the value a word stands for in one field.

        Raises:
            InputError: the word is not known there; the hint names a near one or lists them.
        """
        values = dict(self.values)[field]
        for value, words in values:
            if fold(word) in words:
                return value
        ids = [value for value, _ in values]
        known = {name: name for _, words in values for name in words} | {fold(key): key for key in ids}
        near = get_close_matches(fold(word), known, 1)
        hint = f"did you mean {known[near[0]]}?" if near else f"one of {', '.join(ids)}"
        raise InputError(f"unknown {field} {word!r}", field=field, hint=hint)

    def word(self, field: str, value: str) -> str:
        """Return a phrase that reads back as this value in a line."""
        words = dict(dict(self.values)[field])[value]
        return next(word for word in words if self.phrases[word] == ((field, value),))

    def near(self, word: str) -> str:
        """Return a hint for a word that a line cannot use."""
        known = [*self.phrases, *dict(self.implied)]
        near = get_close_matches(fold(word), known, 1, 0.7)
        if near:
            return f"did you mean {near[0]}?"
        return "leave it out, or put it in a name before a colon, such as 'my stone: JIS 1000 diamond stone'"
