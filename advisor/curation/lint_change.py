"""Checks that judge a change: the knowledge base against an earlier one."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.curation.finding import Finding
from advisor.curation.lint import Subject, check
from advisor.knowledge.rule import Place

CASES_INSTEAD_OF_SOURCE = 2
"""Cases in which a new rule must fire to enter as accepted without a published source."""


@check("retired-id", needs_base=True)
def retired_id(subject: Subject) -> Iterator[Finding]:
    """An id that is gone without a tombstone, or a tombstone that is gone."""
    base, kb = subject.base, subject.kb
    assert base is not None
    place = Place("rules/retired.yaml", 1)
    kinds = (("rule", base.rules_by_id, kb.rules_by_id), ("grade", base.grades, kb.grades))
    for kind, before, now in kinds:
        for name in sorted(set(before) - set(now)):
            if name not in kb.retired:
                yield subject.finding(
                    None,
                    f"{kind} '{name}' is gone but not in retired.yaml; its id must never be used again",
                    subject=name,
                    place=place,
                )
    for name in sorted(set(base.retired) - set(kb.retired)):
        yield subject.finding(
            None, f"'{name}' was taken out of retired.yaml ({base.retired[name]})", subject=name, place=place
        )


@check("new-accepted", needs_base=True)
def new_accepted(subject: Subject) -> Iterator[Finding]:
    """A new rule that enters as accepted on no evidence."""
    assert subject.base is not None
    before = subject.base.rules_by_id
    for rule in subject.rules:
        old = before.get(rule.id)
        if rule.status != "accepted" or (old is not None and old.status in ("accepted", "contested")):
            continue
        if rule.basis != "published" and len(rule.fires_in) < CASES_INSTEAD_OF_SOURCE:
            yield subject.finding(
                rule,
                f"rule '{rule.id}' enters as accepted without a published source and with fewer than "
                f"{CASES_INSTEAD_OF_SOURCE} cases in which it fires",
            )
