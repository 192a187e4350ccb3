"""The engine alone, against CLIPS on the same rules and the same facts in the same run."""

from __future__ import annotations

import importlib.util
import statistics
from collections.abc import Sequence
from random import Random
from typing import TYPE_CHECKING, Any

from advisor.bench.synthetic import synthetic_base, synthetic_question
from advisor.bench.timing import Times, timed
from advisor.inference.reason import Outcome, Reasoner
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.vocabulary import Value

if TYPE_CHECKING:
    from advisor.consult import Consultant

Given = dict[str, Value]
OURS = "make a session, declare every fact, settle level by level, fire"
CLIPS = "reset with the question's facts held as deffacts, run; no Python in between"


def clips_is_there() -> bool:
    """Whether clipspy is installed."""
    return importlib.util.find_spec("clips") is not None


def with_computed(consultant: Consultant, questions: Sequence[Given]) -> list[Given]:
    """Add what is computed to what is given, so that only rules remain to be run."""
    found = []
    for given in questions:
        outcome = consultant.reasoner.reason(given)
        found.append({n: v for n, v in outcome.values.items() if outcome.origin[n] in ("given", "computed")})
    return found


class Race:
    """Both engines on one rule base.

    Raises:
        RuntimeError: the engines do not agree on a question, so their times would say nothing.
    """

    def __init__(self, kb: KnowledgeBase) -> None:
        self.reasoner = Reasoner.build(kb)
        self.rules = len(kb.active_rules)
        self.base = None
        if clips_is_there():
            from advisor.bench.clips_base import ClipsBase

            self.base = ClipsBase(self.reasoner.compiled, kb.attributes)
        self.ours: list[float] = []
        self.theirs: list[float] = []
        self.fired: list[int] = []

    def ask(self, data: Given) -> None:
        """Time one question on both, after each has had it once."""
        outcome = self.reasoner.reason(data)
        self.fired.append(len(outcome.fired))
        self.ours.append(timed(lambda: self.reasoner.reason(data)))
        base = self.base
        if base is not None:
            base.prepare(data)
            base.run()
            self.theirs.append(timed(base.run))
            _must_agree(outcome, base.answer().fired)

    def report(self) -> dict[str, Any]:
        """Return what was measured."""
        report: dict[str, Any] = {
            "rules": self.rules,
            "conjunctions": len(self.reasoner.compiled.owner),
            "fired_median": statistics.median(self.fired),
            "timed_ours": OURS,
            "ours": Times.of(self.ours).to_json(),
        }
        if self.theirs:
            ratio = statistics.median(self.ours) / statistics.median(self.theirs)
            least = min(self.ours) / min(self.theirs)
            report |= {"timed_clips": CLIPS, "clips": Times.of(self.theirs).to_json(),
                       "ratio": round(ratio, 2), "ratio_of_least": round(least, 2)}  # fmt: skip
        return report


def engine_speed(kb: KnowledgeBase, questions: Sequence[Given]) -> dict[str, Any]:
    """Time both engines question by question, in turns.

    Args:
        kb: its active rules are run.
        questions: given and computed attributes.
    """
    race = Race(kb)
    for data in questions:
        race.ask(data)
    return race.report()


def _must_agree(outcome: Outcome, fired: frozenset[str]) -> None:
    ours = {c.rule.id for c in outcome.fired}
    if ours != fired:
        raise RuntimeError(f"CLIPS fires other rules: {', '.join(sorted(ours ^ fired))}")


def growth(kb: KnowledgeBase, sizes: Sequence[int], questions: int) -> list[dict[str, Any]]:
    """Time made-up rule bases of several sizes, in turns."""
    rng = Random(3)
    races = [Race(synthetic_base(kb, size)) for size in sizes]
    for _ in range(questions):
        data = synthetic_question(rng)
        for race in races:
            race.ask(data)
    return [race.report() for race in races]
