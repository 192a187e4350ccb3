"""Cementite left undissolved by a usual soak."""

from __future__ import annotations

from dataclasses import replace

from advisor.metallurgy.carbide_constants import CarbideConstants
from advisor.metallurgy.composition import ATOMIC_WEIGHT, Composition
from advisor.metallurgy.equilibrium import Equilibrium
from advisor.metallurgy.hardening import HardeningPractice

_PASSES = 60


def retain_cementite(
    solved: Equilibrium,
    constants: CarbideConstants,
    composition: Composition,
    practice: HardeningPractice,
) -> Equilibrium:
    """Return the state with dissolved carbon held below its equilibrium value.

    Ferrite disappears when austenite holds about 0.57 wt % carbon; the remaining cementite then dissolves
    slowly, and only a share of the way to equilibrium is covered.  The other carbides stay as they are;
    cementite takes the remaining carbon.
    Returns ``solved`` itself where the equilibrium carbon is not above that value.
    """
    weight = sum(x * ATOMIC_WEIGHT[s] for s, x in solved.austenite.items())
    carbon_mass = solved.carbon * ATOMIC_WEIGHT["C"]
    equilibrium_wt = 100.0 * carbon_mass / (weight + carbon_mass)
    start = practice.carbon_at_ferrite_end
    if equilibrium_wt <= start:
        return solved
    dissolved_wt = start + practice.cementite_approach * (equilibrium_wt - start)
    dissolved = dissolved_wt / (100.0 - dissolved_wt) * weight / ATOMIC_WEIGHT["C"]
    others = {p: amount for p, amount in solved.amount.items() if p != "M3C"}
    before = solved.amount.get("M3C", 0.0)
    austenite = 1.0 - sum(solved.amount.values())
    in_cementite = constants.carbon_per_metal["M3C"]
    # carbon of austenite plus cementite is conserved while metal moves from one to the other
    amount = before + austenite * (solved.carbon - dissolved) / (in_cementite - dissolved)
    left = austenite + before - amount
    matrix, metals = _partition(solved, austenite, before, left, amount)
    return replace(
        solved,
        amount={**others, "M3C": amount},
        metals={**solved.metals, "M3C": metals},
        saturation={**solved.saturation, "M3C": 1.0},
        austenite=matrix,
        carbon=dissolved,
        nitrogen=solved.nitrogen * austenite / left,
    )


def _partition(
    solved: Equilibrium, austenite: float, before: float, left: float, amount: float
) -> tuple[dict[str, float], dict[str, float]]:
    """Share the metals of austenite and cementite between their new amounts.

    The ratios of the fractions in both stay those of equilibrium, up to the factor that makes the fractions
    of cementite add up to 1.
    """
    old = solved.metals["M3C"]
    ratio = {s: old[s] / x for s, x in solved.austenite.items()}
    both = {s: x * austenite + before * old[s] for s, x in solved.austenite.items()}
    factor = 1.0
    for _ in range(_PASSES):
        matrix = {s: metal / (left + amount * factor * ratio[s]) for s, metal in both.items()}
        total = sum(factor * ratio[s] * x for s, x in matrix.items())
        factor /= total
        if abs(total - 1.0) < 1e-9:
            break
    # both sums are 1 only to the accuracy of the passes; cementite takes what austenite leaves
    cementite = {s: (metal - left * matrix[s]) / amount for s, metal in both.items()}
    return matrix, cementite
