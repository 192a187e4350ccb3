"""Answer many neighbouring questions quickly and exactly.

Two questions that differ in hardness or abrasive often get one answer: when every attribute that differs
between them, given or computed, leaves exactly the same rules possible, every rule fires or stays quiet
alike, and only the differing values themselves are not the same.  Then the second run need not be made.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator

from advisor.curation.grid import Given, Grid
from advisor.errors import ConflictError
from advisor.inference.reason import Outcome, Reasoner
from advisor.knowledge.model import Value

_FREE = ("hardness", "abrasive")
"""Inputs in which neighbouring questions differ."""


class Twins:
    """Tells whether a question must get the same answer as one that was answered already."""

    def __init__(self, reasoner: Reasoner) -> None:
        self.reasoner = reasoner
        self._tables = reasoner.compiled.tables
        self._memories = tuple(memory for level in reasoner.plan for memory in level.computations)
        # What a rule copies into another attribute matters by its value, not only by what it makes true.
        self._copied = {c.rule.then.same_as for c in reasoner.compiled.rules}

    def answers(self, grid: Grid, numbers: Iterable[int]) -> Iterator[tuple[int, Outcome | ConflictError]]:
        """Yield each question's number and outcome, or the conflict that keeps it from one."""
        cell: tuple[object, ...] = ()
        known: list[Outcome] = []
        for number in numbers:
            given = grid.given(number)
            here = (given["grade"], given["use"], given.get("wish"))
            if here != cell:
                cell, known = here, []
            outcome = next((t for o in known if (t := self.twin(o, given)) is not None), None)
            if outcome is None:
                try:
                    outcome = self.reasoner.reason(given)
                except ConflictError as exc:
                    yield number, exc
                    continue
                known.append(outcome)
            yield number, outcome

    def twin(self, outcome: Outcome, given: Given) -> Outcome | None:
        """Return the outcome of a question that differs from ``outcome``'s in hardness and abrasive only.

        None when the rules might tell the two apart.
        """
        old = outcome.values
        changed: set[str] = set()
        for name in _FREE:
            if (outcome.origin.get(name) == "given") != (name in given):
                return None
            if name in given and given[name] != old[name]:
                changed.add(name)
        values = {**old, **given}
        other = copy.copy(outcome)
        other.values, other.findings = values, dict(outcome.findings)
        if not (self._compute(outcome, other, changed) and self._alike(old, values, changed)):
            return None
        # The bands rest on the fired rules only, so twins share them.
        other.__dict__["bands"] = outcome.bands
        return other

    def _compute(self, outcome: Outcome, other: Outcome, changed: set[str]) -> bool:
        """Compute anew what rests on changed values; False when a value appears, goes or is unclear."""
        for memory in self._memories:
            computation = memory.computation
            if changed.isdisjoint(computation.inputs):
                continue
            found = {name: finding for name, _, finding in memory.found(other.values)}
            for name in computation.outputs:
                if outcome.origin.get(name) == "given":
                    continue
                before = outcome.findings.get(name)
                if (name in found) != (before is not None and before[0] is computation):
                    return False
                if name in found and before is not None:
                    other.findings[name] = found[name]
                    if found[name][1].value != before[1].value:
                        other.values[name] = found[name][1].value
                        changed.add(name)
        return True

    def _alike(self, old: dict[str, Value], new: dict[str, Value], changed: set[str]) -> bool:
        for name in changed:
            if name in self._copied or name == "wish":
                return False
            table = self._tables.get(name)
            if table is not None and table.possible(old[name]) != table.possible(new[name]):
                return False
        return True
