"""Published grain sizes and hardnesses beside what this package makes of the same inputs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from advisor.abrasives.grits import GritScales
from advisor.abrasives.minerals import Minerals
from advisor.validation_row import ValidationRow

FILES = ("grits", "abrasive_hardness")


def rows(published: Mapping[str, Any], knowledge: Mapping[str, Any]) -> list[ValidationRow]:
    """Return one row per published figure.

    Args:
        published: file stem -> parsed list of ``tests/published``; the files in ``FILES`` are used.
        knowledge: file stem -> parsed YAML of ``rules/abrasives``; needs scales, minerals, hard_phases.
    """
    scales = GritScales.from_data(knowledge["scales"])
    minerals = Minerals.from_data(knowledge["minerals"], knowledge["hard_phases"])
    hardness = {mineral.id: mineral.working_hv for mineral in minerals.minerals}
    hardness |= {phase.id: phase.working_hv for phase in minerals.phases}
    checks: dict[str, Callable[..., float | str | None]] = {
        "size": lambda text: scales.parse(text).um,
        "low": lambda text: scales.parse(text).low_um,
        "high": lambda text: scales.parse(text).high_um,
        "hardness": lambda id: hardness[id],
        "cuts": minerals.cuts,
    }
    return [compare(row, checks[row["check"]](**row["inputs"])) for name in FILES for row in published[name]]


def compare(row: Mapping[str, Any], computed: float | str | None) -> ValidationRow:
    """Return the row of one published entry and the figure or name computed for it.

    A figure must lie within ``row["tolerance"]``; a name, or a figure that is missing, must be equal.
    """
    published, tolerance = row["published"], row["tolerance"]
    numeric = isinstance(published, int | float) and isinstance(computed, int | float)
    error = computed - published if numeric else None
    return ValidationRow(
        what=row["what"],
        source=f"{row['source']} ({row['year']}), {row['where']}",
        basis=row["basis"],
        unit=row["unit"],
        published=published,
        computed="none" if computed is None else computed,
        error=error,
        tolerance=tolerance,
        ok=computed == published if error is None else abs(error) <= tolerance,
    )
