"""Planted faults are found with a question that shows them when it is asked on the command line."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from advisor.cli import main
from advisor.consult import Consultant
from advisor.curation.finding import Finding
from advisor.curation.grid import Grid
from advisor.curation.lint import Subject, run_checks
from advisor.knowledge.model import KnowledgeBase

FIXTURES = Path(__file__).parent / "lint"


Make = Callable[..., Path]
Open = Callable[[Path], Consultant]
Small = Callable[[KnowledgeBase], Grid]
Witness = Callable[..., tuple[Finding, Any]]


@pytest.fixture
def witness(make: Make, opened: Open, small: Small) -> Witness:
    """Lint a failing fixture and run the command its finding gives."""

    def find(check: str, **more: Any) -> tuple[Finding, Any]:
        plan = yaml.safe_load((FIXTURES / check / "failing.yaml").read_text("utf-8")) | more
        consultant = opened(make(**{n: plan[n] for n in ("rules", "drop") if n in plan}))
        subject = Subject(consultant, None, small(consultant.kb), jobs=1)
        finding = next(f for f in run_checks(subject, [check]) if f.subject == plan["subject"])
        words = shlex.split(finding.command)
        assert words[0] == "whetrule" and "ask" in words
        return finding, CliRunner().invoke(main, [*words[1:], "--json"])

    return find


def test_conflict(witness: Witness) -> None:
    finding, run = witness("conflict")
    assert finding.rules == ("planted-light", "planted-without")
    assert run.exit_code == 1
    message = json.loads(run.stdout)["errors"][0]["message"]
    assert "disagree about 'strop.verdict'" in message
    assert all(f"{r} (rules/planted/rules.yaml:" in message for r in finding.rules)


def test_conflict_outside_the_grid(witness: Witness) -> None:
    """The grid never says how somebody sharpens; the pair is found by search."""
    rules = [
        {
            "id": "planted-light",
            "when": {"method": {"equals": "powered"}, "use.impact": {"at_least": 2}},
            "then": {"conclude": {"strop.verdict": "few-light"}},
        },
        {
            "id": "planted-without",
            "when": {"method": {"in": ["powered", "freehand"]}, "hardness": {"at_least": 58}},
            "then": {"conclude": {"strop.verdict": "leave-out"}},
        },
    ]
    finding, run = witness("conflict", rules=rules)
    assert "--method powered" in finding.command
    assert run.exit_code == 1 and "planted-without" in run.stdout


def test_shadow_of_a_limit(witness: Witness) -> None:
    finding, run = witness("shadowed")
    answer = json.loads(run.stdout)
    assert "planted-stronger" in finding.rules
    assert "planted-weaker" in {step["rule"] for step in answer["trace"]}
    assert answer["angle"]["per_side_deg"]["low"] == 18


def test_shadow_of_a_conclusion(witness: Witness) -> None:
    rules = [
        {
            "id": "planted-weaker",
            "when": {"use": {"equals": "camp"}},
            "priority": -1,
            "then": {"conclude": {"strop.verdict": "few-light"}},
        },
    ]
    finding, run = witness("shadowed", rules=rules)
    step = next(s for s in json.loads(run.stdout)["trace"] if s["rule"] == "planted-weaker")
    assert not step["counts"] and "basic-strop decides" in step["note"]
    assert "basic-strop" in finding.rules


def test_gap(witness: Witness) -> None:
    finding, run = witness("gap")
    assert "--use shaving" in finding.command
    assert json.loads(run.stdout)["finish"] is None


def test_unsatisfiable(witness: Witness) -> None:
    finding, run = witness("unsatisfiable")
    answer = json.loads(run.stdout)
    assert "hardness at least 62 and hardness not at least 58 exclude each other" in finding.message
    assert answer["question"]["use"] == "camp" and float(answer["question"]["hardness"]) >= 62
    assert "planted-impossible" not in {step["rule"] for step in answer["trace"]}


def test_never_fires_is_not_said_of_a_rule_the_search_reaches(make: Make, opened: Open, small: Small) -> None:
    """The grid gives neither a composition nor a planned strop; the search must find both."""
    rules = [
        {
            "id": "planted-mix",
            "when": {"grade.known": {"equals": "composition"}, "carbide.mc": {"at_least": 5}},
            "then": {"shift": {"angle": {"by": 1}}},
        },
        {
            "id": "planted-jump",
            "when": {"strop.jump": {"at_least": 20}},
            "then": {"shift": {"angle": {"by": 2}}},
        },
    ]
    consultant = opened(make(rules))
    subject = Subject(consultant, None, small(consultant.kb), jobs=1)
    assert not [f for f in run_checks(subject, ["never-fires"]) if "planted" in f.subject]
