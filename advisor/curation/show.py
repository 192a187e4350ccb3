"""Everything about one rule: its text, its limits, its cases, the answers it binds, its history."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor.consult import Consultant
from advisor.curation.census import Census, RuleTally, ask_all
from advisor.curation.grid import Grid
from advisor.curation.revisions import history_of
from advisor.curation.witness import command_line
from advisor.errors import InputError
from advisor.inference.trace import band_text
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Condition, Group, Rule
from advisor.knowledge.words import did_you_mean
from advisor.report.layout import heading, item, pairs

SAMPLE, SEED = 3000, 1
"""Questions of the grid that ``rules show`` asks to count what a rule does, and the seed that picks them."""


@dataclass(frozen=True)
class RulePage:
    """What a page about a rule shows.

    Attributes:
        census: what was seen over a sample of the grid; None when it was not asked.
        history: commits that touched the id, newest first.
    """

    rule: Rule
    kb: KnowledgeBase
    census: Census | None
    history: tuple[str, ...] = ()

    @property
    def tally(self) -> RuleTally:
        """What the rule did in the questions asked."""
        return self.census.rules.get(self.rule.id, RuleTally()) if self.census else RuleTally()

    def to_json(self) -> dict[str, Any]:
        """Return plain data."""
        rule, tally = self.rule, self.tally
        return {
            "id": rule.id,
            "title": rule.title,
            "status": rule.status,
            "topic": rule.topic,
            "place": str(rule.place),
            "when": when_lines(rule.when),
            "then": then_text(rule, self.kb),
            "because": rule.because,
            "does_not_apply_when": rule.does_not_apply_when,
            "unless_you_want": list(rule.unless_you_want),
            "priority": rule.priority,
            "basis": rule.basis,
            "sources": [self.kb.sources[s].cite() for s in rule.sources],
            "cases": {"fires": list(rule.fires_in), "quiet": list(rule.quiet_in)},
            "grid": {
                "asked": self.census.questions,
                "fires": tally.fired.count,
                "counts": tally.stood.count,
                "binds": tally.bound.count,
                "example": _example(self),
            }
            if self.census
            else None,
            "history": list(self.history),
        }


def rule_page(consultant: Consultant, name: str, *, grid: bool = True, history: bool = True) -> RulePage:
    """Gather what there is to say about one rule.

    Raises:
        InputError: there is no rule of that id.
    """
    kb = consultant.kb
    rule = kb.rules_by_id.get(name)
    if rule is None:
        gone = f"it was retired: {kb.retired[name]}" if name in kb.retired else did_you_mean(name, kb.rules_by_id)
        raise InputError(f"there is no rule '{name[:60]}'", field="rule", hint=gone)
    census = None
    if grid and rule in kb.active_rules:
        every = Grid.of(kb)
        census = ask_all(consultant.reasoner, (every.given(n) for n in every.sample(SAMPLE, SEED)))
    folder = Path(kb.folder)
    path = folder / Path(*Path(rule.place.path).parts[1:])
    return RulePage(rule, kb, census, tuple(history_of(f"^- id: {name}$", folder, path)) if history else ())


def when_lines(part: Condition | Group, depth: int = 0) -> list[str]:
    """Return conditions in words, groups indented under their kind."""
    if isinstance(part, Condition):
        return [f"{'  ' * depth}{part.attribute}: {part.wanted()}"]
    lines = [] if part.kind == "all" and depth == 0 else [f"{'  ' * depth}{part.kind} of:"]
    inner = depth if not lines else depth + 1
    return lines + [line for p in part.parts for line in when_lines(p, inner)]


def then_text(rule: Rule, kb: KnowledgeBase) -> str:
    """Return what a rule does, in words."""
    then = rule.then
    if then.verb in ("conclude", "assume"):
        attribute = kb.attributes[then.subject]
        value = f"the same as {kb.attributes[then.same_as].label}" if then.same_as else attribute.show(then.value)
        return f"{then.verb} {attribute.label}: {value}"
    if then.verb == "advise":
        return f"advise ({kb.topics[then.subject]}): {then.text}"
    if then.verb == "suspect":
        return f"suspect {kb.causes[then.subject].title} ({then.strength})"
    return f"{then.verb} {band_text(then, kb)}"


def _example(page: RulePage) -> str | None:
    first = page.tally.bound.first or page.tally.stood.first or page.tally.fired.first
    return command_line(page.kb, first) if first is not None else None


def as_text(page: RulePage) -> str:
    """Return the page for a terminal."""
    rule, kb = page.rule, page.kb
    head = f"{rule.title} [{rule.id}]"
    lines = [head, "=" * len(head)]
    lines += pairs(
        [
            ("where", str(rule.place)),
            ("status", rule.status),
            ("then", then_text(rule, kb)),
            ("because", rule.because),
            ("wrong when", rule.does_not_apply_when),
            ("set aside by", ", ".join(rule.unless_you_want)),
            ("priority", str(rule.priority) if rule.priority else ""),
            ("basis", rule.basis),
            ("sources", "; ".join(kb.sources[s].cite() for s in rule.sources)),
        ]
    )
    lines += [*heading("When"), *(f"  {line}" for line in when_lines(rule.when))]
    lines += [
        *heading("Cases"),
        *_case_lines(kb, "fires in", rule.fires_in),
        *_case_lines(kb, "quiet in", rule.quiet_in),
    ]
    if page.census is not None:
        tally = page.tally
        lines += heading("On the grid")
        lines += item(
            f"holds in {tally.fired.count} of {page.census.questions} sampled questions, counts in "
            f"{tally.stood.count}, decides a value, a text or an end of a band in {tally.bound.count}"
        )
        example = _example(page)
        lines += [f"  - for example: {example}"] if example else []
    if page.history:
        lines += [*heading("History"), *(row for commit in page.history for row in item(commit))]
    return "\n".join(lines)


def _case_lines(kb: KnowledgeBase, label: str, cases: Sequence[str]) -> list[str]:
    return [row for c in cases for row in item(f"{label} {c}: {kb.cases[c].title} {json.dumps(kb.cases[c].inputs)}")]
