"""Constants of the ideal-solution carbide equilibrium, read from already parsed data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.errors import KnowledgeError

FAMILIES = ("MC", "M7C3", "M23C6", "M6C", "M3C", "M2N")
METALS = ("Fe", "Si", "Mn", "Cr", "Mo", "W", "V", "Nb", "Co", "Ni")

Pair = tuple[float, float]
ByMetal = Mapping[str, Pair]


@dataclass(frozen=True)
class SolutionTerms:
    """Activity of carbon or nitrogen in austenite.

    ln A = ln(y / (1 - y)) + constant[0] + constant[1] / T + self_term y + other_term y'
           + sum_i metals[i] X_i / T

    with y atoms of the interstitial element per metal atom, y' those of the other one, T in kelvin.
    """

    constant: Pair
    self_term: float
    other_term: float
    metals: Mapping[str, float]


@dataclass(frozen=True)
class CarbideConstants:
    """Everything the equilibrium needs.

    Attributes:
        carbon: activity of carbon in austenite; its other_term is the effect of dissolved nitrogen.
        nitrogen: activity of nitrogen; its other_term multiplies the carbon content of the steel.
        carbide: ln K = a + b/T of each metal in each carbide family at carbon activity 1.
        nitride: the same for nitrogen in MC (as MX) and for M2N.
        carbon_exponent, nitrogen_exponent: power of the activity that multiplies K.
        carbon_per_metal, nitrogen_per_metal: atoms per metal atom in each family.
        molar_volume: cm3 per mole of metal atoms of each family but MC.
        mc_molar_volume: the same for MC by metal; "other" serves the rest.
        matrix_molar_volume: constant and slope against carbon plus nitrogen atoms per metal atom.
        log_nitrogen_activity: range of ln A_N that is searched.
        smallest_nitrogen: wt % below which all nitrogen counts as dissolved.
    """

    carbon: SolutionTerms
    nitrogen: SolutionTerms
    carbide: Mapping[str, ByMetal]
    nitride: Mapping[str, ByMetal]
    carbon_exponent: Mapping[str, float]
    nitrogen_exponent: Mapping[str, float]
    carbon_per_metal: Mapping[str, float]
    nitrogen_per_metal: Mapping[str, float]
    molar_volume: Mapping[str, float]
    mc_molar_volume: Mapping[str, float]
    matrix_molar_volume: Pair
    log_nitrogen_activity: Pair
    smallest_nitrogen: float


def carbide_constants(data: Mapping[str, Any]) -> CarbideConstants:
    """Build the constants from the parsed ``rules/metallurgy/carbide_model.json``.

    Raises:
        KnowledgeError: an entry is missing or is no number.
    """
    try:
        volumes = dict(data["molar_volume"])
        return CarbideConstants(
            carbon=_solution(data["austenite_carbon"], "nitrogen"),
            nitrogen=_solution(data["austenite_nitrogen"], "carbon"),
            carbide={family: _pairs(table) for family, table in data["carbide"].items()},
            nitride={family: _pairs(table) for family, table in data["nitride"].items()},
            carbon_exponent=_floats(data["carbon_exponent"]),
            nitrogen_exponent=_floats(data["nitrogen_exponent"]),
            carbon_per_metal=_floats(data["carbon_per_metal"]),
            nitrogen_per_metal=_floats(data["nitrogen_per_metal"]),
            mc_molar_volume=_floats(volumes.pop("MC")),
            matrix_molar_volume=_pair(volumes.pop("matrix")),
            molar_volume=_floats(volumes),
            log_nitrogen_activity=_pair(data["log_nitrogen_activity"]),
            smallest_nitrogen=float(data["smallest_nitrogen"]),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        raise KnowledgeError(
            f"the carbide constants are incomplete or not numbers ({type(problem).__name__}: {problem})",
            hint="restore rules/metallurgy/carbide_model.json or run the refit",
        ) from problem


def _solution(data: Mapping[str, Any], other: str) -> SolutionTerms:
    return SolutionTerms(
        constant=_pair(data["constant"]),
        self_term=float(data["self"]) if "self" in data else 0.0,
        other_term=float(data[other]),
        metals=_floats(data["elements"]),
    )


def _pair(values: Any) -> Pair:
    first, second = values
    return float(first), float(second)


def _pairs(table: Mapping[str, Any]) -> dict[str, Pair]:
    return {symbol: _pair(values) for symbol, values in table.items()}


def _floats(table: Mapping[str, Any]) -> dict[str, float]:
    return {str(key): float(value) for key, value in table.items()}
