"""Made-up rule bases of any size over a vocabulary of fixed size, to see how cost grows with rules."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.rule import Conclusion, Condition, Group, Place, Rule
from advisor.knowledge.vocabulary import Attribute, Choice, Value

NUMBERS, WORDS, CONCLUDED = 24, 24, 8
_LETTERS = tuple("abcdef")


def attributes() -> dict[str, Attribute]:
    """Return numbers from 0 to 100, words of six letters, and concluded words."""
    letters = tuple(Choice(x, x) for x in _LETTERS)
    made = [Attribute(f"n{i}", f"n{i}", "number", "asked", range=(0.0, 100.0)) for i in range(NUMBERS)]
    made += [Attribute(f"w{i}", f"w{i}", "choice", "asked", values=letters) for i in range(WORDS)]
    made += [Attribute(f"c{i}", f"c{i}", "choice", "concluded", values=letters) for i in range(CONCLUDED)]
    made.append(Attribute("wish", "wish", "choice", "asked", values=letters))
    return {a.name: a for a in made}


def synthetic_base(kb: KnowledgeBase, size: int, seed: int = 1) -> KnowledgeBase:
    """Return a base of ``size`` rules with two to four conditions each; one rule in ten concludes."""
    rng = Random(seed)
    rules = tuple(_rule(i, rng, kb) for i in range(size))
    return replace(kb, attributes=attributes(), rules=rules)


def _rule(number: int, rng: Random, kb: KnowledgeBase) -> Rule:
    tests = tuple(_condition(rng, number % 10 != 0) for _ in range(rng.randint(2, 4)))
    if number % 10 == 0:
        then = Conclusion("conclude", f"c{rng.randrange(CONCLUDED)}", value=rng.choice(_LETTERS))
    else:
        target = rng.choice(list(kb.targets.values()))
        then = Conclusion(
            "favour",
            target.name,
            low=target.range[0],
            high=target.range[1],
            strength=rng.choice(list(kb.strengths)),
        )
    return Rule(
        id=f"made-up-{number:04}", title="", status="accepted", topic="", when=Group("all", tests), then=then,
        because="", does_not_apply_when="", basis="memory", sources=(), fires_in=(), quiet_in=(),
        # A priority of its own decides between any two rules.
        place=Place("", 0), priority=number,
    )  # fmt: skip


def _condition(rng: Random, may_use_concluded: bool) -> Condition:
    kind = rng.random()
    if kind < 0.45:
        return Condition(f"n{rng.randrange(NUMBERS)}", rng.choice(("at_least", "below")), float(rng.randint(20, 80)))
    if kind < 0.9 or not may_use_concluded:
        chosen = tuple(rng.sample(_LETTERS, 3))
        return Condition(f"w{rng.randrange(WORDS)}", rng.choice(("in", "not_in")), chosen)
    return Condition(f"c{rng.randrange(CONCLUDED)}", "equals", rng.choice(_LETTERS))


def synthetic_question(rng: Random) -> dict[str, Value]:
    """Return a question that tells every asked attribute but the wish."""
    told: dict[str, Value] = {f"n{i}": round(rng.uniform(0, 100), 1) for i in range(NUMBERS)}
    told.update({f"w{i}": rng.choice(_LETTERS) for i in range(WORDS)})
    return told
