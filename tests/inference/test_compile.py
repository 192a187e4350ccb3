"""Normal forms, value regions, levels and the errors of compiling."""

from __future__ import annotations

import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_evaluator import truth
from tiny import ATTRIBUTES, all_of, asks, conclude, favour, rule

from advisor.errors import KnowledgeError
from advisor.inference import compile as compiling
from advisor.inference.compile import compile_rules, conjunctions
from advisor.knowledge.rule import Condition, Group
from advisor.knowledge.vocabulary import Value

RED, BIG, SEEN = asks("colour", "equals", "red"), asks("size", "at_least", 5.0), asks("weight", "known")
GROUPS = st.recursive(
    st.sampled_from([RED, BIG, SEEN, asks("weight", "unknown"), asks("size", "between", (3.0, 7.0)),
                     asks("marks", "not_in", ("a", "b")), asks("colour", "not_in", ("red", "blue"))]),
    lambda inner: st.builds(
        Group, st.sampled_from(["all", "any", "none"]), st.lists(inner, min_size=1, max_size=3).map(tuple)
    ),
    max_leaves=6,
)  # fmt: skip
VALUES = st.fixed_dictionaries(
    {
        "colour": st.sampled_from([None, "red", "green", "blue"]),
        "size": st.sampled_from([None, 2.0, 3.0, 5.0, 7.0, math.nextafter(7.0, 8.0)]),
        "weight": st.sampled_from([None, 1.0]),
        "marks": st.sampled_from([None, ("a",), ("c",), ("a", "c")]),
    }
)


@settings(max_examples=300, deadline=None)
@given(part=GROUPS, values=VALUES)
def test_the_normal_form_means_what_three_valued_logic_says(
    part: Condition | Group, values: dict[str, Value | None]
) -> None:
    """Some conjunction of literals is true exactly when the condition is true (not: unknown)."""
    ours = any(all(x.true_for(values[x.condition.attribute]) for x in c) for c in conjunctions(part))
    assert ours is (truth(part, values.get) is True)


def test_none_of_an_unknown_attribute_does_not_hold() -> None:
    (conjunction,) = conjunctions(Group("none", (RED,)))
    assert [x.true_for(v) for x in conjunction for v in (None, "red", "green")] == [False, False, True]


@pytest.mark.parametrize("operator", ["at_least", "at_most", "above", "below", "equals", "in", "not_in", "between"])
@pytest.mark.parametrize("wanted", [True, False])
def test_regions_change_exactly_at_the_thresholds(operator: str, wanted: bool) -> None:
    """A look-up gives what testing the condition gives, at, just below and just above every number."""
    numbers = (2.0, 5.0, 5.5, 90.0)
    operands = {"in": [(2.0, 5.0)], "not_in": [(2.0, 5.0)], "between": [(2.0, 5.5)]}.get(operator, numbers)
    tests = [asks("size", operator, o) for o in operands]
    kind = "all" if wanted else "none"
    rules = [rule(f"r{i}", Group(kind, (c,)), favour("angle", 10, 20)) for i, c in enumerate(tests)]  # type: ignore[arg-type]
    compiled = compile_rules(rules, ATTRIBUTES, {})
    for edge, value in product(numbers, (-math.inf, 0, math.inf)):
        at = math.nextafter(edge, value) if value else edge
        possible = compiled.tables["size"].possible(at)
        held = {compiled.owner[i].rule.id for i in range(len(compiled.owner)) if possible >> i & 1}
        assert held == {f"r{i}" for i, c in enumerate(tests) if compiling.test(c, at) is wanted}


def test_any_value_of_a_kind_that_cannot_be_compared_counts_as_known() -> None:
    rules = [
        rule("known", SEEN, favour("angle", 10, 20)),
        rule("big", asks("weight", "above", 1.0), favour("angle", 10, 20)),
    ]
    compiled = compile_rules(rules, ATTRIBUTES, {})
    possible = compiled.tables["weight"].possible("a word")
    assert [c.rule.id for i, c in enumerate(compiled.owner) if possible >> i & 1] == ["known"]


def test_attributes_that_rest_on_each_other_are_refused_with_the_circle() -> None:
    rules = [
        rule("a", asks("other", "equals", "x"), conclude("kind", "x"), line=3),
        rule("b", asks("kind", "equals", "x"), conclude("other", "x"), line=9),
    ]
    with pytest.raises(KnowledgeError, match=r"kind -> other -> kind") as caught:
        compile_rules(rules, ATTRIBUTES, {})
    assert caught.value.line == 3


def test_a_rule_may_not_rest_on_what_it_sets() -> None:
    with pytest.raises(KnowledgeError, match="kind -> kind"):
        compile_rules([rule("a", asks("kind", "unknown"), conclude("kind", "x"))], ATTRIBUTES, {})


def test_a_computation_may_not_rest_on_its_own_output() -> None:
    with pytest.raises(KnowledgeError, match="size -> weight -> size"):
        compile_rules([], ATTRIBUTES, {"size": ("weight",), "weight": ("size",)})


def test_too_many_alternatives_are_refused() -> None:
    """Seven pairs of alternatives are 128 conjunctions."""
    pairs = [Group("any", (RED, BIG))] * 7
    with pytest.raises(KnowledgeError, match="128 alternatives"):
        compile_rules([rule("wide", all_of(*pairs), favour("angle", 10, 20))], ATTRIBUTES, {})
