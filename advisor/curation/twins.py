"""Answer many neighbouring questions quickly and exactly.

Two questions that differ in hardness or abrasive often get one answer: when every attribute that differs
between them, given or computed, makes exactly the same conditions true, every rule fires or stays quiet
alike, and only the differing values themselves are not the same.  Then the second run need not be made.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator
from functools import lru_cache

from advisor.curation.grid import Given, Grid
from advisor.errors import ConflictError
from advisor.inference.reason import Outcome, Reasoner

_FREE = ("hardness", "abrasive")
"""Inputs in which neighbouring questions differ."""


def answers(reasoner: Reasoner, grid: Grid, numbers: Iterable[int]) -> Iterator[tuple[int, Outcome | ConflictError]]:
    """Yield each question's number and outcome, or the conflict that keeps it from one."""
    cell: tuple[object, ...] = ()
    known: list[Outcome] = []
    for number in numbers:
        given = grid.given(number)
        here = (given["grade"], given["use"], given.get("wish"))
        if here != cell:
            cell, known = here, []
        outcome = next((t for o in known if (t := twin(reasoner, o, given)) is not None), None)
        if outcome is None:
            try:
                outcome = reasoner.reason(given)
            except ConflictError as exc:
                yield number, exc
                continue
            known.append(outcome)
        yield number, outcome


def twin(reasoner: Reasoner, outcome: Outcome, given: Given) -> Outcome | None:
    """Return the outcome of a question that differs from ``outcome``'s in hardness and abrasive only.

    None when the rules might tell the two apart.
    """
    old = outcome.values
    changed: dict[str, object] = {}
    for name in _FREE:
        if (outcome.origin.get(name) == "given") != (name in given):
            return None
        if name in given and given[name] != old[name]:
            changed[name] = given[name]
    if not changed:
        return outcome
    values = {**old, **given}
    findings = dict(outcome.findings)
    for computation in _order(reasoner):
        if changed.keys().isdisjoint(computation.inputs):
            continue
        found = computation.run(values)
        for name in computation.outputs:
            origin = outcome.origin.get(name)
            if origin == "given":
                continue
            if (name in found) != (origin == "computed"):
                return None
            if name in found:
                findings[name] = (computation, found[name])
                if found[name].value != old[name]:
                    values[name] = changed[name] = found[name].value
    tables, copied = reasoner.compiled.tables, _copied(reasoner)
    for name in changed:
        table = tables.get(name)
        if name in copied or (table is not None and table.gains(values[name]) != table.gains(old[name])):
            return None
    # The bands are worked out once and shared; they rest on the fired rules only.
    _ = outcome.bands
    other = copy.copy(outcome)
    other.values, other.findings = values, findings
    return other


@lru_cache(maxsize=8)
def _order_of(key: int, reasoner: _ById) -> tuple[Computation, ...]:
    return tuple(c for computations, _ in reasoner.reasoner.plan for c in computations)
