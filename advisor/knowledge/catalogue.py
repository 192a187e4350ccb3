"""Find grades by any designation or alias."""

from __future__ import annotations

import difflib
from collections.abc import Mapping

from advisor.errors import InputError
from advisor.knowledge.model import Grade, KnowledgeBase
from advisor.knowledge.words import plain

MOST_CHARACTERS = 80


def find_grade(kb: KnowledgeBase, text: str) -> Grade:
    """Return the grade that a person means.

    Args:
        kb: the knowledge base.
        text: a designation or alias; case, blanks, dots and hyphens do not matter.

    Raises:
        InputError: no such grade; the hint offers near matches, or the composition way.
    """
    wanted = plain(text[:200])
    grade = kb.grade_names.get(wanted)
    if grade is not None:
        return grade
    shown = text if len(text) <= 40 else text[:37] + "..."
    near = near_grades(kb, text)
    hint = (
        f"did you mean {' or '.join(g.name for g in near)}?"
        if near
        else "search with 'whetrule grades', or give its composition, for example C 0.95, Cr 17, Mo 0.5"
    )
    raise InputError(f"no steel called '{shown}' in the catalogue", field="grade", hint=hint)


def near_grades(kb: KnowledgeBase, text: str, most: int = 3) -> list[Grade]:
    """Return grades whose names look like ``text``, best first."""
    index = kb.grade_names
    wanted = plain(text[:MOST_CHARACTERS])
    found: list[Grade] = []
    for key in difflib.get_close_matches(wanted, index, n=most * 3, cutoff=0.72):
        if index[key] not in found:
            found.append(index[key])
    return found[:most]


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
