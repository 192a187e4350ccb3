"""Equilibrium between austenite and its carbides by an ideal-solution model.

Each family p is an ideal mixture of metals on one sublattice.  The fraction of metal i in it is

    y_i = X_i exp(a_pi + b_pi / T) A_C^nu_p        (MC adds a nitrogen term, M2N has only that)

and the family is present when the fractions add up to 1.  X_i are the metal fractions of austenite, A_C and
A_N the activities.  The metals are shared by ``flash.share``; carbon and nitrogen are balanced by a root
search in the logarithms of the activities (``balance``, ``search``).
"""

from __future__ import annotations

from dataclasses import dataclass

from advisor.metallurgy.balance import Balance
from advisor.metallurgy.carbide_constants import CarbideConstants
from advisor.metallurgy.composition import Composition
from advisor.metallurgy.search import settle

ZERO_CELSIUS = 273.15
_PRESENT = 1e-7


@dataclass(frozen=True)
class Equilibrium:
    """What coexists at one temperature, per mole of metal in the steel.

    Attributes:
        amount: moles of metal in each present family.
        metals: metal fractions in each family, sum 1; what it would contain where absent.
        saturation: sum of the fractions an absent family would have; 1 where it is present.
        austenite: metal fractions of austenite.
        carbon, nitrogen: atoms dissolved in austenite per metal atom of it.
        nitride_share: share of nitrogen among the metalloid atoms of MC, 0 to 1.
        log_carbon_activity: ln A_C on the scale of the fitted database.
    """

    amount: dict[str, float]
    metals: dict[str, dict[str, float]]
    saturation: dict[str, float]
    austenite: dict[str, float]
    carbon: float
    nitrogen: float
    nitride_share: float
    log_carbon_activity: float


def solve_equilibrium(constants: CarbideConstants, composition: Composition, temperature_C: float) -> Equilibrium:
    """Solve the metal, carbon and nitrogen balances of one steel at one temperature."""
    balance = Balance(constants, composition, temperature_C + ZERO_CELSIUS)
    settle(balance)
    amounts = zip(balance.families, balance.amounts, strict=True)
    present = {p: n for p, n in amounts if n > _PRESENT}
    fractions = {
        p: [k * x for k, x in zip(row, balance.x, strict=True)]
        for p, row in zip(balance.families, balance.factors, strict=True)
    }
    sums = {p: sum(row) for p, row in fractions.items()}
    return Equilibrium(
        amount=present,
        metals={
            p: dict(zip(balance.symbols, (y / max(sums[p], 1e-30) for y in row), strict=True))
            for p, row in fractions.items()
        },
        saturation={p: min(total, 1.0) for p, total in sums.items()},
        austenite=dict(zip(balance.symbols, balance.x, strict=True)),
        carbon=balance.y_c,
        nitrogen=balance.y_n,
        nitride_share=balance.nitride_share if "MC" in present else 0.0,
        log_carbon_activity=balance.log_c,
    )
