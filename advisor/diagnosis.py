"""Rank the causes that rules suspect, and pick the test that tells the leading two apart."""

from __future__ import annotations

from advisor.advice import CauseFound
from advisor.inference.reason import Outcome
from advisor.inference.trace import filled
from advisor.knowledge.model import Cause, KnowledgeBase
from advisor.knowledge.rule import Rule


def rank_causes(outcome: Outcome) -> tuple[CauseFound, ...]:
    """Return the suspected causes, likeliest first.

    The strongest suspicion decides, then how many rules share it, then how many name the cause at all;
    nothing is added up, since strengths are words and not probabilities.
    """
    kb = outcome.kb
    by_cause: dict[str, list[Rule]] = {}
    for rule in outcome.effective:
        if rule.then.verb == "suspect":
            by_cause.setdefault(rule.then.subject, []).append(rule)
    ranked = sorted(by_cause, key=lambda c: (*(-n for n in _weight(kb, by_cause[c])), c))
    found = []
    for place, name in enumerate(ranked):
        rules = sorted(by_cause[name], key=lambda r: (-kb.strengths[r.then.strength], -len(r.conditions), r.id))
        rival = ranked[1 if place == 0 else 0] if len(ranked) > 1 else None
        cause = kb.causes[name]
        found.append(
            CauseFound(
                name,
                cause.title,
                rules[0].then.strength,
                cause.lies_with,
                tuple(filled(r.because, outcome.values, kb) for r in rules),
                tell_apart(kb, cause, kb.causes[rival] if rival else None),
                cause.remedy,
                tuple(r.id for r in rules),
            )
        )
    return tuple(found)


def _weight(kb: KnowledgeBase, rules: list[Rule]) -> tuple[float, int, int]:
    strengths = [kb.strengths[r.then.strength] for r in rules]
    best = max(strengths)
    return best, strengths.count(best), len(rules)


def tell_apart(kb: KnowledgeBase, cause: Cause, rival: Cause | None) -> str:
    """Return the quickest test whose outcome differs between two causes, with both outcomes."""
    tests = sorted(kb.bench_tests.values(), key=lambda t: (t.effort, t.id))
    if rival is not None:
        for test in tests:
            a, b = cause.shows.get(test.id), rival.shows.get(test.id)
            if a and b and a != b:
                return f"{test.title}: {test.how} If it is this: {a} If it is '{rival.title}': {b}"
    for test in tests:
        if test.id in cause.shows:
            return f"{test.title}: {test.how} If it is this: {cause.shows[test.id]}"
    return ""
