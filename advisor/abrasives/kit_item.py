"""Completing one item of a kit: what it does not say, what does not fit together, and its name."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from advisor.abrasives.kit_words import KitWords, fold
from advisor.abrasives.stones import Stone
from advisor.errors import InputError, OutOfRangeError, WhetruleError


def complete(draft: dict[str, Any], words: KitWords) -> list[WhetruleError]:
    """Fill in what an item does not say and check that its fields fit together."""
    errors: list[WhetruleError] = []
    bare = draft.pop("bare", False)
    draft.setdefault("kind", "strop" if draft.get("backing") else words.default_kind)
    for field in ("abrasive", "bond", "size", "thickness_mm", "state", "backing"):
        draft.setdefault(field, None)
    kind, size = draft["kind"], draft["size"]
    if kind == "strop":
        errors += _check_strop(draft, bare)
    else:
        draft["state"] = draft["state"] or words.default_state
        if size is None:
            errors.append(InputError("the grain size is missing", field="size", hint="such as JIS 1000 or 6 um"))
        if bare:
            errors.append(InputError(f"a {kind} is never bare", field="kind", hint="only a strop is bare"))
        if kind == "stone" and draft["backing"]:
            errors.append(InputError("a stone has no backing", field="backing", hint="was it a strop?"))
    if draft["bond"] is None and size is not None:
        draft["bond"] = dict(words.default_bond).get(kind)
    draft["abrasive_class"] = dict(words.classes).get(draft["abrasive"])
    low, high = words.thickness_mm
    thickness = draft["thickness_mm"]
    if thickness is not None and not low <= thickness <= high:
        hint = f"give {low:g} to {high:g} mm"
        errors.append(OutOfRangeError(f"a {kind} {thickness:g} mm thick", field="thickness", hint=hint))
    draft["name"] = _checked_name(draft.get("name", ""), words, errors)
    return errors


def _check_strop(draft: Mapping[str, Any], bare: bool) -> list[WhetruleError]:
    errors: list[WhetruleError] = []
    if draft["backing"] is None:
        errors.append(
            InputError("the strop's backing is missing", field="backing", hint="such as firm leather or balsa")
        )
    if draft["state"] is not None:
        errors.append(InputError("a strop has no dressing state", field="state", hint="leave it out"))
    if draft["size"] is None and (draft["abrasive"] or draft["bond"]):
        errors.append(InputError("the compound's size is missing", field="compound", hint="such as 1 um"))
    if bare and (draft["size"] or draft["abrasive"]):
        errors.append(InputError("a bare strop has no compound", field="compound", hint="say one or the other"))
    return errors


def _checked_name(name: str, words: KitWords, errors: list[WhetruleError]) -> str:
    tidy = " ".join(unicodedata.normalize("NFC", name).split())
    if not tidy:
        return ""
    hint = f"up to {words.name_at_most} characters without a colon"
    if len(tidy) > words.name_at_most or ":" in tidy or not tidy.isprintable():
        errors.append(InputError("this name cannot be used", field="name", hint=hint))
    elif words.phrases.get(fold(tidy), (("", ""),))[0][0] == "kind":
        errors.append(InputError(f"{tidy!r} is a kind, not a name", field="name", hint="use kind for it"))
    return tidy


def generated_name(item: Stone, words: KitWords) -> str:
    """Return a name made of the item's size, backing, abrasive, bond and kind."""
    usual_bond = dict(words.default_bond).get(item.kind)
    fields = ["backing", "abrasive", "kind"] if item.bond == usual_bond else ["backing", "abrasive", "bond", "kind"]
    described = [words.word(field, value) for field in fields if (value := getattr(item, field)) is not None]
    size = item.size.label if item.size else "bare"
    return " ".join([size, *described])


def unique(names: Sequence[str]) -> list[str]:
    """Return the names with (2), (3) ... behind those that repeat."""
    seen: Counter[str] = Counter()
    result = []
    for name in names:
        seen[name] += 1
        result.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return result
