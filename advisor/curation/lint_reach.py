"""Checks that ask many questions: what rules do there, and what they leave open."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.curation.census import RuleTally, standing
from advisor.curation.domains import alternatives, satisfiable
from advisor.curation.finding import Finding
from advisor.curation.grid import Given
from advisor.curation.lint import Subject, check
from advisor.curation.witness import find, fired
from advisor.errors import ConflictError
from advisor.inference.reason import Outcome
from advisor.inference.trace import slots
from advisor.knowledge.rule import Place, Rule


@check("shadowed")
def shadowed(subject: Subject) -> Iterator[Finding]:
    """A rule whose conditions hold somewhere but whose opinion never counts."""
    for rule in subject.rules:
        tally = subject.census.rules.get(rule.id, RuleTally())
        if tally.stood.count:
            continue
        if not tally.fired.count and not satisfiable(subject.kb.attributes, alternatives(rule)):
            continue
        lost: list[Given] = [tally.lost.first] if tally.lost.first is not None else []
        if _stands_somewhere(subject, rule, lost):
            continue
        if lost:
            by = _overruled_by(subject, rule, lost[0])
            told = f" (here: {', '.join(r.id for r in by)})" if by else ""
            yield subject.finding(
                rule,
                f"rule '{rule.id}' never counts: wherever it holds, others decide{told}",
                *by,
                given=lost[0],
            )


def _stands_somewhere(subject: Subject, rule: Rule, lost: list[Given]) -> bool:
    """Search for a question in which the rule counts; note the first in which it fires in vain."""

    def shows(found: Outcome | ConflictError) -> bool:
        if isinstance(found, ConflictError) or not any(c.rule.id == rule.id for c in found.fired):
            return False
        if rule.id in standing(found):
            return True
        if not lost:
            lost.append({n: v for n, v in found.values.items() if found.origin[n] == "given"})
        return False

    return find(subject.consultant, alternatives(rule), shows) is not None


def _overruled_by(subject: Subject, rule: Rule, given: Given) -> list[Rule]:
    outcome = subject.consultant.reasoner.reason(given)
    then = rule.then
    if then.verb in ("conclude", "assume"):
        names = outcome.set_by.get(then.subject, ())[:1]
    else:
        band = outcome.bands.get(then.subject)
        limits = [limit[1].id for limit in (band.floor, band.ceiling) if limit is not None] if band else []
        names = tuple(
            i
            for i in limits
            if (then.low is not None and subject.kb.rules_by_id[i].then.low is not None)
            or (then.high is not None and subject.kb.rules_by_id[i].then.high is not None)
        )
    return [subject.kb.rules_by_id[n] for n in names]


@check("never-fires")
def never_fires(subject: Subject) -> Iterator[Finding]:
    """A rule that could hold by its words, but does in no question that was found."""
    for rule in subject.rules:
        tally = subject.census.rules.get(rule.id, RuleTally())
        conjs = alternatives(rule)
        if tally.fired.count or not satisfiable(subject.kb.attributes, conjs):
            continue
        fires = find(subject.consultant, conjs, fired(rule.id))
        if fires is None:
            yield subject.finding(
                rule,
                f"rule '{rule.id}' held in none of {subject.census.questions} questions, nor was one found by search",
            )


@check("gap")
def gap(subject: Subject) -> Iterator[Finding]:
    """Questions about a known grade and use that get no angle, no finish or no strop verdict."""
    for name, tally in subject.census.gaps.items():
        yield subject.finding(
            None,
            f"{tally.count} of {subject.census.questions} questions get no advice about {name}",
            subject=name,
            given=tally.first,
            place=Place("vocabulary.yaml", 1),
        )


@check("trade-off")
def trade_off(subject: Subject) -> Iterator[Finding]:
    """Limits that cross and of which no rule says which gives way."""
    for (stands, gives_way), tally in sorted(subject.census.ties.items()):
        a, b = subject.kb.rules_by_id[gives_way], subject.kb.rules_by_id[stands]
        yield subject.finding(
            a,
            f"limits of equal rank cross in {tally.count} questions: '{b.id}' ({b.place}) stands before "
            f"'{a.id}' only by the vocabulary's tie-break; give one a priority, or make one firm",
            b,
            given=tally.first,
        )


@check("slot")
def slot(subject: Subject) -> Iterator[Finding]:
    """A text that asks for an attribute that does not exist or is not known when the rule holds."""
    attributes = subject.kb.attributes
    for rule in subject.kb.rules:
        for name in sorted({*slots(rule.because), *slots(rule.then.text), *slots(rule.does_not_apply_when)}):
            if name not in attributes:
                yield subject.finding(rule, f"rule '{rule.id}' has the slot {{{name}}}, but there is no such attribute")
        if "{" in rule.does_not_apply_when:
            yield subject.finding(
                rule, f"rule '{rule.id}' has a slot in does_not_apply_when, which is shown as it stands"
            )
    for (name, attribute), tally in sorted(subject.census.blanks.items()):
        if attribute in attributes:
            yield subject.finding(
                subject.kb.rules_by_id[name],
                f"a text of rule '{name}' shows {{{attribute}}}, which is not known in {tally.count} of its "
                f"answers; add {attribute}: {{known: true}}",
                given=tally.first,
            )
