"""Hardening practice: usual temperatures, kinetic figures, limits, size classes and error bands in use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, isfinite
from types import MappingProxyType

from advisor.errors import KnowledgeError, OutOfRangeError
from advisor.metallurgy.carbide_constants import FAMILIES
from advisor.metallurgy.composition import FIELD, Composition

Limits = Mapping[str, float]


@dataclass(frozen=True)
class UsualTemperature:
    """One group of steels and its usual hardening temperature, degrees C."""

    group: str
    at_least: Limits
    below: Limits
    celsius: float
    per_percent: Limits
    counted_up_to: Limits
    highest: float

    def fits(self, composition: Composition) -> bool:
        """Tell whether the contents lie inside the group's limits."""
        return _within(composition, self.at_least, self.below)

    def temperature(self, composition: Composition) -> float:
        """Return the group's temperature for this composition, degrees C."""
        slopes = (
            slope * min(composition.get(symbol), self.counted_up_to.get(symbol, 100.0))
            for symbol, slope in self.per_percent.items()
        )
        return min(self.celsius + sum(slopes), self.highest)


@dataclass(frozen=True)
class SizeClass:
    """One carbide size class and when it applies; limits on volumes (vol %) and contents (wt %)."""

    name: str
    processes: tuple[str, ...]
    at_least: Limits
    below: Limits
    reason: str


@dataclass(frozen=True)
class ErrorBand:
    """Standard deviation of a volume: hypot(floor, share * volume), vol %."""

    floor: float
    share: float

    def at(self, volume: float) -> float:
        """Return the standard deviation at this volume, vol %."""
        return hypot(self.floor, self.share * volume)


@dataclass(frozen=True)
class WiderBand:
    """A region of composition in which the model is weaker."""

    at_least: Limits
    below: Limits
    processes: tuple[str, ...]
    total: ErrorBand
    families: Mapping[str, ErrorBand]
    reason: str


@dataclass(frozen=True)
class HardeningPractice:
    """Everything beside the thermodynamic constants that the carbide model needs.

    Attributes:
        least_iron, least_carbon_plus_nitrogen, most, celsius, most_dissolved_nitrogen: range of validity
            (wt %, degrees C).
        processes: process names that are understood.
        lag_celsius: how far the carbides lag behind the furnace.
        cementite_below: contents (wt %) under which cementite dissolves too slowly to reach equilibrium.
        carbon_at_ferrite_end: wt % carbon in austenite when the last ferrite disappears.
        cementite_approach: share of the remaining way to equilibrium that a usual soak covers.
        temperatures: usual hardening temperatures, first fit wins.
        stainless_certain, stainless_borderline: chromium plus molybdenum in solution, wt %.
        sizes: carbide size classes, first fit wins.
        total_error, family_errors, wider: error bands.
        nearly_stable: saturation above which an absent family may be present in truth.
        notes: sentences by code.
    """

    least_iron: float
    least_carbon_plus_nitrogen: float
    most: Limits
    celsius: tuple[float, float]
    most_dissolved_nitrogen: float
    processes: tuple[str, ...]
    lag_celsius: float
    cementite_below: Limits
    carbon_at_ferrite_end: float
    cementite_approach: float
    temperatures: tuple[UsualTemperature, ...]
    stainless_certain: float
    stainless_borderline: float
    sizes: tuple[SizeClass, ...]
    total_error: ErrorBand
    family_errors: Mapping[str, ErrorBand]
    wider: tuple[WiderBand, ...]
    nearly_stable: float
    notes: Mapping[str, str]

    def check(self, composition: Composition, temperature_C: float) -> None:
        """Refuse what the model was neither fitted to nor checked on.

        Raises:
            OutOfRangeError: names the element or temperature and the limit.
        """
        low, high = self.celsius
        if not isfinite(temperature_C) or not low <= temperature_C <= high:
            raise OutOfRangeError(
                f"a hardening temperature of {temperature_C:g} C is outside {low:g} to {high:g} C",
                field="hardening_temperature",
                hint="give degrees Celsius, or leave it out for the usual temperature",
            )
        if composition.iron < self.least_iron:
            raise OutOfRangeError(
                f"only {composition.iron:g} % iron is left; the model needs at least {self.least_iron:g} %",
                field=FIELD,
                hint="check the figures; nickel, cobalt and titanium alloys are not covered",
            )
        interstitials = composition.C + composition.N
        if interstitials < self.least_carbon_plus_nitrogen:
            raise OutOfRangeError(
                f"carbon plus nitrogen is {interstitials:g} %; a blade steel has at least "
                f"{self.least_carbon_plus_nitrogen:g} %",
                field=FIELD,
                hint="give the carbon content in mass per cent, for example C 0.95",
            )
        for symbol, limit in self.most.items():
            if composition.get(symbol) > limit:
                raise OutOfRangeError(
                    f"{symbol} {composition.get(symbol):g} % is above the {limit:g} % the model covers",
                    field=FIELD,
                    hint="check the figure; no computed carbides can be given for such a steel",
                )

    def check_matrix(self, matrix: Mapping[str, float]) -> None:
        """Refuse more dissolved nitrogen than steel can hold without gas pressure.

        Raises:
            OutOfRangeError: names the dissolved nitrogen.
        """
        if matrix["N"] > self.most_dissolved_nitrogen:
            raise OutOfRangeError(
                f"{matrix['N']:.2f} % nitrogen would have to be dissolved; steel holds at most about "
                f"{self.most_dissolved_nitrogen:g} %",
                field=FIELD,
                hint="check nitrogen; chromium and vanadium are what binds it",
            )

    def usual_temperature(self, composition: Composition) -> float:
        """Return the usual hardening temperature of the steel's group, degrees C."""
        return next(t for t in self.temperatures if t.fits(composition)).temperature(composition)

    def cementite_lags(self, composition: Composition) -> bool:
        """Tell whether undissolved cementite has to be reckoned with."""
        return all(composition.get(symbol) < limit for symbol, limit in self.cementite_below.items())

    def stainless(self, matrix: Mapping[str, float]) -> str:
        """Judge by chromium plus molybdenum in solution (wt %): yes, borderline or no."""
        dissolved = matrix["Cr"] + matrix["Mo"]
        if dissolved >= self.stainless_certain:
            return "yes"
        return "borderline" if dissolved >= self.stainless_borderline else "no"

    def size_class(self, composition: Composition, process: str, volume: Mapping[str, float]) -> tuple[str, str]:
        """Return carbide size class and its reason."""
        figures = {
            **volume,
            "chromium_carbides": volume["M7C3"] + volume["M23C6"],
            "alloy_carbides": sum(volume.values()) - volume["M3C"],
        }
        for size in self.sizes:
            if process in size.processes and _within(composition, size.at_least, size.below, figures):
                return size.name, size.reason
        raise KnowledgeError(
            f"no carbide size class fits process {process!r}",
            path="rules/metallurgy/carbide_model.yaml",
            hint="end size_classes with an entry without limits for each process",
        )

    def errors(
        self,
        composition: Composition,
        process: str,
        volume: Mapping[str, float],
        saturation: Mapping[str, float],
    ) -> tuple[float, dict[str, float], list[str]]:
        """Return the error of the total, of each family (vol %, one standard deviation), and reasons."""
        wide = [w for w in self.wider if process in w.processes and _within(composition, w.at_least, w.below)]
        total = sum(volume.values())
        total_error = max(band.at(total) for band in (self.total_error, *(w.total for w in wide)))
        families = {}
        for family in FAMILIES:
            bands = [self.family_errors[family], *(w.families[family] for w in wide if family in w.families)]
            # an absent family far from stability is absent; its volume carries no error
            possible = saturation.get(family, 0.0) >= self.nearly_stable
            families[family] = max(b.at(volume[family]) for b in bands) if possible else 0.0
        rivals = ("M7C3", "M23C6")
        if all(families[p] > 0.0 for p in rivals):
            split = 0.5 * sum(volume[p] for p in rivals)
            families.update({p: max(families[p], split) for p in rivals})
        return total_error, families, [w.reason for w in wide]


def _within(composition: Composition, at_least: Limits, below: Limits, figures: Limits = MappingProxyType({})) -> bool:
    """Compare contents with limits.

    A key such as "Mo+W" stands for the sum of both contents; one of ``figures`` for that figure.
    """

    def value(key: str) -> float:
        known = figures.get(key)
        return known if known is not None else sum(composition.get(symbol) for symbol in key.split("+"))

    return all(value(key) >= limit for key, limit in at_least.items()) and all(
        value(key) < limit for key, limit in below.items()
    )
