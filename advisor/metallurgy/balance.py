"""Carbon and nitrogen held by a steel at given activities, with the slopes that the root search needs."""

from __future__ import annotations

from math import exp, log
from operator import mul

from advisor.metallurgy.carbide_constants import (
    FAMILIES,
    METALS,
    ByMetal,
    CarbideConstants,
    Pair,
    SolutionTerms,
)
from advisor.metallurgy.composition import ATOMIC_WEIGHT, Composition
from advisor.metallurgy.flash import Vector, share, solve_linear
from advisor.metallurgy.roots import site_fraction


class Balance:
    """One steel at one temperature.

    ``share_metals`` and ``place`` set the state; afterwards these attributes describe it, per mole of metal
    in the steel:

        families, symbols: names of the carbide families and metals, in the order of all vectors.
        amounts: moles of metal in each family.
        x: metal fractions of austenite.
        factors: K of each family and metal at the final activities.
        y_c, y_n: carbon and nitrogen atoms per metal atom of austenite.
        nitride_share: share of nitrogen among the metalloid atoms of MC.
        log_c, log_n: ln of the activities.
        carbon_held, nitrogen_held: content at these activities; total_c and total_n are the steel's.
    """

    def __init__(self, constants: CarbideConstants, composition: Composition, kelvin: float) -> None:
        self.constants = constants
        self.kelvin = kelvin
        moles = {s: composition.get(s) / ATOMIC_WEIGHT[s] for s in METALS}
        moles["Fe"] += sum(value for _, value in composition.ignored) / ATOMIC_WEIGHT["Fe"]
        self.symbols = [s for s in METALS if moles[s] > 0.0]
        total = sum(moles.values())
        self.z = [moles[s] / total for s in self.symbols]
        carbon, nitrogen = (composition.get(s) / ATOMIC_WEIGHT[s] / total for s in ("C", "N"))
        self.total_c = max(carbon, 1e-9)
        self.total_n = nitrogen
        self.with_nitrogen = composition.get("N") >= constants.smallest_nitrogen
        self.families = FAMILIES if self.with_nitrogen else FAMILIES[:-1]
        self._k_carbon = [self._factors_at_one(constants.carbide.get(p)) for p in self.families]
        self._k_nitrogen = [self._factors_at_one(constants.nitride.get(p)) for p in ("MC", "M2N")]
        self._exponents = [constants.carbon_exponent.get(p, 0.0) for p in self.families]
        self._carbon_in = [constants.carbon_per_metal.get(p, 0.0) for p in self.families]
        self._nitrogen_in = [constants.nitrogen_per_metal.get(p, 0.0) for p in self.families]
        self._offset_c, self._slopes_c = self._solution_terms(constants.carbon)
        self._offset_n, self._slopes_n = self._solution_terms(constants.nitrogen)
        self._offset_n += constants.nitrogen.other_term * self.total_c
        self.amounts: Vector = [0.0] * len(self.families)
        self._trend_c: Vector = self.amounts
        self._trend_n: Vector = self.amounts
        self.log_c = self.log_n = 0.0
        self.y_n = self.nitride_share = self.nitrogen_held = 0.0

    def log_n_dissolved(self) -> float:
        """Return ln A_N if all nitrogen were dissolved in austenite of the steel's own metals."""
        slope_sum: float = sum(map(mul, self._slopes_n, self.z))
        return log(self.total_n) + self._offset_n + slope_sum

    def _factors_at_one(self, table: ByMetal | None) -> Vector:
        pairs = table or {}
        return [exp(pairs[s][0] + pairs[s][1] / self.kelvin) if s in pairs else 0.0 for s in self.symbols]

    def _solution_terms(self, terms: SolutionTerms) -> tuple[float, Vector]:
        first, second = terms.constant
        return first + second / self.kelvin, [terms.metals.get(s, 0.0) / self.kelvin for s in self.symbols]

    @property
    def overfull(self) -> bool:
        """Whether these activities leave next to no austenite, so that contents have no meaning."""
        return sum(self.amounts) > 0.95

    def share_metals(self, log_c: float, log_n: float) -> None:
        """Share the metals at these activities, starting from the last amounts."""
        shift_c, shift_n = log_c - self.log_c, log_n - self.log_n
        start = [
            max(0.0, n + c * shift_c + m * shift_n) if n > 0.0 else 0.0
            for n, c, m in zip(self.amounts, self._trend_c, self._trend_n, strict=True)
        ]
        self._set_activities(log_c, log_n)
        self.amounts, self.x = share(self.z, self.excess, start)
        self._hold()

    def place(self, amounts: Vector, log_c: float, log_n: float) -> None:
        """Take these amounts and activities as they are, balanced or not."""
        self._set_activities(log_c, log_n)
        self.amounts = amounts
        denominators = [1.0] * len(self.z)
        for amount, row in zip(amounts, self.excess, strict=True):
            denominators = [d + amount * e for d, e in zip(denominators, row, strict=True)]
        self.x = [zi / d for zi, d in zip(self.z, denominators, strict=True)]
        self._hold()

    def _set_activities(self, log_c: float, log_n: float) -> None:
        self.log_c, self.log_n = log_c, log_n
        powers = [exp(nu * log_c) for nu in self._exponents]
        factors = [[k * a for k in row] for row, a in zip(self._k_carbon, powers, strict=True)]
        self._mc_carbon = factors[0]
        if self.with_nitrogen:
            exponent = self.constants.nitrogen_exponent
            mx, m2n = exp(exponent["MC"] * log_n), exp(exponent["M2N"] * log_n)
            self._mc_nitrogen = [k * mx for k in self._k_nitrogen[0]]
            factors[0] = [a + b for a, b in zip(self._mc_carbon, self._mc_nitrogen, strict=True)]
            factors[-1] = [k * m2n for k in self._k_nitrogen[1]]
        self.factors = factors
        self.excess = [[k - 1.0 for k in row] for row in factors]

    def _hold(self) -> None:
        """Set what austenite and carbides hold of carbon and nitrogen."""
        austenite = 1.0 - sum(self.amounts)
        if self.overfull:
            return
        if self.with_nitrogen:
            self._hold_nitrogen(austenite)
        else:
            self.y_n = self.total_n / austenite
        terms = self.constants.carbon
        right = self.log_c - self._offset_c - sum(map(mul, self._slopes_c, self.x))
        self.y_c = site_fraction(right - terms.other_term * self.y_n, terms.self_term)
        per_family = list(map(mul, self.amounts, self._carbon_in))
        per_family[0] *= 1.0 - self.nitride_share
        self.carbon_held = austenite * self.y_c + sum(per_family)

    def _hold_nitrogen(self, austenite: float) -> None:
        right = self.log_n - self._offset_n - sum(map(mul, self._slopes_n, self.x))
        self.y_n = site_fraction(right, self.constants.nitrogen.self_term)
        self._mx_carbon = sum(map(mul, self._mc_carbon, self.x))
        self._mx_nitrogen = sum(map(mul, self._mc_nitrogen, self.x))
        self.nitride_share = self._mx_nitrogen / (self._mx_carbon + self._mx_nitrogen)
        per_family = list(map(mul, self.amounts, self._nitrogen_in))
        per_family[0] *= self.nitride_share
        self.nitrogen_held = austenite * self.y_n + sum(per_family)

    def slopes(self, *, by_carbon: bool) -> Pair:
        """Return the slopes of carbon and nitrogen held against ln A_C or ln A_N, the metals following."""
        d_amounts, d_x = self._response(self.gains(by_carbon=by_carbon))
        if by_carbon:
            self._trend_c = d_amounts
        else:
            self._trend_n = d_amounts
        return self.held_slopes(d_amounts, d_x, float(by_carbon), float(not by_carbon))

    def held_slopes(self, d_amounts: Vector, d_x: Vector, d_log_c: float, d_log_n: float) -> Pair:
        """Return the change of carbon and nitrogen held for small changes of the whole state."""
        constants = self.constants
        austenite, d_austenite = 1.0 - sum(self.amounts), -sum(d_amounts)
        d_mx_n, d_y_n, d_nitrogen = d_amounts[0] * self.nitride_share, 0.0, 0.0
        if self.with_nitrogen:
            stiffness = 1.0 / (self.y_n * (1.0 - self.y_n)) + constants.nitrogen.self_term
            d_y_n = (d_log_n - sum(map(mul, self._slopes_n, d_x))) / stiffness
            d_mx_n += self.amounts[0] * self._share_slope(d_x, d_log_c, d_log_n)
            d_nitrogen = d_austenite * self.y_n + austenite * d_y_n
            d_nitrogen += d_mx_n * self._nitrogen_in[0] + d_amounts[-1] * self._nitrogen_in[-1]
        stiffness = 1.0 / (self.y_c * (1.0 - self.y_c)) + constants.carbon.self_term
        d_y_c = d_log_c - sum(map(mul, self._slopes_c, d_x)) - constants.carbon.other_term * d_y_n
        d_carbon = d_austenite * self.y_c + austenite * d_y_c / stiffness
        d_carbon += sum(map(mul, d_amounts, self._carbon_in)) - d_mx_n * self._carbon_in[0]
        return d_carbon, d_nitrogen

    def _share_slope(self, d_x: Vector, d_log_c: float, d_log_n: float) -> float:
        """Return the change of the nitride share of MC."""
        d_carbon = sum(map(mul, self._mc_carbon, d_x))
        d_nitrogen = sum(map(mul, self._mc_nitrogen, d_x))
        d_carbon += d_log_c * self._exponents[0] * self._mx_carbon
        d_nitrogen += d_log_n * self.constants.nitrogen_exponent["MC"] * self._mx_nitrogen
        both = self._mx_carbon + self._mx_nitrogen
        slope: float = (d_nitrogen * self._mx_carbon - self._mx_nitrogen * d_carbon) / (both * both)
        return slope

    def gains(self, *, by_carbon: bool) -> list[Vector | None]:
        """Return dK/d ln A of each family; None where the activity has no part in it."""
        if by_carbon:
            rows = [self._mc_carbon, *self.factors[1:]]
            return [[nu * k for k in row] if nu else None for nu, row in zip(self._exponents, rows, strict=True)]
        exponent = self.constants.nitrogen_exponent
        gains: list[Vector | None] = [None] * len(self.families)
        gains[0] = [exponent["MC"] * k for k in self._mc_nitrogen]
        gains[-1] = [exponent["M2N"] * k for k in self.factors[-1]]
        return gains

    def weight(self) -> Vector:
        """Return X / D, the sensitivity of austenite to the denominators D."""
        return [xi * xi / zi for xi, zi in zip(self.x, self.z, strict=True)]

    def drift(self, gains: list[Vector | None]) -> Vector:
        """Return the change of the denominators D with an activity at fixed amounts."""
        drift = [0.0] * len(self.x)
        for amount, gain in zip(self.amounts, gains, strict=True):
            if gain is not None and amount > 0.0:
                drift = [d + amount * g for d, g in zip(drift, gain, strict=True)]
        return drift

    def _response(self, gains: list[Vector | None]) -> tuple[Vector, Vector]:
        """Return how amounts and austenite follow the activity while the present families stay in balance."""
        present = [p for p, amount in enumerate(self.amounts) if amount > 0.0]
        weight = self.weight()
        shift = self.drift(gains)
        d_amounts = [0.0] * len(self.amounts)
        if present:
            weighted = [list(map(mul, self.excess[p], weight)) for p in present]
            hessian = [[sum(map(mul, row, self.excess[q])) for q in present] for row in weighted]
            right = [-sum(map(mul, row, shift)) for row in weighted]
            for k, p in enumerate(present):
                gain = gains[p]
                hessian[k][k] += 1e-10
                if gain is not None:
                    right[k] += sum(map(mul, gain, self.x))
            for p, slope in zip(present, solve_linear(hessian, right), strict=True):
                d_amounts[p] = slope
                shift = [a + slope * e for a, e in zip(shift, self.excess[p], strict=True)]
        return d_amounts, [-w * s for w, s in zip(weight, shift, strict=True)]
