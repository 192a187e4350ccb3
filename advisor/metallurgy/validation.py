"""Published figures of carbides, names, hardness and edge retention beside those computed here.

Each row of the published data has: what, check, inputs, published, tolerance, unit, source, basis.  ``check``
names one of the functions below, which computes the figure from ``inputs``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Any

from advisor.errors import KnowledgeError
from advisor.metallurgy.carbides import CarbideModel, CarbideState
from advisor.metallurgy.composition import composition_from_mapping
from advisor.metallurgy.en_names import NamingRules, en_name, naming_rules, parse_en_name
from advisor.metallurgy.hardness import HardnessScales, hardness_scales
from advisor.metallurgy.retention import EdgeOption, EdgeRetention
from advisor.validation_row import ValidationRow

Entry = Mapping[str, Any]


FILES = ("carbides", "en_names", "hardness", "edge_retention")
EQUILIBRIA = "carbides_equilibria"


@dataclass(frozen=True)
class MetallurgyModels:
    """The models of this package, built from the parsed files of rules/metallurgy."""

    carbides: CarbideModel
    names: NamingRules
    hardness: HardnessScales
    retention: EdgeRetention


def metallurgy_models(knowledge: Mapping[str, Any]) -> MetallurgyModels:
    """Build all models.

    Args:
        knowledge: file stem -> parsed YAML of rules/metallurgy (carbide_model, en_names, hardness_scales,
            edge_retention), and carbide_model.json under its whole name.

    Raises:
        KnowledgeError: a file is missing or incomplete.
    """
    try:
        return MetallurgyModels(
            carbides=CarbideModel(knowledge["carbide_model.json"], knowledge["carbide_model"]),
            names=naming_rules(knowledge["en_names"]),
            hardness=hardness_scales(knowledge["hardness_scales"]),
            retention=EdgeRetention(knowledge["edge_retention"]),
        )
    except KeyError as problem:
        raise KnowledgeError(
            f"{problem.args[0]} was not read", path="rules/metallurgy", hint="restore the file"
        ) from problem


def rows(published: Mapping[str, Any], knowledge: Mapping[str, Any]) -> list[ValidationRow]:
    """Return one row per published figure, and one per quantity of the stored equilibria.

    Args:
        published: file stem -> parsed file of tests/published; ``FILES`` and ``EQUILIBRIA`` are used.
        knowledge: parsed files of rules/metallurgy, as for ``metallurgy_models``.

    Raises:
        KnowledgeError: a file of rules/metallurgy is missing or incomplete.
    """
    models = metallurgy_models(knowledge)
    single = [_row(entry, models) for name in FILES for entry in published[name]]
    return single + equilibrium_rows(published[EQUILIBRIA], models.carbides)


def equilibrium_rows(stored: Mapping[str, Any], model: CarbideModel) -> list[ValidationRow]:
    """Compare the model with stored full equilibria, as root mean square errors by group of steels.

    Args:
        stored: the parsed ``carbides_equilibria.json``, which also holds the accepted errors.
        model: the model to check.
    """
    errors: dict[tuple[str, str], list[float]] = {}
    for entry in stored["equilibria"]:
        composition = composition_from_mapping(entry["composition"])
        state = model.equilibrium(composition, entry["celsius"])
        for quantity, value in equilibrium_quantities(entry).items():
            group = "nitrogen" if composition.N else "no nitrogen"
            errors.setdefault((group, quantity), []).append(quantity_of(state, quantity) - value)
    result = []
    for (group, quantity), values in errors.items():
        rms = sqrt(sum(e * e for e in values) / len(values))
        tolerance = float(stored["tolerance"][group][quantity])
        result.append(
            ValidationRow(
                what=f"{quantity}: root mean square error against {len(values)} stored equilibria, {group}",
                source=str(stored["source"]),
                basis="computed",
                unit="wt %" if quantity.startswith("matrix") else "vol %",
                published=0.0,
                computed=rms,
                error=rms,
                tolerance=tolerance,
                ok=rms <= tolerance,
            )
        )
    return result


def equilibrium_quantities(entry: Mapping[str, Any]) -> dict[str, float]:
    """Return the compared quantities of one stored equilibrium (vol %, matrix in wt %)."""
    volume = entry["volume"]
    return {
        "total": sum(volume.values()),
        "MC": volume.get("MC", 0.0),
        "chromium_carbides": volume.get("M7C3", 0.0) + volume.get("M23C6", 0.0),
        "M6C": volume.get("M6C", 0.0),
        "matrix C": entry["matrix"]["C"],
        "matrix Cr": entry["matrix"].get("Cr", 0.0),
    }


def quantity_of(state: CarbideState, quantity: str) -> float:
    """Return a family's volume, ``total``, ``chromium_carbides`` or "matrix <element>" of a state."""
    if quantity == "total":
        return state.total
    if quantity == "chromium_carbides":
        return state.chromium_carbides
    if quantity.startswith("matrix "):
        return state.matrix[quantity.removeprefix("matrix ")]
    return state.volume[quantity]


def _row(entry: Mapping[str, Any], models: MetallurgyModels) -> ValidationRow:
    computed = _CHECKS[entry["check"]](entry, models)
    wanted, tolerance = entry["published"], entry["tolerance"]
    if isinstance(computed, str):
        error = None
        ok = computed == wanted if entry["exact"] else _same_name(models, computed, wanted, tolerance)
    else:
        error = computed - wanted
        ok = abs(error) <= tolerance
    return ValidationRow(
        what=entry["what"],
        source=entry["source"],
        basis=entry["basis"],
        unit=entry["unit"],
        published=wanted,
        computed=computed,
        error=error,
        tolerance=tolerance,
        ok=ok,
        known_miss=entry.get("known_miss", ""),
    )


def _same_name(models: MetallurgyModels, computed: str, wanted: str, carbon: float) -> bool:
    """Compare two names: same group and elements, carbon within ``carbon`` units, other figures within 1."""
    a, b = (parse_en_name(models.names, name) for name in (computed, wanted))
    near = all(abs(x - y) <= 1 for x, y in zip(a.numbers, b.numbers, strict=True))
    carbons = abs(a.composition.C - b.composition.C) * 100.0
    return a.group == b.group and set(a.symbols) == set(b.symbols) and near and carbons <= carbon + 1e-9


def _carbide_volume(entry: Entry, models: MetallurgyModels) -> float:
    inputs = entry["inputs"]
    composition = composition_from_mapping(inputs["composition"])
    state = models.carbides.hardened(composition, inputs["temperature"], inputs["process"])
    return quantity_of(state, inputs["quantity"])


def _matrix(entry: Entry, models: MetallurgyModels) -> float:
    inputs = entry["inputs"]
    composition = composition_from_mapping(inputs["composition"])
    return models.carbides.equilibrium(composition, inputs["temperature"]).matrix[inputs["element"]]


def _en_name(entry: Entry, models: MetallurgyModels) -> str:
    # which elements a name lists, and how many figures it prints, is the standard's choice
    standard = parse_en_name(models.names, entry["published"])
    return en_name(
        models.names,
        composition_from_mapping(entry["inputs"]["composition"]),
        symbols=standard.symbols,
        numbers=len(standard.numbers),
    )


def _hv_from_hrc(entry: Entry, models: MetallurgyModels) -> float:
    return models.hardness.hv_from_hrc(entry["inputs"]["hrc"])


def _hrc_from_hv(entry: Entry, models: MetallurgyModels) -> float:
    return models.hardness.hrc_from_hv(entry["inputs"]["hv"])


def _card_cut(entry: Entry, models: MetallurgyModels) -> float:
    inputs = entry["inputs"]
    option = EdgeOption(inputs["hardness"], inputs["included_angle"], inputs["volume"], "published")
    return models.retention.card_cut_mm(option).millimetres


def _card_cut_order(entry: Entry, models: MetallurgyModels) -> float:
    inputs = entry["inputs"]
    computed = []
    for option in inputs["options"]:
        composition = composition_from_mapping(option["composition"])
        state = models.carbides.hardened(composition, option["temperature"], option["process"])
        volumes = models.retention.volumes(state)
        edge = EdgeOption(option["hardness"], inputs["included_angle"], volumes, "computed")
        computed.append(models.retention.card_cut_mm(edge).millimetres)
    return rank_correlation(computed, [option["middle"] for option in inputs["options"]])


def rank_correlation(first: list[float], second: list[float]) -> float:
    """Return Spearman's rank correlation; equal values share their mean rank."""
    a, b = _ranks(first), _ranks(second)
    mean = (len(a) + 1) / 2.0
    covariance = sum((x - mean) * (y - mean) for x, y in zip(a, b, strict=True))
    return covariance / sqrt(sum((x - mean) ** 2 for x in a) * sum((y - mean) ** 2 for y in b))


def _ranks(values: list[float]) -> list[float]:
    return [sum(w < v for w in values) + (sum(w == v for w in values) + 1) / 2.0 for v in values]


_CHECKS: Mapping[str, Callable[[Entry, MetallurgyModels], float | str]] = {
    "carbide_volume": _carbide_volume,
    "matrix": _matrix,
    "en_name": _en_name,
    "hv_from_hrc": _hv_from_hrc,
    "hrc_from_hv": _hrc_from_hv,
    "card_cut": _card_cut,
    "card_cut_order": _card_cut_order,
}
