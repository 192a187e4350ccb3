"""The command line: what it prints, how it fails, its exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from advisor.cli import main
from advisor.consult import Consultant


def run(*args: str) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(main, list(args))


def test_json_is_the_contract_and_nothing_else(consultant: Consultant) -> None:
    """``ask --json`` prints what ``to_json()`` returns."""
    done = run("ask", "440C", "--hardness", "58", "--use", "everyday-carry", "--json")
    question = consultant.question({"grade": "440C", "hardness": "58", "use": "everyday-carry"})
    expected = json.loads(json.dumps(consultant.ask(question).to_json()))
    assert done.exit_code == 0
    assert json.loads(done.stdout) == expected


def test_the_contract_has_the_promised_names(consultant: Consultant) -> None:
    """The names that other programs rest on."""
    answer = consultant.ask(consultant.question({"grade": "440C", "use": "everyday-carry"})).to_json()
    assert {
        "question", "assumed", "knowledge_base", "angle", "finish", "strop", "plan", "computed", "cautions",
        "strength", "summary", "trace", "ask_next", "would_change",
    } <= set(answer)  # fmt: skip
    assert set(answer["angle"]) == {
        "per_side_deg", "included_deg", "low_set_by", "high_set_by", "favoured_by", "trade_offs",
    }  # fmt: skip
    assert set(answer["finish"]["micron"]) == {"coarsest", "pick", "finest"}
    assert set(answer["finish"]["grit"]) == {"jis", "fepa_f", "fepa_p", "ansi"}
    assert {"dial_in", "steps", "deburr", "strop", "tests"} <= set(answer["plan"])
    assert {"step", "rule", "title", "stage", "when", "then", "because", "basis", "sources"} <= set(answer["trace"][0])
    assert len(answer["summary"]) < 140


@pytest.mark.parametrize("command", ["ask", "check", "diagnose"])
@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["440C", "--hardness", "80"], ["hardness", "40 to 70"]),
        (["--composition", "C -1"], ["composition", "negative"]),
        (["440C", "--use", "nonsense"], ["use"]),
        (["440C", "--kit", "no-such-file.yaml"], ["kit", "no-such-file.yaml"]),
        (["4400C"], ["grade", "did you mean"]),
        (["440\x00C"], ["grade", "control character"]),
    ],
)
def test_bad_input_is_one_line_and_exit_1(command: str, args: list[str], words: list[str]) -> None:
    """Never a traceback; the same as JSON when JSON was asked for."""
    done = run(command, *args)
    assert done.exit_code == 1 and "Traceback" not in done.output
    assert len(done.stderr.strip().splitlines()) == 1
    for word in words:
        assert word in done.stderr
    as_json = run(command, *args, "--json")
    assert as_json.exit_code == 1
    assert {"message", "hint", "field"} <= set(json.loads(as_json.stdout)["errors"][0])


@pytest.mark.parametrize("explain", ["off", "fired", "why-not", "full"])
def test_answers_fit_an_80_column_terminal(explain: str) -> None:
    """No line is wider than 80 columns, whatever is explained."""
    done = run("ask", "PM X230CrVMo14-9-1", "--hardness", "60", "--use", "everyday-carry", "--explain", explain)
    assert done.exit_code == 0
    assert max(map(len, done.output.splitlines())) <= 80


def test_explaining_more_never_changes_the_answer() -> None:
    """The first lines are the answer; explaining adds below."""
    answers = [run("ask", "D2", "--use", "camp", "--explain", e).output for e in ("off", "fired", "full")]
    heads = {tuple(a.splitlines()[:8]) for a in answers}
    assert len(heads) == 1


def test_grades_are_found_by_any_name_and_typos_get_near_matches() -> None:
    """AISI, EN number and EN name lead to one steel; a typo gets an offer (EN 10088: 1.4125 is X105CrMo17)."""
    for words in ("440C", "1.4125", "X105CrMo17"):
        assert "440C" in run("grades", words).output
    typo = run("grades", "X105CrMo71")
    assert typo.exit_code == 1 and "did you mean" in typo.stderr


def test_why_not_names_the_rules_that_stand_against(consultant: Consultant) -> None:
    """A mirror on a coarse-carbide pocket knife meets the rule that bars it."""
    done = run("ask", "D2", "--use", "everyday-carry", "--explain", "off", "--why-not", "finish 1 µm")
    assert "Against it" in done.output and "finish-coarse-carbides-floor" in done.output


def test_a_reply_keeps_its_length_and_says_what_was_assumed() -> None:
    """Comment boxes cut what is longer."""
    for limit in ("600", "1500"):
        text = run("ask", "440C", "--use", "everyday-carry", "--reply", limit).output.strip()
        assert len(text) <= int(limit)
        assert "Assumed" in text and "Angle" in text


def test_kit_check_shows_the_ladder(tmp_path: Path) -> None:
    """An example kit is checked by name, and a broken one names the item."""
    done = run("kit", "check", "full-diamond")
    assert done.exit_code == 0 and "µm" in done.output
    broken = tmp_path / "kit.yaml"
    broken.write_text("name: mine\nitems:\n- {kind: stone, size: extra fine}\n")
    failed = run("kit", "check", str(broken))
    assert failed.exit_code == 1 and "item 1" in failed.stderr


def test_every_command_has_help() -> None:
    """Help exists for every command and fits the terminal."""
    for name in main.list_commands(None):  # type: ignore[arg-type]
        done = run(name, "--help")
        assert done.exit_code == 0 and done.output.strip()
        assert max(map(len, done.output.splitlines())) <= 80, name


def test_compare_says_when_there_is_no_real_difference() -> None:
    """Two neighbours are not ranked by less than the model's error."""
    done = run("compare", "440C", "440B", "--use", "kitchen-slicing")
    assert done.exit_code == 0 and "no real difference" in done.output


def test_validate_compares_hundreds_of_published_figures() -> None:
    """All checks of tests/published lie within their tolerances, but for those known and explained."""
    done = run("validate", "--json")
    rows = json.loads(done.stdout)
    assert len(rows) > 300
    missed = {r["what"] for r in rows if not r["ok"]}
    assert missed == {r["what"] for r in rows if r["known_miss"]} and len(missed) < 15
    assert done.exit_code == 0


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["ask", "D2", "--kit", "x" * 5000], "no file"),
        (["trials", "check", "x" * 5000], "no file"),
        (["serve", "--host", "no such host", "--port", "65000"], "no such host"),
        (["compare", "@58", "D2"], "names no grade"),
    ],
)
def test_odd_arguments_are_one_clear_line(args: list[str], words: str) -> None:
    """Names too long for the system, hosts that are none, options without a grade."""
    done = run(*args)
    assert done.exit_code == 1 and isinstance(done.exception, SystemExit)
    assert words in done.stderr and len(done.stderr.strip().splitlines()) == 1


def test_compare_names_the_hardness_where_it_is_the_difference() -> None:
    """Two lines of one steel are of no use without it."""
    done = run("compare", "440C@57", "440C@60", "--use", "kitchen-slicing")
    assert "at 57 HRC" in done.output and "at 60 HRC" in done.output
