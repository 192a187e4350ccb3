"""What a sharpener owns: stones, films and strops, their ladder of sizes and what fresh dressing does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from advisor.abrasives.grits import GrainSize


@dataclass(frozen=True)
class Stone:
    """One stone, film or strop.

    Attributes:
        name: unique in its kit.
        kind: stone, film or strop.
        abrasive: mineral id; on a strop that of the compound; None on a bare strop or if not said.
        abrasive_class: diamond, cbn, silicon-carbide, alumina or natural; None as above.
        bond: resin, vitrified, metal, plated, film or loose; None if not said.
        size: grain size; on a strop that of the compound; None only on a bare strop.
        thickness_mm: thickness as mounted, mm; None if not said.
        state: fresh, settled or worn; None on a strop.
        backing: id of what a strop (or a film) lies on; None if not said.
    """

    name: str
    kind: str
    abrasive: str | None
    abrasive_class: str | None
    bond: str | None
    size: GrainSize | None
    thickness_mm: float | None
    state: str | None
    backing: str | None

    @property
    def um(self) -> float | None:
        """Nominal grain size in micrometres; None on a bare strop."""
        return self.size.um if self.size else None

    @property
    def bare(self) -> bool:
        """True for a strop without compound."""
        return self.kind == "strop" and self.size is None

    def to_json(self) -> dict[str, object]:
        """Return the item's fields; unknown ones are None."""
        return {
            "name": self.name,
            "kind": self.kind,
            "abrasive": self.abrasive,
            "abrasive_class": self.abrasive_class,
            "bond": self.bond,
            "size": self.size.to_json() if self.size else None,
            "thickness_mm": self.thickness_mm,
            "state": self.state,
            "backing": self.backing,
        }


@dataclass(frozen=True)
class LadderLimits:
    """Bounds on the size ratio next/last of two steps, 0 to 1.

    Attributes:
        gap_below: a smaller ratio is a gap.
        adds_little_above: a larger ratio makes the finer step add little.
    """

    gap_below: float
    adds_little_above: float

    @classmethod
    def from_data(cls, kit: Mapping[str, Any]) -> LadderLimits:
        """Build from the parsed ``kit.yaml``."""
        ladder = kit["ladder"]
        return cls(float(ladder["gap_below"]), float(ladder["adds_little_above"]))


@dataclass(frozen=True)
class Rung:
    """One step of a ladder.

    Attributes:
        stone: the item.
        um: its nominal size, micrometres.
        ratio: this size over the size of the step before; None for the first.
        gap: True if the ratio is below the gap limit.
        adds_little: True if the ratio is above the limit for a useful step.
    """

    stone: Stone
    um: float
    ratio: float | None
    gap: bool
    adds_little: bool


@dataclass(frozen=True)
class Kit:
    """A named set of items in the order they were given."""

    name: str
    items: tuple[Stone, ...]

    def shaping(self) -> tuple[Stone, ...]:
        """Return stones and films, coarse to fine; equal sizes keep their order."""
        found = [item for item in self.items if item.kind != "strop" and item.um is not None]
        return tuple(sorted(found, key=lambda item: -(item.um or 0.0)))

    def strops(self) -> tuple[Stone, ...]:
        """Return strops, coarse to fine compound, bare ones last."""
        found = [item for item in self.items if item.kind == "strop"]
        return tuple(sorted(found, key=lambda item: -(item.um or 0.0)))

    def ladder(self, limits: LadderLimits) -> tuple[Rung, ...]:
        """Return stones and films coarse to fine with the ratio of each size to the last."""
        return ladder(self.shaping(), limits)

    def to_json(self) -> dict[str, object]:
        """Return the kit's name and items."""
        return {"name": self.name, "items": [item.to_json() for item in self.items]}


def ladder(stones: tuple[Stone, ...], limits: LadderLimits) -> tuple[Rung, ...]:
    """Return the rungs of stones already sorted coarse to fine; bare strops are left out."""
    sized = [(stone, stone.um) for stone in stones if stone.um is not None]
    if not sized:
        return ()
    rungs = [Rung(sized[0][0], sized[0][1], None, False, False)]
    for (_, before), (stone, um) in pairwise(sized):
        ratio = um / before
        rungs.append(Rung(stone, um, ratio, ratio < limits.gap_below, ratio > limits.adds_little_above))
    return tuple(rungs)


@dataclass(frozen=True)
class ApparentSize:
    """What size a stone's finish looks like, micrometres, with the reason's basis and source."""

    low_um: float
    working_um: float
    high_um: float
    basis: str
    source: str


@dataclass(frozen=True)
class ApparentEffect:
    """Factors on the nominal size for stones that match every listed field."""

    when: tuple[tuple[str, tuple[str, ...]], ...]
    low: float
    working: float
    high: float
    basis: str
    source: str

    def fits(self, stone: Stone) -> bool:
        """Return whether the effect applies to a stone."""
        return all(getattr(stone, field) in wanted for field, wanted in self.when)


def apparent_effects(kit: Mapping[str, Any]) -> tuple[ApparentEffect, ...]:
    """Build the effects from the parsed ``kit.yaml``; the first that fits a stone counts."""
    return tuple(
        ApparentEffect(
            tuple((field, tuple(wanted)) for field, wanted in row["when"].items()),
            float(row["factor"]["low"]),
            float(row["factor"]["working"]),
            float(row["factor"]["high"]),
            row["basis"],
            row["source"],
        )
        for row in kit["apparent_size"]
    )


def apparent_size(stone: Stone, effects: tuple[ApparentEffect, ...]) -> ApparentSize | None:
    """Return the size a stone's finish looks like; None if that is its nominal size."""
    effect = next((effect for effect in effects if effect.fits(stone)), None)
    if effect is None or stone.um is None:
        return None
    um = stone.um
    return ApparentSize(um * effect.low, um * effect.working, um * effect.high, effect.basis, effect.source)
