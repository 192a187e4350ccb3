"""Every check finds what its failing fixture plants and nothing of the kind in its passing one."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from advisor.cli import main
from advisor.consult import Consultant
from advisor.curation import lint_report
from advisor.curation.finding import Finding
from advisor.curation.grid import Grid
from advisor.curation.lint import Subject, help_page, load_checks, run_checks
from advisor.curation.words_schema import write_schemas
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Place

FIXTURES = Path(__file__).parent / "lint"
IDS = sorted(load_checks())
Make = Callable[..., Path]
Open = Callable[[Path], Consultant]
Lint = Callable[..., list[Finding]]


def _plan(check: str, kind: str) -> dict[str, Any]:
    return dict(yaml.safe_load((FIXTURES / check / f"{kind}.yaml").read_text("utf-8")))


@pytest.fixture
def lint(make: Make, opened: Open, small: Callable[[KnowledgeBase], Grid]) -> Callable[..., list[Finding]]:
    """Build the folder a fixture plans, with its base if it has one, and run checks on it."""

    def folder(plan: dict[str, Any]) -> Path:
        made = make(**{n: plan[n] for n in ("rules", "cases", "drop", "files") if n in plan})
        if plan.get("generate"):
            write_schemas(opened(made).kb)
        return made

    def found(plan: dict[str, Any], *only: str) -> list[Finding]:
        consultant = opened(folder(plan))
        base = opened(folder(plan["base"])).kb if "base" in plan else None
        return run_checks(Subject(consultant, base, small(consultant.kb), jobs=1), only)

    return found


@pytest.mark.parametrize("check", IDS)
def test_failing_fixture_is_found(lint: Lint, check: str) -> None:
    plan = _plan(check, "failing")
    found = lint(plan, check)
    assert plan["subject"] in {f.subject for f in found}
    assert all(f.check == check and f.message and f.place.line >= 1 for f in found)


@pytest.mark.parametrize("check", IDS)
def test_passing_fixture_is_clean(lint: Lint, check: str) -> None:
    found = lint(_plan(check, "passing"), check)
    subject = _plan(check, "failing")["subject"]
    assert not [f for f in found if f.subject == subject or "planted" in f.subject]


@pytest.mark.parametrize("check", [*IDS, "load", "unneeded-exception"])
def test_help_page_says_what_why_and_how(check: str) -> None:
    page = help_page(check)
    assert page.startswith(f"# {check}: ")
    for title in ("## What it finds", "## Why it matters", "## How to mend it"):
        assert len(page.split(title)[1].split("##")[0].split()) >= 4


EXCEPTION = """
- check: limits-not-said
  subject: planted-boast
  why: It is planted for a test, and nobody reads it.
"""


def test_an_exception_lets_its_finding_pass_and_is_counted(lint: Lint) -> None:
    plan = _plan("limits-not-said", "failing") | {"files": {"lint_exceptions.yaml": EXCEPTION}}
    found = lint(plan, "limits-not-said")
    assert [f.excepted for f in found if f.subject == "planted-boast"] == [
        "It is planted for a test, and nobody reads it."
    ]
    assert "1 let pass: limits-not-said of planted-boast" in lint_report.summary(found)
    assert not lint_report.as_json(found)["findings"]


def test_an_exception_that_lets_nothing_pass_is_a_finding(lint: Lint) -> None:
    plan = {"files": {"lint_exceptions.yaml": EXCEPTION}}
    assert "unneeded-exception" in {f.check for f in lint(plan)}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "- {check: limits-not-sed, subject: planted-boast, why: It is planted for a test.}",
            "did you mean limits-not-said",
        ),
        ("- {check: gap, subject: finish}", "no 'why'"),
    ],
)
def test_a_faulty_exception_is_refused_with_its_line(make: Make, text: str, words: str) -> None:
    folder = make(files={"lint_exceptions.yaml": text})
    run = CliRunner().invoke(main, ["--rules", str(folder), "rules", "lint", "--check", "todo", "--jobs", "1"])
    assert run.exit_code == 1
    assert "lint_exceptions.yaml:1:" in run.output and words in run.output


def test_exit_codes_and_formats(make: Make) -> None:
    failing = make(**{k: v for k, v in _plan("todo", "failing").items() if k == "files"})
    passing = make()

    def run_lint(folder: Path, *more: str) -> tuple[int, str]:
        run = CliRunner().invoke(main, ["--rules", str(folder), "rules", "lint", "--check", "todo", *more])
        return run.exit_code, run.stdout

    assert run_lint(passing)[0] == 0
    assert run_lint(failing)[0] == 2
    assert run_lint(failing, "--no-such-option")[0] == 1
    assert run_lint(failing, "--check", "no-such-check")[0] == 1
    code, text = run_lint(failing, "--format", "json")
    entry = json.loads(text)["findings"][0]
    assert code == 2
    assert (entry["check"], entry["place"]) == (
        "todo",
        {"path": "rules/planted/note.yaml", "line": 1, "column": 3},
    )
    code, text = run_lint(failing, "--format", "github")
    assert code == 2
    assert text.startswith(
        "::error file=rules/planted/note.yaml,line=1,col=3,title=todo::still to fill in: # TODO say more\n"
    )


def test_rules_that_do_not_load_are_findings_with_exit_code_1(make: Make) -> None:
    folder = make([{"id": "planted", "when": {"usee": {"equals": "camp"}}, "then": {"shift": {"angle": {"by": 1}}}}])
    run = CliRunner().invoke(main, ["--rules", str(folder), "rules", "lint", "--format", "github"])
    assert run.exit_code == 1
    assert "title=load::unknown attribute 'usee'; did you mean use" in run.stdout


def test_annotations_escape_what_would_end_them() -> None:
    finding = Finding("gap", "error", "x", "50 %\nof it", Place("rules/a,b.yaml", 3))
    assert lint_report.as_github([finding]).startswith(
        "::error file=rules/a%2Cb.yaml,line=3,col=1,title=gap::50 %25%0Aof it"
    )
