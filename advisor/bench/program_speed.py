"""The whole program: consultation, what matters, the grid, memory and start-up."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Mapping, Sequence
from random import Random
from typing import TYPE_CHECKING, Any

from advisor.bench.timing import Times, timed
from advisor.curation.grid import Given, Grid, run_grid
from advisor.sensitivity import ask_next, would_change

if TYPE_CHECKING:
    from advisor.consult import Consultant
    from advisor.knowledge.model import KnowledgeBase


def random_questions(kb: KnowledgeBase, count: int, seed: int = 1) -> list[Given]:
    """Return questions of the grid: a grade, a use, and a hardness, wish and abrasive or none."""
    grid, rng = Grid.of(kb), Random(seed)
    return [grid.given(rng.randrange(len(grid))) for _ in range(count)]


def consult_speed(consultant: Consultant, questions: Sequence[Given]) -> dict[str, Any]:
    """Time a whole answer with plan and trace, its JSON, and what to ask next and what would change it."""
    parts: dict[str, list[float]] = {"consult": [], "to_json": [], "ask_next_and_would_change": []}
    for given in questions:
        question = consultant.question(given)
        advice = consultant.ask(question, sensitivity=False)
        parts["consult"].append(timed(lambda q=question: consultant.ask(q, sensitivity=False)))  # type: ignore[misc]
        parts["to_json"].append(timed(advice.to_json))
        parts["ask_next_and_would_change"].append(
            timed(lambda q=question, o=advice.outcome: (ask_next(consultant.reasoner, q, o),  # type: ignore[misc]
                                                        would_change(consultant.reasoner, q, o)))
        )  # fmt: skip
    return {name: Times.of(times).to_json() for name, times in parts.items()}


def count_bands(consultants: tuple[Consultant, ...], grid: Grid, numbers: Sequence[int]) -> int:
    """Ask some questions of the grid for their bands; return how many there were to ask."""
    (consultant,) = consultants
    for number in numbers:
        _ = consultant.reasoner.reason(grid.given(number)).bands
    return len(numbers)


def sweep_speed(consultant: Consultant, questions: int, jobs: Sequence[int]) -> list[dict[str, Any]]:
    """Time a sample of the grid, bands included, on one and on several processes; wall-clock time."""
    grid = Grid.of(consultant.kb)
    numbers = grid.sample(questions, seed=1)
    rows = []
    for cores in jobs:
        start = time.perf_counter()
        done = sum(run_grid((consultant,), grid, numbers, count_bands, jobs=cores))
        seconds = time.perf_counter() - start
        rows.append({"cores": cores, "questions": done, "of": len(grid), "seconds": round(seconds, 2),
                     "per_second": round(done / seconds)})  # fmt: skip
    return rows


def memory_use(folder: str | None) -> dict[str, Any]:
    """Return what Python holds for one open knowledge base, in MB, and what one answer adds at its peak."""
    from advisor.consult import Consultant

    tracemalloc.start()
    consultant = Consultant.open(folder)
    opened = tracemalloc.get_traced_memory()[0]
    question = consultant.question(random_questions(consultant.kb, 1)[0])
    consultant.ask(question)
    tracemalloc.reset_peak()
    before = tracemalloc.get_traced_memory()[0]
    consultant.ask(question)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    report = {"knowledge_mb": round(opened / 1e6, 1), "answer_mb": round((peak - before) / 1e6, 2)}
    if sys.platform != "win32":
        import resource

        # Kilobytes on Linux, bytes on macOS.
        unit = 1e6 if sys.platform == "darwin" else 1e3
        report["process_peak_mb"] = round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit, 0)
    return report


def start_up(folder: str | None, grade: str, runs: int) -> dict[str, Any]:
    """Time the command from nothing to its printed answer; wall-clock time of whole processes.

    ``cold`` finds neither compiled knowledge nor bytecode, ``warm`` finds both.
    """
    with tempfile.TemporaryDirectory() as place:
        environment = {
            **os.environ, "WHETRULE_CACHE": os.path.join(place, "cache"),
            "PYTHONPYCACHEPREFIX": os.path.join(place, "bytecode"), "PYTHONDONTWRITEBYTECODE": "",
        }  # fmt: skip
        options = ["--rules", folder] if folder else []
        ask = ["-m", "advisor", *options, "ask", grade, "--json"]
        return {
            "first_answer_cold": Times.of([_process(ask, environment)]).to_json(),
            "first_answer_warm": Times.of([_process(ask, environment) for _ in range(runs)]).to_json(),
            "import_only": Times.of(
                [_process(["-c", "import advisor.consult"], environment) for _ in range(runs)]
            ).to_json(),
            "python_alone": Times.of([_process(["-c", "pass"], environment) for _ in range(runs)]).to_json(),
        }


def _process(arguments: list[str], environment: Mapping[str, str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], env=environment, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start
