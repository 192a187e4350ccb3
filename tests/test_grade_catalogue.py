"""Consistency of the catalogue of grades as data.

These checks show that the files agree with themselves and with plain metallurgy (sums, orders, a carbon
balance); they do not show that a figure taken over from a source or from memory is right.
"""

from __future__ import annotations

import re
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest
import yaml

RULES = Path(__file__).parents[1] / "rules"
Entry = dict[str, Any]


def read_grades() -> list[tuple[str, Entry]]:
    """(file stem, entry) for every grade of rules/grades/, in file order."""
    found = []
    for path in sorted((RULES / "grades").glob("*.yaml")):
        found += [(path.stem, entry) for entry in yaml.safe_load(path.read_text(encoding="utf-8"))]
    return found


GRADES = read_grades()
SOURCES = yaml.safe_load((RULES / "sources" / "steels.yaml").read_text(encoding="utf-8"))
SIZES = ["very-fine", "fine", "medium", "coarse"]

# Carbon bound by 1 vol % of each hard phase, wt % of the steel: (C per metal atom, cm3 per mole of metal).
# Molar volumes from lattice parameters, steel density 7.75 g/cm3 (estimated). Undivided chromium carbide and
# totals take the leanest phase they may hold, so that the balance only refuses what cannot be.
PHASES = {
    "MC": (0.88, 10.88),
    "M7C3": (3 / 7, 8.15),
    "M23C6": (6 / 23, 7.85),
    "M6C": (1 / 6, 8.5),
    "M3C": (1 / 3, 7.79),
    "CrC": (6 / 23, 7.85),
    "total": (1 / 6, 8.5),
    "nitrides": (0.88, 10.88),
}

RESOLVES = {
    "440C": "x105crmo17",
    "X105CrMo17": "x105crmo17",
    "1.4125": "x105crmo17",
    "14125": "x105crmo17",
    "1.4116": "x50crmov15",
    "14116": "x50crmov15",
    "X50CrMoV15": "x50crmov15",
    "D2": "x153crmov12",
    "1.2379": "x153crmov12",
    "X153CrMoV12": "x153crmov12",
    "X155CrVMo12-1": "x153crmov12",
    "AEB-L": "x65cr13",
    "13C26": "x65cr13",
    "13C26 type": "x65cr13",
    "12C27": "x60cr13-strip",
    "14C28N": "x62crn14-strip",
    "52100": "100cr6",
    "1.3505": "100cr6",
    "1095": "c100s",
    "O1": "95mnwcr5",
    "A2": "x100crmov5",
    "M2": "hs6-5-2c",
    "M4": "pm-hs6-5-4",
    "T15": "pm-hs12-0-5-5",
    "154CM": "x105crmo14-4",
    "VG10": "10cr15comov",
    "N690": "x105crcomo18-2",
    "M390": "pm-x190crvmo20-4-1",
    "Elmax": "pm-x170crvmo18-3-1",
    "3V": "pm-x80crvmo8-3-1",
    "MagnaCut": "pm-x115crvmonbn11-4-2-2",
    "K390": "pm-x247vcrmocow9-4-4-2-1",
    "ZDP-189": "pm-x300crmo20-1",
    "Vanax": "pm-x36crvmon18-4-1",
    "LC200N": "x30crmon15-1",
    "X30CrMoN15-1": "x30crmon15-1",
    "W2": "105v",
    "80CrV2": "80crv2",
    "5160": "aisi-5160",
    "420": "x30cr13",
    "420HC": "aisi-420hc",
    "H13": "x40crmov5-1",
    "S7": "50crmov13-15",
    "Shirogami 2": "white-paper-2",
    "white paper steel no. 2 type": "white-paper-2",
    "Aogami Super": "blue-paper-super",
    "damascus": "layered-unknown",
    "X230CrVMo14-9-1": "pm-x230crvmo14-9-1",
    "2.3C 14Cr 1Mo 9V powder stainless": "pm-x230crvmo14-9-1",
    "1.45C 14Cr 2Mo 4V": "pm-x145crvmo14-4-2",
    "1.40C 14Cr 2Mo 3V 0.5Nb": "pm-x140crvmonb14-3-2",
}


def normalised(text: str) -> str:
    """Lower case, letters and digits only: how a designation is compared."""
    return re.sub(r"[^a-z0-9]", "", text.lower())


def spellings(entry: Entry) -> set[str]:
    """Every distinct normalised name of one entry."""
    names = [entry["id"], entry["name"], *entry["designations"].values(), *entry["aliases"]]
    return {normalised(name) for name in names}


def owners() -> dict[str, list[str]]:
    """Normalised name -> ids of the grades that carry it."""
    found: dict[str, list[str]] = defaultdict(list)
    for _, entry in GRADES:
        for name in spellings(entry):
            found[name].append(entry["id"])
    return found


def over(chosen: list[tuple[str, Entry]]) -> pytest.MarkDecorator:
    """One case for each chosen grade, named by its id."""
    assert chosen
    return pytest.mark.parametrize(("stem", "entry"), chosen, ids=[entry["id"] for _, entry in chosen])


every_grade = over(GRADES)
homogeneous = over([pair for pair in GRADES if "composition" in pair[1]])


def test_there_are_a_hundred_grades_in_all_groups() -> None:
    assert len(GRADES) >= 100
    assert len({entry["group"] for _, entry in GRADES}) == 11


def test_ids_are_unique() -> None:
    ids = [entry["id"] for _, entry in GRADES]
    assert len(ids) == len(set(ids))


def test_no_name_belongs_to_two_grades() -> None:
    assert {name: ids for name, ids in owners().items() if len(ids) > 1 or not name} == {}


@pytest.mark.parametrize(("typed", "grade"), RESOLVES.items())
def test_common_names_resolve(typed: str, grade: str) -> None:
    assert owners()[normalised(typed)] == [grade]


@every_grade
def test_file_is_the_group(stem: str, entry: Entry) -> None:
    assert entry["group"] == stem


@every_grade
def test_sources_exist_and_published_figures_have_one(stem: str, entry: Entry) -> None:
    parts = [part for part in entry.values() if isinstance(part, dict)] + entry.get("carbides", [])
    bases = [part.get("basis") for part in parts] + [entry.get("composition_basis"), entry.get("basis")]
    cited = set(entry.get("sources", [])) | {part["source"] for part in parts if "source" in part}
    assert cited <= set(SOURCES)
    assert cited or "published" not in bases
    assert all("source" in part for part in entry.get("carbides", []) if part["basis"] == "published")


def test_every_source_is_used() -> None:
    cited = {key for _, entry in GRADES for key in entry.get("sources", [])}
    assert set(SOURCES) - cited == set()


def test_only_layered_blades_lack_a_composition() -> None:
    assert [entry["id"] for _, entry in GRADES if ("composition" in entry) == ("layered" in entry)] == []


@homogeneous
def test_composition_is_a_steel(stem: str, entry: Entry) -> None:
    steel = entry["composition"]
    assert steel.keys() <= {"C", "Mn", "Si", "Cr", "Mo", "W", "V", "Nb", "Co", "Ni", "N"}
    assert all(value > 0 for value in steel.values())
    assert 0 < sum(steel.values()) < 50
    assert 0.25 < steel["C"] + steel.get("N", 0) < 4 or steel.get("Ni", 0) > 5


@every_grade
def test_hardness_is_ordered(stem: str, entry: Entry) -> None:
    band = entry["hardness"]
    assert 45 <= band["low"] < band["high"] <= band["max"] <= 72


@over([pair for pair in GRADES if pair[1]["process"] == "powder"])
def test_powder_keeps_carbides_small(stem: str, entry: Entry) -> None:
    """Powder steel stays at 3 um unless about a third of it is chromium carbide."""
    chromium_carbide = sum(c["volume"] for c in entry.get("carbides", []) if c["family"] == "CrC")
    allowed = SIZES[:3] if chromium_carbide >= 25 else SIZES[:2]
    assert entry["carbide_size"]["class"] in allowed


@every_grade
def test_group_agrees_with_process_and_composition(stem: str, entry: Entry) -> None:
    steel = entry.get("composition", {})
    chromium, vanadium, nitrogen = (steel.get(symbol, 0) for symbol in ("Cr", "V", "N"))
    powder = entry["process"] == "powder"
    holds = {
        "plain-carbon": chromium < 0.5 and vanadium < 0.5,
        "low-alloy": chromium < 5 and not powder,
        "tool-steel": 5 <= chromium <= 12.5 and not powder,
        "high-speed": steel.get("W", 0) + steel.get("Mo", 0) > 4 and vanadium < 8,
        "tool-powder": powder and chromium < 9 and vanadium < 8,
        "high-vanadium": powder and vanadium >= 8,
        "stainless-fine": chromium > 12 and not powder,
        "stainless-coarse": chromium > 12 and not powder,
        "stainless-powder": powder and chromium > 10 and vanadium < 8,
        "stainless-nitrogen": chromium > 12 and nitrogen >= 0.2,
        "layered": "layered" in entry,
    }
    assert holds[entry["group"]]


@over([pair for pair in GRADES if "carbide_size" in pair[1]])
def test_size_class_agrees_with_the_group(stem: str, entry: Entry) -> None:
    allowed = {"stainless-fine": SIZES[:2], "stainless-coarse": SIZES[2:], "plain-carbon": SIZES[:3]}
    bounds = {"very-fine": "<1", "fine": "1-3", "medium": "3-8", "coarse": ">8"}
    assert entry["carbide_size"]["class"] in allowed.get(entry["group"], SIZES)
    assert entry["carbide_size"]["um"] == bounds[entry["carbide_size"]["class"]]


@over([pair for pair in GRADES if "carbides" in pair[1]])
def test_reported_carbides_do_not_need_more_carbon_than_there_is(stem: str, entry: Entry) -> None:
    """Carbon (nitrogen counted atom for atom) bound in the reported phases stays within the steel's."""
    bound = 0.0
    for carbide in entry["carbides"]:
        volume = carbide["volume"]
        lowest = volume if isinstance(volume, int | float) else volume[0]
        atoms, molar_volume = PHASES[carbide["family"]]
        bound += lowest * atoms * 12.011 / molar_volume / 7.75
    steel = entry["composition"]
    assert bound <= steel.get("C", 0) + steel.get("N", 0) * 12.011 / 14.007


def printed_carbon(entry: Entry) -> int | None:
    """The carbon number of the EN name, or None for names that print none (high speed, AISI only)."""
    names = entry["designations"]
    found = re.match(r"(?:PM )?[XC]?(\d+)", names.get("en", names.get("en_built", "")))
    return int(found.group(1)) if found else None


@over([pair for pair in GRADES if printed_carbon(pair[1]) is not None])
def test_en_name_prints_the_carbon(stem: str, entry: Entry) -> None:
    """EN 10027-1: the first number is 100 times the mean carbon; standards round it by up to 0.05 %."""
    assert printed_carbon(entry) == pytest.approx(100 * entry["composition"]["C"], abs=5.1)


@homogeneous
def test_corrosion_class_agrees_with_chromium(stem: str, entry: Entry) -> None:
    least = {"none": 0, "low": 3, "semi": 11, "stainless": 10.5, "stainless-high": 10.5}
    most = {"none": 2, "low": 12.5, "semi": 21, "stainless": 21, "stainless-high": 21}
    resists = entry["corrosion"]["class"]
    assert least[resists] <= entry["composition"].get("Cr", 0) <= most[resists]
