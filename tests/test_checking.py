"""Double-checks: a plain yes for what fits, a deviation and the smallest change for what does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from advisor.advice import Verdict
from advisor.consult import Consultant


def verdicts(consultant: Consultant, **raw: object) -> dict[str, Verdict]:
    """Return the first verdict about each item."""
    found = consultant.ask(consultant.question(raw), "check", sensitivity=False).verdicts
    return {v.about: v for v in reversed(found)}


@pytest.mark.parametrize("grade", ["440C", "1.4116", "52100", "M390"])
@pytest.mark.parametrize("use", ["everyday-carry", "kitchen-slicing", "carving"])
def test_the_advised_edge_passes_its_own_check(consultant: Consultant, grade: str, use: str) -> None:
    """Whoever does what was advised gets a plain yes, or the advice would contradict itself."""
    advised = consultant.ask(consultant.question({"grade": grade, "use": use}), sensitivity=False)
    assert advised.angle and advised.finish
    found = verdicts(consultant, grade=grade, use=use, angle=advised.angle.pick, finish=advised.finish.pick)
    assert {v.verdict for v in found.values()} <= {"fits", "inside-limits"}


def test_a_crossed_limit_says_how_far_and_what_mends_it(consultant: Consultant) -> None:
    """Bench result: soft stainless dented at 10 degrees a side and held at 12 (bench report of 2018)."""
    found = verdicts(consultant, grade="1.4116", hardness=56, use="kitchen-slicing", angle=10)["angle"]
    assert found.verdict == "below-what-holds" and not found.good
    assert "below" in found.deviation and "instead of 10" in found.change and found.rules


def test_the_smallest_change_does_mend_it(consultant: Consultant) -> None:
    """Making the change that is offered turns the verdict."""
    raw = {"grade": "1.4116", "hardness": 56, "use": "kitchen-slicing"}
    change = verdicts(consultant, **raw, angle=10)["angle"].change
    better = float(change.split(":")[1].split()[0])
    assert verdicts(consultant, **raw, angle=better)["angle"].good


def test_forty_passes_from_4_um_to_half_a_micron_on_leather_are_too_many(consultant: Consultant) -> None:
    """Common practice, no source: such a strop rounds the apex."""
    found = verdicts(
        consultant, grade="13C26", hardness=61, use="kitchen-push-cutting", finish="4 µm",
        strop_backing="leather", strop_compound="0.5 µm", strop_passes=40,
    )["strop"]  # fmt: skip
    assert found.verdict == "over-stropping" and not found.good


def test_a_mirror_for_its_looks_is_named_as_that_and_never_refused(consultant: Consultant) -> None:
    """Taste is legitimate: the verdict is good, and says what the finish is for."""
    found = verdicts(
        consultant, grade="PM X230CrVMo14-9-1", hardness=60, use="everyday-carry", wish="shine",
        finish="0.5 µm", angle=15,
    )["finish"]  # fmt: skip
    assert found.verdict == "only-for-looks" and found.good


def test_nothing_planned_gives_no_verdict(consultant: Consultant) -> None:
    """A check without a plan has nothing to judge."""
    assert verdicts(consultant, grade="440C", use="everyday-carry") == {}


def test_a_single_stone_is_no_progression_to_judge(consultant: Consultant) -> None:
    """Without what follows it there is no jump, so nothing fits or fails."""
    assert "progression" not in verdicts(consultant, grade="440C", use="everyday-carry", progression="JIS 400")
    both = verdicts(consultant, grade="440C", use="everyday-carry", progression="JIS 400", finish="JIS 1000")
    assert both["progression"].good


def test_a_verdict_names_only_rules(consultant: Consultant) -> None:
    """Where no rule binds an end of a band, the range of the vocabulary does; it is no rule to blame."""
    limits = [r for r in consultant.kb.rules if (r.then.verb, r.then.subject) == ("limit", "angle")]
    only_floors = [r for r in limits if r.then.high is None]
    bounded = Consultant.of(replace(consultant.kb, rules=tuple(only_floors)))
    highest = bounded.kb.targets["angle"].range[1]
    raw = {"use": "everyday-carry", "angle": highest + 3}
    assert bounded.reasoner.reason(bounded.question(raw).given).bands["angle"].high_set_by == ("vocabulary",)
    found = verdicts(bounded, **raw)["angle"]
    assert found.deviation and found.rules == ()
