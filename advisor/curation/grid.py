"""The whole grid of questions, and running all of it on every core.

The grid is every grade x hardness band x use x wish x abrasive class.  Hardness bands are the ends of what
a grade can have and the middle of what it usually has: lower end of the usual range, its middle, and the
most the grade can carry; equal values count once, and a grade of unknown hardness is asked without one.
Wish and abrasive are also left open once.
"""

from __future__ import annotations

import math
import multiprocessing
import os
import random
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from typing import Any, TypeVar

from advisor.consult import Consultant
from advisor.errors import WhetruleError
from advisor.knowledge.model import Grade, KnowledgeBase
from advisor.knowledge.vocabulary import Value

T = TypeVar("T")
Given = dict[str, Value]
CHUNK = 600
"""Questions a worker takes at a time."""


def hardness_bands(kb: KnowledgeBase, grade: Grade) -> tuple[float | None, ...]:
    """Return the hardness values (HRC) a grade is asked at, within what may be asked; (None,) if unknown."""
    low, high, most = grade.hardness_low, grade.hardness_high, grade.hardness_max
    if low is None or high is None:
        return (None,)
    least, highest = kb.attributes["hardness"].range or (-math.inf, math.inf)
    bands = {low, (low + high) / 2, most if most is not None else high}
    return tuple(sorted({min(max(band, least), highest) for band in bands}))


@dataclass(frozen=True)
class Grid:
    """All questions, by number from 0; the abrasive changes fastest, then hardness, wish, use and grade.

    Attributes:
        steels: (grade id, hardness values in HRC) in catalogue order.
        uses, wishes, abrasives: words; the last two end with None for "not said".
    """

    steels: tuple[tuple[str, tuple[float | None, ...]], ...]
    uses: tuple[str, ...]
    wishes: tuple[str | None, ...]
    abrasives: tuple[str | None, ...]

    @staticmethod
    def of(kb: KnowledgeBase, grades: Sequence[str] | None = None) -> Grid:
        """Return the grid of a knowledge base, over all its grades or those named."""
        chosen = sorted(kb.grades) if grades is None else list(grades)
        steels = tuple((g, hardness_bands(kb, kb.grades[g])) for g in chosen)
        words = kb.attributes
        return Grid(steels, words["use"].words, (*words["wish"].words, None), (*words["abrasive"].words, None))

    @cached_property
    def _starts(self) -> tuple[int, ...]:
        """The number of each grade's first question, and one past the last."""
        per_hardness = len(self.uses) * len(self.wishes) * len(self.abrasives)
        return tuple(accumulate((len(bands) * per_hardness for _, bands in self.steels), initial=0))

    def __len__(self) -> int:
        return self._starts[-1]

    def given(self, number: int) -> Given:
        """Return one question as the reasoner takes it.

        Raises:
            IndexError: there is no question of that number.
        """
        if not 0 <= number < len(self):
            raise IndexError(number)
        steel = bisect_right(self._starts, number) - 1
        grade, bands = self.steels[steel]
        rest, abrasive = divmod(number - self._starts[steel], len(self.abrasives))
        rest, hardness = divmod(rest, len(bands))
        use, wish = divmod(rest, len(self.wishes))
        parts = {
            "grade": grade,
            "hardness": bands[hardness],
            "use": self.uses[use],
            "wish": self.wishes[wish],
            "abrasive": self.abrasives[abrasive],
        }
        return {name: value for name, value in parts.items() if value is not None}

    @property
    def everything(self) -> Sequence[int]:
        """The numbers of all questions."""
        return range(len(self))

    def sample(self, size: int, seed: int) -> Sequence[int]:
        """Return the numbers of a seeded sample, in order; everything if the grid is not larger."""
        if size >= len(self):
            return self.everything
        return sorted(random.Random(seed).sample(self.everything, size))


def shared_grid(base: KnowledgeBase, head: KnowledgeBase) -> Grid:
    """Return the grid of what two knowledge bases both know, with the second's hardness bands."""
    grid, other = Grid.of(head, [g for g in sorted(head.grades) if g in base.grades]), Grid.of(base, [])
    return Grid(
        grid.steels,
        tuple(u for u in grid.uses if u in other.uses),
        tuple(w for w in grid.wishes if w in other.wishes),
        tuple(a for a in grid.abrasives if a in other.abrasives),
    )


Work = Callable[[tuple[Consultant, ...], Grid, Sequence[int]], T]
"""Work on some questions of the grid; a function at the top level of a module."""


def run_grid(
    consultants: tuple[Consultant, ...],
    grid: Grid,
    numbers: Sequence[int],
    work: Work[T],
    *,
    jobs: int | None = None,
    progress: Callable[[int], Any] = lambda _: None,
) -> Iterator[T]:
    """Yield what ``work`` returns for chunk after chunk of questions, in the order of the numbers.

    Args:
        consultants: the knowledge bases to ask.
        grid, numbers: the questions.
        work: see Work; what it returns must pickle.
        jobs: processes; the cores this process may use by default, 1 stays in this process.
        progress: called with the number of questions done since the last call.

    Raises:
        WhetruleError: a worker process stopped, for example for want of memory.
    """
    chunks = [numbers[i : i + CHUNK] for i in range(0, len(numbers), CHUNK)]
    jobs = min(jobs or usable_cores(), len(chunks))
    if jobs <= 1:
        for chunk in chunks:
            yield work(consultants, grid, chunk)
            progress(len(chunk))
        return
    # Fresh interpreters: a forked copy of a process with threads may hang.
    context = multiprocessing.get_context("spawn")
    bases = tuple(c.kb for c in consultants)
    pool = ProcessPoolExecutor(jobs, mp_context=context, initializer=_start, initargs=(bases, grid, work))
    try:
        for chunk, found in zip(chunks, pool.map(_run, chunks), strict=True):
            yield found
            progress(len(chunk))
    except BrokenProcessPool as exc:
        raise WhetruleError("a worker process stopped unexpectedly", hint="try --jobs 1, which shows why") from exc
    finally:
        pool.shutdown(cancel_futures=True)


def usable_cores() -> int:
    """Return the number of cores this process may run on."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


_task: list[Any] = []
"""What this worker process works on; set once by _start."""


def _start(bases: tuple[KnowledgeBase, ...], grid: Grid, work: Work[Any]) -> None:
    _task[:] = [tuple(Consultant.of(kb) for kb in bases), grid, work]


def _run(chunk: Sequence[int]) -> Any:
    consultants, grid, work = _task
    return work(consultants, grid, chunk)
