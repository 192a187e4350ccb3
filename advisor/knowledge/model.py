"""The knowledge base as frozen data: what the YAML files say, checked and cross-referenced."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

from advisor.knowledge.words import plain

Basis = Literal["published", "common-practice", "memory", "estimated", "computed", "measured"]
Value = str | float | tuple[str, ...]
"""A settled attribute: a word, a number, or several words."""

NUMBER_TYPES = frozenset({"number", "grain"})
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


@dataclass(frozen=True)
class Source:
    """Where a fact comes from."""

    key: str
    title: str
    kind: str
    year: int | None = None
    seen: str = ""
    note: str = ""

    def cite(self) -> str:
        """Return the source as one line."""
        year = f" ({self.year})" if self.year else ""
        return f"{self.title}{year}"


@dataclass(frozen=True)
class ReportedCarbide:
    """A carbide volume from the literature; ``volume`` is (low, high) in vol %."""

    family: str
    volume: tuple[float, float]
    basis: str
    source: str = ""


@dataclass(frozen=True)
class Grade:
    """A steel by designation; hardness in HRC, composition in wt %, temperature in deg C."""

    id: str
    name: str
    group: str
    designations: Mapping[str, str]
    aliases: tuple[str, ...]
    process: str
    composition: tuple[tuple[str, float], ...]
    composition_basis: str
    sources: tuple[str, ...]
    hardness_low: float | None
    hardness_high: float | None
    hardness_max: float | None
    hardness_basis: str
    hardening_temperature: float | None
    carbides: tuple[ReportedCarbide, ...]
    carbide_size: str
    carbide_size_basis: str
    toughness: str
    corrosion: str
    layers: str
    notes: str
    place: Place
    typical_use: tuple[str, ...] = ()
    card_cut_band: tuple[float, float, float] | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Everything a person may type for it, best first."""
        return (self.id, self.name, *self.designations.values(), *self.aliases)


@dataclass(frozen=True)
class Use:
    """What one use asks of an edge; scores 0 to 3."""

    use: str
    motion: str
    bite: float
    refinement: float
    side_load: float
    impact: float
    corrosion: float
    wear: float
    basis: str


@dataclass(frozen=True)
class BenchTest:
    """A quick test; ``effort`` orders them, 1 is the quickest."""

    id: str
    title: str
    how: str
    effort: int


@dataclass(frozen=True)
class Cause:
    """A cause of a disappointing edge: its remedy, and what each bench test shows if it is the cause."""

    id: str
    title: str
    lies_with: str
    remedy: str
    shows: Mapping[str, str]


@dataclass(frozen=True)
class Case:
    """One recorded question and what its answer must hold."""

    id: str
    title: str
    mode: str
    inputs: Mapping[str, Any]
    expect: Mapping[str, Any]
    says: tuple[str, ...]
    never_says: tuple[str, ...]
    basis: str
    place: Place
    sources: tuple[str, ...] = ()
    todo: str = ""


@dataclass(frozen=True)
class KnowledgeBase:
    """Everything in rules/, frozen; passed into every function that needs knowledge.

    Attributes:
        digest: hash of all knowledge files, the identity of the advice.
        data: parsed data of the computation files (abrasives, metallurgy, planning) by relative path.
    """

    version: int
    digest: str
    folder: str
    attributes: Mapping[str, Attribute]
    targets: Mapping[str, Target]
    strengths: Mapping[str, float]
    topics: Mapping[str, str]
    verdicts: Mapping[str, Mapping[str, Any]]
    uses: Mapping[str, Use]
    grades: Mapping[str, Grade]
    rules: tuple[Rule, ...]
    sources: Mapping[str, Source]
    causes: Mapping[str, Cause]
    bench_tests: Mapping[str, BenchTest]
    cases: Mapping[str, Case]
    retired: Mapping[str, str]
    data: Mapping[str, Any] = field(repr=False)

    @cached_property
    def rules_by_id(self) -> dict[str, Rule]:
        """Rules by id."""
        return {rule.id: rule for rule in self.rules}

    @cached_property
    def active_rules(self) -> tuple[Rule, ...]:
        """Rules that take part in answers: all but drafts and retired ones, in id order."""
        live = [r for r in self.rules if r.status in ("accepted", "contested")]
        return tuple(sorted(live, key=lambda r: r.id))

    @property
    def asked(self) -> tuple[Attribute, ...]:
        """The attributes a person may give, in vocabulary order."""
        return tuple(a for a in self.attributes.values() if a.asked)

    @cached_property
    def grade_names(self) -> dict[str, Grade]:
        """Every name of every grade as it is compared; an alias never hides another grade's designation."""
        found: dict[str, Grade] = {}
        for kind in (lambda g: (g.id,), lambda g: (g.name, *g.designations.values()), lambda g: g.aliases):
            for grade in self.grades.values():
                for name in kind(grade):
                    for key in (plain(name), plain(re.sub(r"\(.*?\)", "", name))):
                        if key:
                            found.setdefault(key, grade)
        return found
