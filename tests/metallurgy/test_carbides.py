"""The carbide model against mass balance, the lever rule, stored equilibria and published volumes.

Outside sources: atomic weights of the periodictable package; the iron-carbon diagram; equilibria of an open
thermodynamic database (tests/published/carbides_equilibria.json); volumes in tests/published/carbides.yaml.
"""

from __future__ import annotations

import copy
import random
import time
from typing import Any

import periodictable
import pytest

from advisor.errors import KnowledgeError, OutOfRangeError
from advisor.metallurgy.carbide_constants import FAMILIES, carbide_constants
from advisor.metallurgy.carbides import CarbideModel, CarbideState
from advisor.metallurgy.composition import Composition, composition_from_mapping, parse_composition

D2 = parse_composition("C 1.55, Si 0.3, Mn 0.3, Cr 11.8, Mo 0.8, V 0.8")
BALL = parse_composition("C 1.0, Si 0.25, Mn 0.35, Cr 1.5")
STAINLESS = parse_composition("C 1.05, Si 0.5, Mn 0.5, Cr 17, Mo 0.5")
NITROGEN = parse_composition("C 0.3, Si 0.6, Mn 0.4, Cr 15.2, Mo 1.0, N 0.4")
HIGH_SPEED = parse_composition("C 0.88, Si 0.3, Mn 0.3, Cr 4.1, Mo 5.0, W 6.2, V 1.9")


def content_from_state(state: CarbideState, constants: Any) -> dict[str, float]:
    """Weigh carbides and matrix by hand: volume / molar volume is moles of metal, then atomic weights."""
    mass: dict[str, float] = {}

    def add(symbol: str, moles: float) -> None:
        mass[symbol] = mass.get(symbol, 0.0) + moles * getattr(periodictable, symbol).mass

    moles = {s: w / getattr(periodictable, s).mass for s, w in state.matrix.items()}
    metal = sum(m for s, m in moles.items() if s not in ("C", "N"))
    interstitial = (moles["C"] + moles["N"]) / metal
    volume = constants.matrix_molar_volume[0] + constants.matrix_molar_volume[1] * interstitial
    matrix_metal = (100.0 - state.total) / volume
    for symbol, amount in moles.items():
        add(symbol, amount / metal * matrix_metal)
    for family in FAMILIES:
        y = state.metals.get(family, {})
        if family == "MC":
            table = constants.mc_molar_volume
            molar = sum(table.get(s, table["other"]) * f for s, f in y.items())
        else:
            molar = constants.molar_volume[family]
        amount = state.volume[family] / molar
        for symbol, fraction in y.items():
            add(symbol, amount * fraction)
        nitride = state.nitride_share if family == "MC" else 0.0
        add("C", amount * constants.carbon_per_metal.get(family, 0.0) * (1.0 - nitride))
        in_nitride = constants.nitrogen_per_metal.get(family, 0.0)
        add("N", amount * in_nitride * (nitride if family == "MC" else 1.0))
    total = sum(mass.values())
    return {s: 100.0 * m / total for s, m in mass.items()}


def random_compositions(count: int, nitrogen: bool, seed: int) -> list[Composition]:
    """Steels over the whole range of the model."""
    draw = random.Random(seed)
    found = []
    for _ in range(count):
        contents = {
            "C": draw.uniform(0.15, 3.0),
            "Si": draw.uniform(0.1, 1.2),
            "Mn": draw.uniform(0.1, 1.2),
            "Cr": draw.choice([draw.uniform(0.2, 4), draw.uniform(4, 20)]),
            "Mo": draw.choice([0.0, draw.uniform(0.2, 6)]),
            "W": draw.choice([0.0, draw.uniform(0.2, 9)]),
            "V": draw.choice([0.0, draw.uniform(0.1, 9)]),
            "Nb": draw.choice([0.0, 0.0, draw.uniform(0.1, 2.5)]),
            "Co": draw.choice([0.0, draw.uniform(1, 8)]),
        }
        if nitrogen:
            contents["C"] = draw.uniform(0.15, 1.5)
            contents["Cr"] = draw.uniform(10, 20)
            contents["N"] = draw.uniform(0.03, 0.5)
        found.append(Composition(**contents))
    return found


@pytest.mark.parametrize("nitrogen", [False, True])
def test_mass_is_conserved(carbides: CarbideModel, knowledge: dict[str, Any], nitrogen: bool) -> None:
    """Every element of 120 random steels is found again in carbides and matrix."""
    constants = carbide_constants(knowledge["carbide_model.json"])
    for number, steel in enumerate(random_compositions(120, nitrogen, seed=7)):
        state = carbides.hardened(steel, 850.0 + 3.0 * number, "powder")
        found = content_from_state(state, constants)
        for symbol in (*steel.as_dict(), "Fe"):
            assert found[symbol] == pytest.approx(steel.get(symbol), rel=4e-3, abs=4e-3), (symbol, steel)
        assert min(state.volume.values()) >= 0.0
        assert state.total < 90.0


@pytest.mark.parametrize("celsius", [780.0, 820.0, 860.0])
def test_lever_rule_for_plain_carbon_steel(carbides: CarbideModel, celsius: float) -> None:
    """1.4 % carbon: mass of cementite (6.67 % C) by the lever rule from the carbon of austenite."""
    state = carbides.equilibrium(Composition(C=1.4), celsius)
    dissolved = state.matrix["C"]
    mass = 100.0 * (1.4 - dissolved) / (6.67 - dissolved)
    assert {p for p, v in state.volume.items() if v > 0.0} == {"M3C"}
    # cementite 7.69 g/cm3 beside martensite 7.75 g/cm3: volume and mass per cent agree within 2 %
    assert state.volume["M3C"] == pytest.approx(mass, rel=0.02)
    # Fe-C diagram: 0.77 % at 727 C to 2.11 % at 1148 C, slightly hollow
    straight = 0.77 + (celsius - 727.0) / (1148.0 - 727.0) * (2.11 - 0.77)
    assert straight - 0.15 < dissolved < straight + 0.05


def test_steel_below_the_eutectoid_has_no_carbide(carbides: CarbideModel) -> None:
    assert carbides.equilibrium(Composition(C=0.6, Mn=0.8), 830.0).total == 0.0


def test_hotter_dissolves_more(carbides: CarbideModel) -> None:
    for steel in (D2, STAINLESS, HIGH_SPEED, NITROGEN):
        totals = [carbides.equilibrium(steel, t).total for t in (980.0, 1030.0, 1080.0, 1130.0)]
        assert totals == sorted(totals, reverse=True)


def test_hardened_lags_behind_equilibrium(carbides: CarbideModel) -> None:
    lag = carbides.practice.lag_celsius
    assert carbides.hardened(D2, 1030.0).total == pytest.approx(carbides.equilibrium(D2, 1030.0 - lag).total)


def test_cementite_is_left_by_a_usual_soak(carbides: CarbideModel) -> None:
    """52100 type: 4 to 8 % cementite, 0.55 to 0.7 % dissolved carbon (bearing literature, recalled)."""
    state = carbides.hardened(BALL, 845.0)
    assert 4.0 < state.volume["M3C"] < 8.0
    assert 0.55 < state.matrix["C"] < 0.70
    assert carbides.equilibrium(BALL, 845.0).volume["M3C"] < state.volume["M3C"]
    assert any("undissolved" in note for note in state.notes)


def test_stainless_goes_by_what_is_dissolved(carbides: CarbideModel) -> None:
    assert carbides.hardened(STAINLESS, 1050.0).stainless == "yes"
    assert carbides.hardened(D2, 1030.0).stainless == "no"
    # 20 % chromium, but 3 % carbon binds most of it
    bound = parse_composition("C 3.0, Si 0.4, Mn 0.5, Cr 20, Mo 1.4, W 0.6")
    assert carbides.hardened(bound, 1050.0, "powder").stainless == "no"


def test_size_class_follows_process(carbides: CarbideModel) -> None:
    assert carbides.hardened(D2, 1030.0, "ingot").size_class == "coarse"
    powder = carbides.hardened(D2, 1030.0, "powder")
    assert powder.size_class == "fine"
    assert powder.size_reason
    assert carbides.hardened(Composition(C=0.75, Mn=0.5), 815.0).size_class == "very-fine"


def test_nitrogen_goes_into_nitrides(carbides: CarbideModel) -> None:
    steel = parse_composition("C 0.36, Si 0.3, Mn 0.3, Cr 18.2, Mo 1.1, V 3.5, N 1.55")
    state = carbides.hardened(steel, 1080.0, "powder")
    assert state.nitride_share > 0.8
    free = carbides.hardened(D2, 1030.0)
    assert (free.nitride_share, free.volume["M2N"]) == (0.0, 0.0)
    assert carbides.hardened(NITROGEN, 1030.0).volume["M2N"] > 0.0


def test_a_trace_of_nitrogen_stays_in_solution(carbides: CarbideModel) -> None:
    steel = Composition(C=0.6, Cr=13.5, N=0.02)
    assert carbides.hardened(steel, 1060.0).matrix["N"] == pytest.approx(0.02, rel=0.1)


def test_missing_temperature_is_assumed_and_said(carbides: CarbideModel) -> None:
    state = carbides.hardened(STAINLESS)
    assert state.temperature_C == 1050.0
    assert any("No hardening temperature" in note for note in state.notes)
    assert not carbides.hardened(STAINLESS, 1050.0).notes or all(
        "No hardening temperature" not in note for note in carbides.hardened(STAINLESS, 1050.0).notes
    )


def test_ignored_elements_are_said(carbides: CarbideModel) -> None:
    state = carbides.hardened(parse_composition("C 1, Cu 0.3"), 800.0)
    assert any("counted as iron" in note for note in state.notes)


def test_every_state_carries_its_error(carbides: CarbideModel) -> None:
    for steel in (D2, BALL, STAINLESS, HIGH_SPEED, NITROGEN):
        state = carbides.hardened(steel)
        assert state.error_total > 0.0
        assert all(state.error_by_family[p] > 0.0 for p, v in state.volume.items() if v > 0.0)
    # the model is weaker for high-speed steel than for a chromium steel of the same carbide volume
    assert carbides.hardened(HIGH_SPEED).error_total > carbides.hardened(D2).error_total


@pytest.mark.parametrize(
    ("text", "celsius", "field"),
    [
        ("C 1", 500.0, "hardening_temperature"),
        ("C 1", 1400.0, "hardening_temperature"),
        ("C 1", float("nan"), "hardening_temperature"),
        ("C 0.05", 1000.0, "composition"),
        ("C 1, Ni 30", 1000.0, "composition"),
        ("C 1, Cr 28", 1000.0, "composition"),
        ("C 5", 1000.0, "composition"),
        ("C 1, Cr 24, Co 12, Mo 12, W 18", 1000.0, "composition"),
        ("C 0.5, N 2", 900.0, "composition"),
    ],
)
def test_out_of_range_is_refused(carbides: CarbideModel, text: str, celsius: float, field: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        carbides.hardened(parse_composition(text), celsius)
    assert caught.value.field == field
    assert caught.value.hint


def test_unknown_process_is_refused(carbides: CarbideModel) -> None:
    with pytest.raises(OutOfRangeError, match="use one of: ingot, powder, remelted") as caught:
        carbides.hardened(D2, 1030.0, "forged")
    assert caught.value.field == "process"


def test_incomplete_data_are_an_error(knowledge: dict[str, Any]) -> None:
    constants = copy.deepcopy(knowledge["carbide_model.json"])
    del constants["carbide"]
    with pytest.raises(KnowledgeError, match="carbide"):
        CarbideModel(constants, knowledge["carbide_model"])
    practice = copy.deepcopy(knowledge["carbide_model"])
    practice["range"]["celsius"] = ["warm", "hot"]
    with pytest.raises(KnowledgeError, match="incomplete"):
        CarbideModel(knowledge["carbide_model.json"], practice)


def test_usual_temperatures_of_common_grades(carbides: CarbideModel) -> None:
    """Data-sheet temperatures, recalled; the rule of thumb is good to about 30 C (two spreads allowed)."""
    sheets = {D2: 1020, BALL: 845, STAINLESS: 1050, HIGH_SPEED: 1210, Composition(C=0.95, Mn=0.4): 800}
    for steel, celsius in sheets.items():
        assert carbides.practice.usual_temperature(steel) == pytest.approx(celsius, abs=60)


def test_fast_enough_to_answer_questions(carbides: CarbideModel, published: dict[str, Any]) -> None:
    """Processor time; the bounds are four times what an idle machine needs, so that a busy one passes."""
    steels = {
        False: [D2, BALL, STAINLESS, HIGH_SPEED],
        True: [NITROGEN, parse_composition("C 1.9, Cr 20, Mo 1, V 4, N 0.05, Si 0.7")],
    }
    for nitrogen, bound in ((False, 2.8e-3), (True, 8e-3)):
        for steel in steels[nitrogen]:
            begin = time.process_time()
            for _ in range(20):
                carbides.hardened(steel, 1050.0)
            assert (time.process_time() - begin) / 20.0 < bound


def test_stored_equilibria_are_compositions_of_steel(published: dict[str, Any]) -> None:
    stored = published["carbides_equilibria"]
    assert len(stored["equilibria"]) > 300
    for entry in stored["equilibria"]:
        assert sum(entry["matrix"].values()) == pytest.approx(100.0, abs=0.05)
        assert composition_from_mapping(entry["composition"]).iron > 50.0
