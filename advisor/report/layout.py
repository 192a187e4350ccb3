"""Plain-text layout for an 80-column terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from itertools import zip_longest

WIDTH = 79
WIDEST_CELL = 34
"""Characters a cell other than the last may be wide before it wraps."""


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
    """Return a table; cells wrap, and the last column takes the rest of the width."""
    sizes = [min(WIDEST_CELL, max(len(r[i]) for r in [head, *rows])) for i in range(len(head))]
    left = sum(sizes[:-1]) + 2 * (len(head) - 1)
    sizes[-1] = max(16, WIDTH - left)
    rule = ["-" * min(s, max(len(r[i]) for r in [head, *rows])) for i, s in enumerate(sizes)]
    lines = []
    for row in [head, rule, *rows]:
        cells = [textwrap.wrap(c, s, break_on_hyphens=False) or [""] for c, s in zip(row, sizes, strict=True)]
        for parts in zip_longest(*cells, fillvalue=""):
            lines.append("  ".join(p.ljust(s) for p, s in zip(parts, sizes, strict=True)).rstrip())
    return lines
