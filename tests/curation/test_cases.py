"""Cases: paths, tests, words, refusals, claims of rules, todo."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from advisor.cli import main
from advisor.consult import Consultant
from advisor.curation.cases import CaseResult, run_cases, text_report, trace_difference
from advisor.curation.coverage import measure
from advisor.curation.expectations import found_at, holds, texts_of, wrong_path
from advisor.errors import ErrorList

Make = Callable[..., Path]
Open = Callable[[Path], Consultant]
ANSWER: dict[str, Any] = {
    "angle": {"per_side_deg": {"low": 15.0}},
    "values": {"burr.kind": "clings", "use.bite": 0},
    "finish": None,
    "causes": [{"cause": "burr-left", "strength": "strong"}, {"cause": "too-fine", "strength": "weak"}],
    "verdicts": [{"about": "strop", "verdict": "a"}, {"about": "strop", "verdict": "b"}],
}


@pytest.mark.parametrize(
    ("path", "wanted"),
    [
        ("angle.per_side_deg.low", [15.0]),
        ("values.burr.kind", ["clings"]),
        ("values.use.bite", [0]),
        ("causes.0.cause", ["burr-left"]),
        ("causes.too-fine.strength", ["weak"]),
        ("causes.7.cause", []),
        ("verdicts.strop.verdict", ["a", "b"]),
        ("finish.micron.pick", []),
        ("angle.per_side_deg.pick", []),
    ],
)
def test_paths(path: str, wanted: list[Any]) -> None:
    assert found_at(ANSWER, path) == wanted


@pytest.mark.parametrize(
    ("operator", "operand", "found", "wanted"),
    [
        ("equals", "clings", ["clings"], True),
        ("equals", 15, [15.0], True),
        ("equals", 1, [True], False),
        ("equals", True, [True], True),
        ("equals", None, [], True),
        ("equals", None, [0], False),
        ("equals", "b", ["a", "b"], True),
        ("at_least", 15, [15.0], True),
        ("above", 15, [15.0], False),
        ("at_most", 15, [15.5], False),
        ("below", 15, [14.9], True),
        ("below", 15, ["14"], False),
        ("between", [12, 15], [15], True),
        ("between", [12, 15], [15.01], False),
        ("in", ["a", "b"], ["b"], True),
        ("in", ["a", "b"], ["c"], False),
        ("contains", "CLING", ["clings"], True),
        ("contains", "a", [["a", "b"]], True),
        ("contains", "c", [["a", "b"]], False),
        ("absent", True, [], True),
        ("absent", True, [0], False),
        ("absent", False, [0], True),
        ("at_least", 1, [], False),
    ],
)
def test_tests(operator: str, operand: Any, found: list[Any], wanted: bool) -> None:
    assert holds(operator, operand, found) is wanted


def test_a_path_that_no_answer_can_fill_is_named(consultant: Consultant) -> None:
    attributes = consultant.kb.attributes
    assert "did you mean angle" in wrong_path(ANSWER, "angel.per_side_deg", attributes)
    assert "did you mean burr.kind" in wrong_path(ANSWER, "values.burr.kin", attributes)
    assert wrong_path(ANSWER, "values.burr.kind", attributes) == ""


def test_words_of_rules_that_do_not_count_are_not_said() -> None:
    step = {"rule": "r", "title": "A title", "then": {"text": "Then"}, "because": "Because"}
    answer = {
        "summary": "Sum",
        "trace": [{**step, "counts": True}, {**step, "title": "Lost", "counts": False}],
    }
    assert texts_of(answer) == ["Sum", "A title", "Then", "Because"]


FAILING: list[dict[str, Any]] = [
    {"id": "c-number", "inputs": {"grade": "52100", "use": "camp"},
     "expect": {"angle.per_side_deg.low": {"at_least": 16}}},
    {"id": "c-says", "inputs": {"grade": "52100", "use": "camp"}, "says": ["no such words"]},
    {"id": "c-never", "inputs": {"grade": "52100", "method": "freehand"}, "never_says": ["WIPE it"]},
    {"id": "c-refused", "inputs": {"grade": "no such steel"}},
    {"id": "c-answered", "inputs": {"grade": "52100"}, "expect": {"error": {"contains": "steel"}}},
    {"id": "c-path", "inputs": {"grade": "52100"}, "expect": {"angel": {"absent": True}}},
    {"id": "c-todo", "inputs": {"grade": "52100"}, "says": ["no such words"], "todo": "write the rule"},
    {"id": "c-fires", "inputs": {"grade": "52100"}},
    {"id": "c-quiet", "inputs": {"grade": "52100", "use": "camp"}},
]  # fmt: skip
CLAIMS = [
    {"id": "planted", "when": {"use": {"equals": "camp"}}, "then": {"shift": {"angle": {"by": 0.5}}},
     "cases": {"fires": ["c-fires"], "quiet": ["c-quiet"]}},
    {"id": "planted-draft", "status": "draft", "when": {"use": {"equals": "camp"}},
     "then": {"shift": {"angle": {"by": 9}}},
     "cases": {"fires": ["c-fires", "c-quiet"], "quiet": ["basic-quiet"]}},
]  # fmt: skip


@pytest.fixture
def results(make: Make, opened: Open) -> dict[str, CaseResult]:
    return {r.case.id: r for r in run_cases(opened(make(CLAIMS, FAILING)))}


@pytest.mark.parametrize(
    ("case", "about", "actual"),
    [
        ("c-number", "angle.per_side_deg.low", "15.5"),
        ("c-says", "says", "no text"),
        ("c-never", "never_says", "Wipe it dry."),
        ("c-refused", "error", "no such steel"),
        ("c-answered", "error", "it was answered"),
        ("c-path", "angel", "did you mean angle"),
        ("c-fires", "rule planted", "it stayed quiet"),
        ("c-quiet", "rule planted", "it fired"),
        ("c-fires", "rule planted-draft", "it stayed quiet"),
    ],
)
def test_a_failing_case_says_what_was_expected_and_got(
    results: dict[str, CaseResult], case: str, about: str, actual: str
) -> None:
    assert results[case].state == "failed"
    assert any(f.about == about and actual in f.actual for f in results[case].failures)


def test_passing_and_todo_cases(results: dict[str, CaseResult]) -> None:
    assert results["basic-fires"].state == "failed"  # planted moves its angle
    assert results["basic-quiet"].state == "passed"
    assert results["c-todo"].state == "todo"
    report = text_report(list(results.values()))
    assert "todo    c-todo (rules/cases/planted.yaml:" in report and "write the rule [still fails]" in report
    assert "1 passed, 9 failed, 1 todo" in report


def test_a_failing_claim_shows_the_conditions(results: dict[str, CaseResult]) -> None:
    failure = next(f for f in results["c-fires"].failures if f.about == "rule planted")
    assert failure.details == ("?   use: wanted equals camp, is not known",)


def test_a_draft_is_judged_but_takes_no_part(results: dict[str, CaseResult]) -> None:
    assert not any(f.about == "rule planted-draft" for f in results["c-quiet"].failures)
    assert "planted-draft" not in results["c-quiet"].fired


def test_difference_of_two_runs(make: Make, opened: Open) -> None:
    given = {"grade": "100cr6", "use": "camp"}
    leave_out = {"conclude": {"strop.verdict": "leave-out"}}
    rules = [{"id": "planted", "when": {"use": {"equals": "camp"}}, "then": leave_out, "priority": 1}]
    before, after = (opened(folder).reasoner.reason(given) for folder in (make(), make(rules)))
    assert trace_difference(before, after) == ["+ planted fires now", "~ strop.verdict: useful -> leave-out"]


def test_unknown_ids_are_refused(consultant: Consultant) -> None:
    with pytest.raises(ErrorList, match="there is no case 'nonsense'"):
        run_cases(consultant, ["nonsense"])


def test_command_and_exit_codes(make: Make) -> None:
    good, bad = make(), make(cases=FAILING[:1])

    def run(folder: Path, *words: str) -> tuple[int, str]:
        result = CliRunner().invoke(main, ["--rules", str(folder), "rules", *words])
        return result.exit_code, result.stdout

    assert run(good, "cases") == (0, "2 cases: 2 passed, 0 failed, 0 todo\n")
    assert run(bad, "cases")[0] == 2
    assert run(bad, "cases", "basic-fires")[0] == 0
    assert run(bad, "cases", "nonsense")[0] == 1
    code, text = run(bad, "cases", "c-number", "--json")
    assert code == 2 and json.loads(text)[0]["state"] == "failed"
    code, text = run(bad, "cases", "--base", str(make(drop=["basic-burr"])))
    assert code == 2 and "+ basic-burr fires now" not in text  # no hardness is known there


def test_coverage_counts_rules_that_fire_and_stay_quiet(make: Make, opened: Open) -> None:
    rules = [{"id": "planted", "when": {"use": {"equals": "shaving"}}, "then": {"shift": {"angle": {"by": 1}}}}]
    folder = make(rules)
    consultant = opened(folder)
    coverage = measure(consultant, run_cases(consultant))
    by_id = {r.rule.id: r for r in coverage.rules}
    assert (by_id["planted"].fired, by_id["planted"].quiet) == (0, 2)
    assert coverage.percent == pytest.approx(90)
    assert "use=shaving" in coverage.words and "use=camp" not in coverage.words

    def run(*words: str) -> int:
        return CliRunner().invoke(main, ["--rules", str(folder), "rules", "coverage", *words]).exit_code

    assert [run(), run("--threshold", "90"), run("--threshold", "91"), run("--threshold", "101")] == [
        0,
        0,
        2,
        1,
    ]
