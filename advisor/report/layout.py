"""Plain-text layout for an 80-column terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

WIDTH = 79


def heading(text: str) -> list[str]:
    """Return a section heading with a blank line before it."""
    return ["", text, "-" * len(text)]


def paragraph(text: str, indent: int = 0) -> list[str]:
    """Return a wrapped paragraph."""
    pad = " " * indent
    return textwrap.wrap(text, WIDTH, initial_indent=pad, subsequent_indent=pad, break_on_hyphens=False)


def item(text: str, mark: str = "-", indent: int = 2) -> list[str]:
    """Return a wrapped list item."""
    first = " " * indent + mark + " "
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first), break_on_hyphens=False)


def pairs(rows: Iterable[tuple[str, str]], indent: int = 2) -> list[str]:
    """Return label-value rows with the values aligned; long values wrap under themselves."""
    rows = [(a, b) for a, b in rows if b]
    width = max((len(a) for a, _ in rows), default=0) + indent + 2
    lines = []
    for label, value in rows:
        first = (" " * indent + label).ljust(width)
        lines += textwrap.wrap(
            value, WIDTH, initial_indent=first, subsequent_indent=" " * width, break_on_hyphens=False
        )
    return lines


def table(head: list[str], rows: list[list[str]]) -> list[str]:
    """Return a table; the last column takes the rest of the width and wraps."""
    sizes = [max(len(r[i]) for r in [head, *rows]) for i in range(len(head))]
    left = sum(sizes[:-1]) + 2 * (len(head) - 1)
    last = max(16, WIDTH - left)
    lines = []
    for row in [head, ["-" * min(s, last) for s in sizes], *rows]:
        parts = textwrap.wrap(row[-1], last, break_on_hyphens=False) or [""]
        lines.append("  ".join([*(c.ljust(s) for c, s in zip(row[:-1], sizes, strict=False)), parts[0]]).rstrip())
        lines += [" " * (left) + part for part in parts[1:]]
    return lines
