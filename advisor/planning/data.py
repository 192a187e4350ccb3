"""What the planner knows: the parsed files of ``rules/planning`` and ``rules/abrasives``, frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.abrasives.minerals import Minerals
from advisor.abrasives.stones import ApparentEffect, apparent_effects
from advisor.errors import KnowledgeError
from advisor.geometry.strop import StropModel
from advisor.planning.progression import Ratios
from advisor.planning.texts import Texts

Range = tuple[float, float]
Steps = tuple[tuple[float, float], ...]
Rounding = tuple[tuple[float, int], ...]


@dataclass(frozen=True)
class StartRules:
    """Coarsest size worth starting with.

    Attributes:
        by_work: (largest section times resistance per side in mm2, um), ascending.
        by_chip: (deepest chip in mm, um), ascending.
        slack: a stone up to this ratio coarser still does.
    """

    by_work: Steps
    by_chip: Steps
    slack: float


@dataclass(frozen=True)
class FreshRules:
    """Which freshly dressed bonded stones cut dangerously hard; ``from_um`` in micrometres."""

    states: frozenset[str]
    abrasives: frozenset[str]
    bonds: frozenset[str]
    from_um: float


@dataclass(frozen=True)
class UsualLadder:
    """A usual set of stones of one class, coarse to fine, micrometres."""

    class_id: str
    abrasive: str
    label: str
    set_label: str
    um: tuple[float, ...]


@dataclass(frozen=True)
class RemovalRules:
    """Constants of the removal model; ranges are (low, high).

    Attributes:
        land_mm: state of the edge -> width of the apex that must go, mm, at ``land_at_deg`` a side.
        land_exponent: power of the angle in that width.
        rebevel_from_deg: smallest change of angle that counts as re-bevelling.
        layer: depth to remove on a face over the grain size of the stone before.
        rate_mm2: section removed on one side in one pass at ``rate_at_um``.
        size_exponent: power of grain size in the rate.
        abrasive, state: factors on the rate; ``other`` where a word is not listed.
        wear_exponent: cutting verdict -> power of wear resistance.
        least_passes, rounding: shown passes; rounding is (below, to).
        minutes_rounding: the same for shown minutes.
        seconds, seconds_per_mm: one pass on an edge of that length.
        minutes_per_stone: setting up each stone.
        long_minutes: longer jobs are not worth it; ``hard_minutes`` from ``hard_resistance`` on.
    """

    land_mm: Mapping[str, Range]
    land_at_deg: float
    land_exponent: float
    rebevel_from_deg: float
    layer: Range
    rate_mm2: Range
    rate_at_um: float
    size_exponent: float
    abrasive: Mapping[str, float]
    state: Mapping[str, float]
    wear_exponent: Mapping[str, float]
    least_passes: int
    rounding: Rounding
    minutes_rounding: Rounding
    seconds: Range
    seconds_per_mm: float
    minutes_per_stone: Range
    long_minutes: float
    hard_minutes: float
    hard_resistance: float


@dataclass(frozen=True)
class StroppingRules:
    """Which strop to take and how many passes to spend.

    Attributes:
        default_backing: backing id for a strop whose backing was not said.
        pressure: pressure word of ``strops.yaml``.
        bite_coarser_than_um, bite_passes: after a finish coarser than this, at most so many passes.
        round_from, round_to: an upper limit from here on is rounded down to a multiple.
        least_share: lower end of the pass range over the upper end, 0 to 1.
        widest_jump: last stone over compound, above which a warning is due.
        most_passes: never more than this a side.
    """

    default_backing: str
    pressure: str
    bite_coarser_than_um: float
    bite_passes: int
    round_from: int
    round_to: int
    least_share: float
    widest_jump: float
    most_passes: int


@dataclass(frozen=True)
class PlanningData:
    """Everything ``make_plan`` needs to know beside the request."""

    ratios: Ratios
    start: StartRules
    fresh: FreshRules
    no_burr_kinds: frozenset[str]
    no_burr_angle_deg: float
    longer_wear_from: float
    deburr_um: float
    hard_families: frozenset[str]
    default_class: Mapping[str, str]
    ladders: tuple[UsualLadder, ...]
    class_of_abrasive: Mapping[str, str]
    rod_reach_mm: Range
    worth_correcting_deg: float
    removal: RemovalRules
    assumed: Mapping[str, Any]
    thickness_by_angle: Steps
    stropping: StroppingRules
    strop_model: StropModel
    minerals: Minerals
    effects: tuple[ApparentEffect, ...]
    texts: Texts


def planning_data(parsed: Mapping[str, Any]) -> PlanningData:
    """Build from parsed files by stem.

    Args:
        parsed: ``progression``, ``removal``, ``stropping`` and ``texts`` of ``rules/planning``, and
            ``minerals``, ``hard_phases``, ``kit`` and ``strops`` of ``rules/abrasives``.

    Raises:
        KnowledgeError: ratios are out of order, a usual ladder does not get finer, or the slack of
            the start is wider than the ratio that counts as near.
    """
    steps = parsed["progression"]
    ratios = Ratios(*(float(steps["ratios"][key]["value"]) for key in ("near", "comfortable", "customary", "widest")))
    start = StartRules(
        _steps(steps["start"]["by_work_mm2"], "um"),
        _steps(steps["start"]["by_chip_mm"], "um"),
        float(steps["start"]["slack"]["value"]),
    )
    ladders = tuple(
        UsualLadder(row["class"], row["abrasive"], row["label"], row["set"], tuple(map(float, row["um"])))
        for row in steps["ladders"]
    )
    _check(ratios, start, ladders)
    fresh, no_burr, rod = steps["fresh"], steps["no_burr"], steps["rod"]
    return PlanningData(
        ratios=ratios,
        start=start,
        fresh=FreshRules(
            frozenset(fresh["states"]),
            frozenset(fresh["abrasives"]),
            frozenset(fresh["bonds"]),
            float(fresh["from_um"]),
        ),
        no_burr_kinds=frozenset(no_burr["kinds"]),
        no_burr_angle_deg=float(no_burr["angle_up_to"]),
        longer_wear_from=float(steps["longer_wear"]["value"]),
        deburr_um=float(steps["deburr_um"]["value"]),
        hard_families=frozenset(steps["hard_families"]),
        default_class=steps["default_class"],
        ladders=ladders,
        class_of_abrasive=steps["class_of_abrasive"],
        rod_reach_mm=_range(rod["reach_mm"]),
        worth_correcting_deg=float(rod["worth_correcting_deg"]["value"]),
        removal=_removal(parsed["removal"]),
        assumed={key: row["value"] for key, row in parsed["removal"]["assumed"].items()},
        thickness_by_angle=_steps(parsed["removal"]["assumed"]["edge_thickness_mm"]["by_angle"], "mm"),
        stropping=_stropping(parsed["stropping"]),
        strop_model=StropModel.from_data(parsed["strops"]),
        minerals=Minerals.from_data(parsed["minerals"], parsed["hard_phases"]),
        effects=apparent_effects(parsed["kit"]),
        texts=Texts.from_data(parsed["texts"]),
    )


def _removal(data: Mapping[str, Any]) -> RemovalRules:
    rate, passes, worth = data["rate"], data["passes"], data["not_worth_it"]
    return RemovalRules(
        land_mm={row["state"]: _range(row) for row in data["land_width_mm"]},
        land_at_deg=float(data["land_angle"]["at_deg"]),
        land_exponent=float(data["land_angle"]["exponent"]["value"]),
        rebevel_from_deg=float(data["rebevel_from_deg"]["value"]),
        layer=_range(data["scratch_layer"]),
        rate_mm2=_range(rate),
        rate_at_um=float(rate["at_um"]),
        size_exponent=float(rate["size_exponent"]["value"]),
        abrasive=rate["abrasive"],
        state=rate["state"],
        wear_exponent={key: data["wear_exponent"][key] for key in ("cuts", "marginal", "does-not-cut")},
        least_passes=int(passes["least"]),
        rounding=_rounding(passes["round"]),
        minutes_rounding=_rounding(data["minutes"]["round"]),
        seconds=_range(data["seconds_per_pass"]),
        seconds_per_mm=float(data["seconds_per_pass"]["per_mm"]),
        minutes_per_stone=_range(data["minutes_per_stone"]),
        long_minutes=float(worth["minutes"]),
        hard_minutes=float(worth["hard_wearing"]["minutes"]),
        hard_resistance=float(worth["hard_wearing"]["wear_resistance"]),
    )


def _stropping(data: Mapping[str, Any]) -> StroppingRules:
    return StroppingRules(
        default_backing=data["default_backing"]["value"],
        pressure=data["pressure"]["value"],
        bite_coarser_than_um=float(data["bite_finish"]["coarser_than_um"]),
        bite_passes=int(data["bite_finish"]["passes"]),
        round_from=int(data["round_down"]["from"]),
        round_to=int(data["round_down"]["to"]),
        least_share=float(data["least_share"]["value"]),
        widest_jump=float(data["widest_jump"]["value"]),
        most_passes=int(data["most_passes"]["value"]),
    )


def _range(row: Mapping[str, Any]) -> Range:
    return float(row["low"]), float(row["high"])


def _steps(rows: list[Mapping[str, Any]], key: str) -> Steps:
    return tuple((float(row["up_to"]), float(row[key])) for row in rows)


def _rounding(rows: list[Mapping[str, Any]]) -> Rounding:
    return tuple((float(row["below"]), int(row["to"])) for row in rows)


def _check(ratios: Ratios, start: StartRules, ladders: tuple[UsualLadder, ...]) -> None:
    if not 1 < ratios.near <= ratios.comfortable <= ratios.customary < ratios.widest:
        raise KnowledgeError("ratios are out of order", hint="above 1: near, comfortable, customary and widest, rising")
    if not 1 <= start.slack <= ratios.near:
        raise KnowledgeError("slack of the start is out of range", hint="1 to the ratio near")
    for rows, name in ((start.by_work, "by_work_mm2"), (start.by_chip, "by_chip_mm")):
        if list(rows) != sorted(rows):
            raise KnowledgeError(f"start {name} is not in ascending order", hint="sort it by up_to")
    for ladder in ladders:
        if list(ladder.um) != sorted(set(ladder.um), reverse=True):
            raise KnowledgeError(f"ladder {ladder.class_id} does not get finer", hint="sort it coarse to fine")
