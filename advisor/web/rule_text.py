"""A rule in words without a question: what it says, and whether a search finds it."""

from __future__ import annotations

from advisor.inference.trace import band_text
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Rule


def conclusion_words(rule: Rule, kb: KnowledgeBase) -> str:
    """Return what a rule says."""
    then = rule.then
    if then.verb in ("conclude", "assume"):
        attribute = kb.attributes[then.subject]
        if then.same_as:
            return f"{attribute.label}: as {kb.attributes[then.same_as].label.lower()}"
        return f"{attribute.label}: {attribute.show(then.value)}"
    if then.verb == "advise":
        return then.text
    if then.verb == "suspect":
        return f"{kb.causes[then.subject].title} ({then.strength})"
    return band_text(then, kb)


def search_rules(kb: KnowledgeBase, words: str) -> list[Rule]:
    """Return the rules in whose id, title, conclusion, reason or limits every word occurs; all for none."""
    wanted = words.lower().split()
    found = []
    for rule in kb.rules:
        parts = (rule.id, rule.title, conclusion_words(rule, kb), rule.because, rule.does_not_apply_when)
        text = " ".join(parts).lower()
        if all(word in text for word in wanted):
            found.append(rule)
    return sorted(found, key=lambda r: r.title.lower())
