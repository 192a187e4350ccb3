"""The rules behind each figure of an answer, ready to read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.advice import Advice
from advisor.inference.bands import Band
from advisor.knowledge.model import KnowledgeBase, Source
from advisor.knowledge.rule import Rule
from advisor.report.wording import BASIS_WORDS

_FIGURES = (
    ("Angle", ("angle",), ()),
    ("Finish", ("finish",), ()),
    ("Strop", ("strop.passes", "strop.compound"), ("strop.verdict", "strop.firmness")),
)
"""Title, bands and settled words of each figure."""


@dataclass(frozen=True)
class Reason:
    """One rule behind a figure, ready to read."""

    rule: Rule
    says: str
    because: str
    basis: str
    sources: tuple[Source, ...]
    part: str = ""


def reasons_of(advice: Advice) -> list[tuple[str, list[Reason]]]:
    """Return the rules behind each figure, then those that describe steel and edge; each rule once."""
    kb, steps = advice.outcome.kb, {step["rule"]: step for step in advice.trace}
    groups, seen = list[tuple[str, list[Reason]]](), set[str]()
    for title, bands, words in _FIGURES:
        parts: dict[str, list[str]] = {}
        for name in words:
            for rule in advice.outcome.set_by.get(name, ())[:1]:
                parts.setdefault(rule, []).append("decides")
        for name in bands:
            _add_parts(advice.outcome.bands.get(name), parts)
        found = [_reason(kb, steps, rule, ", ".join(dict.fromkeys(p))) for rule, p in parts.items()]
        groups.append((title, [r for r in found if r is not None and r.rule.id not in seen]))
        seen |= set(parts)
    settled = [r for r in advice.outcome.effective if r.then.verb not in ("advise", "suspect")]
    rest = [r for r in settled if r.id not in seen]
    groups.append(("Steel and edge", [x for r in rest if (x := _reason(kb, steps, r.id, ""))]))
    return [(title, found) for title, found in groups if found]


def _reason(kb: KnowledgeBase, steps: Mapping[str, Mapping[str, Any]], rule_id: str, part: str) -> Reason | None:
    rule, step = kb.rules_by_id.get(rule_id), steps.get(rule_id)
    if rule is None or step is None:
        return None
    sources = tuple(kb.sources[s] for s in rule.sources)
    return Reason(rule, step["then"]["text"], step["because"], BASIS_WORDS[rule.basis], sources, part)


def _add_parts(band: Band | None, parts: dict[str, list[str]]) -> None:
    """Add what each rule does to a band."""
    if band is None:
        return
    words = ("finest", "coarsest") if band.target in ("finish", "strop.compound") else ("lowest", "highest")
    for word, names in ((words[0], band.low_set_by), (words[1], band.high_set_by)):
        for name in names:
            if name not in band.favoured_by:
                parts.setdefault(name, []).append(f"sets the {word} value")
    for name in band.favoured_by:
        parts.setdefault(name, []).append("pulls the band")
    for word, limit in ((words[0], band.floor), (words[1], band.ceiling)):
        if limit is not None and limit[1].id not in parts:
            parts[limit[1].id] = [f"bounds the {word} value"]
