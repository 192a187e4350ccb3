"""Hardness of abrasives against the hard phases of steel: which abrasive cuts which carbide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Literal

from advisor.errors import InputError, KnowledgeError

Cutting = Literal["cuts", "marginal", "does-not-cut"]


@dataclass(frozen=True)
class Mineral:
    """An abrasive mineral.

    Attributes:
        id, name, aliases: identifier, title and other words for it.
        abrasive_class: diamond, cbn, silicon-carbide, alumina or natural.
        low_hv, working_hv, high_hv: Vickers hardness, kgf/mm2; the middle one is used.
        basis, source: how the hardness is known.
    """

    id: str
    name: str
    aliases: tuple[str, ...]
    abrasive_class: str
    low_hv: float
    working_hv: float
    high_hv: float
    basis: str
    source: str


@dataclass(frozen=True)
class HardPhase:
    """A carbide or nitride of tool steel; hardness as in ``Mineral``.

    Attributes:
        family: the carbide family it stands for, such as MC or M7C3.
    """

    id: str
    family: str
    name: str
    low_hv: float
    working_hv: float
    high_hv: float
    basis: str
    source: str


@dataclass(frozen=True)
class Minerals:
    """All abrasives and hard phases, and the hardness-ratio rule between them.

    The rule: an abrasive at least ``cuts_from`` times as hard as a phase cuts it; below
    ``marginal_from`` it does not; between the two it is marginal.
    """

    minerals: tuple[Mineral, ...]
    phases: tuple[HardPhase, ...]
    cuts_from: float
    marginal_from: float

    @classmethod
    def from_data(cls, minerals: Mapping[str, Any], phases: Mapping[str, Any]) -> Minerals:
        """Build from the parsed ``minerals.yaml`` and ``hard_phases.yaml``.

        Raises:
            KnowledgeError: a working hardness lies outside its range.
        """
        rule = minerals["ratio_rule"]
        for row in [*minerals["minerals"], *phases["phases"]]:
            if not row["hv"][0] <= row["working_hv"] <= row["hv"][1]:
                raise KnowledgeError(
                    f"working_hv of {row['id']} lies outside its range",
                    hint=f"choose it between {row['hv'][0]} and {row['hv'][1]}",
                )
        return cls(
            minerals=tuple(
                Mineral(row["id"], row["name"], tuple(row["aliases"]), row["class"], *_hardness(row))
                for row in minerals["minerals"]
            ),
            phases=tuple(HardPhase(row["id"], row["family"], row["name"], *_hardness(row)) for row in phases["phases"]),
            cuts_from=float(rule["cuts_from"]),
            marginal_from=float(rule["marginal_from"]),
        )

    def mineral(self, word: str) -> Mineral:
        """Return a mineral by id or alias. Raises InputError, with a near word if there is one."""
        key = word.strip().lower()
        for mineral in self.minerals:
            if key in (mineral.id, mineral.id.replace("-", " "), *mineral.aliases):
                return mineral
        known = [name for mineral in self.minerals for name in (mineral.id, *mineral.aliases)]
        raise _unknown("abrasive", word, key, known, [mineral.id for mineral in self.minerals])

    def phase(self, word: str) -> HardPhase:
        """Return a hard phase by id or carbide family (the first listed of the family)."""
        key = word.strip().lower()
        for phase in self.phases:
            if key == phase.id or key == phase.family.lower():
                return phase
        known = [phase.id for phase in self.phases]
        raise _unknown("family", word, key, known, known)

    def cutting_ratio(self, abrasive: str, family: str) -> float:
        """Return hardness of the abrasive over hardness of the phase, both working values."""
        return self.mineral(abrasive).working_hv / self.phase(family).working_hv

    def verdict(self, ratio: float) -> Cutting:
        """Return what a hardness ratio means by the ratio rule."""
        if ratio >= self.cuts_from:
            return "cuts"
        return "marginal" if ratio >= self.marginal_from else "does-not-cut"

    def cuts(self, abrasive: str, family: str) -> Cutting:
        """Return whether an abrasive cuts a carbide family."""
        return self.verdict(self.cutting_ratio(abrasive, family))


def _hardness(row: Mapping[str, Any]) -> tuple[float, float, float, str, str]:
    return float(row["hv"][0]), float(row["working_hv"]), float(row["hv"][1]), row["basis"], row["source"]


def _unknown(field: str, word: str, key: str, words: list[str], ids: list[str]) -> InputError:
    near = get_close_matches(key, words, 1)
    hint = f"did you mean {near[0]}?" if near else f"one of {', '.join(ids)}"
    return InputError(f"unknown {field} {word!r}", field=field, hint=hint)
