"""Hardening practice from already parsed data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from advisor.errors import KnowledgeError
from advisor.metallurgy.carbide_constants import FAMILIES
from advisor.metallurgy.hardening import (
    ErrorBand,
    HardeningPractice,
    SizeClass,
    UsualTemperature,
    WiderBand,
)


def hardening_practice(data: Mapping[str, Any]) -> HardeningPractice:
    """Build the practice from the parsed ``rules/metallurgy/carbide_model.yaml``.

    Raises:
        KnowledgeError: an entry is missing or has the wrong type.
    """
    try:
        return _practice(data)
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        raise KnowledgeError(
            f"the hardening data are incomplete ({type(problem).__name__}: {problem})",
            path="rules/metallurgy/carbide_model.yaml",
            hint="add the missing entry",
        ) from problem


def _practice(data: Mapping[str, Any]) -> HardeningPractice:
    limits, cementite, error = data["range"], data["cementite"], data["error"]
    low, high = limits["celsius"]
    return HardeningPractice(
        least_iron=float(limits["least_iron"]),
        least_carbon_plus_nitrogen=float(limits["least_carbon_plus_nitrogen"]),
        most=_limits(limits["most"]),
        celsius=(float(low), float(high)),
        most_dissolved_nitrogen=float(limits["most_dissolved_nitrogen"]),
        processes=tuple(data["processes"]),
        lag_celsius=float(data["dissolution"]["lag_celsius"]),
        cementite_below=_limits(cementite["below"]),
        carbon_at_ferrite_end=float(cementite["carbon_at_ferrite_end"]),
        cementite_approach=float(cementite["approach"]),
        temperatures=tuple(_usual(entry) for entry in data["hardening_temperature"]["entries"]),
        stainless_certain=float(data["stainless"]["certain"]),
        stainless_borderline=float(data["stainless"]["borderline"]),
        sizes=tuple(_size(entry) for entry in data["size_classes"]["entries"]),
        total_error=_band(error["total"]),
        family_errors=_bands(error["families"], FAMILIES),
        wider=tuple(_wider(entry, data["processes"]) for entry in error["wider"]),
        nearly_stable=float(error["nearly_stable"]),
        notes=dict(data["notes"]),
    )


def _limits(table: Mapping[str, Any]) -> dict[str, float]:
    return {str(key): float(value) for key, value in table.items()}


def _usual(entry: Mapping[str, Any]) -> UsualTemperature:
    return UsualTemperature(
        group=str(entry["group"]),
        at_least=_limits(entry.get("at_least", {})),
        below=_limits(entry.get("below", {})),
        celsius=float(entry["celsius"]),
        per_percent=_limits(entry.get("per_percent", {})),
        counted_up_to=_limits(entry.get("counted_up_to", {})),
        highest=float(entry.get("highest", 1300.0)),
    )


def _size(entry: Mapping[str, Any]) -> SizeClass:
    return SizeClass(
        name=str(entry["class"]),
        processes=tuple(entry["process"]),
        at_least=_limits(entry.get("at_least", {})),
        below=_limits(entry.get("below", {})),
        reason=str(entry["reason"]),
    )


def _band(entry: Mapping[str, Any]) -> ErrorBand:
    return ErrorBand(float(entry["floor"]), float(entry["share"]))


def _bands(table: Mapping[str, Any], families: Sequence[str]) -> dict[str, ErrorBand]:
    return {family: _band(table[family]) for family in families}


def _wider(entry: Mapping[str, Any], processes: Sequence[str]) -> WiderBand:
    families = entry.get("families", {})
    return WiderBand(
        at_least=_limits(entry.get("at_least", {})),
        below=_limits(entry.get("below", {})),
        processes=tuple(entry.get("process", processes)),
        total=_band(entry["total"]),
        families=_bands(families, tuple(families)),
        reason=str(entry["note"]),
    )
