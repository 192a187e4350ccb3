"""Checks on the conditions of rules and on pairs of rules, with questions to show what they find."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import combinations

from advisor.curation.domains import (
    alternatives,
    can_meet,
    constant,
    domains,
    escape,
    implies,
    narrowed,
    satisfiable,
)
from advisor.curation.finding import Finding
from advisor.curation.lint import Subject, check
from advisor.curation.witness import find, fired
from advisor.errors import ConflictError
from advisor.inference.compile import Literal
from advisor.inference.reason import Outcome
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Rule


def _says(rule: Rule) -> str:
    return json.dumps({**vars(rule.then), "text": " ".join(rule.then.text.lower().split())}, default=str)


@check("duplicate")
def duplicate(subject: Subject) -> Iterator[Finding]:
    """Two rules that conclude the same under the same conditions."""
    kb = subject.kb
    for a, b in combinations(subject.rules, 2):
        if a.then.verb != b.then.verb or a.then.subject != b.then.subject or _says(a) != _says(b):
            continue
        one_way, other_way = implies(kb.attributes, a, b), implies(kb.attributes, b, a)
        if a.unless_you_want == b.unless_you_want and one_way and other_way:
            message = f"rule '{a.id}' repeats '{b.id}' ({b.place}): same conditions, same conclusion"
        elif a.then.verb == "advise" and (one_way or other_way):
            a, b = (a, b) if one_way else (b, a)
            message = f"rule '{a.id}' gives the advice of '{b.id}' ({b.place}), which holds wherever it does"
        else:
            continue
        given = find(subject.consultant, can_meet(kb.attributes, a, b), fired(a.id, b.id))
        yield subject.finding(a, message, b, given=given)


@check("conflict")
def conflict(subject: Subject) -> Iterator[Finding]:
    """Rules of equal rank that set one attribute to different values in one question."""
    kb = subject.kb
    reported: set[frozenset[str]] = set()
    for message, tally in subject.census.conflicts.items():
        names = frozenset(r for r in kb.rules_by_id if f"{r} (" in message)
        reported.add(names)
        rules = [kb.rules_by_id[r] for r in sorted(names)]
        yield subject.finding(
            rules[0], f"{message}; in {tally.count} of the questions asked", *rules[1:], given=tally.first
        )
    setters = [r for r in subject.rules if r.then.verb in ("conclude", "assume")]
    for a, b in combinations(setters, 2):
        pair = {a.id, b.id}
        if not _may_conflict(a, b) or any(pair <= names for names in reported):
            continue

        def shows(found: Outcome | ConflictError, pair: set[str] = pair) -> bool:
            return isinstance(found, ConflictError) and all(f"{r} (" in found.message for r in pair)

        given = find(subject.consultant, can_meet(kb.attributes, a, b), shows)
        if given is not None:
            yield subject.finding(
                a,
                f"rules '{a.id}' and '{b.id}' ({b.place}) rank equally and set {a.then.subject} differently",
                b,
                given=given,
            )


def _may_conflict(a: Rule, b: Rule) -> bool:
    same = (a.then.verb, a.then.subject, a.rank) == (b.then.verb, b.then.subject, b.rank)
    return same and (a.then.value, a.then.same_as) != (b.then.value, b.then.same_as)


@check("unsatisfiable")
def unsatisfiable(subject: Subject) -> Iterator[Finding]:
    """A rule whose conditions can never hold together."""
    kb = subject.kb
    for rule in subject.rules:
        conjs = alternatives(rule)
        if satisfiable(kb.attributes, conjs):
            continue
        clash = _clash(kb, conjs[0])
        others = [x for x in conjs[0] if x.condition.attribute != clash[0].condition.attribute]
        given = find(subject.consultant, [(*others, clash[0])], lambda found: isinstance(found, Outcome))
        told = " and ".join(_literal(x) for x in clash)
        yield subject.finding(rule, f"rule '{rule.id}' can never hold: {told} exclude each other", given=given)


def _clash(kb: KnowledgeBase, conjunction: tuple[Literal, ...]) -> list[Literal]:
    """Return the literals on one attribute that exclude each other, as few as possible."""
    over = domains(kb.attributes, [conjunction])
    for size in range(1, len(conjunction) + 1):
        for some in combinations(conjunction, size):
            if narrowed(some, over) is None:
                return list(some)
    raise AssertionError("the conjunction can hold")


def _literal(literal: Literal) -> str:
    return f"{literal.condition.attribute} {'' if literal.wanted else 'not '}{literal.condition.wanted()}"


@check("always-true")
def always_true(subject: Subject) -> Iterator[Finding]:
    """A rule whose conditions hold whatever is asked."""
    for rule in subject.rules:
        if escape(subject.kb.attributes, alternatives(rule)) is None:
            yield subject.finding(
                rule, f"rule '{rule.id}' holds in every question: its conditions decide nothing", given={}
            )


@check("range")
def out_of_range(subject: Subject) -> Iterator[Finding]:
    """A single condition that every value within the attribute's range decides alike."""
    for rule in subject.rules:
        for condition in rule.conditions:
            decided = constant(subject.kb.attributes[condition.attribute], Literal(condition, True))
            if decided is not None:
                name, told = condition.attribute, condition.wanted()
                word = "every" if decided else "no"
                hint = f"; write {name}: {{known: true}} if that is meant" if decided else ""
                yield subject.finding(rule, f"in rule '{rule.id}', {word} value of {name} is {told}{hint}")
