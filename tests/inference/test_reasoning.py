"""Who decides: given, computed, concluded, assumed; ties, wishes, and rules without a value to give."""

from __future__ import annotations

import pytest
from tiny import all_of, asks, conclude, favour, rule, tiny

from advisor.errors import ConflictError
from advisor.inference.reason import Computation, Finding, Reasoner
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Conclusion, Rule

RED, BIG = asks("colour", "equals", "red"), asks("size", "above", 5.0)


def reasoner(kb: KnowledgeBase, *rules: Rule) -> Reasoner:
    return Reasoner.build(tiny(kb, *rules))


def test_a_tie_names_every_rule_with_its_place(kb: KnowledgeBase) -> None:
    rules = [
        rule("first", RED, conclude("kind", "x"), line=4),
        rule("second", RED, conclude("kind", "y"), line=12),
        rule("third", BIG, conclude("kind", "z"), line=20),
        rule("weaker", RED, conclude("kind", "z"), line=30, priority=-1),
    ]
    with pytest.raises(ConflictError) as caught:
        reasoner(kb, *rules).reason({"colour": "red", "size": 6.0})
    for name, line, value in (("first", 4, "x"), ("second", 12, "y"), ("third", 20, "z")):
        assert f"{name} (rules/t/t.yaml:{line}:1) says {value}" in caught.value.message
    assert "weaker" not in caught.value.message
    assert caught.value.hint


def test_two_rules_of_equal_rank_that_agree_are_no_tie(kb: KnowledgeBase) -> None:
    found = reasoner(kb, rule("a", RED, conclude("kind", "x")), rule("b", BIG, conclude("kind", "x")))
    assert found.reason({"colour": "red", "size": 6.0}).set_by["kind"] == ("a", "b")


@pytest.mark.parametrize(
    ("winner", "loser", "why"),
    [
        ({"priority": 1}, {"conditions": 2}, "higher priority"),
        ({"conditions": 2}, {}, "more conditions"),
    ],
)
def test_rank_decides_and_the_loser_stays_visible(
    kb: KnowledgeBase, winner: dict[str, int], loser: dict[str, int], why: str
) -> None:
    def made(name: str, value: str, about: dict[str, int]) -> Rule:
        return rule(
            name,
            all_of(*[RED] * about.get("conditions", 1)),
            conclude("kind", value),
            priority=about.get("priority", 0),
        )

    outcome = reasoner(kb, made("b-winner", "x", winner), made("a-loser", "y", loser)).reason({"colour": "red"})
    assert outcome.values["kind"] == "x"
    ((over, text),) = outcome.overruled
    assert over.rule.id == "a-loser"
    assert text == f"b-winner decides kind ({why})"


def test_what_is_given_stands(kb: KnowledgeBase) -> None:
    outcome = reasoner(kb, rule("a", RED, conclude("kind", "x"))).reason({"colour": "red", "kind": "z"})
    assert (outcome.values["kind"], outcome.origin["kind"]) == ("z", "given")
    assert [c.rule.id for c, _ in outcome.overruled] == ["a"]


def test_a_wish_sets_a_rule_aside_and_it_still_shows(kb: KnowledgeBase) -> None:
    asides = [
        rule("taste", RED, favour("angle", 10, 12), unless_you_want=("shine",)),
        rule("opinion", RED, conclude("kind", "x"), unless_you_want=("shine",)),
    ]
    wished = reasoner(kb, *asides).reason({"colour": "red", "wish": "shine"})
    assert {c.rule.id for c in wished.fired} == {c.rule.id for c in wished.set_aside} == {"taste", "opinion"}
    assert not wished.bands
    assert "kind" not in wished.values
    other = reasoner(kb, *asides).reason({"colour": "red", "wish": "bite"})
    assert other.bands
    assert other.values["kind"] == "x"


def test_an_assumption_gives_way_to_a_conclusion(kb: KnowledgeBase) -> None:
    """Whatever their priorities."""
    assumed = rule("assumed", RED, Conclusion("assume", "kind", value="y"), priority=9)
    outcome = reasoner(kb, assumed, rule("concluded", RED, conclude("kind", "x"))).reason({"colour": "red"})
    assert (outcome.values["kind"], outcome.origin["kind"]) == ("x", "concluded")


def test_a_rule_without_a_value_to_give_leaves_the_next_one_standing(kb: KnowledgeBase) -> None:
    """``same_as`` an unknown attribute is no opinion."""
    takes = rule("takes", RED, Conclusion("assume", "weight", same_as="size"), priority=2)
    fixed = rule("fixed", RED, Conclusion("assume", "weight", value=3.0))
    outcome = reasoner(kb, takes, fixed).reason({"colour": "red"})
    assert outcome.values["weight"] == 3.0
    assert [(c.rule.id, why) for c, why in outcome.overruled] == [("takes", "size is not known")]
    assert reasoner(kb, takes, fixed).reason({"colour": "red", "size": 8.0}).values["weight"] == 8.0


def test_a_computation_is_run_once_for_the_same_inputs(kb: KnowledgeBase) -> None:
    """And anew for others; one without inputs, which reads the question, every time."""
    runs = []

    def double(values: object) -> dict[str, Finding]:
        runs.append("double")
        return {"weight": Finding(2 * values["size"])} if "size" in values else {}  # type: ignore[index,operator]

    def told(values: object) -> dict[str, Finding]:
        return {"kind": Finding("x" if "colour" in values else "y")}  # type: ignore[operator]

    found = Reasoner.build(
        tiny(kb),
        [Computation("d", "2 s", ("size",), ("weight",), double), Computation("t", "?", (), ("kind",), told)],
    )
    asked = [found.reason({"size": s, **more}) for s in (1.0, 1.0, 2.0) for more in ({}, {"colour": "red"})]  # type: ignore[dict-item]
    assert [o.values["weight"] for o in asked] == [2.0, 2.0, 2.0, 2.0, 4.0, 4.0]
    assert [o.values["kind"] for o in asked] == ["y", "x"] * 3
    assert len(runs) == 2
