"""The answer as frozen data; ``to_json()`` is the public contract of command line, page and checks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from advisor.inference.bands import Band
from advisor.inference.reason import Outcome
from advisor.planning.model import Plan
from advisor.question import Question

SUMMARY_LIMIT = 140


@dataclass(frozen=True)
class Note:
    """One sentence of advice and the rule it comes from."""

    topic: str
    text: str
    rule: str
    status: str
    basis: str
    because: str = ""
    does_not_apply_when: str = ""
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Verdict:
    """Judgement of one item of a planned or finished edge.

    Attributes:
        about: angle, finish, progression, strop or abrasive.
        verdict: name from the vocabulary; ``label`` and ``good`` come with it.
        deviation: how far off, in words; empty when it fits.
        change: the smallest change that mends it; empty when none is needed.
    """

    about: str
    verdict: str
    label: str
    good: bool
    summary: str
    deviation: str = ""
    change: str = ""
    rules: tuple[str, ...] = ()


@dataclass(frozen=True)
class CauseFound:
    """A possible cause of what disappoints."""

    cause: str
    title: str
    strength: str
    lies_with: str
    because: tuple[str, ...]
    tell_apart: str
    remedy: str
    rules: tuple[str, ...]


@dataclass(frozen=True)
class Advice:
    """Everything one question is answered with.

    Attributes:
        mode: ask, check or diagnose.
        outcome: what the rules found; the source of every number here.
        angle, finish, strop_passes, strop_compound: bands, None where no rule speaks.
        notes: advise texts by topic, in the order of the vocabulary.
        computed: carbides, matrix, geometry and edge life, ready to show.
    """

    mode: str
    question: Question
    outcome: Outcome
    summary: str
    angle: Band | None
    finish: Band | None
    strop_passes: Band | None
    strop_compound: Band | None
    grit: Mapping[str, str | None]
    firmness: tuple[str, ...]
    plan: Plan | None
    notes: tuple[Note, ...]
    computed: Mapping[str, Any]
    trace: tuple[Mapping[str, Any], ...] = field(repr=False)
    ask_next: tuple[Mapping[str, Any], ...] = ()
    would_change: tuple[Mapping[str, Any], ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    causes: tuple[CauseFound, ...] = ()

    def by_topic(self, topic: str) -> tuple[Note, ...]:
        """Return the notes of one topic."""
        return tuple(n for n in self.notes if n.topic == topic)

    @property
    def strength(self) -> str:
        """How far to trust the advice: strong, moderate or weak."""
        return str(self.outcome.values.get("advice.strength", "weak"))

    def to_json(self) -> dict[str, Any]:
        """Return the answer as plain JSON data; names and shapes are the contract."""
        values, kb = self.outcome.values, self.outcome.kb
        answer: dict[str, Any] = {
            "mode": self.mode,
            "question": dict(self.question.text),
            "assumed": {n: {"value": _plain(values[n]), "rule": r} for n, r in self.outcome.assumed.items()},
            "knowledge_base": {"version": kb.version, "digest": kb.digest},
            "summary": self.summary,
            "strength": self.strength,
            "angle": self._angle(),
            "finish": self._finish(),
            "strop": self._strop(),
            "plan": self._plan(),
            "computed": dict(self.computed),
            "values": {n: _plain(v) for n, v in values.items()},
            "notes": [_note(n) for n in self.notes if n.topic not in ("caution", "dial-in", "deburr", "strop", "test")],
            "cautions": [_note(n) for n in self.by_topic("caution")],
            "ask_next": [dict(a) for a in self.ask_next],
            "would_change": [dict(w) for w in self.would_change],
            "trace": [dict(step) for step in self.trace],
        }
        if self.mode == "check":
            answer["verdicts"] = [vars(v) | {"rules": list(v.rules)} for v in self.verdicts]
        if self.mode == "diagnose":
            answer["causes"] = [vars(c) | {"because": list(c.because), "rules": list(c.rules)} for c in self.causes]
        return answer

    def _angle(self) -> dict[str, Any] | None:
        band = self.angle
        if band is None:
            return None
        return {
            "per_side_deg": {"low": band.low, "pick": band.pick, "high": band.high},
            "included_deg": {"low": 2 * band.low, "pick": 2 * band.pick, "high": 2 * band.high},
            "low_set_by": list(band.low_set_by),
            "high_set_by": list(band.high_set_by),
            **_reasons(band),
        }

    def _finish(self) -> dict[str, Any] | None:
        band = self.finish
        if band is None:
            return None
        return {
            "micron": {"coarsest": band.high, "pick": band.pick, "finest": band.low},
            "grit": dict(self.grit),
            "coarsest_set_by": list(band.high_set_by),
            "finest_set_by": list(band.low_set_by),
            **_reasons(band),
        }

    def _strop(self) -> dict[str, Any]:
        compound, passes = self.strop_compound, self.strop_passes
        by = [r for n in ("strop.verdict", "strop.firmness") for r in self.outcome.set_by.get(n, ())]
        for band in (passes, compound):
            by += [*band.favoured_by, *band.low_set_by, *band.high_set_by] if band else []
        return {
            "verdict": self.outcome.values.get("strop.verdict"),
            "firmness": list(self.firmness),
            "compound_micron": {"coarsest": compound.high, "finest": compound.low} if compound else None,
            "passes_per_side": {"low": passes.low, "high": passes.high} if passes else None,
            "set_by": list(dict.fromkeys(by)),
        }

    def _plan(self) -> dict[str, Any]:
        plan = self.plan.to_json() if self.plan else {}
        texts = {topic: [_note(n) for n in self.by_topic(topic)] for topic in ("dial-in", "deburr", "strop", "test")}
        return {
            "dial_in": texts["dial-in"],
            "steps": plan.get("steps", []),
            "deburr": texts["deburr"],
            "strop": texts["strop"],
            "tests": texts["test"],
            **{k: v for k, v in plan.items() if k not in ("steps", "strop")},
            "strop_step": plan.get("strop"),
        }


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _note(note: Note) -> dict[str, Any]:
    return {
        "topic": note.topic,
        "text": note.text,
        "rule": note.rule,
        "status": note.status,
        "basis": note.basis,
    }


def _reasons(band: Band) -> dict[str, Any]:
    return {
        "favoured_by": list(band.favoured_by),
        "trade_offs": [
            {"stands": list(t.stands), "gives_way": list(t.gives_way), "why": t.why} for t in band.trade_offs
        ],
    }
