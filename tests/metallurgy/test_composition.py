"""Compositions as people write them."""

from __future__ import annotations

import periodictable
import pytest

from advisor.errors import InputError
from advisor.metallurgy.composition import (
    ATOMIC_WEIGHT,
    IGNORED,
    Composition,
    composition_from_mapping,
    parse_composition,
)

STAINLESS = Composition(C=0.95, Cr=17.0, Mo=0.5)


@pytest.mark.parametrize(
    "text",
    [
        "C 0.95, Cr 17, Mo 0.5",
        "0.95C 17Cr 0.5Mo",
        "C0.95 Cr17 Mo.5",
        "C=0.95; Cr=17 %; Mo=0.5",
        "c: 0.95\ncr: 17\nmo: 0.5",
        "0.95 % C, 17 wt% Cr, 0.5 wt.% Mo",
        "Cr 17 C 0.95 Mo 0.5 Fe bal",
        "C 0.95 Cr 17 Mo 0.5 Fe 81.5",
    ],
)
def test_usual_ways_of_writing(text: str) -> None:
    assert parse_composition(text) == STAINLESS


def test_real_elements_outside_the_model_are_kept_by_name() -> None:
    steel = parse_composition("C 1, Cu 0.2, S 0.03")
    assert steel.ignored == (("Cu", 0.2), ("S", 0.03))
    assert steel.get("Cu") == 0.2
    assert steel.iron == pytest.approx(98.77)
    assert steel.as_dict() == {"C": 1.0}


def test_text_form_reads_back() -> None:
    steel = parse_composition("C 1.2, V 3, P 0.02")
    assert parse_composition(str(steel)) == steel
    assert hash(steel) == hash(parse_composition(str(steel)))


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("", "empty", "write symbols"),
        (" , ;", "empty", "write symbols"),
        ("C 0,95 Cr 17", "decimal comma", "decimal point"),
        ("C -0.5", "negative", "0 or more"),
        ("C 120", "exceed 100 %", "mass per cent"),
        ("C 60 Cr 50", "leaves no iron", "check the figures"),
        ("C 0.9-1.1", "range", "one number"),
        ("C 1 C 2", "given twice", "once"),
        ("C 1 c 2", "given twice", "once"),
        ("C", "no number", "C 1"),
        ("C 1 Cr", "no number", "Cr 1"),
        ("C one", "cannot be used|no number|unknown", ""),
        ("C 1.2.3", "no element", ""),
        ("Xq 3, C 1", "unknown element 'Xq'", "chemical symbols"),
        ("carbon 1", "unknown element 'carbon'", "did you mean C"),
        ("Vanadum 3", "unknown element", "did you mean V"),
        ("C 1 & Cr 2", "cannot read '&'", ""),
        ("C 1, Fe 50", "iron is given as 50 %", "leave iron out"),
        ("Cr bal, C 1", "only iron", "Fe bal"),
        ("C 1 " * 200, "characters long", ""),
        ("C nan", "no number", ""),
        ("C inf", "no number", ""),
    ],
)
def test_unusable_text_is_refused_with_a_reason(text: str, message: str, hint: str) -> None:
    with pytest.raises(InputError, match=message) as caught:
        parse_composition(text)
    assert caught.value.field == "composition"
    assert hint in caught.value.hint
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize("value", [-0.1, 101.0, float("nan"), float("inf"), True, "1"])
def test_numbers_are_checked_when_built_in_code(value: object) -> None:
    with pytest.raises(InputError):
        Composition(C=value)  # type: ignore[arg-type]
    with pytest.raises(InputError):
        composition_from_mapping({"C": value})  # type: ignore[dict-item]


def test_empty_mapping_is_refused() -> None:
    with pytest.raises(InputError, match="empty"):
        composition_from_mapping({})


@pytest.mark.parametrize("symbol", sorted(ATOMIC_WEIGHT))
def test_atomic_weights_agree_with_periodictable(symbol: str) -> None:
    """Outside source: the periodictable package (IUPAC atomic weights)."""
    assert ATOMIC_WEIGHT[symbol] == pytest.approx(getattr(periodictable, symbol).mass, rel=2e-4)


def test_ignored_symbols_are_elements() -> None:
    assert all(getattr(periodictable, symbol).number > 0 for symbol in IGNORED)


def test_small_contents_are_written_without_exponent() -> None:
    assert str(parse_composition("C 0.95, N 0.00001, S 0.0000002")) == "C 0.95, N 0.00001, S 0.0000002"


@pytest.mark.parametrize("text", ["C 0", "C 0, Cr 0.0", "Fe 100"])
def test_iron_alone_is_no_steel(text: str) -> None:
    with pytest.raises(InputError, match="nothing but iron"):
        parse_composition(text)
