"""Carbides, matrix and stainlessness of a hardened steel from its composition."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from advisor.errors import OutOfRangeError
from advisor.metallurgy.carbide_constants import FAMILIES, carbide_constants
from advisor.metallurgy.composition import ATOMIC_WEIGHT, MODELLED, Composition
from advisor.metallurgy.equilibrium import Equilibrium, solve_equilibrium
from advisor.metallurgy.hardening import HardeningPractice
from advisor.metallurgy.hardening_data import hardening_practice
from advisor.metallurgy.kinetics import retain_cementite


@dataclass(frozen=True)
class CarbideState:
    """Carbides beside austenite (which becomes the matrix) at the hardening temperature.

    Attributes:
        volume: vol % of each family MC, M7C3, M23C6, M6C, M3C, M2N; 0 where absent.
        nitride_share: share of nitride in the MC volume, 0 to 1 (VN and NbN are part of MC).
        metals: metal fractions inside each family, sum 1 (what it would contain, where absent).
        matrix: wt % of each element in solution.
        temperature_C: furnace temperature the state belongs to.
        process: ingot, powder or remelted.
        error_total: one standard deviation of ``total``, vol %.
        error_by_family: the same for each family.
        stainless: "yes", "borderline" or "no", from chromium plus molybdenum in solution.
        size_class: largest common carbides: very-fine < 1, fine 1-3, medium 3-8, coarse > 8 micrometres.
        size_reason: why that class.
        notes: what limits this answer, as sentences of the knowledge base.
    """

    volume: Mapping[str, float]
    nitride_share: float
    metals: Mapping[str, Mapping[str, float]]
    matrix: Mapping[str, float]
    temperature_C: float
    process: str
    error_total: float
    error_by_family: Mapping[str, float]
    stainless: str
    size_class: str
    size_reason: str
    notes: tuple[str, ...]

    @property
    def total(self) -> float:
        """Volume of all carbides and nitrides, vol %."""
        return sum(self.volume.values())

    @property
    def chromium_carbides(self) -> float:
        """M7C3 plus M23C6, vol %."""
        return self.volume["M7C3"] + self.volume["M23C6"]


class CarbideModel:
    """The carbide model with its constants.

    Source: ideal-solution constants fitted to equilibria of an open thermodynamic database (see
    rules/metallurgy/NOTICE); kinetic lag and limits from rules/metallurgy/carbide_model.yaml.  Root mean
    square error of the total volume: see ``whetrule validate`` and rules/metallurgy/carbide_model.yaml.

    Args:
        constants: the parsed carbide_model.json.
        practice: the parsed carbide_model.yaml.

    Raises:
        KnowledgeError: an entry is missing or is no number.
    """

    def __init__(self, constants: Mapping[str, Any], practice: Mapping[str, Any]) -> None:
        self._constants = carbide_constants(constants)
        self._practice = hardening_practice(practice)

    @property
    def practice(self) -> HardeningPractice:
        """Kinetic figures, limits and error bands in use."""
        return self._practice

    def equilibrium(self, composition: Composition, temperature_C: float, process: str = "ingot") -> CarbideState:
        """Return full equilibrium at ``temperature_C`` (750 to 1300 C) without ferrite and graphite.

        Raises:
            OutOfRangeError: temperature or composition outside the range of the model.
        """
        self._check(composition, temperature_C, process)
        solved = solve_equilibrium(self._constants, composition, temperature_C)
        return self._state(composition, solved, temperature_C, process, [])

    def hardened(
        self, composition: Composition, temperature_C: float | None = None, process: str = "ingot"
    ) -> CarbideState:
        """Return what is left after hardening from ``temperature_C``, or from the group's usual one.

        Carbides lag behind the furnace, so the equilibrium is taken at a lower temperature; in low-alloy
        steels part of the cementite is still undissolved.

        Raises:
            OutOfRangeError: temperature or composition outside the range of the model.
        """
        practice = self._practice
        notes = [] if temperature_C is not None else ["assumed_temperature"]
        furnace = practice.usual_temperature(composition) if temperature_C is None else temperature_C
        self._check(composition, furnace, process)
        solved = solve_equilibrium(self._constants, composition, furnace - practice.lag_celsius)
        if practice.cementite_lags(composition):
            retained = retain_cementite(solved, self._constants, composition, practice)
            if retained is not solved:
                notes.append("cementite")
                solved = retained
        return self._state(composition, solved, furnace, process, notes)

    def _check(self, composition: Composition, temperature_C: float, process: str) -> None:
        self._practice.check(composition, temperature_C)
        if process not in self._practice.processes:
            raise OutOfRangeError(
                f"unknown process {process!r}",
                field="process",
                hint=f"use one of: {', '.join(self._practice.processes)}",
            )

    def _state(
        self,
        composition: Composition,
        solved: Equilibrium,
        temperature_C: float,
        process: str,
        notes: list[str],
    ) -> CarbideState:
        practice = self._practice
        volume = self._volumes(solved)
        matrix = _matrix(solved)
        practice.check_matrix(matrix)
        size, reason = practice.size_class(composition, process, volume)
        if composition.ignored:
            notes.append("ignored_elements")
        if _rivals(solved, practice.nearly_stable):
            notes.append("rival_chromium_carbides")
        error_total, errors, reasons = practice.errors(composition, process, volume, solved.saturation)
        return CarbideState(
            volume=MappingProxyType(volume),
            nitride_share=solved.nitride_share,
            metals=MappingProxyType({p: MappingProxyType(y) for p, y in solved.metals.items()}),
            matrix=MappingProxyType(matrix),
            temperature_C=temperature_C,
            process=process,
            error_total=error_total,
            error_by_family=MappingProxyType(errors),
            stainless=practice.stainless(matrix),
            size_class=size,
            size_reason=reason,
            notes=tuple(practice.notes[code] for code in notes) + tuple(reasons),
        )

    def _volumes(self, solved: Equilibrium) -> dict[str, float]:
        constants = self._constants
        first, slope = constants.matrix_molar_volume
        austenite = 1.0 - sum(solved.amount.values())
        parts = {p: amount * self._molar_volume(p, solved) for p, amount in solved.amount.items()}
        total = sum(parts.values()) + austenite * (first + slope * (solved.carbon + solved.nitrogen))
        return {p: 100.0 * parts.get(p, 0.0) / total for p in FAMILIES}

    def _molar_volume(self, family: str, solved: Equilibrium) -> float:
        if family != "MC":
            return self._constants.molar_volume[family]
        table = self._constants.mc_molar_volume
        return sum(table.get(s, table["other"]) * y for s, y in solved.metals["MC"].items())


def _matrix(solved: Equilibrium) -> dict[str, float]:
    mass = {s: x * ATOMIC_WEIGHT[s] for s, x in solved.austenite.items()}
    mass["C"] = solved.carbon * ATOMIC_WEIGHT["C"]
    mass["N"] = solved.nitrogen * ATOMIC_WEIGHT["N"]
    total = sum(mass.values())
    return {s: 100.0 * mass.get(s, 0.0) / total for s in (*MODELLED, "Fe")}


def _rivals(solved: Equilibrium, nearly_stable: float) -> bool:
    pair = ("M7C3", "M23C6")
    present = any(p in solved.amount for p in pair)
    return present and all(solved.saturation[p] >= nearly_stable for p in pair)
