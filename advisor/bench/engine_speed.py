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
from advisor.knowledge.model import KnowledgeBase, Value

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


def engine_speed(kb: KnowledgeBase, questions: Sequence[Given]) -> dict[str, Any]:
    """Time both engines question by question, in turns.

    Args:
        kb: its active rules are run.
        questions: given and computed attributes.

    Raises:
        RuntimeError: the engines do not agree, so their times say nothing.
    """
    reasoner = Reasoner.build(kb)
    report: dict[str, Any] = {"rules": len(kb.active_rules), "conjunctions": len(reasoner.compiled.owner)}
    base = None
    if clips_is_there():
        from advisor.bench.clips_base import ClipsBase

        base = ClipsBase(reasoner.compiled, kb.attributes)
    ours, theirs, fired = [], [], []
    for data in questions:
        outcome = reasoner.reason(data)
        fired.append(len(outcome.fired))
        ours.append(timed(lambda data=data: reasoner.reason(data)))  # type: ignore[misc]
        if base is not None:
            base.prepare(data)
            base.reset()
            base.run()
            theirs.append(timed(lambda base=base: (base.reset(), base.run())))  # type: ignore[misc]
            _must_agree(outcome, base.answer().fired)
    report |= {"fired_median": statistics.median(fired), "ours": Times.of(ours).to_json(), "timed_ours": OURS}
    if theirs:
        report |= {
            "clips": Times.of(theirs).to_json(),
            "timed_clips": CLIPS,
            "ratio": round(statistics.median(ours) / statistics.median(theirs), 2),
            "ratio_median_of_pairs": round(
                statistics.median(a / b for a, b in zip(ours, theirs, strict=True)), 2
            ),
        }
    return report


def _must_agree(outcome: Outcome, fired: frozenset[str]) -> None:
    ours = {c.rule.id for c in outcome.fired}
    if ours != fired:
        raise RuntimeError(f"CLIPS fires other rules: {', '.join(sorted(ours ^ fired))}")


def growth(kb: KnowledgeBase, sizes: Sequence[int], questions: int) -> list[dict[str, Any]]:
    """Time made-up rule bases of several sizes."""
    rng = Random(3)
    asked = [synthetic_question(rng) for _ in range(questions)]
    return [engine_speed(synthetic_base(kb, size), asked) for size in sizes]
