"""The carbide model against full equilibria of an open thermodynamic database, computed on the spot.

Slow (a few seconds each) and optional: needs pycalphad and the database of its source distribution, whose
path the environment variable STEEL_TDB names (see carbide_calphad).  Ten standard grades, near
those the constants were fitted to, and ten compositions of this test's own, which the fit did not see.
Tolerances, vol %: total 2.5 (4 with nitrogen), matrix carbon 0.1, matrix chromium 1.2 wt %.
"""

from __future__ import annotations

import importlib.util
from typing import Any

import carbide_calphad as calphad
import pytest

from advisor.metallurgy.carbide_constants import carbide_constants
from advisor.metallurgy.carbides import CarbideModel
from advisor.metallurgy.composition import parse_composition

GRADES = [
    ("D2", "C 1.55, Si 0.35, Mn 0.35, Cr 11.6, Mo 0.8, V 0.9", 1030),
    ("A2", "C 1.0, Si 0.3, Mn 0.8, Cr 5.25, Mo 1.1, V 0.2", 960),
    ("440C", "C 1.05, Si 0.5, Mn 0.5, Cr 17, Mo 0.5", 1060),
    ("52100", "C 1.0, Si 0.25, Mn 0.35, Cr 1.45", 845),
    ("O1", "C 0.95, Si 0.3, Mn 1.2, Cr 0.5, W 0.5, V 0.2", 800),
    ("M2", "C 0.87, Si 0.3, Mn 0.3, Cr 4.1, Mo 5.0, W 6.3, V 1.9", 1200),
    ("A11", "C 2.45, Si 0.9, Mn 0.5, Cr 5.25, Mo 1.3, V 9.75", 1120),
    ("X46Cr13", "C 0.465, Si 0.5, Mn 0.5, Cr 13.5", 1030),
    ("X50CrMoV15", "C 0.5, Si 0.5, Mn 0.5, Cr 14.5, Mo 0.65, V 0.15", 1040),
    ("X30CrMoN15-1", "C 0.3, Si 0.6, Mn 0.4, Cr 15.2, Mo 1.0, N 0.4", 1030),
]
OWN = [
    ("high carbon, low chromium", "C 1.3, Si 0.3, Mn 0.4, Cr 0.6", 810),
    ("tungsten finishing steel", "C 1.2, Si 0.25, Mn 0.3, Cr 0.4, W 1.6", 820),
    ("8 % chromium, 2.4 % vanadium", "C 1.15, Si 0.9, Mn 0.4, Cr 7.8, Mo 1.5, V 2.4", 1060),
    ("6 % vanadium", "C 1.8, Si 0.6, Mn 0.4, Cr 5.0, Mo 2.5, V 6.0", 1080),
    ("12 % chromium, high carbon", "C 1.9, Si 0.4, Mn 0.4, Cr 12.5, Mo 0.6", 990),
    ("14 % chromium, 3 % molybdenum", "C 0.95, Si 0.4, Mn 0.4, Cr 14.2, Mo 3.0", 1070),
    ("16 % chromium, 2 % vanadium", "C 1.35, Si 0.5, Mn 0.4, Cr 16.0, Mo 1.2, V 2.0", 1090),
    ("molybdenum high-speed steel", "C 0.95, Si 0.3, Mn 0.3, Cr 4.0, Mo 8.0, W 1.8, V 1.6", 1180),
    ("niobium stainless", "C 0.75, Si 0.4, Mn 0.4, Cr 13.0, Mo 1.0, V 0.5, Nb 0.9", 1070),
    ("nitrogen strip steel", "C 0.55, Si 0.4, Mn 0.5, Cr 14.5, N 0.12", 1060),
]

pytestmark = [
    pytest.mark.slow,
    # warnings of the optional library are none of ours
    pytest.mark.filterwarnings("ignore"),
    pytest.mark.skipif(
        importlib.util.find_spec("pycalphad") is None or calphad.database_path() is None,
        reason="needs pycalphad and its database; set STEEL_TDB",
    ),
]


@pytest.fixture(scope="module")
def database() -> Any:
    path = calphad.database_path()
    assert path is not None
    return calphad.load_database(path)


@pytest.mark.parametrize(("name", "text", "celsius"), GRADES + OWN, ids=[n for n, _, _ in GRADES + OWN])
def test_model_reproduces_the_database(
    database: Any, carbides: CarbideModel, knowledge: dict[str, Any], name: str, text: str, celsius: float
) -> None:
    composition = parse_composition(text)
    constants = carbide_constants(knowledge["carbide_model.json"])
    raw = calphad.equilibrium(database, composition, celsius)
    entry = calphad.stored_form(name, composition, celsius, raw, constants)
    assert entry is not None
    state = carbides.equilibrium(composition, celsius)
    total = state.total - sum(entry["volume"].values())
    carbon = state.matrix["C"] - entry["matrix"]["C"]
    chromium = state.matrix["Cr"] - entry["matrix"].get("Cr", 0.0)
    print(f"{name}: total {total:+.2f} vol %, matrix C {carbon:+.3f}, Cr {chromium:+.2f} wt %")
    assert abs(total) < (4.0 if composition.N else 2.5)
    assert abs(carbon) < 0.1
    assert abs(chromium) < 1.2
