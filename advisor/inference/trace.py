"""The trace of one run: every computed fact and every fired rule, with conditions, wanted against actual."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from advisor.inference.compile import CompiledRule, test
from advisor.inference.reason import Outcome
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Conclusion, Condition, Group, Rule
from advisor.knowledge.vocabulary import Value

POLICY = (
    "What was given stands before what is computed, that before what rules conclude, that before what they "
    "assume. Where two rules set one attribute, higher priority decides, then more conditions; a tie is an "
    "error."
)
_SLOT = re.compile(r"\{([a-z0-9_.]+)\}")


def filled(text: str, values: Mapping[str, Value], kb: KnowledgeBase) -> str:
    """Fill ``{attribute}`` slots of a rule's text: numbers bare (the text names the unit), words by label."""

    def show(match: re.Match[str]) -> str:
        attribute, value = kb.attributes.get(match[1]), values.get(match[1])
        if attribute is None:
            return match[0]
        return f"{value:.3g}" if isinstance(value, (int, float)) else attribute.show(value)

    return _SLOT.sub(show, text)


def slots(text: str) -> list[str]:
    """Return the attribute names a text asks for."""
    return _SLOT.findall(text)


def build_trace(outcome: Outcome) -> list[dict[str, Any]]:
    """Return the steps of a run, as the answer's contract has them."""
    steps: list[dict[str, Any]] = []
    for name, (computation, finding) in outcome.findings.items():
        attribute = outcome.kb.attributes[name]
        error = f" ± {finding.error:g}" if finding.error else ""
        text = f"{attribute.label}: {attribute.show(finding.value)}{error}"
        steps.append(
            {
                "rule": computation.name,
                "title": computation.formula,
                "stage": "computed",
                "when": [_given(outcome, i) for i in computation.inputs],
                "then": {"attribute": name, "value": finding.value, "error": finding.error, "text": text},
                "because": finding.note,
                "basis": finding.basis,
                "sources": [],
                "counts": True,
                "note": "",
            }
        )
    overruled = {c.rule.id: why for c, why in outcome.overruled}
    aside = {c.rule.id for c in outcome.set_aside}
    for compiled in outcome.fired:
        rule = compiled.rule
        note = overruled.get(rule.id, "")
        if rule.id in aside:
            note = f"set aside: you want {outcome.values.get('wish')}"
        steps.append(
            {
                "rule": rule.id,
                "title": rule.title,
                "stage": rule.stage,
                "when": [_tested(condition, outcome.values) for condition in rule.conditions],
                "then": {"text": conclusion_text(rule.then, outcome)},
                "because": filled(rule.because, outcome.values, outcome.kb),
                "basis": rule.basis,
                "sources": [outcome.kb.sources[s].cite() for s in rule.sources],
                "counts": not note,
                "note": note,
            }
        )
    return [{"step": n, **step} for n, step in enumerate(steps, 1)]


def _given(outcome: Outcome, name: str) -> dict[str, Any]:
    value = outcome.values.get(name)
    actual = outcome.kb.attributes[name].show(value) if value is not None else None
    return {"attribute": name, "wanted": "read", "actual": actual, "held": value is not None}


def conditions(part: Condition | Group, values: Mapping[str, Value], kb: KnowledgeBase) -> list[dict[str, Any]]:
    """Return each test of a rule with what was wanted, what is, and whether it held (None: not known)."""
    if isinstance(part, Condition):
        return [_tested(part, values)]
    return [row for inner in part.parts for row in conditions(inner, values, kb)]


def _tested(condition: Condition, values: Mapping[str, Value]) -> dict[str, Any]:
    value = values.get(condition.attribute)
    return {
        "attribute": condition.attribute,
        "wanted": condition.wanted(),
        "actual": list(value) if isinstance(value, tuple) else value,
        "held": test(condition, value),
    }


def conclusion_text(then: Conclusion, outcome: Outcome) -> str:
    """Return what a rule says, in words."""
    kb = outcome.kb
    if then.verb in ("conclude", "assume"):
        attribute = kb.attributes[then.subject]
        value = outcome.values.get(then.same_as) if then.same_as else then.value
        return f"{attribute.label}: {attribute.show(value)}"
    if then.verb == "advise":
        return filled(then.text, outcome.values, kb)
    if then.verb == "suspect":
        return f"{kb.causes[then.subject].title} ({then.strength})"
    return band_text(then, kb)


def band_text(then: Conclusion, kb: KnowledgeBase) -> str:
    """Return a favour, limit or shift in words."""
    target = kb.targets[then.subject]
    unit = target.unit
    if then.verb == "favour":
        ends = (then.high, then.low) if target.scale == "log" else (then.low, then.high)
        return f"{target.label}: {ends[0]:g} to {ends[1]:g} {unit} ({then.strength})"
    if then.verb == "shift":
        amount = f"times {then.times:g}" if target.scale == "log" else f"{then.by:+g} {unit}"
        return f"{target.label}: {amount}"
    lower, upper = ("finer", "coarser") if then.subject == "finish" else ("lower", "higher")
    bounds = []
    if then.low is not None:
        bounds.append(f"no {lower} than {then.low:g} {unit}")
    if then.high is not None:
        bounds.append(f"no {upper} than {then.high:g} {unit}")
    return f"{target.label}: {' and '.join(bounds)}{' (firm)' if then.firm else ''}"


def near_misses(outcome: Outcome, rules: tuple[CompiledRule, ...], most: int = 3) -> list[dict[str, Any]]:
    """Return rules that one condition kept from firing, wanted against actual."""
    fired = {c.rule.id for c in outcome.fired}
    found = []
    values = outcome.values
    for compiled in rules:
        if compiled.rule.id in fired:
            continue
        missing = min(
            ([x for x in c if not x.true_for(values.get(x.condition.attribute))] for c in compiled.conjunctions),
            key=len,
        )
        if len(missing) == 1:
            literal = missing[0]
            value = values.get(literal.condition.attribute)
            miss = _miss(compiled.rule, literal.condition, literal.wanted, value, outcome)
            found.append((value is None, compiled.rule.id, miss))
    return [miss for *_, miss in sorted(found, key=lambda f: f[:2])[:most]]


def _miss(rule: Rule, condition: Condition, wanted: bool, value: Value | None, outcome: Outcome) -> dict[str, Any]:
    text = condition.wanted() if wanted else f"not {condition.wanted()}"
    return {
        "rule": rule.id,
        "title": rule.title,
        "attribute": condition.attribute,
        "wanted": text,
        "actual": outcome.kb.attributes[condition.attribute].show(value),
        "then": conclusion_text(rule.then, outcome),
    }
