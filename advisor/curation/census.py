"""A census of answers: over many questions, what each rule does and where the rules leave something open."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from advisor.consult import Consultant
from advisor.curation.grid import Given, Grid
from advisor.errors import ConflictError
from advisor.inference.reason import Outcome, Reasoner
from advisor.inference.trace import slots
from advisor.knowledge.rule import Rule

WANTED = ("angle", "finish", "strop.verdict")
"""What every question about a known grade and use should be answered with."""


@dataclass
class Tally:
    """How often something was seen, and the first question it was seen in."""

    count: int = 0
    first: Given | None = None

    def add(self, given: Given, count: int = 1) -> None:
        """Count it once more."""
        self.count += count
        if self.first is None:
            self.first = given


@dataclass
class RuleTally:
    """What one rule did.

    Attributes:
        fired: its conditions held; stood: its opinion counted (see ``standing``); bound: it decided an
            end of a band or a value; quiet: its conditions did not hold.
        lost: it fired and did not stand.
    """

    fired: Tally = field(default_factory=Tally)
    stood: Tally = field(default_factory=Tally)
    bound: Tally = field(default_factory=Tally)
    lost: Tally = field(default_factory=Tally)


@dataclass
class Census:
    """What was seen over some questions.

    Attributes:
        conflicts: message -> questions that equal-ranking rules disagree on.
        gaps: angle, finish or strop.verdict -> questions without it.
        ties: (limit that stands, limit that gives way) -> questions where only the vocabulary's
            tie-break decides between limits that cross.
        blanks: (rule, attribute) -> questions in which a text of the rule asks for an unknown attribute.
    """

    questions: int = 0
    rules: dict[str, RuleTally] = field(default_factory=dict)
    conflicts: dict[str, Tally] = field(default_factory=dict)
    gaps: dict[str, Tally] = field(default_factory=dict)
    ties: dict[tuple[str, str], Tally] = field(default_factory=dict)
    blanks: dict[tuple[str, str], Tally] = field(default_factory=dict)

    def rule(self, name: str) -> RuleTally:
        """Return the tally of a rule, empty at first."""
        return self.rules.setdefault(name, RuleTally())

    def merge(self, other: Census) -> None:
        """Add what was seen over later questions."""
        self.questions += other.questions
        for name, tally in other.rules.items():
            mine = self.rule(name)
            for kind in ("fired", "stood", "bound", "lost"):
                _merge(getattr(mine, kind), getattr(tally, kind))
        for table in ("conflicts", "gaps", "ties", "blanks"):
            for key, one in getattr(other, table).items():
                _merge(getattr(self, table).setdefault(key, Tally()), one)

    def take(self, given: Given, outcome: Outcome, texts: dict[str, list[str]], *, gaps: bool) -> None:
        """Take in one answer."""
        self.questions += 1
        stood, bound = standing(outcome), binding(outcome)
        for compiled in outcome.fired:
            name = compiled.rule.id
            tally = self.rule(name)
            tally.fired.add(given)
            (tally.stood if name in stood else tally.lost).add(given)
            if name in bound:
                tally.bound.add(given)
            for attribute in texts.get(name, ()):
                if attribute not in outcome.values:
                    self.blanks.setdefault((name, attribute), Tally()).add(given)
        for band in outcome.bands.values():
            for trade_off in band.trade_offs:
                pair = trade_off.stands[0], trade_off.gives_way[0]
                if len(trade_off.gives_way) == 1 and _tied(*(outcome.kb.rules_by_id[r] for r in pair)):
                    self.ties.setdefault(pair, Tally()).add(given)
        if gaps:
            for name in WANTED:
                if name not in outcome.bands and name not in outcome.values:
                    self.gaps.setdefault(name, Tally()).add(given)


def _merge(mine: Tally, other: Tally) -> None:
    if other.first is not None:
        mine.add(other.first, other.count)


def _tied(a: Rule, b: Rule) -> bool:
    return a.then.verb == b.then.verb == "limit" and (a.then.firm, a.rank) == (b.then.firm, b.rank)


def standing(outcome: Outcome) -> set[str]:
    """Return the fired rules whose opinion counts.

    A conclusion or assumption counts when its value stands; a limit when it is the tightest that stands
    on its side of the band; everything else unless the wish sets it aside.
    """
    found = {r for rules in outcome.set_by.values() for r in rules}
    for band in outcome.bands.values():
        found |= {limit[1].id for limit in (band.floor, band.ceiling) if limit is not None}
    found |= {r.id for r in outcome.effective if r.then.verb in ("favour", "shift", "advise", "suspect")}
    return found


def binding(outcome: Outcome) -> set[str]:
    """Return the rules that decide a value, an end of a band, or a text of the answer."""
    found = {rules[0] for rules in outcome.set_by.values()}
    for band in outcome.bands.values():
        found |= {*band.low_set_by, *band.high_set_by}
    found |= {r.id for r in outcome.effective if r.then.verb in ("advise", "suspect")}
    return found


def texts_with_slots(rules: Iterable[Rule]) -> dict[str, list[str]]:
    """Return, for rules whose texts have slots, the attributes they ask for."""
    found = {r.id: sorted({*slots(r.because), *slots(r.then.text)}) for r in rules}
    return {name: attributes for name, attributes in found.items() if attributes}


def ask_all(reasoner: Reasoner, questions: Iterable[Given], *, gaps: bool = False) -> Census:
    """Return the census of some questions.

    Args:
        reasoner: who answers.
        questions: each as the reasoner takes it.
        gaps: whether an answer without angle, finish or strop verdict is one.
    """
    census = Census()
    texts = texts_with_slots(reasoner.kb.active_rules)
    for given in questions:
        try:
            outcome = reasoner.reason(given)
        except ConflictError as exc:
            census.questions += 1
            census.conflicts.setdefault(exc.message, Tally()).add(given)
            continue
        census.take(given, outcome, texts, gaps=gaps)
    return census


def count_chunk(consultants: tuple[Consultant, ...], grid: Grid, numbers: Sequence[int]) -> Census:
    """Work of run_grid: the census of some questions of the grid."""
    return ask_all(consultants[0].reasoner, (grid.given(n) for n in numbers), gaps=True)
