"""What the planner is asked and what it answers."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from advisor.abrasives.stones import Kit
from advisor.errors import InputError, OutOfRangeError
from advisor.geometry.ranges import check_angle

TOUCH_UP = "touch-up"


@dataclass(frozen=True)
class PlanRequest:
    """One edge to plan for.

    Attributes:
        angle_deg: target angle per side, degrees, 1 to 60.
        finish_coarsest_um, finish_pick_um, finish_finest_um: finish band, micrometres.
        abrasive: class asked for: diamond, cbn, silicon-carbide, alumina or natural.
        kit: stones owned; None for a usual set.
        edge_state: chipped, dull, rolled, factory-new or touch-up; None if not given.
        chip_depth_mm, edge_thickness_mm, edge_length_mm: mm, above 0; None if not given.
        present_angle_deg: angle per side the edge has now, degrees.
        wear_resistance: abrasion resistance relative to a simple carbon steel, above 0.
        hardest_family: hardest carbide family present in quantity, such as MC; None if none.
        burr_kind: how this steel's burr behaves (clings, ordinary, sheds or damages); None if not known.
        strop_allowed: whether the advice has a strop in it.
        strop_min_passes, strop_max_passes: passes a side from the rules.
        strop_compound_coarsest_um, strop_compound_finest_um: band of the compound, micrometres.
        strop_firmness: firmness classes that are allowed; empty for any.
        rod_reach_mm: distance from rod pivot to edge, mm; None if not given.
    """

    angle_deg: float
    finish_coarsest_um: float
    finish_pick_um: float
    finish_finest_um: float
    abrasive: str | None = None
    kit: Kit | None = None
    edge_state: str | None = None
    chip_depth_mm: float | None = None
    present_angle_deg: float | None = None
    edge_thickness_mm: float | None = None
    edge_length_mm: float | None = None
    wear_resistance: float = 1.0
    hardest_family: str | None = None
    burr_kind: str | None = None
    strop_allowed: bool = True
    strop_min_passes: int | None = None
    strop_max_passes: int | None = None
    strop_compound_coarsest_um: float | None = None
    strop_compound_finest_um: float | None = None
    strop_firmness: tuple[str, ...] = ()
    rod_reach_mm: float | None = None

    def __post_init__(self) -> None:
        """Raises OutOfRangeError or InputError where a number cannot be planned with."""
        for name in ("angle_deg", "present_angle_deg"):
            value = getattr(self, name)
            if value is not None:
                check_angle(value, name)
        for name in (
            "chip_depth_mm", "edge_thickness_mm", "edge_length_mm", "wear_resistance", "rod_reach_mm",
            "finish_finest_um",
        ):  # fmt: skip
            value = getattr(self, name)
            if value is not None and not 0 < value < float("inf"):
                raise OutOfRangeError(f"{value:g} is not above 0", field=name, hint="give a positive number")
        if not self.finish_coarsest_um >= self.finish_pick_um >= self.finish_finest_um:
            raise InputError(
                "the finish band is out of order",
                field="finish",
                hint="coarsest, pick and finest from large to small micrometres",
            )

    def complete(self, **assumed: Any) -> PlanRequest:
        """Return the request with fields that were not given filled in."""
        return replace(self, **assumed)


@dataclass(frozen=True)
class Finish:
    """The stone that leaves the finish.

    Attributes:
        stone, um: its name and nominal size in micrometres.
        place: inside, coarser, finer or far-too-coarse, against the band asked for.
        because: why it was chosen, and the trade-off if it lies outside.
    """

    stone: str
    um: float
    place: str
    because: str

    @property
    def inside(self) -> bool:
        """Whether it lies inside the band."""
        return self.place == "inside"


@dataclass(frozen=True)
class Step:
    """One stone of the progression.

    Attributes:
        stone, micron: its name and nominal size, micrometres.
        ratio: size of the stone before over this one; None for the first.
        purpose: what it is for.
        passes: rough range of passes a side over the whole edge.
        until: when to go on.
        notes, cautions: what belongs to this step.
        minutes: rough range, minutes, both sides and setting up.
    """

    stone: str
    micron: float
    ratio: float | None
    purpose: str
    passes: tuple[int, int]
    until: str
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    minutes: tuple[int, int]


@dataclass(frozen=True)
class Gap:
    """A jump wider than the rules' widest ratio, and what it costs.

    ``place`` is start (nothing coarse enough), between (two stones) or finish (nothing fine enough).
    """

    place: str
    coarse_um: float
    fine_um: float
    ratio: float
    cost: str


@dataclass(frozen=True)
class Skipped:
    """A stone owned that the plan leaves out, and why."""

    stone: str
    um: float
    reason: str


@dataclass(frozen=True)
class StropStep:
    """What to do with the strop.

    Attributes:
        strop: its name; None where none is used or owned.
        compound_um: size of its compound, micrometres; None for a bare strop.
        backing: id of its backing.
        passes: range of passes a side; None where it is left out.
        risk: risk of rounding the apex at the upper end, 0 to 1; None where it is left out.
        text: the instruction.
        notes: what to watch.
    """

    strop: str | None
    compound_um: float | None
    backing: str | None
    passes: tuple[int, int] | None
    risk: float | None
    text: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class AngleCorrection:
    """Change of angle from a stone's thickness on a guided rod, against the dial-in stone.

    ``difference_mm`` is positive for a thicker stone; degrees are negative for a lower angle.
    """

    stone: str
    difference_mm: float
    degrees: tuple[float, float]
    text: str


@dataclass(frozen=True)
class Plan:
    """Steps at the bench, coarse to fine, and what was left out.

    Attributes:
        finish: chosen finish; None where there are no steps.
        steps: the progression; empty only together with ``reason_if_empty``.
        skipped: stones owned that are left out.
        gaps: jumps wider than the bound.
        worst_ratio: widest jump left on this job (see ``progression``); None for a touch-up.
        strop: what to do with the strop.
        dial_in_stone: stone to find the angle with.
        deburr_stone: stone for the last light deburring passes.
        removal_mm3: steel to remove, mm3, a range.
        minutes_low, minutes_high: rough time for the progression.
        not_worth_it: why the plan may not be worth doing by hand; None if it is.
        angle_corrections: for stones of known thickness.
        notes: what holds for the whole plan, assumptions included.
        reason_if_empty: why there is no step.
    """

    finish: Finish | None
    steps: tuple[Step, ...]
    skipped: tuple[Skipped, ...]
    gaps: tuple[Gap, ...]
    worst_ratio: float | None
    strop: StropStep | None
    dial_in_stone: str | None
    deburr_stone: str | None
    removal_mm3: tuple[float, float]
    minutes_low: int
    minutes_high: int
    not_worth_it: str | None
    angle_corrections: tuple[AngleCorrection, ...]
    notes: tuple[str, ...]
    reason_if_empty: str | None

    def to_json(self) -> dict[str, Any]:
        """Return the plan as plain dictionaries and lists; numbers to four significant digits."""
        plain: dict[str, Any] = _plain(asdict(self))
        return plain


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return float(f"{value:.4g}") if isinstance(value, float) else value
