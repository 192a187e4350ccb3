"""Comparisons: the first option is the yardstick, small differences are none."""

from __future__ import annotations

import pytest

from advisor.compare import compare, option_inputs
from advisor.consult import Consultant
from advisor.errors import InputError


def questions(consultant: Consultant, *grades: str, **more: str) -> list[object]:
    """Build one question a grade."""
    return [consultant.question({"grade": g, **more}) for g in grades]


def test_an_option_lasts_as_long_as_itself(consultant: Consultant) -> None:
    """The ratio to itself is one and no difference."""
    found = compare(consultant, questions(consultant, "D2", "D2", use="everyday-carry"))  # type: ignore[arg-type]
    for option in found.options:
        assert option.edge_life is not None
        assert option.edge_life.ratio == 1 and not option.edge_life.differs


def test_much_vanadium_outlasts_a_simple_carbon_steel_in_abrasive_slicing(consultant: Consultant) -> None:
    """Card-cut regression (knife-metallurgy article, 11 February 2019): 26.2 mm for each vol % MC."""
    found = compare(consultant, questions(consultant, "1084", "A11", use="fibrous", hardness="61"))  # type: ignore[arg-type]
    life = found.options[1].same_angle_life
    assert life is not None and life.differs and life.ratio > 1.5
    assert any("lasts longer" in s for s in found.decides)


@pytest.mark.parametrize("count", [1, 6])
def test_two_to_five_options(consultant: Consultant, count: int) -> None:
    """Fewer or more cannot be laid side by side."""
    with pytest.raises(InputError):
        compare(consultant, questions(consultant, *["440C"] * count))  # type: ignore[arg-type]


def test_one_steel_at_two_hardnesses_can_be_told_apart(consultant: Consultant) -> None:
    """Columns must not carry one name."""
    options = [consultant.question(option_inputs(text)) for text in ("440C@58", "440C@60", "D2")]
    names = [o.short for o in compare(consultant, options).options]
    assert len(set(names)) == 3 and "58" in names[0] and "60" in names[1] and "HRC" not in names[2]


@pytest.mark.parametrize("text", ["@58", " @ 58", "?", "unknown@60"])
def test_an_option_needs_a_grade(text: str) -> None:
    """A steel that was not named is nothing to compare with."""
    with pytest.raises(InputError, match="names no grade"):
        option_inputs(text)
