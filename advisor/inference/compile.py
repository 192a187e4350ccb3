"""Compile rules into a form that matches a fact in one look-up.

Three-valued conditions become literals on one attribute each.  A literal is a condition that must hold,
or one that must fail; on an unknown attribute neither is true.  ``unknown`` is itself a positive literal,
because an attribute that was settled without a value is declared as such.  So a rule is a disjunction of
conjunctions of literals, and every attribute is settled once.  Conjunctions are numbered; a set of them
is an integer with one bit each.  For every attribute a table gives, for each value region, the set of
conjunctions that the value leaves possible.  What all attributes leave possible, holds: the order in
which facts arrive cannot matter.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate, pairwise, product

from advisor.errors import KnowledgeError
from advisor.knowledge.rule import Condition, Group, Rule
from advisor.knowledge.vocabulary import NUMBER_TYPES, Attribute, Value

STAGES = ("conclude", "assume", "favour/limit/shift", "advise/suspect")
MOST_CONJUNCTIONS = 64


@dataclass(frozen=True)
class Literal:
    """A condition that must hold (``wanted``) or fail (not ``wanted``)."""

    condition: Condition
    wanted: bool

    def true_for(self, value: Value | None) -> bool:
        """Whether the literal is true for a settled value; None means settled as unknown."""
        return test(self.condition, value) is self.wanted


def test(condition: Condition, value: Value | None) -> bool | None:
    """Evaluate one condition three-valued: True, False, or None when the attribute is unknown."""
    operator, operand = condition.operator, condition.operand
    if operator == "unknown":
        return value is None
    if operator == "known":
        return value is not None
    if value is None:
        return None
    if isinstance(value, tuple):
        return _test_many(operator, operand, value)
    if operator == "equals":
        return bool(value == operand)
    if operator == "in":
        return value in operand
    if operator == "not_in":
        return value not in operand
    assert isinstance(value, (int, float))
    if operator == "at_least":
        return bool(value >= operand)
    if operator == "at_most":
        return bool(value <= operand)
    if operator == "above":
        return bool(value > operand)
    if operator == "below":
        return bool(value < operand)
    return bool(operand[0] <= value <= operand[1])


def _test_many(operator: str, operand: object, value: tuple[str, ...]) -> bool:
    wanted = operand if isinstance(operand, tuple) else (operand,)
    shared = any(v in wanted for v in value)
    return not shared if operator == "not_in" else shared


def conjunctions(part: Condition | Group, wanted: bool = True) -> list[tuple[Literal, ...]]:
    """Return the disjunctive normal form of a condition or group."""
    if isinstance(part, Condition):
        return [(Literal(part, wanted),)]
    inner_wanted = wanted if part.kind != "none" else not wanted
    parts = [conjunctions(inner, inner_wanted) for inner in part.parts]
    # all, and none as "all fail", need every part; their opposites need one.
    if (part.kind == "any") is not wanted:
        return [tuple(lit for conj in combo for lit in conj) for combo in product(*parts)]
    return [conj for options in parts for conj in options]


@dataclass(frozen=True, eq=False)
class CompiledRule:
    """A rule ready to match.

    Attributes:
        position: its place in the firing order: stage, then level, then id.  The order never decides
            an answer; it keeps traces the same whatever order files and rules were read in.
        level: depth of its deepest attribute in the order in which attributes are settled.
        standing: what decides between opinions on one attribute: conclusions before assumptions, then
            priority, then conditions.
    """

    rule: Rule
    position: int
    level: int
    conjunctions: tuple[tuple[Literal, ...], ...]
    standing: tuple[bool, int, int]


@dataclass(frozen=True)
class AttributeTable:
    """What a fact about one attribute leaves possible: sets of conjunctions, as bits of an integer.

    Attributes:
        literals: every different literal on the attribute, with the conjunctions it stands in.
        everything: the set of all conjunctions.
        by_word: word -> conjunctions it leaves possible.
        thresholds: the numbers at which a condition changes; ``regions`` holds, for below the first, at
            the first, between first and second ..., the conjunctions left possible.
        when_unknown, when_known: the same for the attribute settled without a value, or with any value
            that cannot be compared.
    """

    literals: tuple[tuple[Literal, int], ...]
    everything: int
    by_word: Mapping[str, int]
    thresholds: tuple[float, ...]
    regions: tuple[int, ...]
    when_unknown: int
    when_known: int

    def possible(self, value: Value | None) -> int:
        """Return the conjunctions that this value leaves possible."""
        if value is None:
            return self.when_unknown
        if isinstance(value, str):
            return self.by_word.get(value, self.when_known)
        if isinstance(value, tuple):
            return _possible(self.literals, self.everything, value)
        if not self.regions:
            return self.when_known
        at = bisect_left(self.thresholds, value)
        exact = at < len(self.thresholds) and self.thresholds[at] == value
        return self.regions[2 * at + 1] if exact else self.regions[2 * at]


@dataclass(frozen=True)
class CompiledRules:
    """Rules and tables of one knowledge base; shared by all sessions, never changed.

    Attributes:
        levels: attributes in the order in which they are settled.
        level_of: attribute -> index into ``levels``.
        tables: what each attribute that rules read leaves possible.
        owner: the rule each conjunction belongs to.  Conjunctions are numbered by the level at which
            their last attribute is settled, then in firing order.
        starts: first conjunction of each level, and the number of all.
        settling_end: the conclude and assume rules are those of a lower position.
    """

    rules: tuple[CompiledRule, ...]
    levels: tuple[tuple[str, ...], ...]
    level_of: Mapping[str, int]
    tables: Mapping[str, AttributeTable]
    owner: tuple[CompiledRule, ...]
    starts: tuple[int, ...]
    settling_end: int
    by_id: Mapping[str, CompiledRule] = field(repr=False)


Feeds = Mapping[str, Sequence[str]]
"""Attribute -> attributes that must be settled before it (of the computations)."""


def compile_rules(rules: Iterable[Rule], attributes: Mapping[str, Attribute], feeds: Feeds) -> CompiledRules:
    """Compile rules.

    Args:
        rules: the rules that take part.
        attributes: the vocabulary.
        feeds: inputs of every computed attribute.

    Raises:
        KnowledgeError: attributes that depend on each other in a circle; a rule with too many
            alternatives.
    """
    rules = sorted(rules, key=lambda r: r.id)
    level_of = _levels(rules, attributes, feeds)
    drafts = []
    for rule in rules:
        level = max((level_of[name] for name in _needs(rule)), default=0)
        drafts.append((STAGES.index(rule.stage), level, rule.id, rule))
    drafts.sort(key=lambda d: d[:3])
    compiled = []
    for position, (_, level, _, rule) in enumerate(drafts):
        alternatives = conjunctions(rule.when)
        if len(alternatives) > MOST_CONJUNCTIONS:
            raise KnowledgeError(
                f"rule '{rule.id}' has {len(alternatives)} alternatives, more than {MOST_CONJUNCTIONS}",
                path=rule.place.path, line=rule.place.line, hint="split it into several rules",
            )  # fmt: skip
        standing = (rule.stage == "conclude", *rule.rank)
        compiled.append(CompiledRule(rule, position, level, tuple(alternatives), standing))
    return _number(tuple(compiled), attributes, level_of)


def _number(
    compiled: tuple[CompiledRule, ...], attributes: Mapping[str, Attribute], level_of: Mapping[str, int]
) -> CompiledRules:
    """Number the conjunctions and build the tables over them."""
    depth = max(level_of.values(), default=0) + 1
    at_level: list[list[tuple[CompiledRule, tuple[Literal, ...]]]] = [[] for _ in range(depth)]
    for one in compiled:
        for conjunction in one.conjunctions:
            last = max((level_of[literal.condition.attribute] for literal in conjunction), default=0)
            at_level[last].append((one, conjunction))
    numbered = [pair for level in at_level for pair in level]
    literals: dict[str, list[tuple[Literal, int]]] = {}
    for number, (_, conjunction) in enumerate(numbered):
        for literal in conjunction:
            literals.setdefault(literal.condition.attribute, []).append((literal, number))
    everything = (1 << len(numbered)) - 1
    return CompiledRules(
        rules=compiled,
        levels=tuple(tuple(n for n in attributes if level_of[n] == i) for i in range(depth)),
        level_of=level_of,
        tables={name: _table(attributes[name], where, everything) for name, where in literals.items()},
        owner=tuple(one for one, _ in numbered),
        starts=tuple(accumulate((len(level) for level in at_level), initial=0)),
        settling_end=sum(1 for c in compiled if c.rule.stage in ("conclude", "assume")),
        by_id={c.rule.id: c for c in compiled},
    )


def _needs(rule: Rule) -> set[str]:
    """Attributes that must be settled before the rule can be judged."""
    names = {c.attribute for c in rule.conditions}
    if rule.unless_you_want:
        names.add("wish")
    if rule.then.same_as:
        names.add(rule.then.same_as)
    return names


def _levels(rules: Iterable[Rule], attributes: Mapping[str, Attribute], feeds: Feeds) -> dict[str, int]:
    before: dict[str, set[str]] = {name: set(feeds.get(name, ())) for name in attributes}
    for rule in rules:
        if rule.then.verb in ("conclude", "assume"):
            before[rule.then.subject] |= _needs(rule)
    level: dict[str, int] = {}

    def visit(name: str, path: tuple[str, ...]) -> int:
        if name in path:
            circle = " -> ".join((*path[path.index(name) :], name))
            setters = (r for r in rules if r.then.subject == name and r.then.verb in ("conclude", "assume"))
            blamed = next(setters, None)
            raise KnowledgeError(
                f"attributes depend on each other in a circle: {circle}",
                path=blamed.place.path if blamed else "", line=blamed.place.line if blamed else 0,
                hint="a rule may not set what its own conditions rest on; "
                "'assume' needs no 'unknown' test of its own",
            )  # fmt: skip
        if name not in level:
            level[name] = 1 + max((visit(n, (*path, name)) for n in sorted(before[name])), default=-1)
        return level[name]

    for name in attributes:
        visit(name, ())
    return level


def _possible(literals: Iterable[tuple[Literal, int]], everything: int, value: Value | None) -> int:
    """Return the conjunctions none of whose literals fail for the value."""
    out = 0
    for literal, standing_in in literals:
        if not literal.true_for(value):
            out |= standing_in
    return everything & ~out


def _table(attribute: Attribute, where: Iterable[tuple[Literal, int]], everything: int) -> AttributeTable:
    different: dict[tuple[str, object, bool], list[int]] = {}
    for literal, number in where:
        key = (literal.condition.operator, literal.condition.operand, literal.wanted)
        different.setdefault(key, []).append(number)
    literals = tuple(
        (Literal(Condition(attribute.name, operator, operand), wanted), sum(1 << n for n in set(numbers)))
        for (operator, operand, wanted), numbers in different.items()
    )
    comparing = [x for x in literals if x[0].condition.operator not in ("known", "unknown")]
    thresholds: tuple[float, ...] = ()
    regions: tuple[int, ...] = ()
    if attribute.type in NUMBER_TYPES:
        numbers: set[float] = set()
        for literal, _ in comparing:
            operand = literal.condition.operand
            numbers |= set(operand) if isinstance(operand, tuple) else {operand}
        thresholds = tuple(sorted(numbers))
        regions = tuple(_possible(literals, everything, probe) for probe in _probes(thresholds))
    # Any value at all keeps what asks only whether there is one; what compares it fails.
    known = _possible([x for x in literals if x not in comparing], everything, "any value")
    for _, standing_in in comparing:
        known &= ~standing_in
    words = {w: _possible(literals, everything, w) for w in attribute.words}
    when_unknown = _possible(literals, everything, None)
    return AttributeTable(literals, everything, words, thresholds, regions, when_unknown, known)


def _probes(thresholds: Sequence[float]) -> list[float]:
    """Return one number of every region: below the first threshold, at it, above it and so on."""
    if not thresholds:
        return [0.0]
    probes = [thresholds[0] - 1.0, thresholds[0]]
    for here, following in pairwise(thresholds):
        probes += [(here + following) / 2, following]
    return [*probes, thresholds[-1] + 1.0]
