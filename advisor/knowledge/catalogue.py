"""Find grades by any designation or alias."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping

from advisor.errors import InputError
from advisor.knowledge.model import Grade, KnowledgeBase
from advisor.knowledge.words import plain

MOST_CHARACTERS = 80
SHORT_NAME = 5


def find_grade(kb: KnowledgeBase, text: str) -> Grade:
    """Return the grade that a person means.

    Args:
        kb: the knowledge base.
        text: a designation or alias; case, blanks, dots and hyphens do not matter, nor does the name of
            the standard before it or the word steel after it.

    Raises:
        InputError: no such grade; the hint offers near matches, or the composition way.
    """
    for name in _trimmed(plain(text[:200]), kb.name_words):
        if name in kb.grade_names:
            return kb.grade_names[name]
    shown = text if len(text) <= 40 else text[:37] + "..."
    near = near_grades(kb, text)
    hint = (
        f"did you mean {near_words(near)}?"
        if near
        else "search with 'whetrule grades', or give its composition, for example C 0.95, Cr 17, Mo 0.5"
    )
    raise InputError(f"no steel called '{shown}' in the catalogue", field="grade", hint=hint)


def _trimmed(name: str, words: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    """Yield a name, then what is left without the words that stand before and after steel names."""
    yield name
    bare = name
    for before in words["before"]:
        bare = bare.removeprefix(before)
    for start in (name, bare):
        yield start
        for after in words["after"]:
            yield start.removesuffix(after)
    # EN numbers are often written without the leading 1 of the material group steel.
    yield f"1{name}"


def near_grades(kb: KnowledgeBase, text: str, most: int = 3) -> list[tuple[str, Grade]]:
    """Return grades with a name that looks like ``text``, each with that name, best first."""
    wanted = plain(text[:MOST_CHARACTERS])
    found: dict[str, tuple[str, Grade]] = {}
    for key in difflib.get_close_matches(wanted, kb.grade_names, n=most * 3, cutoff=0.72):
        # In a short name the figures are the name: another figure is another steel, not a slip.
        if len(key) == len(wanted) <= SHORT_NAME and _figures(key) != _figures(wanted):
            continue
        grade = kb.grade_names[key]
        name = next((n for n in grade.names if plain(n) == key), grade.name)
        found.setdefault(grade.id, (name, grade))
    return list(found.values())[:most]


def _figures(name: str) -> str:
    # The letter O typed for a zero is a slip, not another figure.
    return "".join(c for c in name.replace("o", "0") if c.isdigit())


def near_words(near: list[tuple[str, Grade]]) -> str:
    """Return near matches in words: the name that looks alike, and what steel that is."""
    return " or ".join(g.name if name in g.name else f"{name} (that is {g.name})" for name, g in near)


def search_grades(kb: KnowledgeBase, words: str) -> list[Grade]:
    """Return the grades in whose names or group every word occurs; all of them for no words."""
    parts = [plain(w) for w in words.split() if plain(w)]
    found = []
    for grade in kb.grades.values():
        names = [plain(n) for n in (*grade.names, grade.group)]
        if all(any(part in name for name in names) for part in parts):
            found.append((not any(part == name for part in parts for name in names), grade.name, grade))
    return [g for *_, g in sorted(found, key=lambda f: f[:2])]


def names_by_kind(grade: Grade) -> Mapping[str, str]:
    """Return the grade's open designations under the names of their systems."""
    labels = {
        "aisi": "AISI",
        "uns": "UNS",
        "en": "EN",
        "en_number": "EN number",
        "jis": "JIS",
        "en_old": "EN (older)",
        "en_built": "EN style, built here",
    }
    return {labels.get(k, k): v for k, v in grade.designations.items()}
