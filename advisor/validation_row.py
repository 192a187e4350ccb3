"""One line of the table *published, computed, error* that every computing package contributes to."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ValidationRow:
    """A published (or recalled) figure beside what this program computes for the same inputs.

    Attributes:
        what: what was compared, with its inputs, for a reader.
        source: where the published figure stands.
        basis: how it is known: published, memory, common-practice, estimated or computed.
        unit: unit of ``published``, ``computed``, ``error`` and ``tolerance``; empty for names.
        published: the figure or name from the source.
        computed: the same thing computed here.
        error: computed minus published; None where the two are names.
        tolerance: largest acceptable absolute error; None where the two must be equal.
        ok: whether the computed figure lies inside the tolerance.
        known_miss: why the figure is known not to be reached; empty where it should be.
    """

    what: str
    source: str
    basis: str
    unit: str
    published: float | str
    computed: float | str
    error: float | None
    tolerance: float | None
    ok: bool
    known_miss: str = ""

    @property
    def as_expected(self) -> bool:
        """Whether it is met, or missed as known; a known miss that is met by now is out of date."""
        return self.ok is not bool(self.known_miss)
