"""Lint of the knowledge base: what the schema cannot see.

Each check is a function in a registry with an id, a severity and a help page (help/ID.md).  A finding
names its rules with their places and, where a question shows it, the command that asks that question.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from advisor.consult import Consultant
from advisor.curation.cases import CaseResult, run_cases
from advisor.curation.census import Census, ask_all, count_chunk
from advisor.curation.finding import Finding, excepted, read_exceptions, unneeded
from advisor.curation.grid import Given, Grid, run_grid
from advisor.curation.witness import command_line
from advisor.errors import ErrorList, InputError, KnowledgeError
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Place, Rule
from advisor.knowledge.words import did_you_mean

HELP = Path(__file__).parent / "help"


def help_page(name: str) -> str:
    """Return the help page of a check: what it finds, why it matters, how to mend it.

    Raises:
        InputError: there is no such check.
    """
    pages = {p.stem: p for p in sorted(HELP.glob("*.md"))}
    if name not in pages:
        raise InputError(
            f"there is no check '{name[:40]}'", field="check", hint=did_you_mean(name, pages, list_up_to=40)
        )
    return pages[name].read_text(encoding="utf-8")


@dataclass(frozen=True)
class Subject:
    """What is linted, and the questions asked of it, each set only once and only if a check wants it.

    Attributes:
        base: an earlier knowledge base the change is judged against, if any.
        numbers: questions of the grid to ask; everything by default.
        jobs: processes for the grid.
        progress: called with the number of questions done since the last call.
    """

    consultant: Consultant
    base: KnowledgeBase | None = None
    grid: Grid | None = None
    numbers: Sequence[int] | None = None
    jobs: int | None = None
    progress: Callable[[int], Any] = field(default=lambda _: None, repr=False)

    @property
    def kb(self) -> KnowledgeBase:
        """The knowledge base."""
        return self.consultant.kb

    @property
    def rules(self) -> tuple[Rule, ...]:
        """The rules that take part in answers."""
        return self.kb.active_rules

    @cached_property
    def results(self) -> list[CaseResult]:
        """What came of the cases."""
        return run_cases(self.consultant)

    @cached_property
    def census(self) -> Census:
        """What was seen over the grid and over the questions of the cases."""
        grid = self.grid or Grid.of(self.kb)
        numbers = grid.everything if self.numbers is None else self.numbers
        total = Census()
        for part in run_grid((self.consultant,), grid, numbers, count_chunk, jobs=self.jobs, progress=self.progress):
            total.merge(part)
        cases = [dict(r.advice.question.given) for r in self.results if r.advice is not None]
        total.merge(ask_all(self.consultant.reasoner, cases))
        return total

    def finding(self, rule: Rule | None, message: str, *others: Rule, **more: Any) -> Finding:
        """Return a finding about a rule, and others with it; ``given`` is the question that shows it."""
        given: Given | None = more.pop("given", None)
        place = rule.place if rule else more.pop("place", Place("vocabulary.yaml", 1))
        return Finding(
            "",
            "",
            more.pop("subject", rule.id if rule else ""),
            message,
            place,
            tuple(r.id for r in ([rule] if rule else []) + list(others)),
            command_line(self.kb, given) if given is not None else "",
        )


Run = Callable[[Subject], Iterable[Finding]]


@dataclass(frozen=True)
class Check:
    """One check: ``needs_base`` tells whether it compares with a base."""

    id: str
    severity: str
    run: Run
    needs_base: bool = False


CHECKS: dict[str, Check] = {}


def check(name: str, severity: str = "error", *, needs_base: bool = False) -> Callable[[Run], Run]:
    """Register a function as a check."""

    def register(run: Run) -> Run:
        CHECKS[name] = Check(name, severity, run, needs_base)
        return run

    return register


def run_checks(subject: Subject, only: Sequence[str] = ()) -> list[Finding]:
    """Return all findings, worst first, then by place; excepted ones are marked, not dropped.

    Raises:
        ErrorList: unknown check ids, or a faulty file of exceptions.
    """
    load_checks()
    unknown = [
        InputError(f"there is no check '{n}'", field="check", hint=did_you_mean(n, CHECKS, list_up_to=30))
        for n in only
        if n not in CHECKS
    ]
    if unknown:
        raise ErrorList(unknown)
    exceptions = read_exceptions(Path(subject.kb.folder), CHECKS)
    found: list[Finding] = []
    for one in CHECKS.values():
        if (only and one.id not in only) or (one.needs_base and subject.base is None):
            continue
        found += [replace(f, check=one.id, severity=one.severity) for f in one.run(subject)]
    found = [excepted(f, exceptions) for f in found]
    if not only:
        found += unneeded(found, exceptions)
    order = {"error": 0, "warning": 1}
    return sorted(found, key=lambda f: (order[f.severity], f.place.path, f.place.line, f.check, f.subject, f.message))


def load_checks() -> dict[str, Check]:
    """Return all checks by id, importing the modules that define them."""
    from advisor.curation import lint_change, lint_files, lint_logic, lint_reach

    assert lint_change and lint_files and lint_logic and lint_reach
    return CHECKS


def load_errors(exc: KnowledgeError | ErrorList) -> list[Finding]:
    """Return what keeps the knowledge base from loading as findings of the check ``load``."""
    errors = exc.errors if isinstance(exc, ErrorList) else [exc]
    return [
        Finding(
            "load",
            "error",
            e.path,
            f"{e.message}; {e.hint}" if e.hint else e.message,
            Place(e.path, e.line, e.column),
        )
        for e in errors
    ]
