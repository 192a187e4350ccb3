"""A trial: one edge that was made and used, and how it did."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor.errors import ErrorList, KnowledgeError, WhetruleError
from advisor.knowledge.marked_yaml import Marked, read_yaml
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Place
from advisor.knowledge.words import did_you_mean


@dataclass(frozen=True)
class Measurement:
    """One measured figure; ``repeats`` tells how many times it was taken."""

    test: str
    value: float
    unit: str
    repeats: int


@dataclass(frozen=True)
class Trial:
    """One trial as recorded.

    Attributes:
        question: steel, work and bench; ``edge``: what was done; both by the names of the vocabulary.
        good: whether the edge served its work.
        seen: symptoms.
    """

    id: str
    date: str
    question: Mapping[str, Any]
    edge: Mapping[str, Any]
    good: bool
    seen: tuple[str, ...]
    measured: tuple[Measurement, ...]
    notes: str
    place: Place

    @property
    def inputs(self) -> dict[str, Any]:
        """Everything a double-check of this edge needs."""
        return {**self.question, **self.edge}


def read_trials(path: Path, kb: KnowledgeBase) -> tuple[Trial, ...]:
    """Read a file of trials.

    Raises:
        ErrorList: everything wrong in the file, each with its line.
    """
    # The schema library is slow to import and needed only here.
    from advisor.knowledge.schema import schema_errors

    marked = read_yaml(path)
    errors: list[WhetruleError] = list(schema_errors(marked, "trials", Path(kb.folder) / "schemas"))
    if errors:
        raise ErrorList(errors)
    words = kb.attributes["symptom"].words
    trials, ids = [], set[str]()
    for i, entry in enumerate(marked.data or []):
        if entry["id"] in ids:
            errors.append(marked.error((i, "id"), f"trial '{entry['id']}' is recorded twice", "give it another id"))
        ids.add(entry["id"])
        errors += [
            marked.error((i, "seen", n), f"unknown symptom '{word}'", did_you_mean(word, words))
            for n, word in enumerate(entry.get("seen", ()))
            if word not in words
        ]
        errors += _both_sides(marked, i, entry)
        trials.append(_trial(marked, i, entry))
    if errors:
        raise ErrorList(errors)
    return tuple(trials)


def _both_sides(marked: Marked, i: int, entry: Mapping[str, Any]) -> list[KnowledgeError]:
    twice = sorted(set(entry["question"]) & set(entry["edge"]))
    return [marked.error((i, "edge", name), f"'{name}' is given in question and edge", "keep one") for name in twice]


def _trial(marked: Marked, i: int, entry: Mapping[str, Any]) -> Trial:
    return Trial(
        entry["id"],
        entry["date"],
        dict(entry["question"]),
        dict(entry["edge"]),
        entry["outcome"] == "good",
        tuple(entry.get("seen", ())),
        tuple(Measurement(m["test"], float(m["value"]), m["unit"], m["repeats"]) for m in entry.get("measured", ())),
        entry.get("notes", ""),
        Place(marked.path, *marked.place((i, "id"))),
    )
