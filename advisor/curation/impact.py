"""Impact of a change: two knowledge bases asked the same questions, and every answer that differs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from advisor.consult import Consultant
from advisor.curation.answers import Answer, answer, moved, of_outcome
from advisor.curation.grid import Given, Grid, run_grid, shared_grid
from advisor.errors import ConflictError
from advisor.inference.compile import CompiledRule
from advisor.inference.reason import Reasoner
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Rule
from advisor.knowledge.vocabulary import Value

LARGEST = 10
DATA = "(data)"
"""Blamed for a change that no rule made: vocabulary, grades, uses or figures of the computations."""
CLASSES = ("none", "new answers only", "answers changed")


@dataclass(frozen=True)
class Change:
    """One answer that differs.

    Attributes:
        weight: how far its picks moved, summed over targets in their least widths.
        rules: changed rules that fired before or after; DATA where none did.
    """

    number: int
    given: Given
    before: Answer
    after: Answer
    weight: float
    rules: tuple[str, ...]
    added_only: bool


@dataclass
class Impact:
    """What a change does.

    Attributes:
        asked, changed: numbers of questions asked and of those answered differently, in order.
        added_only: how many of the changed answers only say more than before.
        by_rule, by_grade, by_use: counts of changed answers; an answer may count for several rules.
        picks: (target, before, after) -> changed answers whose pick moved so; None where there was none.
        largest: the changes that moved furthest.
    """

    asked: int = 0
    changed: list[int] = field(default_factory=list)
    added_only: int = 0
    by_rule: Counter[str] = field(default_factory=Counter)
    by_grade: Counter[str] = field(default_factory=Counter)
    by_use: Counter[str] = field(default_factory=Counter)
    picks: Counter[tuple[str, float | None, float | None]] = field(default_factory=Counter)
    largest: list[Change] = field(default_factory=list)

    def take(self, change: Change) -> None:
        """Count one changed answer."""
        self.changed.append(change.number)
        self.added_only += change.added_only
        self.by_rule.update(change.rules)
        self.by_grade[str(change.given["grade"])] += 1
        self.by_use[str(change.given["use"])] += 1
        for name in sorted({*change.before.bands, *change.after.bands}):
            a, b = (side.bands[name][1] if name in side.bands else None for side in (change.before, change.after))
            if a != b:
                self.picks[name, a, b] += 1
        self.largest.append(change)
        if len(self.largest) > 20 * LARGEST:
            self.keep_largest()

    def keep_largest(self) -> None:
        """Drop all but the changes that moved furthest; the first in the grid where they moved alike."""
        self.largest = sorted(self.largest, key=lambda c: (-c.weight, c.number))[:LARGEST]

    def merge(self, other: Impact) -> None:
        """Add what was found over later questions."""
        self.asked += other.asked
        self.changed += other.changed
        self.added_only += other.added_only
        for name in ("by_rule", "by_grade", "by_use", "picks"):
            getattr(self, name).update(getattr(other, name))
        self.largest += other.largest
        self.keep_largest()


@dataclass(frozen=True)
class Comparison:
    """An impact with what it was measured on.

    Attributes:
        base, head: the two knowledge bases.
        sample: (size, seed) when only a sample was asked.
        rewritten: rules whose texts for readers changed and nothing else.
    """

    base: KnowledgeBase
    head: KnowledgeBase
    grid: Grid
    impact: Impact
    sample: tuple[int, int] | None = None

    @property
    def rewritten(self) -> list[str]:
        """Ids of rules that decide alike but read differently."""
        old, new = self.base.rules_by_id, self.head.rules_by_id
        return [
            i
            for i in sorted(set(old) & set(new))
            if behaviour(old[i]) == behaviour(new[i]) and _reads(old[i]) != _reads(new[i])
        ]

    @property
    def grades_added(self) -> list[str]:
        """Grades only the head knows; all their answers are new."""
        return sorted(set(self.head.grades) - set(self.base.grades))

    @property
    def grades_removed(self) -> list[str]:
        """Grades only the base knows; all their answers are gone."""
        return sorted(set(self.base.grades) - set(self.head.grades))

    @property
    def kind(self) -> str:
        """The class of the change, one of CLASSES."""
        if len(self.impact.changed) > self.impact.added_only or self.grades_removed:
            return CLASSES[2]
        return CLASSES[1] if self.impact.changed or self.grades_added else CLASSES[0]


def compare(
    base: Consultant,
    head: Consultant,
    *,
    grid: Grid | None = None,
    sample: tuple[int, int] | None = None,
    jobs: int | None = None,
    progress: Callable[[int], Any] = lambda _: None,
) -> Comparison:
    """Ask both knowledge bases the same questions.

    Args:
        base, head: before and after.
        grid: the questions; what both know by default.
        sample: (size, seed) to ask only a sample.
        jobs, progress: see run_grid.
    """
    grid = grid or shared_grid(base.kb, head.kb)
    numbers = grid.sample(*sample) if sample else grid.everything
    total = Impact()
    for part in run_grid((base, head), grid, numbers, compare_chunk, jobs=jobs, progress=progress):
        total.merge(part)
    return Comparison(base.kb, head.kb, grid, total, sample)


def compare_chunk(consultants: tuple[Consultant, ...], grid: Grid, numbers: Sequence[int]) -> Impact:
    """Work of run_grid: the impact over some questions."""
    base, head = (c.reasoner for c in consultants)
    differing = changed_rules(base.kb, head.kb)
    shortcut = _Shortcut(base, head, differing) if same_data(base.kb, head.kb) else None
    part = Impact(len(numbers))
    for number in numbers:
        given = grid.given(number)
        before = shortcut.before(given) if shortcut else answer(base, given)
        if before is None:
            continue
        after = answer(head, given)
        if before.same(after):
            continue
        weight = sum(abs(m) for m in moved(head.kb, before, after).values())
        blamed = tuple(sorted(differing & (before.rules | after.rules))) or (DATA,)
        part.take(Change(number, given, before, after, weight, blamed, after.adds_to(before)))
    part.keep_largest()
    return part


class _Shortcut:
    """Skips the second run where no changed rule can have a say in it.

    When nothing but rules differs, and in the base's outcome no changed rule fired and none would fire
    as it is written in the head, then the head's run settles the same attributes level by level and
    fires the same rules.
    """

    def __init__(self, base: Reasoner, head: Reasoner, differing: set[str]) -> None:
        self.base = base
        self.old = {i for i in differing if i in base.compiled.by_id}
        self.new = [c for i, c in sorted(head.compiled.by_id.items()) if i in differing]

    def before(self, given: Given) -> Answer | None:
        """Return the base's answer, or None when the head's must be the same."""
        try:
            outcome = self.base.reason(given)
        except ConflictError:
            return answer(self.base, given)
        if any(c.rule.id in self.old for c in outcome.fired) or any(_holds(c, outcome.values) for c in self.new):
            return of_outcome(outcome)
        return None


def _holds(rule: CompiledRule, values: dict[str, Value]) -> bool:
    return any(all(x.true_for(values.get(x.condition.attribute)) for x in conj) for conj in rule.conjunctions)


def changed_rules(base: KnowledgeBase, head: KnowledgeBase) -> set[str]:
    """Return ids of the rules that take part on one side only, or decide differently."""
    old, new = (_by_id(kb.active_rules) for kb in (base, head))
    return {i for i in {*old, *new} if i not in old or i not in new or behaviour(old[i]) != behaviour(new[i])}


def _by_id(rules: Iterable[Rule]) -> dict[str, Rule]:
    return {r.id: r for r in rules}


def behaviour(rule: Rule) -> tuple[Any, ...]:
    """Return what decides how a rule acts on answers."""
    return rule.status in ("accepted", "contested"), rule.when, rule.then, rule.unless_you_want, rule.priority


def _reads(rule: Rule) -> tuple[Any, ...]:
    return rule.title, rule.status, rule.because, rule.does_not_apply_when, rule.basis, rule.sources


def same_data(base: KnowledgeBase, head: KnowledgeBase) -> bool:
    """Whether two knowledge bases differ in rules, cases and sources at most."""
    names = ("attributes", "targets", "strengths", "uses", "grades", "causes", "data")
    return all(_bare(getattr(base, n)) == _bare(getattr(head, n)) for n in names)


def _bare(table: Any) -> Any:
    """Drop from grades where they stand; a moved line is no change."""
    return {
        k: {n: x for n, x in vars(v).items() if n != "place"} if hasattr(v, "place") else v for k, v in table.items()
    }
