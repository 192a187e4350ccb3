"""Everything measured, in one run and one table."""

from __future__ import annotations

import os
import platform
from typing import Any

from advisor.bench.engine_speed import CLIPS, OURS, clips_is_there, engine_speed, growth, with_computed
from advisor.bench.program_speed import consult_speed, memory_use, random_questions, start_up, sweep_speed
from advisor.bench.timing import CLOCK
from advisor.consult import Consultant
from advisor.curation.grid import usable_cores
from advisor.report.layout import heading, pairs, paragraph, table

SIZES = (100, 200, 400, 700, 1000)


def measure(folder: str | None, *, questions: int = 300, sweep: int = 20_000, grade: str = "440C") -> dict[str, Any]:
    """Run all measurements.

    Args:
        folder: rules/ folder, the shipped one by default.
        questions: questions for the engine; a third of them for whole answers.
        sweep: questions of the grid, at most.
        grade: asked for at start-up.
    """
    # First, before anything else fills the memory.
    memory = memory_use(folder)
    consultant = Consultant.open(folder)
    asked = random_questions(consultant.kb, questions)
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else None
    return {
        "machine": {"python": platform.python_version(), "system": platform.system(), "cores": usable_cores(),
                    "load_at_start": None if load is None else round(load, 2), "clock": CLOCK},
        "knowledge_base": {"version": consultant.kb.version, "digest": consultant.kb.digest},
        "clips_installed": clips_is_there(),
        "engine": engine_speed(consultant.kb, with_computed(consultant, asked)),
        "whole": consult_speed(consultant, asked[: max(1, questions // 3)]),
        "growth": growth(consultant.kb, SIZES, max(1, questions // 3)),
        "sweep": sweep_speed(consultant, sweep, tuple(dict.fromkeys((1, min(2, usable_cores()))))),
        "memory": memory,
        "start_up": start_up(folder, grade, runs=7),
    }  # fmt: skip


def lines(report: dict[str, Any]) -> list[str]:
    """Return the table, at most 79 columns wide."""
    machine, engine = report["machine"], report["engine"]
    shown = [f"Python {machine['python']} on {machine['system']}, {machine['cores']} cores, {machine['clock']}"]
    if machine["load_at_start"] is not None:
        shown.append(f"load {machine['load_at_start']:g} at the start")
    made = [*heading("Time a question")[1:], *paragraph(", ".join(shown) + ".", 2), ""]
    rows = [[f"engine, {engine['rules']} rules", *_times(engine["ours"]), _ratio(engine)]]
    if "clips" in engine:
        rows.append(["CLIPS, same rules and facts", *_times(engine["clips"]), ""])
    names = {"consult": "answer with plan and trace", "to_json": "its JSON data",
             "ask_next_and_would_change": "what to ask, what would change"}  # fmt: skip
    rows += [[label, *_times(report["whole"][name]), ""] for name, label in names.items()]
    made += table(["", "median ms", "least ms", "engine / CLIPS"], rows)
    made += [
        "",
        *pairs([("engine", OURS), ("CLIPS", CLIPS if "clips" in engine else "clipspy is not installed")]),
    ]
    made += [*heading("Growth with the number of rules (made-up rules)"), *_growth(report["growth"])]
    made += [*heading("Whole grid"), *_sweep(report["sweep"]), *heading("Memory and start-up")]
    memory, start = report["memory"], report["start_up"]
    process = f"; process at its peak {memory['process_peak_mb']:g} MB" if "process_peak_mb" in memory else ""
    held = f"{memory['knowledge_mb']} MB held open, {memory['answer_mb']} MB more while answering{process}"
    return made + pairs([("memory", held), *[(n.replace("_", " "), _seconds(t)) for n, t in start.items()]])


def _times(times: dict[str, Any]) -> list[str]:
    return [f"{times['median_ms']:.3f}", f"{times['least_ms']:.3f}"]


def _ratio(engine: dict[str, Any]) -> str:
    return f"{engine['ratio']:.2f}" if "ratio" in engine else ""


def _growth(rows: list[dict[str, Any]]) -> list[str]:
    longest = max(row["ours"]["median_ms"] for row in rows)
    body = []
    for row in rows:
        median = row["ours"]["median_ms"]
        bar = "#" * max(1, round(28 * median / longest))
        body.append([str(row["rules"]), f"{median:.3f}", f"{median / row['rules'] * 1e3:.2f}", _ratio(row), bar])
    return table(["rules", "median ms", "µs a rule", "/ CLIPS", ""], body)


def _sweep(rows: list[dict[str, Any]]) -> list[str]:
    body = [
        [str(r["cores"]), f"{r['questions']} of {r['of']}", f"{r['seconds']:.1f}", str(r["per_second"])] for r in rows
    ]
    return table(["cores", "questions", "seconds", "a second"], body)


def _seconds(times: dict[str, Any]) -> str:
    return f"{times['median_ms'] / 1e3:.2f} s median, {times['least_ms'] / 1e3:.2f} s least of {times['runs']}"
