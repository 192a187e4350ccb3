"""The stones a plan may use, each reduced to what the choice of steps needs."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

CUTS = "cuts"


@dataclass(frozen=True)
class Rung:
    """One stone or film seen by the planner.

    Attributes:
        name: as the kit or the usual ladder names it.
        um: nominal grain size, micrometres, above 0.
        abrasive: mineral class (diamond, cbn, silicon-carbide, alumina, natural) or its own word.
        abrasive_name: the abrasive's name for a sentence.
        cutting: against the hardest carbide of the steel: cuts, marginal or does-not-cut.
        asked: whether it is of the abrasive class that was asked for.
        fresh: a freshly dressed coarse bonded stone, which cuts hard and rougher than its number.
        state: dressing state (fresh, settled, worn).
        thickness_mm: thickness, if known.
        label: name of the usual set it belongs to; empty for a stone owned.
        looks_um: range of grain size its finish looks like, where that differs from ``um``.
    """

    name: str
    um: float
    abrasive: str
    abrasive_name: str
    cutting: str = CUTS
    asked: bool = True
    fresh: bool = False
    state: str = ""
    thickness_mm: float | None = None
    looks_um: tuple[float, float] | None = None
    label: str = ""

    @property
    def suits(self) -> tuple[bool, bool, bool, str, str]:
        """Order among stones of one size, best first."""
        return (self.cutting != CUTS, not self.asked, self.fresh, self.state, self.name)


def distance(um: float, other_um: float) -> float:
    """Return the size ratio of two grain sizes, coarser over finer, at least 1."""
    return max(um / other_um, other_um / um)


def coarse_first(rungs: Iterable[Rung]) -> tuple[Rung, ...]:
    """Return the rungs coarse to fine; among equal sizes the one that suits best comes first."""
    return tuple(sorted(rungs, key=lambda rung: (-rung.um, rung.suits)))


def best_of_each_size(rungs: Iterable[Rung]) -> tuple[Rung, ...]:
    """Return one rung a size, coarse to fine: a plan takes strictly finer steps."""
    chosen: list[Rung] = []
    for rung in coarse_first(rungs):
        if not chosen or not math.isclose(chosen[-1].um, rung.um):
            chosen.append(rung)
    return tuple(chosen)
