"""The part of an answer that a change of the rules is measured by."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from advisor.curation.grid import Given
from advisor.errors import ConflictError
from advisor.inference.bands import Band
from advisor.inference.reason import Outcome, Reasoner
from advisor.inference.trace import filled
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.vocabulary import Value

Ends = tuple[float, float, float]


@dataclass(frozen=True)
class Answer:
    """What one question is answered.

    Attributes:
        bands: target -> (low, pick, high).
        words: computed, concluded or assumed attribute -> value.
        texts: advise or suspect rule -> what it says.
        rules: every rule that fired.
        refused: message of the conflict that keeps the question from an answer; empty otherwise.
    """

    bands: dict[str, Ends]
    words: dict[str, Value]
    texts: dict[str, str]
    rules: frozenset[str]
    refused: str = ""

    def same(self, other: Answer) -> bool:
        """Whether a reader would see no difference."""
        return self._seen() == other._seen()

    def adds_to(self, before: Answer) -> bool:
        """Whether everything ``before`` said still stands, and something is new."""
        if before.refused:
            return not self.refused
        return not self.refused and all(
            mine.items() >= theirs.items()
            for mine, theirs in (
                (self.bands, before.bands),
                (self.words, before.words),
                (self.texts, before.texts),
            )
        )

    def _seen(self) -> tuple[Any, ...]:
        return self.bands, self.words, self.texts, self.refused


def answer(reasoner: Reasoner, given: Given) -> Answer:
    """Ask one question."""
    try:
        outcome = reasoner.reason(given)
    except ConflictError as exc:
        return Answer({}, {}, {}, frozenset(), exc.message)
    return of_outcome(outcome)


def of_outcome(outcome: Outcome) -> Answer:
    """Return the answer that an outcome gives."""
    texts = {}
    for rule in outcome.effective:
        if rule.then.verb in ("advise", "suspect"):
            text = rule.then.text or f"{rule.then.subject} ({rule.then.strength})"
            texts[rule.id] = filled(text, outcome.values, outcome.kb) if "{" in text else text
    words = {n: v for n, v in outcome.values.items() if outcome.origin[n] != "given"}
    return Answer(
        {name: _ends(band) for name, band in outcome.bands.items()},
        words,
        texts,
        frozenset(c.rule.id for c in outcome.fired),
    )


def _ends(band: Band) -> Ends:
    return band.low, band.pick, band.high


def moved(kb: KnowledgeBase, before: Answer, after: Answer) -> dict[str, float]:
    """Return how far each pick moved, in least widths of its target; log targets by ratio.

    A band that came or went counts as the whole range of its target.
    """
    found = {}
    for name, target in kb.targets.items():
        a, b = before.bands.get(name), after.bands.get(name)
        if a == b:
            continue
        width = math.log(target.least_width) if target.scale == "log" else target.least_width
        ends = (a, b) if a and b else ((0, target.range[0], 0), (0, target.range[1], 0))
        x, y = (math.log(e[1]) if target.scale == "log" else e[1] for e in ends)
        found[name] = (y - x) / width
    return found
