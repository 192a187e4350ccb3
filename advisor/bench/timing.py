"""Timing: processor time where the clock is fine enough, so that other programs do not count."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

_FINE = time.get_clock_info("process_time").resolution < 1e-6
clock = time.process_time if _FINE else time.perf_counter
CLOCK = "processor time" if _FINE else "wall-clock time"


@dataclass(frozen=True)
class Times:
    """Repeated times of one thing, in milliseconds."""

    median: float
    least: float
    runs: int

    @staticmethod
    def of(seconds: Sequence[float]) -> Times:
        """Sum up times in seconds."""
        return Times(round(statistics.median(seconds) * 1e3, 4), round(min(seconds) * 1e3, 4), len(seconds))

    def to_json(self) -> dict[str, Any]:
        """Return the figures as plain data."""
        return {"median_ms": self.median, "least_ms": self.least, "runs": self.runs}


def timed(work: Callable[[], Any]) -> float:
    """Return how long a call takes, in seconds."""
    start = clock()
    work()
    return clock() - start
