"""The compiled rules written out as CLIPS constructs: the reference engine for speed and for answers.

Every attribute is a deftemplate, every fact one settled attribute; ``u.`` facts stand for attributes
settled as unknown, so that CLIPS needs no third truth value.  Every conjunction is a defrule.  Rules that
conclude or assume assert an opinion; settling rules below them, one level of attributes after the other,
make the opinion of highest rank the fact.  Salience orders the levels and the stages.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.inference.compile import CompiledRule, CompiledRules, Literal
from advisor.knowledge.rule import Condition, Rule
from advisor.knowledge.vocabulary import NUMBER_TYPES, Attribute, Value

NO_VALUE = "-none-"
"""Symbol of an opinion that has no value to give."""
_OPINION, _FIRST_LEVEL, _LATER = 10000, 9000, 0
_COMPARED = {"at_least": ">=", "at_most": "<=", "above": ">", "below": "<", "equals": "="}
_STARTED = "(started)"


@dataclass(frozen=True)
class ClipsAnswer:
    """What CLIPS found.

    Attributes:
        fired: ids of the rules that fired.
        settled: attribute that a rule settled -> its value; missing when settled as unknown.
        conflicts: attributes on which opinions of equal rank disagree.
    """

    fired: frozenset[str]
    settled: Mapping[str, Value]
    conflicts: frozenset[str]


class ClipsBase:
    """One CLIPS environment with all rules of a compiled knowledge base; not for use by several threads.

    Args:
        compiled: the compiled rules.
        attributes: the vocabulary.

    Raises:
        ModuleNotFoundError: clipspy is not installed.
    """

    def __init__(self, compiled: CompiledRules, attributes: Mapping[str, Attribute]) -> None:
        import clips  # type: ignore[import-untyped]

        self.environment = clips.Environment()
        self.attributes = attributes
        self.settled_by_rules = settled_by_rules(compiled)
        self.read = frozenset(compiled.tables) | {"wish"} | same_as(compiled)
        for construct in constructs(compiled, attributes):
            self.environment.build(construct)

    def prepare(self, data: Mapping[str, Value]) -> None:
        """Hold the facts of a question, which ``run`` then asserts without a step of Python.

        clipspy hands out an object for every fact it asserts or lists, and CLIPS slows down from question
        to question as they pile up; so neither is done here.
        """
        facts = [_STARTED]
        for name in sorted(self.read | self.settled_by_rules):
            if name in data:
                facts.append(f"(d.{name} (value {_written(data[name])}))")
            elif name not in self.settled_by_rules:
                facts.append(f"(u.{name})")
        self.environment.build(f"(deffacts question {' '.join(facts)})")

    def run(self) -> None:
        """Take back all facts, assert those of the question, and fire until the agenda is empty."""
        self.environment.reset()
        self.environment.run()

    def answer(self) -> ClipsAnswer:
        """Collect what the run left in the fact list."""
        found = self.environment.eval("(found)")
        rows = [tuple(found[i : i + 3]) for i in range(0, len(found), 3)]
        settled = {str(name): _read(value) for kind, name, value in rows if str(kind) == "settled"}
        return ClipsAnswer(_names(rows, "fired"), settled, _names(rows, "conflict"))

    def ask(self, data: Mapping[str, Value]) -> ClipsAnswer:
        """Answer one question from given and computed attributes."""
        self.prepare(data)
        self.run()
        return self.answer()


def _names(rows: list[tuple[Any, ...]], wanted: str) -> frozenset[str]:
    return frozenset(str(name) for kind, name, _ in rows if str(kind) == wanted)


def _collecting(names: frozenset[str]) -> str:
    """Return the function that lists what was found as triples of kind, name and value."""
    loops = [
        f"(do-for-all-facts ((?f {kind})) TRUE (bind ?m (create$ ?m {kind} (nth$ 1 ?f:implied) {NO_VALUE})))"
        for kind in ("fired", "conflict")
    ] + [
        f"(do-for-all-facts ((?f d.{name})) TRUE (bind ?m (create$ ?m settled {name} ?f:value)))"
        for name in sorted(names)
    ]
    return f"(deffunction found () (bind ?m (create$)) {' '.join(loops)} ?m)"


def settled_by_rules(compiled: CompiledRules) -> frozenset[str]:
    """Return the attributes that some rule concludes or assumes."""
    return frozenset(c.rule.then.subject for c in compiled.rules if c.rule.then.verb in ("conclude", "assume"))


def same_as(compiled: CompiledRules) -> frozenset[str]:
    """Return the attributes whose value some rule takes over for another."""
    return frozenset(c.rule.then.same_as for c in compiled.rules if c.rule.then.same_as)


def constructs(compiled: CompiledRules, attributes: Mapping[str, Attribute]) -> list[str]:
    """Return the CLIPS constructs of all rules, templates first."""
    lines = ["(deftemplate opinion (slot about) (slot rank) (slot value))"]
    for attribute in attributes.values():
        slot = "multislot" if attribute.type == "choices" else "slot"
        lines += [f"(deftemplate d.{attribute.name} ({slot} value))", f"(deftemplate u.{attribute.name})"]
    ranks = sorted({_rank(c.rule) for c in compiled.rules})
    for one in compiled.rules:
        for number, conjunction in enumerate(one.conjunctions):
            patterns = [_pattern(lit, attributes, f"?x{i}") for i, lit in enumerate(dict.fromkeys(conjunction))]
            lines += _defrules(one, number, patterns, ranks.index(_rank(one.rule)))
    by_rules = settled_by_rules(compiled)
    for name in sorted(by_rules):
        lines += _settling(name, _FIRST_LEVEL - 10 * compiled.level_of[name])
    return [*lines, _collecting(by_rules)]


def _rank(rule: Rule) -> tuple[bool, tuple[int, int]]:
    return (rule.stage == "conclude", rule.rank)


def _defrules(one: CompiledRule, number: int, patterns: list[str], rank: int) -> list[str]:
    rule, then = one.rule, one.rule.then
    name, fired = f"{rule.id}-{number}", f"(assert (fired {rule.id}))"
    if then.verb not in ("conclude", "assume"):
        return [f"(defrule {name} (declare (salience {_LATER})) {' '.join(patterns)} => {fired})"]
    taken = [("", _written(then.value))]
    if then.same_as:
        taken = [(f"(d.{then.same_as} (value ?taken))", "?taken"), (f"(u.{then.same_as})", NO_VALUE)]
    made = []
    for place, (pattern, value) in enumerate(taken):
        opinion = f"(assert (opinion (about {then.subject}) (rank {rank}) (value {value})))"
        conditions = " ".join([*patterns, pattern])
        if rule.unless_you_want:
            opinion = f"(if {_wish_allows(rule)} then {opinion})"
            conditions += " (or (u.wish) (d.wish))"
        made.append(f"(defrule {name}-{place} (declare (salience {_OPINION})) {conditions} => {fired} {opinion})")
    return made


def _wish_allows(rule: Rule) -> str:
    unwanted = " ".join(f"(eq ?f:value {wish})" for wish in rule.unless_you_want)
    return f"(not (any-factp ((?f d.wish)) (or {unwanted} FALSE)))"


def _settling(name: str, salience: int) -> list[str]:
    best = f"(opinion (about {name}) (rank ?r) (value ?v&~{NO_VALUE}))"
    none_better = f"(not (opinion (about {name}) (rank ?q&:(> ?q ?r)) (value ~{NO_VALUE})))"
    open_still = f"(not (d.{name})) (not (u.{name}))"
    return [
        f"(defrule conflict.{name} (declare (salience {salience + 2})) (not (d.{name})) {best} "
        f"(opinion (about {name}) (rank ?r) (value ~?v&~{NO_VALUE})) {none_better}"
        f" => (assert (conflict {name})))",
        f"(defrule settle.{name} (declare (salience {salience + 1})) {open_still} {best} {none_better}"
        f" => (assert (d.{name} (value ?v))))",
        f"(defrule unknown.{name} (declare (salience {salience})) {_STARTED} {open_still} => (assert (u.{name})))",
    ]


def _pattern(literal: Literal, attributes: Mapping[str, Attribute], variable: str) -> str:
    condition, wanted = literal.condition, literal.wanted
    name = condition.attribute
    if condition.operator in ("known", "unknown"):
        return f"(d.{name})" if (condition.operator == "known") is wanted else f"(u.{name})"
    attribute = attributes[name]
    if attribute.type in NUMBER_TYPES:
        return f"(d.{name} (value {variable}&:{_number_test(condition, wanted, variable)}))"
    words = condition.operand if isinstance(condition.operand, tuple) else (condition.operand,)
    inside = (condition.operator != "not_in") is wanted
    if attribute.type == "choices":
        shared = " ".join(f"(member$ {w} ${variable})" for w in words)
        test = f"(or {shared} FALSE)" if inside else f"(not (or {shared} FALSE))"
        return f"(d.{name} (value ${variable}&:{test}))"
    return f"(d.{name} (value {'|'.join(words) if inside else '&'.join('~' + w for w in words)}))"


def _number_test(condition: Condition, wanted: bool, variable: str) -> str:
    operator, operand = condition.operator, condition.operand
    if operator == "between":
        low, high = operand
        test = f"(<= {low!r} {variable} {high!r})"
    elif operator in ("in", "not_in"):
        test = f"(or {' '.join(f'(= {variable} {n!r})' for n in operand)} FALSE)"
        wanted = (operator == "in") is wanted
    else:
        test = f"({_COMPARED[operator]} {variable} {operand!r})"
    return test if wanted else f"(not {test})"


def _written(value: Value | None) -> str:
    if isinstance(value, tuple):
        return " ".join(_written(v) for v in value)
    if isinstance(value, str):
        plain = value.replace("-", "").replace(".", "").replace("_", "")
        return value if plain.isalnum() and not value[0].isdigit() else '"' + value.replace('"', "'") + '"'
    return repr(float(value or 0.0))


def _read(value: Any) -> Value:
    return value if isinstance(value, float) else str(value)
