"""The words of the vocabulary: attributes that rules test, targets that advice is given about."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

Value = str | float | tuple[str, ...]
"""A settled attribute: a word, a number, or several words."""

NUMBER_TYPES = frozenset({"number", "grain"})


@dataclass(frozen=True)
class Choice:
    """One allowed word of an attribute, and how it is shown."""

    value: str
    label: str


@dataclass(frozen=True)
class Attribute:
    """One word of the vocabulary.

    Attributes:
        name: as rules, options and query keys write it.
        type: number, choice, choices, grain (micrometres), grains, grade, composition or kit.
        origin: asked, computed or concluded.
        range: smallest and largest number allowed, in ``unit``.
        probe: numbers tried when the program asks what an answer would change.
    """

    name: str
    label: str
    type: str
    origin: str
    unit: str = ""
    range: tuple[float, float] | None = None
    section: str = ""
    question: str = ""
    hint: str = ""
    values: tuple[Choice, ...] = ()
    probe: tuple[float, ...] = ()

    @property
    def asked(self) -> bool:
        """Whether a person may give it."""
        return self.origin == "asked"

    @cached_property
    def words(self) -> tuple[str, ...]:
        """The allowed words, in the order of the vocabulary."""
        return tuple(choice.value for choice in self.values)

    def show(self, value: Value | None) -> str:
        """Return a value as a reader wants it: its label, or the number with its unit."""
        if value is None:
            return "not known"
        if isinstance(value, tuple):
            return ", ".join(self.show(v) for v in value)
        if isinstance(value, str):
            return next((c.label for c in self.values if c.value == value), value)
        return f"{value:.4g} {self.unit}".strip()


@dataclass(frozen=True)
class Target:
    """Something advice is given about as a band: angle, finish, strop passes, strop compound."""

    name: str
    label: str
    unit: str
    scale: str
    range: tuple[float, float]
    least_width: float
    when_limits_tie: str
    below: str
    above: str
    step: float | None = None
    question_weight: float = 1.0
