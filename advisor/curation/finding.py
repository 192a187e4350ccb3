"""Findings of lint, and the exceptions that let some of them pass."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from advisor.errors import ErrorList
from advisor.knowledge.marked_yaml import read_yaml
from advisor.knowledge.rule import Place
from advisor.knowledge.schema import schema_errors
from advisor.knowledge.words import did_you_mean

EXCEPTIONS = "lint_exceptions.yaml"


@dataclass(frozen=True)
class Finding:
    """Something a check found.

    Attributes:
        subject: id of the rule, case, attribute or file it is about; exceptions name it.
        rules: every rule involved.
        command: asks a question that shows it; empty where no question can.
        excepted: the reason why it is let pass; empty when it is not.
    """

    check: str
    severity: str
    subject: str
    message: str
    place: Place
    rules: tuple[str, ...] = ()
    command: str = ""
    excepted: str = ""

    def to_json(self) -> dict[str, Any]:
        """Return plain data."""
        return vars(self) | {
            "rules": list(self.rules),
            "place": {"path": self.place.path, "line": self.place.line, "column": self.place.column},
        }


@dataclass(frozen=True)
class LetPass:
    """A finding that is let pass: check, subject and why."""

    check: str
    subject: str
    why: str
    place: Place


def read_exceptions(folder: Path, checks: Collection[str]) -> list[LetPass]:
    """Return the exceptions of a rules/ folder; none when it has no such file.

    Args:
        folder: the rules/ folder.
        checks: ids of the checks there are.

    Raises:
        ErrorList: of KnowledgeError, what is wrong in the file.
    """
    path = folder / EXCEPTIONS
    if not path.is_file():
        return []
    marked = read_yaml(path, f"{folder.name}/{EXCEPTIONS}")
    errors = schema_errors(marked, "lint_exceptions", folder / "schemas")
    found = []
    for i, entry in enumerate(marked.data or ()):
        if errors:
            break
        if entry["check"] not in checks:
            errors.append(
                marked.error(
                    (i, "check"),
                    f"there is no check '{entry['check']}'",
                    did_you_mean(entry["check"], checks),
                )
            )
        line, column = marked.place((i,))
        found.append(LetPass(entry["check"], entry["subject"], entry["why"], Place(marked.path, line, column)))
    if errors:
        raise ErrorList(errors)
    return found


def excepted(finding: Finding, exceptions: Iterable[LetPass]) -> Finding:
    """Return the finding, marked with the reason if it is let pass."""
    why = next((e.why for e in exceptions if (e.check, e.subject) == (finding.check, finding.subject)), "")
    return replace(finding, excepted=why) if why else finding


def unneeded(found: list[Finding], exceptions: Iterable[LetPass]) -> Iterator[Finding]:
    """Yield a finding for every exception that lets nothing pass."""
    used = {(f.check, f.subject) for f in found if f.excepted}
    for entry in exceptions:
        if (entry.check, entry.subject) not in used:
            yield Finding(
                "unneeded-exception",
                "warning",
                entry.subject,
                f"the exception from '{entry.check}' for '{entry.subject}' lets nothing pass any more",
                entry.place,
            )
