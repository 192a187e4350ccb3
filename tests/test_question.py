"""Inputs: what a person may write, and the one clear error for what cannot be used."""

from __future__ import annotations

import pytest

from advisor.consult import Consultant
from advisor.errors import ErrorList, InputError


def errors_of(consultant: Consultant, **raw: object) -> dict[str, str]:
    """Return field -> message and hint of a question that cannot be used."""
    with pytest.raises(ErrorList) as caught:
        consultant.question(raw)
    return {e.field: f"{e.message}; {e.hint}" for e in caught.value.errors}


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("hardness", "80", ["80", "40 to 70"]),
        ("hardness", "hard", ["'hard'", "not a number"]),
        ("hardness", "nan", ["not a number"]),
        ("composition", "C -1, Cr 17", ["negative"]),
        ("composition", "C 1, Cr 120", ["100"]),
        ("composition", "C 1, Xx 3", ["Xx"]),
        ("angle", "60", ["60", "half"]),
        ("use", "lawnmower", ["lawnmower"]),
        ("use", "kitchen-slicin", ["kitchen-slicing"]),
        ("finish", "extra fine", ["extra fine"]),
        ("finish", "-5 µm", ["-5"]),
        ("grade", "440D", ["440"]),
        ("grade", "unobtainium 9000", ["composition"]),
        ("progression", "5 µm, 20 µm", ["coarse to fine"]),
        ("kit", "x" * 1_000_000, ["1000000 characters"]),
        ("grade", "440\0C", ["control character"]),
        ("symptom", "smells", ["smells"]),
        ("strop_passes", "-3", ["0 to 2000"]),
    ],
)
def test_an_input_that_cannot_be_used_gets_one_error_at_its_field(
    consultant: Consultant, name: str, value: str, words: list[str]
) -> None:
    """One error, at the field, that names what was given and what to do."""
    found = errors_of(consultant, **{name: value})
    assert list(found) == [name]
    for word in words:
        assert word in found[name]
    assert len(found[name]) < 400


def test_all_errors_come_at_once(consultant: Consultant) -> None:
    """Nobody should have to mend one input to learn of the next."""
    assert set(errors_of(consultant, hardness="80", use="x", angle="99")) == {"hardness", "use", "angle"}


def test_an_unknown_input_name_is_refused_with_a_near_one(consultant: Consultant) -> None:
    """A typo in a permalink must not be dropped silently."""
    assert "did you mean hardness" in errors_of(consultant, hardnes="58")["hardnes"]


@pytest.mark.parametrize("text", ["", "unknown", "I do not know", None, []])
def test_not_knowing_is_an_answer(consultant: Consultant, text: object) -> None:
    """An input left open is not in the question."""
    assert consultant.question({"hardness": text}).given == {}


@pytest.mark.parametrize("text", ["58", "58 HRC", "58.0", "58,0"])
def test_a_number_may_carry_its_unit(consultant: Consultant, text: str) -> None:
    """A number is read with its unit and with a decimal comma."""
    assert consultant.question({"hardness": text}).given["hardness"] == 58


def test_a_bare_grit_number_says_which_scale_it_took(consultant: Consultant) -> None:
    """JIS R 6001 (1987): 1000 is 11.5 µm; FEPA P1000 is 18.3 µm (ISO 6344-3)."""
    size = consultant.question({"finish": "1000"}).finish
    assert size is not None and size.assumed
    others = dict(size.alternatives)
    assert any(abs(um - 18.3) < 0.2 for um in others.values())


def test_the_text_of_a_question_gives_the_same_question_again(consultant: Consultant) -> None:
    """Permalinks rest on it."""
    raw = {
        "grade": "440c", "hardness": "58 HRC", "use": "Everyday Carry", "finish": "1000", "angle": "18",
        "progression": "P120, P400", "symptom": "slick-but-shaves rolls",
    }  # fmt: skip
    first = consultant.question(raw)
    assert consultant.question(first.text).given == first.given
    assert list(first.text) == sorted(first.text)


def test_a_grade_and_a_composition_exclude_each_other(consultant: Consultant) -> None:
    """Two steels in one question have no answer."""
    assert "not both" in errors_of(consultant, grade="440C", composition="C 1, Cr 17")["composition"]


@pytest.mark.parametrize("text", ["15", "15°", "15 deg", "15 degrees per side", "15° a side", "15 degree a side"])
def test_an_angle_is_read_as_answers_write_it(consultant: Consultant, text: str) -> None:
    """Whoever copies an angle out of an answer is understood."""
    assert consultant.question({"angle": text}).given["angle"] == 15


def test_a_comma_that_may_stand_for_thousands_is_refused(consultant: Consultant) -> None:
    """1,000 passes must not become one pass; 0,125 mm can only be a decimal comma."""
    assert "two meanings" in errors_of(consultant, strop_passes="1,000")["strop_passes"]
    assert consultant.question({"edge_thickness": "0,125"}).given["edge_thickness"] == 0.125


@pytest.mark.parametrize("name", ["hardness", "finish"])
def test_a_number_too_large_for_the_machine_is_one_error(consultant: Consultant, name: str) -> None:
    """A YAML file of trials can hold such a number."""
    assert "not a number" in errors_of(consultant, **{name: 10**400})[name]


def test_a_trace_of_an_element_is_no_obstacle(consultant: Consultant) -> None:
    """A content so small that it would be written with an exponent."""
    question = consultant.question({"composition": "C 0.95, N 0.00001"})
    assert consultant.ask(question, sensitivity=False).computed["en_name"].startswith("C95")
    assert consultant.question(question.text).given == question.given


def test_an_empty_kit_has_no_items_to_write_down(consultant: Consultant) -> None:
    """Its text must not be read back as the name of a stone."""
    assert consultant.question({"kit": {"name": "mine", "items": []}}).text["kit"] == ""


def test_a_mode_that_does_not_exist_is_refused(consultant: Consultant) -> None:
    """A typo must not silently answer another question."""
    with pytest.raises(InputError, match="no mode"):
        consultant.ask(consultant.question({"grade": "D2"}), "chekc")


@pytest.mark.parametrize("text", ["AISI D2", "D2 steel", "AISI D2 steel", "d-2"])
def test_a_grade_may_carry_its_standard_and_the_word_steel(consultant: Consultant, text: str) -> None:
    """AISI D2 is EN 1.2379, X153CrMoV12 (EN ISO 4957)."""
    grade = consultant.question({"grade": text}).grade
    assert grade is not None and grade.id == "x153crmov12"
