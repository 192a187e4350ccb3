"""Trials: records are checked, and contradictions name the rules they speak against.

The records are invented for the test; they stand for nobody's bench.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.consult import Consultant
from advisor.errors import ErrorList
from advisor.trials.contradictions import compare_trials
from advisor.trials.model import read_trials

GOOD_AGAINST = """
- id: bench-one
  date: 2026-03-01
  question: {grade: D2, hardness: 60, use: everyday-carry}
  edge: {angle: 12, finish: 9 µm}
  outcome: good
"""
POOR_IN_SPITE = """
- id: bench-two
  date: 2026-03-02
  question: {grade: D2, hardness: 60, use: everyday-carry}
  edge: {angle: 18, finish: 14 µm}
  outcome: poor
  seen: [chips]
"""


def write(folder: Path, text: str) -> Path:
    """Write a file of trials."""
    path = folder / "trials.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_an_edge_that_did_well_against_a_limit_speaks_against_its_rule(consultant: Consultant, tmp_path: Path) -> None:
    """12 degrees on D2 lies below what the rules allow; if it held, that rule is in question."""
    reports, records = compare_trials(consultant, read_trials(write(tmp_path, GOOD_AGAINST), consultant.kb))
    assert not reports[0].agrees and not reports[0].expected_good
    assert "angle-floor-coarse-mixed" in reports[0].against
    assert records[0].against == 1


def test_an_edge_that_failed_inside_the_advice_speaks_against_what_favoured_it(
    consultant: Consultant, tmp_path: Path
) -> None:
    """An edge as advised that failed puts the rules that favoured it in question."""
    reports, _ = compare_trials(consultant, read_trials(write(tmp_path, POOR_IN_SPITE), consultant.kb))
    assert not reports[0].agrees and reports[0].expected_good and reports[0].against


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD_AGAINST + GOOD_AGAINST.strip(), "recorded twice"),
        (POOR_IN_SPITE.replace("[chips]", "[chip]"), "did you mean chips"),
        (GOOD_AGAINST.replace("outcome: good", "outcome: great"), "great"),
        (GOOD_AGAINST.replace("{angle: 12", "{use: camp, angle: 12"), "in question and edge"),
    ],
)
def test_a_broken_record_is_named_with_its_line(consultant: Consultant, tmp_path: Path, text: str, words: str) -> None:
    """Errors carry file and line."""
    with pytest.raises(ErrorList) as caught:
        read_trials(write(tmp_path, text), consultant.kb)
    assert words in str(caught.value) and all(e.line for e in caught.value.errors)


def test_inputs_that_cannot_be_used_are_placed_in_the_file(consultant: Consultant, tmp_path: Path) -> None:
    """A trial at 80 HRC is refused at its own line."""
    path = write(tmp_path, GOOD_AGAINST.replace("hardness: 60", "hardness: 80"))
    with pytest.raises(ErrorList) as caught:
        compare_trials(consultant, read_trials(path, consultant.kb))
    assert caught.value.errors[0].line == 2 and "hardness" in str(caught.value)


@pytest.mark.parametrize("date", ["2026-13-45", "2026-02-30"])
def test_a_date_that_does_not_exist_is_named_with_its_line(consultant: Consultant, tmp_path: Path, date: str) -> None:
    """YAML takes it for a date by its form; there is none."""
    with pytest.raises(ErrorList) as caught:
        read_trials(write(tmp_path, GOOD_AGAINST.replace("2026-03-01", date)), consultant.kb)
    assert date in str(caught.value) and caught.value.errors[0].line == 3
