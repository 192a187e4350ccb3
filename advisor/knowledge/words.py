"""Near matches for words that were not understood."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable


def plain(name: str) -> str:
    """Return a name as it is compared: lower case, letters and digits only."""
    return re.sub(r"[^a-z0-9]+", "", name.lower())


def near(word: str, known: Iterable[str], most: int = 3) -> list[str]:
    """Return up to ``most`` known words that look like ``word``, best first."""
    by_lower = {k.lower(): k for k in known}
    return [by_lower[m] for m in difflib.get_close_matches(word.lower()[:80], by_lower, n=most, cutoff=0.6)]


def did_you_mean(word: str, known: Iterable[str], *, list_up_to: int = 12) -> str:
    """Return a hint: the near matches, or the whole list when it is short."""
    known = list(known)
    matches = near(word, known)
    if matches:
        return f"did you mean {' or '.join(matches)}?"
    if known and len(known) <= list_up_to:
        return f"choose one of: {', '.join(known)}"
    return ""
