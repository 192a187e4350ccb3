"""README and DEVELOPERS say what is true: commands exist, shown answers are real, the house is as described."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from advisor.cli import main

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_readme_opens_with_the_job_and_has_both_commands_early() -> None:
    """One paragraph, then within 25 lines the two commands of a fresh machine."""
    lines = README.splitlines()
    assert lines[0].startswith("# ") and len(lines[2]) > 200
    commands = [i for i, line in enumerate(lines) if line.startswith("python3 -m venv")]
    assert len(commands) == 2 and commands[1] - 2 <= 25
    assert "pip install" in lines[commands[0]] and "pytest" in lines[commands[1]]


def test_the_answer_in_the_readme_is_what_the_command_prints() -> None:
    """The shown lines are the beginning of the real output."""
    command = re.search(r"\.venv/bin/whetrule (ask .+)$", README, re.M)
    assert command is not None
    shown = README.split("```text\n")[1].split("```")[0].rstrip().removesuffix("...").rstrip()
    done = CliRunner().invoke(main, command[1].split())
    assert done.exit_code == 0 and len(shown) > 200
    assert done.output.startswith(shown)


def test_every_command_is_described() -> None:
    """README or DEVELOPERS names each command of the command line."""
    for name in main.list_commands(None):  # type: ignore[arg-type]
        assert f"whetrule {name}" in README + DEVELOPERS, name


def test_top_level_holds_only_the_agreed_names() -> None:
    """README.md DEVELOPERS.md pyproject.toml advisor/ rules/ templates/ tests/ and dotfiles."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "advisor", "rules", "templates", "tests"}
    assert {name for name in top if not name.startswith(".")} == agreed


@pytest.mark.parametrize("module", ["advisor", "advisor.consult", "advisor.knowledge.load"])
def test_the_engine_loads_neither_flask_nor_click(module: str) -> None:
    """Arrows run downwards only."""
    code = f"import sys, {module}; print(sorted({{'flask', 'click'}} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout.strip() == "[]"


def test_modules_stay_readable() -> None:
    """Near 250 lines a module; a third more is the limit."""
    long = {p: n for p in (ROOT / "advisor").rglob("*.py") if (n := p.read_text("utf-8").count("\n")) > 330}
    assert set(long) <= {ROOT / "advisor" / "cli.py"}, long


def test_the_trial_shown_to_contributors_can_be_read(tmp_path: Path) -> None:
    """What DEVELOPERS shows as a trial is one."""
    shown = re.search(r"```yaml\n(- id: bench-3.*?)```", DEVELOPERS, re.S)
    assert shown is not None
    path = tmp_path / "trials.yaml"
    path.write_text(shown[1], encoding="utf-8")
    assert CliRunner().invoke(main, ["trials", "check", str(path)]).exit_code == 0
