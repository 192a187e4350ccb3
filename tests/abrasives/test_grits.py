"""Reading of grain sizes. Sizes: JIS R 6001, ISO 6344, ISO 8486, ANSI B74.18, ISO 6106, FEPA 60."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.abrasives.grits import MAX_TEXT, GritScales
from advisor.errors import InputError, KnowledgeError, OutOfRangeError, WhetruleError


@pytest.mark.parametrize(
    ("text", "um", "label"),
    [
        ("1000 JIS", 11.5, "JIS 1000"),
        ("JIS 1000", 11.5, "JIS 1000"),
        ("jis#1000", 11.5, "JIS 1000"),
        ("#1000 (JIS)", 11.5, "JIS 1000"),
        ("1000 grit JIS", 11.5, "JIS 1000"),
        ("FEPA-F400", 17.3, "F400"),
        ("3µ", 3.0, "3 um"),
        ("P400", 35.0, "P400"),
        ("p 400", 35.0, "P400"),
        ("FEPA P 400", 35.0, "P400"),
        ("F600", 9.3, "F600"),
        ("CAMI 400", 23.0, "ANSI 400"),
        ("ANSI bonded 60", 256.0, "ANSI bonded 60"),
        ("D46", 41.5, "D46"),
        ("B46", 41.5, "B46"),
        ("M6.3", 6.3, "M6.3"),
        ("325/400 mesh", 41.5, "325/400 mesh"),
        ("6 um", 6.0, "6 um"),
        ("6µm", 6.0, "6 um"),
        ("6 μm", 6.0, "6 um"),
        ("0,5 micron", 0.5, "0.5 um"),
        ("100 nm", 0.1, "0.1 um"),
        ("2/1 micron", 1.5, "2-1 um"),
        ("1-2 um", 1.5, "2-1 um"),
        ("16k JIS", 0.92, "JIS 16000"),
    ],
)
def test_named_sizes_are_not_assumed(scales: GritScales, text: str, um: float, label: str) -> None:
    size = scales.parse(text)
    assert size.um == pytest.approx(um)
    assert (size.label, size.assumed, size.alternatives) == (label, False, ())


def test_mesh_past_the_last_sieve_follows_the_rule_of_thumb(scales: GritScales) -> None:
    # 14900/number, common practice.
    assert scales.parse("600 mesh").um == pytest.approx(14900 / 600, abs=0.01)


@pytest.mark.parametrize("text", ["1000", "#1000", "1000 grit", "grit 1000", "1000grit", "1k", "1,000", "１０００"])
def test_a_bare_number_is_ambiguous_and_says_so(scales: GritScales, text: str) -> None:
    size = scales.parse(text)
    assert (size.um, size.scale, size.assumed) == (11.5, "jis", True)
    # F1000 4.5 (ISO 8486-2), P1000 18.3 (ISO 6344-3), CAMI 1000 10.3 (ANSI B74.18).
    others = dict(size.alternatives)
    assert others["fepa-f"] == 4.5
    assert others["fepa-p"] == 18.3
    assert others["ansi-coated"] == 10.3
    assert "jis" not in others
    assert "iso-6106" not in others


def test_scale_argument_settles_a_bare_number(scales: GritScales) -> None:
    size = scales.parse("400", scale="fepa-p")
    assert (size.um, size.assumed, size.label) == (35.0, False, "P400")
    assert scales.parse("6", scale="micron").um == 6.0
    assert scales.parse("P400", scale="jis").label == "P400"
    with pytest.raises(InputError, match="one of jis"):
        scales.parse("400", scale="jjs")


def test_ranges_keep_their_bounds(scales: GritScales) -> None:
    # ISO 6106: D46 lies between the 45 and 38 um sieves.
    size = scales.parse("D46")
    assert (size.low_um, size.high_um) == (38, 45)
    pair = scales.parse("7/5")
    assert (pair.low_um, pair.high_um, pair.assumed) == (5, 7, True)


def test_between_two_grades_size_is_computed_between_theirs(scales: GritScales) -> None:
    size = scales.parse("JIS 5000")
    assert 2.0 < size.um < 3.0
    assert size.basis == "computed"


@pytest.mark.parametrize(
    "text",
    [
        *("", "extra fine", "fine", "0", "0 um", "-5 um", "1e9", "nan", "inf um", "6 mm", "FEPA 400"),
        *("1000/6000", "JIS", "P", "um", "#", "1000 JIS P400", "6 6 um", "٣ um", "9" * 500),
    ],
)
def test_what_is_not_a_size_is_refused_with_a_hint(scales: GritScales, text: str) -> None:
    with pytest.raises(InputError) as caught:
        scales.parse(text)
    assert caught.value.field == "size"
    assert caught.value.hint
    assert len(caught.value.message) < 120


@pytest.mark.parametrize("text", ["D99", "JIS 1000000", "P5", "0.001 um", "700000 um", "F99999"])
def test_sizes_outside_a_scale_are_out_of_range(scales: GritScales, text: str) -> None:
    with pytest.raises(OutOfRangeError):
        scales.parse(text)


def test_maker_dependent_numbers_ask_for_a_range(scales: GritScales) -> None:
    # Two wheel makers' tables: D7 is 4-8 um at one and 3-6 um at the other.
    with pytest.raises(OutOfRangeError, match="4-8 or 3-6 um"):
        scales.parse("D7")


def test_views_name_nearest_grades_or_none(scales: GritScales) -> None:
    assert scales.views(11.5) == {"jis": "JIS 1000", "fepa_f": "F500", "fepa_p": "P1500", "ansi": "ANSI 800"}
    assert scales.views(0.3) == {"jis": None, "fepa_f": None, "fepa_p": None, "ansi": None}


@pytest.mark.parametrize(("text", "hint"), [("6", "write 6 um"), ("0.5", "write 0.5 um")])
def test_a_small_bare_number_may_be_micrometres(scales: GritScales, text: str, hint: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        scales.parse(text)
    assert hint in caught.value.hint


def test_every_grade_reads_back_from_its_label(scales: GritScales) -> None:
    for scale in scales.scales:
        for grade in scale.grades:
            assert scales.parse(scale.write(grade.number, "d")).um == grade.um


@given(um=st.floats(0.01, 6000).map(lambda um: float(f"{um:.4g}")))
def test_any_size_in_micrometres_reads_back(scales: GritScales, um: float) -> None:
    size = scales.parse(f"{um:.10g} um")
    assert size.um == pytest.approx(um)
    assert scales.parse(size.given) == size


@given(text=st.text(max_size=MAX_TEXT + 5))
def test_any_text_is_read_or_refused(scales: GritScales, text: str) -> None:
    try:
        size = scales.parse(text)
    except WhetruleError as error:
        assert error.hint
    else:
        assert 0.01 <= size.um <= 6000
        assert scales.parse(size.given) == size


@given(scale=st.sampled_from(["jis", "fepa-p", "fepa-f", "ansi-coated", "mesh"]), data=st.data())
def test_a_higher_number_is_never_coarser(scales: GritScales, scale: str, data: st.DataObject) -> None:
    grades = scales.scale(scale).grades
    numbers = st.integers(int(grades[0].number), int(grades[-1].number))
    low, high = sorted((data.draw(numbers), data.draw(numbers)))
    assert scales.parse(str(high), scale).um <= scales.parse(str(low), scale).um


def test_faults_in_the_data_are_named(rules: dict[str, Any]) -> None:
    broken = copy.deepcopy(rules["scales"])
    broken["scales"][0]["grades"][3]["um"] = 1.0
    with pytest.raises(KnowledgeError, match="do not fall"):
        GritScales.from_data(broken)
    broken = copy.deepcopy(rules["scales"])
    broken["scales"][0]["grades"][3]["source"] = "nowhere"
    with pytest.raises(KnowledgeError, match="unknown source nowhere"):
        GritScales.from_data(broken)


def test_vague_words_never_name_a_size(scales: GritScales) -> None:
    for word in scales.vague_words:
        with pytest.raises(InputError, match="different size from every maker"):
            scales.parse(word)
