"""Lint findings as text, JSON and annotations of a GitHub workflow."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from advisor.curation.finding import Finding


def as_text(findings: Sequence[Finding]) -> str:
    """Return a report for a terminal; excepted findings are counted by check."""
    lines = []
    for f in findings:
        if f.excepted:
            continue
        lines.append(f"{f.place}: {f.severity}: {f.message} [{f.check}]")
        if f.command:
            lines.append(f"    try: {f.command}")
    lines.append(summary(findings))
    return "\n".join(lines)


def summary(findings: Sequence[Finding]) -> str:
    """Return the last line of a report."""
    open_ = [f for f in findings if not f.excepted]
    errors = sum(f.severity == "error" for f in open_)
    text = f"{errors} errors, {len(open_) - errors} warnings" if open_ else "nothing found"
    excepted = [f for f in findings if f.excepted]
    if excepted:
        text += f"; {len(excepted)} let pass: " + ", ".join(sorted({f"{f.check} of {f.subject}" for f in excepted}))
    else:
        text += "; no exceptions"
    return text


def as_json(findings: Sequence[Finding]) -> dict[str, Any]:
    """Return plain data."""
    return {
        "findings": [f.to_json() for f in findings if not f.excepted],
        "excepted": [f.to_json() for f in findings if f.excepted],
    }


def as_github(findings: Sequence[Finding]) -> str:
    """Return workflow commands that GitHub shows beside the lines of a pull request."""
    lines = []
    for f in findings:
        if not f.excepted:
            place = f"file={_property(f.place.path)},line={f.place.line},col={f.place.column}"
            message = f.message + (f"\nTry: {f.command}" if f.command else "")
            lines.append(f"::{f.severity} {place},title={_property(f.check)}::{_data(message)}")
    return "\n".join([*lines, summary(findings)])


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
