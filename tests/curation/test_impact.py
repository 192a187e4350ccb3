"""Impact of a change against asking everything again by brute force."""

from __future__ import annotations

import json
import os
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from advisor.cli import main
from advisor.consult import Consultant
from advisor.curation.answers import answer
from advisor.curation.grid import Grid, hardness_bands, run_grid, shared_grid
from advisor.curation.impact import Impact, compare, compare_chunk
from advisor.curation.impact_picture import as_svg
from advisor.curation.impact_report import as_json, as_markdown, as_text
from advisor.curation.revisions import rules_at
from advisor.errors import InputError, WhetruleError

Make = Callable[..., Path]
Open = Callable[[Path], Consultant]


def _limit(um: float) -> list[dict[str, Any]]:
    return [
        {"id": "planted-floor", "when": {"carbide.mc": {"at_least": 8}, "use": {"not_in": ["shaving"]}},
         "then": {"limit": {"finish": {"no_finer_than": um}}}, "unless_you_want": ["shine"]},
        {"id": "planted-fine", "when": {"wish": {"equals": "refinement"}},
         "then": {"favour": {"finish": {"from": 3, "to": 1}, "strength": "strong"}}},
    ]  # fmt: skip


@pytest.fixture
def pair(make: Make, opened: Open) -> tuple[Consultant, Consultant]:
    return opened(make(_limit(4))), opened(make(_limit(6)))


def test_moving_a_limit_lists_exactly_the_answers_of_a_brute_force_run(
    pair: tuple[Consultant, Consultant],
) -> None:
    found = compare(*pair, jobs=1)
    grid = found.grid
    brute = []
    for number in grid.everything:
        before, after = (json.dumps(_full(c, grid.given(number))) for c in pair)
        if before != after:
            brute.append(number)
    assert len(grid) == 9 * 10 * 6 * 6
    assert found.impact.asked == len(grid)
    assert found.impact.changed == brute
    assert 0 < len(brute) < len(grid)
    assert found.kind == "answers changed"
    assert found.impact.by_rule == {"planted-floor": len(brute)}
    assert sum(found.impact.by_use.values()) == sum(found.impact.by_grade.values()) == len(brute)
    assert set(found.impact.by_grade) == {"pm-x230crvmo14-9-1"}
    assert "shaving" not in found.impact.by_use


def _full(consultant: Consultant, given: dict[str, Any]) -> Any:
    """The bands, values and fired rules as the engine gives them, without the module under test."""
    outcome = consultant.reasoner.reason(given)
    bands = {n: (b.low, b.pick, b.high) for n, b in outcome.bands.items()}
    return [bands, dict(sorted(outcome.values.items())), [r.id for r in outcome.effective]]


def test_two_processes_find_the_same_as_one(pair: tuple[Consultant, Consultant]) -> None:
    one, two = (as_json(compare(*pair, jobs=jobs)) for jobs in (1, 2))
    assert one == two


def test_ten_largest_are_the_furthest_moves(pair: tuple[Consultant, Consultant]) -> None:
    found = compare(*pair, jobs=1)
    every = Impact()
    every.merge(compare_chunk(pair, found.grid, found.grid.everything))
    weights = sorted(
        (c.weight for n in found.impact.changed for c in compare_chunk(pair, found.grid, [n]).largest),
        reverse=True,
    )
    assert [c.weight for c in found.impact.largest] == weights[:10]


def test_without_a_change_nothing_changes(make: Make, opened: Open) -> None:
    reworded = [_limit(4)[0] | {"because": "The same rule for another reason."}, _limit(4)[1]]
    found = compare(opened(make(_limit(4))), opened(make(reworded)), jobs=1)
    assert (found.kind, found.impact.changed, found.rewritten) == ("none", [], ["planted-floor"])


def test_an_added_note_gives_new_answers_only(make: Make, opened: Open) -> None:
    note = {
        "id": "planted-note",
        "when": {"use": {"equals": "camp"}},
        "then": {"advise": {"topic": "care", "text": "Oil it."}},
    }
    found = compare(opened(make()), opened(make([note])), jobs=1)
    assert found.kind == "new answers only"
    assert found.impact.added_only == len(found.impact.changed) == len(found.grid) // 10


def test_a_removed_note_changes_answers(make: Make, opened: Open) -> None:
    note = {
        "id": "planted-note",
        "when": {"use": {"equals": "camp"}},
        "then": {"advise": {"topic": "care", "text": "Oil it."}},
    }
    assert compare(opened(make([note])), opened(make()), jobs=1).kind == "answers changed"


def test_changed_data_are_seen_without_a_changed_rule(make: Make, opened: Open) -> None:
    base, head = make(_limit(4)), make(_limit(4))
    uses = (head / "uses.yaml").read_text("utf-8")
    (head / "uses.yaml").write_text(uses.replace("use: camp, motion: mixed", "use: camp, motion: push"), "utf-8")
    found = compare(opened(base), opened(head), jobs=1)
    assert found.impact.by_rule == {"(data)": len(found.grid) // 10}
    assert set(found.impact.by_use) == {"camp"}


def test_a_sample_is_seeded_and_states_its_size(pair: tuple[Consultant, Consultant]) -> None:
    first, again, other = (compare(*pair, sample=(300, seed), jobs=1) for seed in (1, 1, 2))
    assert as_json(first) == as_json(again)
    assert first.impact.asked == 300 and as_json(first)["questions"] != as_json(other)["questions"]
    assert "Sample of 300 out of 3240 questions, seed 1" in as_markdown(first)


def test_reports_and_picture(pair: tuple[Consultant, Consultant]) -> None:
    found = compare(*pair, jobs=1)
    changed = len(found.impact.changed)
    for text in (as_text(found), as_markdown(found)):
        assert f"{changed} of 3240 answers changed" in text
        assert "planted-floor" in text and "rules/planted/rules.yaml:" in text
    assert as_markdown(found).count("\n| ") >= 10
    svg = ET.fromstring(as_svg(found))
    moves = {title.text for title in svg.iter("{http://www.w3.org/2000/svg}title")}
    assert any("answers" in (m or "") for m in moves)
    dots = sum(n for (target, *_), n in found.impact.picks.items() if target == "finish")
    assert f"Finish, µm: {dots} picks moved" in as_svg(found)


def test_command_compares_a_git_revision_with_the_working_tree(make: Make, tmp_path: Path) -> None:
    folder = make(_limit(4))
    _git(folder.parent, "init", "-q")
    _git(folder.parent, "add", ".")
    _git(folder.parent, "-c", "user.name=t", "-c", "user.email=t@example.org", "commit", "-qm", "rules")
    path = folder / "planted/rules.yaml"
    path.write_text(path.read_text("utf-8").replace("no_finer_than: 4", "no_finer_than: 6"), "utf-8")
    picture = tmp_path / "moves.svg"
    words = [
        "--rules",
        str(folder),
        "rules",
        "impact",
        "HEAD",
        "--format",
        "json",
        "--sample",
        "400",
        "--jobs",
        "1",
    ]
    run = CliRunner().invoke(main, [*words, "--picture", str(picture)])
    assert run.exit_code == 0, run.output
    assert json.loads(run.stdout)["changed"] > 0 and picture.read_text("utf-8").startswith("<svg")
    refused = CliRunner().invoke(main, [*words[:4], "no-such-revision"])
    assert refused.exit_code == 1 and "neither a folder nor a git revision" in refused.output
    with pytest.raises(InputError), rules_at("--output=x", folder):
        pass


def _git(folder: Path, *words: str) -> None:
    subprocess.run(["git", "-C", str(folder), *words], check=True, capture_output=True)


def test_the_shipped_grid_is_large_and_every_question_can_be_asked(consultant: Consultant) -> None:
    grid = Grid.of(consultant.kb)
    assert len(grid) >= 20_000
    given = [grid.given(n) for n in grid.sample(150, 7)]
    assert all(dict(consultant.question(g).given) == g for g in given)
    assert len({json.dumps(grid.given(n)) for n in range(5000)}) == 5000
    with pytest.raises(IndexError):
        grid.given(len(grid))
    grade = next(g for g in consultant.kb.grades.values() if g.hardness_low is not None)
    low, usual, most = hardness_bands(consultant.kb, grade)
    assert (low, most) == (grade.hardness_low, grade.hardness_max) and low < usual < most  # type: ignore[operator]


def test_grid_of_two_bases_is_what_both_know(consultant: Consultant, make: Make, opened: Open) -> None:
    small = opened(make())
    assert [g for g, _ in shared_grid(small.kb, consultant.kb).steels] == sorted(small.kb.grades)


def test_progress_counts_every_question(pair: tuple[Consultant, Consultant]) -> None:
    done: list[int] = []
    grid = Grid.of(pair[0].kb)
    list(run_grid(pair[:1], grid, range(1500), _count, jobs=1, progress=done.append))
    assert sum(done) == 1500 and len(done) > 1


def _count(consultants: tuple[Consultant, ...], grid: Grid, numbers: Any) -> int:
    return sum(bool(answer(consultants[0].reasoner, grid.given(n)).bands) for n in numbers)


def test_a_worker_that_stops_is_an_error_and_not_a_wait_without_end(pair: tuple[Consultant, Consultant]) -> None:
    grid = Grid.of(pair[0].kb)
    with pytest.raises(WhetruleError, match="worker process stopped"):
        list(run_grid(pair[:1], grid, range(1500), _stop, jobs=2))


def _stop(consultants: tuple[Consultant, ...], grid: Grid, numbers: Any) -> int:
    os._exit(3)
