"""An impact as Markdown for a pull request, as text, as JSON and as a picture."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from advisor.curation.answers import Answer
from advisor.curation.impact import DATA, Change, Comparison
from advisor.curation.witness import command_line
from advisor.report.layout import heading, table

ROWS = 15
"""Rows a table shows; the JSON has them all."""
Section = tuple[str, list[str], list[list[str]]]


def headline(found: Comparison) -> str:
    """Return the finding in one sentence."""
    changed, asked = len(found.impact.changed), found.impact.asked
    share = f" ({100 * changed / asked:.1f} %)" if asked else ""
    return f"{changed} of {asked} answers changed{share}; class of change: {found.kind}"


def _notes(found: Comparison) -> list[str]:
    notes = []
    grid = found.grid
    sizes = len(grid.steels), len(grid.uses), len(grid.wishes), len(grid.abrasives)
    axes = "{} grades at their hardness bands x {} uses x {} wishes x {} abrasives".format(*sizes)
    if found.sample:
        notes.append(f"Sample of {found.impact.asked} out of {len(grid)} questions, seed {found.sample[1]} ({axes}).")
    else:
        notes.append(f"The whole grid: {axes}.")
    if found.impact.changed:
        notes.append(f"{found.impact.added_only} of the changed answers only say more than before.")
    for label, names in (
        ("New grades", found.grades_added),
        ("Grades that are gone", found.grades_removed),
        ("Reworded, deciding as before", found.rewritten),
    ):
        if names:
            notes.append(f"{label}: {', '.join(names)}.")
    return notes


def _sections(found: Comparison) -> list[Section]:
    impact = found.impact
    sections = [
        (
            "By rule",
            ["Rule", "Answers", "Place"],
            [[r, n, _place(found, r)] for r, n in _top(impact.by_rule)],
        ),
        ("By grade", ["Grade", "Answers"], _top(impact.by_grade)),
        ("By use", ["Use", "Answers"], _top(impact.by_use)),
        ("The largest changes", ["Question", "Before", "After"], [_row(found, c) for c in impact.largest]),
    ]
    return [s for s in sections if s[2]]


def _top(counts: Counter[str]) -> list[list[str]]:
    ranked = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    rows = [[name, str(count)] for name, count in ranked[:ROWS]]
    return rows + ([[f"... and {len(ranked) - ROWS} more", ""]] if len(ranked) > ROWS else [])


def _place(found: Comparison, rule: str) -> str:
    where = found.head.rules_by_id.get(rule) or found.base.rules_by_id.get(rule)
    return str(where.place) if where else "vocabulary, grades, uses or figures" if rule == DATA else ""


def _row(found: Comparison, change: Change) -> list[str]:
    question = ", ".join(f"{v:g} HRC" if n == "hardness" else str(v) for n, v in change.given.items())
    return [
        question,
        *(_told(found, side, other) for side, other in ((change.before, change.after), (change.after, change.before))),
    ]


def _told(found: Comparison, side: Answer, other: Answer) -> str:
    """Return the parts of an answer in which it differs from the other."""
    if side.refused:
        return f"no answer: {side.refused}"
    parts = []
    for name, target in found.head.targets.items():
        if side.bands.get(name) != other.bands.get(name):
            band = side.bands.get(name)
            parts.append(f"{name} {band[1]:g} ({band[0]:g} to {band[2]:g}) {target.unit}" if band else f"no {name}")
    for name in sorted({*side.words, *other.words}):
        if side.words.get(name) != other.words.get(name):
            parts.append(f"{name}: {side.words.get(name, 'not known')}")
    extra = sorted(r for r, text in side.texts.items() if other.texts.get(r) != text)
    return "; ".join([*parts, *(f"says {r}" for r in extra)]) or "nothing of that"


def as_markdown(found: Comparison) -> str:
    """Return the report as a comment on a pull request."""
    lines = ["## Impact on the answers", "", f"**{headline(found)}**", ""]
    lines += [f"{note}" for note in _notes(found)]
    for title, header, rows in _sections(found):
        lines += ["", f"### {title}", "", _bar(header), "|" + "---|" * len(header), *(_bar(r) for r in rows)]
    return "\n".join(lines) + "\n"


def _bar(cells: Sequence[str]) -> str:
    return "| " + " | ".join(c.replace("|", "\\|").replace("\n", " ") for c in cells) + " |"


def as_text(found: Comparison) -> str:
    """Return the report for a terminal."""
    lines = [headline(found), *_notes(found)]
    for title, header, rows in _sections(found):
        lines += heading(title)
        if title == "The largest changes":
            for question, before, after in rows:
                lines += [f"  {question}", f"    before: {before}", f"    after:  {after}"]
        else:
            lines += table(header, rows)
    return "\n".join(lines)


def as_json(found: Comparison) -> dict[str, Any]:
    """Return plain data, with every changed question."""
    impact = found.impact
    return {
        "asked": impact.asked,
        "changed": len(impact.changed),
        "added_only": impact.added_only,
        "class": found.kind,
        "sample": {"size": found.sample[0], "seed": found.sample[1]} if found.sample else None,
        "grid": len(found.grid),
        "base": found.base.digest,
        "head": found.head.digest,
        "grades_added": found.grades_added,
        "grades_removed": found.grades_removed,
        "rewritten": found.rewritten,
        "by_rule": dict(sorted(impact.by_rule.items())),
        "by_grade": dict(sorted(impact.by_grade.items())),
        "by_use": dict(sorted(impact.by_use.items())),
        "largest": [_change(found, c) for c in impact.largest],
        "questions": [found.grid.given(n) for n in impact.changed],
    }


def _change(found: Comparison, change: Change) -> dict[str, Any]:
    return {
        "question": change.given,
        "command": command_line(found.head, change.given),
        "moved": round(change.weight, 4),
        "rules": list(change.rules),
        "before": _side(change.before),
        "after": _side(change.after),
    }


def _side(side: Answer) -> dict[str, Any]:
    bands = {n: dict(zip(("low", "pick", "high"), ends, strict=True)) for n, ends in side.bands.items()}
    return {
        "bands": bands,
        "words": dict(side.words),
        "texts": dict(side.texts),
        "refused": side.refused or None,
    }
