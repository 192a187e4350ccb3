"""The knowledge base as frozen data: what the YAML files say, checked and cross-referenced."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from advisor.knowledge.rule import Place, Rule
from advisor.knowledge.vocabulary import Attribute, Target
from advisor.knowledge.words import plain


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
        name_words: words "before" and "after" a steel's name that a search may leave off.
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
    name_words: Mapping[str, tuple[str, ...]]
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
