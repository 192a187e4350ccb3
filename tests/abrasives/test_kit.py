"""Kits from data and from typed lines."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.abrasives.grits import GritScales
from advisor.abrasives.kit import Kit, kit_from_data, kit_from_text, kit_to_text
from advisor.abrasives.kit_words import FIELDS, KitWords
from advisor.errors import ErrorList


def one(text: str, scales: GritScales, words: KitWords) -> Any:
    (item,) = kit_from_text(text, scales, words).items
    return item


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (
            "diamond resin 1000 JIS stone, 6 mm thick, settled",
            ("stone", "diamond", "diamond", "resin", 11.5, 6.0, "settled", None),
        ),
        (
            "strop: firm leather, 1 um diamond",
            ("strop", "diamond", "diamond", "loose", 1.0, None, None, "firm-leather"),
        ),
        ("D151 diamond plate, new", ("stone", "diamond", "diamond", "plated", 137.5, None, "fresh", None)),
        (
            "#400 ceramic waterstone",
            ("stone", "ceramic-alumina", "alumina", None, 30.0, None, "settled", None),
        ),
        (
            "3 µm alumina lapping film on glass",
            ("film", "alumina", "alumina", "film", 3, None, "settled", "hard-plate"),
        ),
        (
            "balsa, chromium oxide 0,5 um",
            ("strop", "chromium-oxide", "alumina", "loose", 0.5, None, None, "balsa"),
        ),
        ("hanging strop, bare", ("strop", None, None, None, None, None, None, "hanging")),
        ("clean leather", ("strop", None, None, None, None, None, None, "leather")),
        ("coarse D151 resin plate", ("stone", None, None, "resin", 137.5, None, "settled", None)),
        ("CBN vitrified F230 3mm", ("stone", "cbn", "cbn", "vitrified", 53.0, 3.0, "settled", None)),
    ],
)
def test_one_line(line: str, expected: tuple[Any, ...], scales: GritScales, words: KitWords) -> None:
    item = one(line, scales, words)
    got = (item.kind, item.abrasive, item.abrasive_class, item.bond, item.um)
    assert (*got, item.thickness_mm, item.state, item.backing) == expected


@pytest.mark.parametrize(
    ("line", "field", "hint"),
    [
        ("diamnd resin 1000 stone", "kit line 1", "did you mean diamond"),
        ("1000/6000 water stone", "kit line 1: size", "two faces of a stone are two stones"),
        ("JIS 1000 and JIS 3000 stone", "kit line 1: size", "two faces"),
        ("extra fine diamond stone", "kit line 1: size", "write a number"),
        ("D7 diamond stone", "kit line 1: size", "4-8"),
        ("strop, 1 um", "kit line 1: backing", "firm leather"),
        ("leather strop, diamond", "kit line 1: compound", "1 um"),
        ("1000 resin metal stone", "kit line 1: bond", "one line"),
        ("film: leather strop 1 um", "kit line 1: kind", "say one"),
        ("diamond stone", "kit line 1: size", "JIS 1000"),
        ("1000 stone, 500 mm thick", "kit line 1: thickness", "60 mm"),
        ("1000 stone, 5 mm, 6 mm", "kit line 1: thickness", "in mm"),
        ("1000 stone on leather", "kit line 1: backing", "strop"),
        ("leather strop, worn, 1 um", "kit line 1: state", "leave it out"),
        ("leather strop, bare, 1 um", "kit line 1: compound", "one or the other"),
        ("1000 stone, bare", "kit line 1: kind", "only a strop"),
        ("-5 um diamond stone", "kit line 1: size", "6 um"),
        ("1e9 diamond stone", "kit line 1: size", "6 um"),
    ],
)
def test_faulty_lines(line: str, field: str, hint: str, scales: GritScales, words: KitWords) -> None:
    with pytest.raises(ErrorList) as caught:
        kit_from_text(line, scales, words)
    (error,) = caught.value.errors
    assert error.field == field
    assert error.line == 1
    assert hint in error.hint


def test_errors_count_empty_lines(scales: GritScales, words: KitWords) -> None:
    with pytest.raises(ErrorList) as caught:
        kit_from_text("JIS 1000 stone\n\n\nfoo stone\nbar 1000", scales, words)
    assert {error.line for error in caught.value.errors} == {4, 5}


def test_two_unnamed_alike_items_get_different_names(scales: GritScales, words: KitWords) -> None:
    kit = kit_from_text("#1000 stone\n#1000 stone", scales, words)
    assert [item.name for item in kit.items] == ["JIS 1000 stone", "JIS 1000 stone (2)"]
    assert kit_from_text(kit_to_text(kit, words), scales, words) == kit


def test_kit_from_data_reads_each_key(scales: GritScales, words: KitWords) -> None:
    data = {
        "name": "Bench",
        "items": [
            {
                "kind": "stone",
                "abrasive": "diamond",
                "bond": "resin",
                "size": 1000,
                "thickness": 6,
                "state": "new",
            },
            {"name": "Old strop", "kind": "strop", "backing": "suede", "compound": "0.5 um chromium oxide"},
            {"kind": "strop", "backing": "balsa", "compound": "bare"},
        ],
    }
    kit = kit_from_data(data, scales, words)
    stone, strop, bare = kit.items
    assert (stone.um, stone.thickness_mm, stone.state, stone.size.assumed) == (11.5, 6.0, "fresh", True)
    assert (strop.name, strop.abrasive, strop.um, strop.backing) == (
        "Old strop",
        "chromium-oxide",
        0.5,
        "soft-leather",
    )
    assert bare.bare
    assert kit_from_text(kit_to_text(kit, words), scales, words, name="Bench") == kit


@pytest.mark.parametrize(
    ("item", "field", "hint"),
    [
        ({"size": "extra fine"}, "size", "write a number"),
        ({"size": "1000", "kind": "ston"}, "kind", "did you mean stone"),
        ({"size": "1000", "abrasive": "daimond"}, "abrasive", "did you mean diamond"),
        ({"size": "1000", "grit": 3}, "grit", "keys: name"),
        ({"size": True}, "size", "quotes"),
        ({"size": "1000", "thickness": float("nan")}, "thickness", "60 mm"),
        ({"size": "1000", "thickness": [6]}, "thickness", "in mm"),
        ({"size": "1000", "compound": "1 um"}, "compound", "abrasive and size"),
        ({"kind": "strop", "backing": "balsa", "size": "1 um"}, "size", "compound"),
        (
            {"kind": "strop", "backing": "balsa", "compound": "1 um diamond leather"},
            "compound",
            "1 um diamond",
        ),
        ({"size": "1000", "name": "a:b"}, "name", "colon"),
        ({"size": "1000", "name": "strop"}, "name", "kind"),
        ({"size": "1000", "name": "x" * 500}, "name", "60"),
        ({}, "size", "JIS 1000"),
    ],
)
def test_faulty_items(item: dict[str, Any], field: str, hint: str, scales: GritScales, words: KitWords) -> None:
    good = {"size": "JIS 400"}
    with pytest.raises(ErrorList) as caught:
        kit_from_data({"items": [good, item]}, scales, words)
    (error,) = caught.value.errors
    assert error.field == f"kit item 2: {field}"
    assert hint in error.hint


@pytest.mark.parametrize("data", [None, [], "x", {"items": 3}, {"items": "abc"}, {"items": [1]}, {"itms": []}])
def test_what_is_no_kit_is_refused(data: object, scales: GritScales, words: KitWords) -> None:
    with pytest.raises(ErrorList):
        kit_from_data(data, scales, words)


def test_a_kit_has_a_limit(scales: GritScales, words: KitWords) -> None:
    with pytest.raises(ErrorList, match="at most 60 items"):
        kit_from_data({"items": [{"size": "JIS 400"}] * 61}, scales, words)
    with pytest.raises(ErrorList, match="characters"):
        kit_from_text("x" * 9000, scales, words)


def test_names_given_twice_are_refused(scales: GritScales, words: KitWords) -> None:
    with pytest.raises(ErrorList, match="two items are named 'mine'"):
        kit_from_text("mine: #1000 stone\nmine: #3000 stone", scales, words)


def test_only_the_word_film_has_two_meanings(words: KitWords) -> None:
    meanings: dict[str, list[str]] = {}
    for field, values in words.values:
        for _, names in values:
            for name in dict.fromkeys(names):
                meanings.setdefault(name, []).append(field)
    assert {word: fields for word, fields in meanings.items() if len(fields) > 1} == {"film": ["kind", "bond"]}
    assert set(FIELDS) == set(dict(words.values))


sizes = st.sampled_from(["JIS 1000", "1000", "#8000", "P400", "F600", "D46", "6 um", "2/1 um", "7/5", "600 mesh"])
names = st.one_of(st.just(""), st.text("abcdefg hé", max_size=20))


@st.composite
def items(draw: st.DrawFn) -> dict[str, Any]:
    minerals = ["diamond", "cbn", "silicon-carbide", "alumina", "natural", "chromium-oxide"]
    item: dict[str, Any] = {"kind": draw(st.sampled_from(["stone", "film", "strop"]))}
    if item["kind"] == "strop":
        item["backing"] = draw(st.sampled_from(["hard-plate", "hardwood", "balsa", "firm-leather", "felt", "hanging"]))
        item["compound"] = draw(st.one_of(st.just("bare"), sizes.map(lambda size: f"{size}, diamond")))
    else:
        item["size"] = draw(sizes)
        item["abrasive"] = draw(st.sampled_from(minerals))
        item["state"] = draw(st.sampled_from(["fresh", "settled", "worn"]))
        item["bond"] = draw(st.sampled_from(["resin", "vitrified", "metal", "plated", "film", "loose"]))
    if draw(st.booleans()):
        item["thickness"] = draw(st.floats(0.1, 60).map(lambda mm: round(mm, 2)))
    return item


@given(data=st.lists(items(), max_size=8))
def test_a_kit_reads_back_from_its_lines(data: list[dict[str, Any]], scales: GritScales, words: KitWords) -> None:
    kit = kit_from_data({"items": data}, scales, words)
    assert kit_from_text(kit_to_text(kit, words), scales, words) == kit


@given(name=names)
def test_names_read_back(name: str, scales: GritScales, words: KitWords) -> None:
    kit = kit_from_data({"items": [{"size": "JIS 1000", **({"name": name} if name else {})}]}, scales, words)
    assert kit_from_text(kit_to_text(kit, words), scales, words) == kit


@given(text=st.text(max_size=120))
def test_any_text_is_a_kit_or_an_error_list(text: str, scales: GritScales, words: KitWords) -> None:
    try:
        kit = kit_from_text(text, scales, words)
    except ErrorList as errors:
        assert errors.errors
    else:
        assert isinstance(kit, Kit)
