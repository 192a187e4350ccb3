"""A rule as written: conditions, conclusion, and where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from advisor.knowledge.vocabulary import Value

OPERATORS = (
    "equals",
    "in",
    "not_in",
    "at_least",
    "at_most",
    "above",
    "below",
    "between",
    "known",
    "unknown",
)


@dataclass(frozen=True)
class Place:
    """Where something stands in the knowledge files."""

    path: str
    line: int
    column: int = 1

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}"


@dataclass(frozen=True)
class Condition:
    """One test of one attribute.

    Attributes:
        operator: one of OPERATORS.
        operand: a word or number, a tuple of them for in, not_in and between, True for known and unknown.
    """

    attribute: str
    operator: str
    operand: Any

    def wanted(self) -> str:
        """Return the test in words, for traces."""
        words = {"at_least": "at least", "at_most": "at most", "not_in": "none of", "in": "one of"}
        if self.operator in ("known", "unknown"):
            return self.operator if self.operand else f"not {self.operator}"
        if isinstance(self.operand, tuple):
            joined = " to " if self.operator == "between" else ", "
            return f"{words.get(self.operator, self.operator)} {joined.join(_word(v) for v in self.operand)}"
        return f"{words.get(self.operator, self.operator)} {_word(self.operand)}"


def _word(value: Any) -> str:
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)


@dataclass(frozen=True)
class Group:
    """Conditions joined by all, any or none."""

    kind: Literal["all", "any", "none"]
    parts: tuple[Condition | Group, ...]


@dataclass(frozen=True)
class Conclusion:
    """What a rule does when its conditions hold; ``verb`` tells which of the other fields count.

    Attributes:
        verb: conclude, assume, favour, limit, shift, advise or suspect.
        subject: attribute (conclude, assume), target (favour, limit, shift), topic (advise) or cause
            (suspect).
        value: word or number set by conclude and assume.
        same_as: attribute whose value is taken instead of ``value``.
        low, high: ends of a favoured band, or the bounds of a limit; None where not bounded.
        strength: weak, moderate or strong.
        firm: crossing the limit breaks the edge or hurts someone.
        by: what a shift adds; ``times``: what it multiplies with.
        text: sentence of an advise rule.
        order: place of an advise text within its topic.
        verdict: name of the verdict a crossed limit or a check advice gives.
    """

    verb: str
    subject: str
    value: Value | None = None
    same_as: str = ""
    low: float | None = None
    high: float | None = None
    strength: str = ""
    firm: bool = False
    by: float = 0.0
    times: float = 1.0
    text: str = ""
    order: int = 50
    verdict: str = ""


@dataclass(frozen=True)
class Rule:
    """One rule as written, with where it stands."""

    id: str
    title: str
    status: str
    topic: str
    when: Group
    then: Conclusion
    because: str
    does_not_apply_when: str
    basis: str
    sources: tuple[str, ...]
    fires_in: tuple[str, ...]
    quiet_in: tuple[str, ...]
    place: Place
    unless_you_want: tuple[str, ...] = ()
    priority: int = 0

    @cached_property
    def conditions(self) -> tuple[Condition, ...]:
        """Every single test of the rule, in writing order."""
        return tuple(_leaves(self.when))

    @cached_property
    def rank(self) -> tuple[int, int]:
        """What decides between two rules that set one attribute: priority, then conditions."""
        return (self.priority, len(self.conditions))

    @property
    def stage(self) -> str:
        """The stage the rule runs in."""
        verb = self.then.verb
        if verb in ("favour", "limit", "shift"):
            return "favour/limit/shift"
        return "advise/suspect" if verb in ("advise", "suspect") else verb


def _leaves(part: Condition | Group) -> list[Condition]:
    if isinstance(part, Condition):
        return [part]
    return [leaf for inner in part.parts for leaf in _leaves(inner)]
