"""EN 10027-1 names; the pairs of names and compositions stand in tests/published/en_names.yaml."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.errors import InputError
from advisor.metallurgy.composition import Composition, composition_from_mapping
from advisor.metallurgy.en_names import en_name, parse_en_name, steel_group
from advisor.metallurgy.validation import MetallurgyModels


def test_group_of_every_pair_follows_from_its_composition(published: dict[str, Any], models: MetallurgyModels) -> None:
    for row in published["en_names"]:
        composition = composition_from_mapping(row["inputs"]["composition"])
        assert steel_group(models.names, composition) == parse_en_name(models.names, row["published"]).group


def test_names_built_without_any_help(published: dict[str, Any], models: MetallurgyModels) -> None:
    """Which elements a name lists is the standard's choice, so fewer names come out whole."""
    built = [
        en_name(models.names, composition_from_mapping(row["inputs"]["composition"])) == row["published"]
        for row in published["en_names"]
    ]
    assert sum(built) >= 29


def test_composition_read_from_a_name_is_near_the_real_one(published: dict[str, Any], models: MetallurgyModels) -> None:
    """Printed contents within 1.25 units of the name; carbon within 0.05 (0.2 in high-speed steel)."""
    for row in published["en_names"]:
        real = composition_from_mapping(row["inputs"]["composition"])
        name = parse_en_name(models.names, row["published"])
        high = name.group in ("high-alloy", "high-speed")
        carbon = 0.2 if "C" in name.presumed else 0.0501
        assert name.composition.get("C") == pytest.approx(real.C, abs=carbon)
        for symbol, _ in zip(name.symbols, name.numbers, strict=False):
            unit = 1.0 if high else 1.0 / models.names.factors[symbol]
            assert name.composition.get(symbol) == pytest.approx(real.get(symbol), abs=1.25 * unit)


@pytest.mark.parametrize(
    ("composition", "name"),
    [
        (Composition(C=0.8, Mn=0.25, Si=0.2), "C80U"),
        (Composition(C=1.525, Si=0.35, Mn=0.4, Cr=12.0, Mo=0.85, V=0.85), "X153CrMoV12"),
        (Composition(C=0.9, Cr=4.15, Mo=4.95, V=1.9, W=6.3), "HS6-5-2"),
        (Composition(C=0.78, Cr=4.15, W=18.0, V=1.1, Mo=0.1), "HS18-0-1"),
        (Composition(C=0.91, Cr=4.15, Mo=4.95, V=1.9, W=6.3, Co=4.75), "HS6-5-2-5"),
        (Composition(C=0.51, Mn=0.9, Si=0.25, Cr=1.05, V=0.175), "51CrV4"),
    ],
)
def test_known_names(models: MetallurgyModels, composition: Composition, name: str) -> None:
    assert en_name(models.names, composition) == name


def test_structural_steel_has_no_u(models: MetallurgyModels) -> None:
    assert en_name(models.names, Composition(C=0.6, Mn=0.7), tool=False) == "C60"


def test_what_a_name_does_not_tell_is_marked_presumed(models: MetallurgyModels) -> None:
    name = parse_en_name(models.names, "PM X153CrMoV12")
    assert (name.group, name.symbols, name.numbers) == ("high-alloy", ("Cr", "Mo", "V"), (12,))
    assert name.presumed == ("Mo", "V")
    assert name.composition.get("Cr") == 12.0
    assert parse_en_name(models.names, "HS10-4-3-10").presumed == ("C", "Cr")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "D2",
        "440C",
        "X",
        "X46",
        "X46Zz13",
        "X46CrCr13",
        "X46Cr13-1-1",
        "HS6",
        "HS6-5",
        "1.4116",
        "X" * 500,
    ],
)
def test_other_text_is_refused(models: MetallurgyModels, text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_en_name(models.names, text)
    assert caught.value.field == "grade"
    assert caught.value.hint


def test_unknown_group_and_element_without_factor_are_refused(models: MetallurgyModels) -> None:
    with pytest.raises(InputError, match="group"):
        en_name(models.names, Composition(C=1.0), group="ceramic")
    with pytest.raises(InputError, match="no factor"):
        en_name(models.names, Composition(C=1.0, Cr=1.0), group="low-alloy", symbols=["Fe"])
