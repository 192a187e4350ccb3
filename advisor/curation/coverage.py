"""Coverage of the knowledge by its cases: which rules, words, verdicts and causes some case reaches."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from advisor.consult import Consultant
from advisor.curation.cases import CaseResult, conditions_hold
from advisor.knowledge.rule import Rule

_WORD_TYPES = ("choice", "choices")


@dataclass(frozen=True)
class RuleCoverage:
    """How often one rule fired over all cases.

    Attributes:
        fired, quiet: number of cases in which it did and did not.
    """

    rule: Rule
    fired: int
    quiet: int

    @property
    def covered(self) -> bool:
        """Whether it both fired and stayed quiet somewhere."""
        return bool(self.fired and self.quiet)


@dataclass(frozen=True)
class Coverage:
    """What all cases together reach.

    Attributes:
        rules: accepted and contested rules, in id order.
        words, verdicts, causes, topics: what no case reaches; words as ``attribute=word``.
        cases: number of cases that were answered.
    """

    rules: tuple[RuleCoverage, ...]
    words: tuple[str, ...]
    verdicts: tuple[str, ...]
    causes: tuple[str, ...]
    topics: tuple[str, ...]
    cases: int

    @property
    def percent(self) -> float:
        """Share of rules that fired and stayed quiet, 0 to 100."""
        return 100 * sum(r.covered for r in self.rules) / len(self.rules) if self.rules else 100.0

    def to_json(self) -> dict[str, Any]:
        """Return plain data."""
        return {
            "percent": round(self.percent, 2),
            "cases": self.cases,
            "rules": [
                {
                    "rule": r.rule.id,
                    "place": str(r.rule.place),
                    "fired": r.fired,
                    "quiet": r.quiet,
                    "covered": r.covered,
                }
                for r in self.rules
            ],
            "never_reached": {
                "words": list(self.words),
                "verdicts": list(self.verdicts),
                "causes": list(self.causes),
                "topics": list(self.topics),
            },
        }


def measure(consultant: Consultant, results: Iterable[CaseResult]) -> Coverage:
    """Return the coverage of a knowledge base by the results of its cases."""
    kb = consultant.kb
    answered = [r.advice for r in results if r.advice is not None]
    outcomes = [a.outcome for a in answered]
    rules = []
    for rule in kb.active_rules:
        fired = sum(conditions_hold(rule, o) for o in outcomes)
        rules.append(RuleCoverage(rule, fired, len(outcomes) - fired))
    seen: set[tuple[str, str]] = set()
    for outcome in outcomes:
        for name, value in outcome.values.items():
            seen |= {(name, v) for v in (value if isinstance(value, tuple) else (value,)) if isinstance(v, str)}
    words = [
        f"{a.name}={word}"
        for a in kb.attributes.values()
        if a.type in _WORD_TYPES
        for word in a.words
        if (a.name, word) not in seen
    ]
    verdicts = {v.verdict for a in answered for v in a.verdicts}
    causes = {c.cause for a in answered for c in a.causes}
    topics = {n.topic for a in answered for n in a.notes} | {
        r.then.subject for o in outcomes for r in o.effective if r.then.verb == "advise"
    }
    return Coverage(
        rules=tuple(rules),
        words=tuple(words),
        verdicts=_missing(kb.verdicts, verdicts),
        causes=_missing(kb.causes, causes),
        topics=_missing(kb.topics, topics),
        cases=len(answered),
    )


def _missing(wanted: Iterable[str], found: set[str]) -> tuple[str, ...]:
    return tuple(name for name in wanted if name not in found)


def text_report(coverage: Coverage) -> str:
    """Return the report for a terminal."""
    lines = []
    for one in coverage.rules:
        if not one.covered:
            missing = "never fires" if not one.fired else "never stays quiet"
            lines.append(f"{one.rule.place}: rule '{one.rule.id}' {missing} in {coverage.cases} cases")
    for kind in ("words", "verdicts", "causes", "topics"):
        missed = getattr(coverage, kind)
        if missed:
            lines.append(f"{kind} no case reaches: {', '.join(missed)}")
    covered = sum(r.covered for r in coverage.rules)
    lines.append(f"{covered} of {len(coverage.rules)} rules fire and stay quiet in some case: {coverage.percent:.1f} %")
    return "\n".join(lines)
