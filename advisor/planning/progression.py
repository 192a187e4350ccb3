"""Which stones, in which order: the finish, the start and the fewest steps without a wide jump.

The worst ratio of a plan is the widest jump that is left between the coarseness the work asks for and
the finish aimed at.  It counts the shortfall at both ends (no stone coarse enough to start, none fine
enough to end) and leaves out what lies beyond them, so that it compares kits on the same job.  Ratios up
to the comfortable one count as that one.  Each choice below keeps the worst ratio from growing when a
stone is added to the kit:

* the finish is the stone nearest to the aim, where stones within the ratio ``near`` count as equally
  near;
* the start is the stone nearest to the start of the span, on the same terms; of those as near, the one
  nearest to what the steel to remove asks for;
* the steps between are chosen among those whose widest jump is the least possible.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from advisor.planning.rungs import CUTS, Rung, best_of_each_size, distance

INSIDE, COARSER, FINER, FAR_TOO_COARSE = "inside", "coarser", "finer", "far-too-coarse"


@dataclass(frozen=True)
class Ratios:
    """Bounds on the size ratio of one step to the next, coarser over finer, each above 1.

    Attributes:
        near: stones for the finish, or for the start, within this of the size asked for do equally well.
        comfortable: a step up to this is never worth another stone.
        customary: the widest of the usual steps.
        widest: anything wider is named as a gap.
    """

    near: float
    comfortable: float
    customary: float
    widest: float


@dataclass(frozen=True)
class Aim:
    """What a progression has to span, in micrometres.

    Attributes:
        work_um: coarseness the steel to remove asks for.
        start_um: where the span begins: ``work_um``, or ``coarsest_um`` where that is coarser.
        start_limit_um: no shaping stone coarser than this is wanted.
        coarsest_um, pick_um, finest_um: the finish band, coarse to fine.
    """

    work_um: float
    start_um: float
    start_limit_um: float
    coarsest_um: float
    pick_um: float
    finest_um: float


@dataclass(frozen=True)
class Progression:
    """Chosen rungs, coarse to fine; the last one is the finish.

    Attributes:
        rungs: strictly finer from one to the next, at least one.
        place: where the finish lies: inside, coarser, finer, or far-too-coarse.
        worst_ratio: see the module; at least the comfortable ratio.
    """

    rungs: tuple[Rung, ...]
    place: str
    worst_ratio: float

    @property
    def finish(self) -> Rung:
        """The last shaping stone."""
        return self.rungs[-1]


def choose(rungs: tuple[Rung, ...], aim: Aim, ratios: Ratios) -> Progression:
    """Choose finish, start and steps among ``rungs`` (at least one, any order)."""
    finish, place = _finish(rungs, aim, ratios)
    start = _start(rungs, finish, aim, ratios)
    ladder = tuple(
        rung
        for rung in best_of_each_size((*rungs, start, finish))
        if finish.um < rung.um < start.um and _differs(rung, finish) and _differs(rung, start)
    )
    nodes = (start, *ladder, finish) if start is not finish else (finish,)
    path = _fewest_steps(nodes, aim, ratios)
    return Progression(path, place, _worst_ratio(path, aim, ratios))


def finish_only(rungs: tuple[Rung, ...], aim: Aim, ratios: Ratios) -> Progression:
    """Choose the finish alone, for an edge that needs no other stone."""
    finish, place = _finish(rungs, aim, ratios)
    return Progression((finish,), place, max(ratios.comfortable, finish.um / aim.pick_um))


def place_of(um: float, aim: Aim) -> str:
    """Say where a finish of ``um`` lies against the band."""
    if aim.finest_um <= um <= aim.coarsest_um:
        return INSIDE
    if um < aim.finest_um:
        return FINER
    # What is coarser than the work asks to start with cannot be what it asks to end with.
    return COARSER if um <= aim.start_um else FAR_TOO_COARSE


def _finish(rungs: tuple[Rung, ...], aim: Aim, ratios: Ratios) -> tuple[Rung, str]:
    order = (INSIDE, COARSER, FINER, FAR_TOO_COARSE)

    def key(rung: Rung) -> tuple[object, ...]:
        away = distance(rung.um, aim.pick_um)
        place = order.index(place_of(rung.um, aim))
        return (place, max(away, ratios.near), rung.cutting != CUTS, away, rung.suits, rung.um)

    best = min(rungs, key=key)
    return best, place_of(best.um, aim)


def _start(rungs: tuple[Rung, ...], finish: Rung, aim: Aim, ratios: Ratios) -> Rung:
    able = [rung for rung in rungs if finish.um < rung.um <= aim.start_limit_um and _differs(rung, finish)]
    if not able or finish.um >= aim.start_um:
        return finish

    def key(rung: Rung) -> tuple[object, ...]:
        away = distance(rung.um, aim.start_um)
        near = max(away, ratios.near)
        asked = distance(rung.um, aim.work_um)
        return (near, rung.fresh, rung.cutting != CUTS, asked, rung.suits, rung.um)

    best = min(able, key=key)
    # A stone that starts no nearer to what is asked than the finish itself only adds a change of stones.
    if distance(finish.um, aim.start_um) <= ratios.near:
        return finish
    return best


def _differs(rung: Rung, other: Rung) -> bool:
    return not math.isclose(rung.um, other.um)


def _fewest_steps(nodes: tuple[Rung, ...], aim: Aim, ratios: Ratios) -> tuple[Rung, ...]:
    """Return the path from first to last node with no jump wider than need be, then the least cost.

    A step costs 1, and more beyond the customary ratio: as much as another stone at the widest one.
    """
    if len(nodes) == 1:
        return nodes
    sizes = [rung.um for rung in nodes]
    needed = [_within(um, aim) for um in sizes]
    # The path over all nodes has the least jump both as shown and inside the span, so both can be held.
    allowed, allowed_inside = (
        max(ratios.comfortable, *(a / b for a, b in pairwise(scale))) * (1 + 1e-12) for scale in (sizes, needed)
    )
    per_log = 1 / math.log(ratios.widest / ratios.customary)
    best: list[tuple[float, float, tuple[int, ...]]] = [(0.0, 1.0, (0,))]
    for j in range(1, len(nodes)):
        options = []
        for i in range(j):
            jump = sizes[i] / sizes[j]
            if jump <= allowed and needed[i] / needed[j] <= allowed_inside:
                cost, widest, path = best[i]
                extra = per_log * max(0.0, math.log(jump / ratios.customary))
                options.append((round(cost + 1 + extra, 9), max(widest, jump), (*path, j)))
        best.append(min(options))
    return tuple(nodes[i] for i in best[-1][2])


def _worst_ratio(path: tuple[Rung, ...], aim: Aim, ratios: Ratios) -> float:
    short = path[-1].um / aim.pick_um
    if path[-1].um > aim.start_um:
        return max(ratios.comfortable, short)
    sizes = [aim.start_um, *(_within(rung.um, aim) for rung in path)]
    return max(ratios.comfortable, short, *(a / b for a, b in pairwise(sizes)))


def _within(um: float, aim: Aim) -> float:
    """Clip a size to the span from the start asked for to the finish aimed at."""
    return min(max(um, aim.pick_um), aim.start_um)
