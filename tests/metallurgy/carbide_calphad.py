"""Full equilibria with pycalphad and the open steel database of its source distribution.

The database (ODbL 1.0, see rules/metallurgy/NOTICE) is not part of this project.  Get it with

    pip download --no-deps --no-binary pycalphad pycalphad==0.11.2

and unpack ``examples/mc_fe_v2.059.pycalphad.tdb`` from the archive.  Ferrite and graphite are left out, so
that the answer is austenite with its carbides at the hardening temperature.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from math import isnan, log
from pathlib import Path
from typing import Any

from advisor.metallurgy.carbide_constants import CarbideConstants
from advisor.metallurgy.composition import ATOMIC_WEIGHT, Composition

DATABASE_NAME = "mc_fe_v2.059.pycalphad.tdb"
GAS_CONSTANT = 8.314462618
PHASES = ("FCC_A1", "HCP_A3", "CEMENTITE", "M7C3", "M23C6", "M6C", "KSI_CARBIDE", "WC")
FAMILY = {
    "CEMENTITE": "M3C",
    "M7C3": "M7C3",
    "M23C6": "M23C6",
    "M6C": "M6C",
    "KSI_CARBIDE": "M6C",
    "WC": "MC",
}
_SMALLEST_AMOUNT = 1e-6


def database_path() -> Path | None:
    """Return the database named by the environment variable STEEL_TDB, if it is there."""
    path = Path(os.environ.get("STEEL_TDB", DATABASE_NAME))
    return path if path.is_file() else None


def load_database(path: Path) -> Any:
    """Read the database; takes a few seconds."""
    from pycalphad import Database

    return Database(str(path))


def equilibrium(database: Any, composition: Composition, celsius: float) -> dict[str, Any]:
    """Compute one equilibrium; a few seconds each.

    Returns:
        phases: list of {family, amount (mol metal per mol of all atoms), x (atom fractions)}, and the
        logarithms of the activities of carbon (graphite) and nitrogen (chemical potential over RT).
    """
    from pycalphad import equilibrium as minimise
    from pycalphad import variables as v

    moles = {s.upper(): composition.get(s) / ATOMIC_WEIGHT[s] for s in (*composition.as_dict(), "Fe")}
    total = sum(moles.values())
    kelvin = celsius + 273.15
    conditions = {v.T: kelvin, v.P: 101325, v.N: 1}
    conditions.update({v.X(s): m / total for s, m in moles.items() if s != "FE"})
    found = minimise(database, [*sorted(moles), "VA"], list(PHASES), conditions, calc_opts={"pdens": 300})
    names = [str(name) for name in found.component.values]
    phases = []
    columns = (found.Phase.values.ravel(), found.NP.values.ravel(), found.X.values.reshape(-1, len(names)))
    for phase, amount, fractions in zip(*columns, strict=True):
        if phase and not isnan(amount) and amount > _SMALLEST_AMOUNT:
            x = {s.capitalize(): float(f) for s, f in zip(names, fractions, strict=True)}
            metal = 1.0 - x.get("C", 0.0) - x.get("N", 0.0)
            phases.append({"family": _family(str(phase), x), "amount": float(amount) * metal, "x": x})
    potential = dict(zip(names, found.MU.values.ravel(), strict=True))
    activity = {"C": float(potential["C"] - graphite_energy(kelvin)) / (GAS_CONSTANT * kelvin)}
    if "N" in potential:
        activity["N"] = float(potential["N"]) / (GAS_CONSTANT * kelvin)
    return {"phases": phases, "log_activity": activity}


def _family(phase: str, x: Mapping[str, float]) -> str:
    if phase == "FCC_A1":
        return "austenite" if x["Fe"] > 0.5 else "MC"
    if phase == "HCP_A3":
        # hexagonal carbide counts with M6C, which it turns into
        return "M2N" if x.get("N", 0.0) > x.get("C", 0.0) else "M6C"
    return FAMILY[phase]


def graphite_energy(kelvin: float) -> float:
    """Return the Gibbs energy of graphite, J/mol (SGTE unary data, Calphad 15 (1991) 317-425)."""
    return (
        -17368.441
        + 170.73 * kelvin
        - 24.3 * kelvin * log(kelvin)
        - 4.723e-4 * kelvin**2
        + 2562600.0 / kelvin
        - 2.643e8 / kelvin**2
        + 1.2e10 / kelvin**3
    )


def stored_form(
    steel: str, composition: Composition, celsius: float, raw: Mapping[str, Any], constants: CarbideConstants
) -> dict[str, Any] | None:
    """Turn one equilibrium into an entry of ``carbides_equilibria.json``; None without a single austenite."""
    austenite = [p for p in raw["phases"] if p["family"] == "austenite"]
    if len(austenite) != 1:
        return None
    x = austenite[0]["x"]
    metal = 1.0 - x.get("C", 0.0) - x.get("N", 0.0)
    interstitials = (x.get("C", 0.0) + x.get("N", 0.0)) / metal
    first, slope = constants.matrix_molar_volume
    parts: dict[str, float] = {}
    metals: dict[str, dict[str, float]] = {}
    nitride = 0.0
    for phase in raw["phases"]:
        family, y = phase["family"], _metal_fractions(phase["x"])
        if family == "austenite":
            continue
        volume = phase["amount"] * _molar_volume(family, y, constants)
        if volume > parts.get(family, 0.0):
            metals[family] = y
        parts[family] = parts.get(family, 0.0) + volume
        if family == "MC":
            share = phase["x"].get("N", 0.0) / (phase["x"].get("N", 0.0) + phase["x"].get("C", 0.0))
            nitride += volume * share
    whole = sum(parts.values()) + austenite[0]["amount"] * (first + slope * interstitials)
    mass = {s: fraction * ATOMIC_WEIGHT[s] for s, fraction in x.items() if s in ATOMIC_WEIGHT}
    entry = {
        "steel": steel,
        "celsius": celsius,
        "composition": composition.as_dict(),
        "volume": {p: round(100.0 * volume / whole, 3) for p, volume in sorted(parts.items())},
        "nitride_share": round(nitride / parts["MC"], 4) if parts.get("MC") else 0.0,
        "matrix": {s: _digits(100.0 * m / sum(mass.values())) for s, m in mass.items() if m > 1e-7},
        "metals": {p: {s: _digits(v) for s, v in y.items() if v > 1e-5} for p, y in sorted(metals.items())},
        "log_activity": {s: round(value, 4) for s, value in raw["log_activity"].items()},
    }
    return entry


def _metal_fractions(x: Mapping[str, float]) -> dict[str, float]:
    metals = {s: fraction for s, fraction in x.items() if s not in ("C", "N") and s in ATOMIC_WEIGHT}
    total = sum(metals.values())
    return {s: fraction / total for s, fraction in metals.items()}


def _molar_volume(family: str, y: Mapping[str, float], constants: CarbideConstants) -> float:
    if family != "MC":
        return constants.molar_volume[family]
    table = constants.mc_molar_volume
    return sum(table.get(s, table["other"]) * fraction for s, fraction in y.items())


def _digits(value: float) -> float:
    return float(f"{value:.4g}")
