"""The workflows keep what runs a pull request's code apart from what may write.

What a linter of workflows would find is not looked for here.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

GITHUB = Path(__file__).parents[2] / ".github"


def _workflow(name: str) -> dict[Any, Any]:
    return dict(yaml.safe_load((GITHUB / "workflows" / name).read_text("utf-8")))


def _steps(workflow: dict[Any, Any]) -> list[dict[str, Any]]:
    return [step for job in workflow["jobs"].values() for step in job["steps"]]


def test_what_runs_the_code_of_a_pull_request_may_only_read() -> None:
    workflow = _workflow("rules.yml")
    assert workflow["permissions"] == {"contents": "read"}
    assert not any("permissions" in job for job in workflow["jobs"].values())
    assert "pull_request_target" not in workflow[True]
    assert "secrets." not in (GITHUB / "workflows/rules.yml").read_text("utf-8")
    checkouts = [s for s in _steps(workflow) if s.get("uses", "").startswith("actions/checkout@")]
    assert len(checkouts) == 2 and all(s["with"]["persist-credentials"] is False for s in checkouts)


def test_what_may_write_runs_nothing_of_the_pull_request() -> None:
    workflow = _workflow("impact-comment.yml")
    assert list(workflow[True]) == ["workflow_run"] and workflow["permissions"] == {}
    (job,) = workflow["jobs"].values()
    assert job["permissions"] == {"actions": "read", "pull-requests": "write"}
    used = [s["uses"].split("@")[0] for s in job["steps"] if "uses" in s]
    assert used == ["actions/download-artifact"]
    scripts = "\n".join(s["run"] for s in job["steps"] if "run" in s)
    # Values of the event reach the scripts as variables only; an expression inside a script would be run.
    assert "${{" not in scripts
    assert not any(word in scripts for word in ("pip ", "python", "whetrule rules", "git "))
    # The number comes from the event, never from what was downloaded.
    assert "impact" not in job["steps"][0]["run"] and ".head.sha == $sha" in job["steps"][0]["run"]


@pytest.mark.parametrize("name", ["rules.yml", "impact-comment.yml"])
def test_actions_are_pinned_to_a_commit(name: str) -> None:
    for step in _steps(_workflow(name)):
        if "uses" in step:
            assert len(step["uses"].split("@")[1]) == 40


def test_the_form_for_wrong_advice_asks_for_permalink_rule_and_what_was_seen() -> None:
    form = yaml.safe_load((GITHUB / "ISSUE_TEMPLATE/advice-is-wrong.yml").read_text("utf-8"))
    required = {part["id"] for part in form["body"] if part.get("validations", {}).get("required")}
    assert {"permalink", "rule", "saw", "expected"} <= required
