"""What matters: how far each unknown could move the answer, and what one change would do.

Nothing is guessed: every figure comes from running the rules again with one input replaced.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from advisor.inference.bands import Band
from advisor.inference.reason import Outcome, Reasoner
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.vocabulary import Attribute, Value
from advisor.question import Question

TARGETS = ("angle", "finish", "strop.passes")
_SECTIONS = ("steel", "work", "bench", "edge")
_ROCKWELL_STEPS = (-2.0, -1.0, 1.0, 2.0)


def ask_next(reasoner: Reasoner, question: Question, outcome: Outcome) -> list[dict[str, Any]]:
    """Return the unknown inputs that could still move the answer, the most telling first.

    Each entry: attribute, question, moves (how far angle, finish and strop passes could go), and
    whether the stropping verdict could change.
    """
    kb = reasoner.kb
    found: list[dict[str, Any]] = []
    for attribute in kb.asked:
        if attribute.name in question.given or attribute.section not in _SECTIONS:
            continue
        tried = [
            reasoner.reason(question.changed(**{attribute.name: v})) for v in _possible(attribute, question, outcome)
        ]
        moves = _moves([outcome, *tried])
        if moves["weight"] > 0:
            found.append({"attribute": attribute.name, "question": attribute.question, "moves": moves})
    found.sort(key=lambda f: (-f["moves"]["weight"], f["attribute"]))
    return [{**f, "moves": {k: v for k, v in f["moves"].items() if k != "weight"}} for f in found]


def _possible(attribute: Attribute, question: Question, outcome: Outcome) -> Iterator[Value]:
    """Yield the values an unknown input could have."""
    kb = outcome.kb
    if attribute.type == "grade":
        if "composition" not in question.given:
            yield from _typical_grades(kb)
    elif attribute.name == "hardness":
        yield from _hardness_range(outcome, attribute)
    elif attribute.name == "process":
        if "composition" in question.given:
            yield from attribute.words
    elif attribute.type == "choice":
        yield from attribute.words
    elif attribute.probe:
        yield from attribute.probe


def _typical_grades(kb: KnowledgeBase) -> list[str]:
    """Return one grade of each group, the first in the catalogue's order."""
    first: dict[str, str] = {}
    for grade in kb.grades.values():
        first.setdefault(grade.group, grade.id)
    return list(first.values())


def _hardness_range(outcome: Outcome, attribute: Attribute) -> list[float]:
    values = outcome.values
    ends = [values.get(n) for n in ("grade.hardness_low", "grade.hardness_high", "grade.hardness_max")]
    known = sorted({float(e) for e in ends if isinstance(e, (int, float))})
    return known or list(attribute.probe)


def _moves(outcomes: list[Outcome]) -> dict[str, Any]:
    """Return how far the picks spread over several runs."""
    moves: dict[str, Any] = {}
    weight = 0.0
    for name in TARGETS:
        bands = [b for o in outcomes if (b := o.bands.get(name)) is not None]
        if not bands:
            continue
        picks = [b.pick for b in bands]
        low, high = min(picks), max(picks)
        target = outcomes[0].kb.targets[name]
        spread = math.log(high / low) / math.log(target.least_width) if target.scale == "log" else high - low
        if spread > 1e-9:
            moves[name.replace(".", "_")] = {"from": low, "to": high}
            weight += target.question_weight * spread
    if len({o.values.get("strop.verdict") for o in outcomes}) > 1:
        moves["strop_verdict"] = sorted({str(o.values.get("strop.verdict")) for o in outcomes})
        weight += outcomes[0].kb.targets["strop.passes"].question_weight
    moves["weight"] = round(weight, 9)
    return moves


def would_change(reasoner: Reasoner, question: Question, outcome: Outcome) -> list[dict[str, Any]]:
    """Return one-step changes of known inputs that change the answer, each verified by a re-run.

    Each entry: attribute, from, to, changes (about, before, after, rules that switch).
    """
    found = []
    for attribute in reasoner.kb.asked:
        value = question.given.get(attribute.name)
        if value is None and attribute.name in outcome.assumed and attribute.name == "hardness":
            value = outcome.values["hardness"]
        if value is None:
            continue
        for other in _neighbours(attribute, value):
            changes = _differences(outcome, reasoner.reason(question.changed(**{attribute.name: other})))
            if changes:
                found.append({"attribute": attribute.name, "from": _plain(value), "to": other, "changes": changes})
    return found


def _neighbours(attribute: Attribute, value: Value) -> Iterator[Value]:
    if attribute.type == "choice" and attribute.section in _SECTIONS and attribute.name != "process":
        yield from (w for w in attribute.words if w != value)
    elif attribute.name == "hardness" and isinstance(value, float):
        low, high = attribute.range or (-math.inf, math.inf)
        yield from (value + step for step in _ROCKWELL_STEPS if low <= value + step <= high)
    elif attribute.probe and isinstance(value, float):
        yield from (p for p in attribute.probe if p != value)


def _differences(before: Outcome, after: Outcome) -> list[dict[str, Any]]:
    changes: list[dict[str, Any]] = []
    for name in TARGETS:
        a, b = before.bands.get(name), after.bands.get(name)
        if _ends(a) != _ends(b):
            changes.append({"about": name, "before": _ends(a), "after": _ends(b), "rules": _switched(a, b)})
    a_word, b_word = before.values.get("strop.verdict"), after.values.get("strop.verdict")
    if a_word != b_word:
        rules = sorted({*before.set_by.get("strop.verdict", ()), *after.set_by.get("strop.verdict", ())})
        changes.append({"about": "strop.verdict", "before": a_word, "after": b_word, "rules": rules})
    return changes


def _ends(band: Band | None) -> dict[str, float] | None:
    return {"low": band.low, "pick": band.pick, "high": band.high} if band else None


def _switched(a: Band | None, b: Band | None) -> list[str]:
    def names(band: Band | None) -> set[str]:
        return {*band.favoured_by, *band.low_set_by, *band.high_set_by} if band else set()

    return sorted(names(a) ^ names(b)) or sorted(names(b))


def _plain(value: Value) -> Any:
    return list(value) if isinstance(value, tuple) else value
