"""Two to five steels or options side by side on the same work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from advisor.advice import Advice
from advisor.consult import Consultant
from advisor.errors import InputError, WhetruleError
from advisor.figures import edge_option
from advisor.question import NOT_KNOWN, Question
from advisor.report.wording import angle_line, carbide_line, finish_line, strop_line, subject

MOST = 5


@dataclass(frozen=True)
class EdgeLife:
    """Edge life in abrasive slicing against the first option, each at its advised angle.

    Attributes:
        ratio, error: relative card cut and one standard deviation, knife-to-knife spread included.
        differs: whether the difference is larger than the error.
    """

    ratio: float
    error: float
    differs: bool


@dataclass(frozen=True)
class Option:
    """One column of a comparison.

    Attributes:
        label: steel, hardness and work; ``short``: what tells it from the other options.
        edge_life, same_angle_life: each at its advised angle, and both at that of the first option.
        effort: wear resistance against a simple carbon steel.
    """

    label: str
    short: str
    advice: Advice
    edge_life: EdgeLife | None
    same_angle_life: EdgeLife | None
    effort: float | None


@dataclass(frozen=True)
class Comparison:
    """Options side by side, and what decides between them.

    Attributes:
        rows: label -> one cell an option, in words.
        decides: sentences about real differences; says so when there is none.
    """

    options: tuple[Option, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    decides: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Return it as plain JSON data."""
        return {
            "options": [
                {
                    "label": o.label,
                    "question": dict(o.advice.question.text),
                    "angle": o.advice.to_json()["angle"],
                    "finish": o.advice.to_json()["finish"],
                    "strop": o.advice.to_json()["strop"],
                    "edge_life": vars(o.edge_life) if o.edge_life else None,
                    "edge_life_at_equal_angle": vars(o.same_angle_life) if o.same_angle_life else None,
                    "effort": o.effort,
                }
                for o in self.options
            ],
            "rows": [{"about": label, "cells": list(cells)} for label, cells in self.rows],
            "decides": list(self.decides),
        }


def option_inputs(text: str) -> dict[str, str]:
    """Read one option as people write it: a grade, or GRADE@HRC.

    Raises:
        InputError: it names no grade.
    """
    grade, _, hardness = (part.strip() for part in text.partition("@"))
    if grade.lower() in NOT_KNOWN:
        raise InputError("names no grade", field="grade", hint="write the grade first, as in 440C@58")
    return {"grade": grade, "hardness": hardness}


def compare(consultant: Consultant, questions: Sequence[Question]) -> Comparison:
    """Compare two to five questions; the first is the yardstick.

    Raises:
        InputError: fewer than two or more than five options.
    """
    if not 2 <= len(questions) <= MOST:
        raise InputError(
            f"{len(questions)} options cannot be compared", field="grade", hint=f"name two to {MOST} grades"
        )
    answers = [consultant.ask(q, sensitivity=False) for q in questions]
    first = answers[0]
    options = tuple(
        Option(
            subject(a),
            name,
            a,
            _life(consultant, a, first, _pick(a), _pick(first)),
            _life(consultant, a, first, _pick(first), _pick(first)),
            _number(a, "wear.resistance"),
        )
        for a, name in zip(answers, _names(answers), strict=True)
    )
    return Comparison(options, tuple(_rows(options)), tuple(_decides(options)))


def _names(answers: Sequence[Advice]) -> list[str]:
    """Return the steel of each option, with the hardness where options share a steel."""
    steels = [subject(a).split(",")[0] for a in answers]
    hardness = [a.question.text.get("hardness") for a in answers]
    return [
        f"{steel} at {hrc} HRC" if hrc and steels.count(steel) > 1 else steel
        for steel, hrc in zip(steels, hardness, strict=True)
    ]


def _pick(advice: Advice) -> float:
    return advice.angle.pick if advice.angle else 0.0


def _number(advice: Advice, name: str) -> float | None:
    value = advice.outcome.values.get(name)
    return float(value) if isinstance(value, (int, float)) else None


def _life(consultant: Consultant, a: Advice, b: Advice, angle: float, yardstick: float) -> EdgeLife | None:
    bench, facts = consultant.bench, consultant.facts
    one, other = edge_option(a.outcome, bench, facts, angle), edge_option(b.outcome, bench, facts, yardstick)
    if one is None or other is None:
        return None
    try:
        found = bench.retention.edge_life_ratio(one, other)
    except WhetruleError:
        return None
    spread = float(consultant.kb.data["metallurgy/facts.yaml"]["knife_to_knife_spread"]["share"])
    # Two knives, each with its own spread, stand behind a ratio of two steels; one knife has none.
    error = found.error if a is b else (found.error**2 + 2 * (spread * found.ratio) ** 2) ** 0.5
    return EdgeLife(round(found.ratio, 2), round(error, 2), abs(found.ratio - 1) > error)


def _rows(options: tuple[Option, ...]) -> list[tuple[str, tuple[str, ...]]]:
    def life(option: Option, found: EdgeLife | None) -> str:
        if found is None:
            return "not to be told"
        if option is options[0]:
            return "1, the yardstick"
        return f"{found.ratio:.2f} ± {found.error:.2f}" + ("" if found.differs else " (no real difference)")

    def shown(option: Option, name: str) -> str:
        attribute = option.advice.outcome.kb.attributes[name]
        return attribute.show(option.advice.outcome.values.get(name))

    rows = [
        ("Angle", [angle_line(o.advice.angle) if o.advice.angle else "not to be told" for o in options]),
        (
            "Finish",
            [finish_line(o.advice.finish, o.advice) if o.advice.finish else "not to be told" for o in options],
        ),
        ("Strop", [strop_line(o.advice) or "not to be told" for o in options]),
        ("Hardness", [shown(o, "hardness") for o in options]),
        ("Structure", [shown(o, "steel.structure") for o in options]),
        ("Carbides", [carbide_line(o.advice) or "not known" for o in options]),
        ("Matrix", [shown(o, "matrix.support") for o in options]),
        ("Toughness", [shown(o, "grade.toughness") for o in options]),
        ("Stainless", [shown(o, "matrix.stainless") for o in options]),
        ("Edge life, each at its angle", [life(o, o.edge_life) for o in options]),
        ("Edge life at equal angle", [life(o, o.same_angle_life) for o in options]),
        (
            "Wear on the stones",
            [f"{o.effort:.1f} times a simple carbon steel" if o.effort else "not known" for o in options],
        ),
    ]
    return [(label, tuple(cells)) for label, cells in rows]


def _decides(options: tuple[Option, ...]) -> list[str]:
    first = options[0]
    sentences = []
    for option in options[1:]:
        parts = []
        for what, found in (
            ("each at its advised angle", option.edge_life),
            ("at equal angles", option.same_angle_life),
        ):
            if found is not None and found.differs:
                more = "longer" if found.ratio > 1 else "shorter"
                times = f"{found.ratio:.2f} ± {found.error:.2f} times"
                parts.append(f"in abrasive slicing it lasts {more} {what} ({times})")
        for name, label in (
            ("steel.structure", "structure"),
            ("matrix.support", "matrix"),
            ("matrix.stainless", "stainless"),
        ):
            a, b = (o.advice.outcome.values.get(name) for o in (first, option))
            if a is not None and b is not None and a != b:
                show = option.advice.outcome.kb.attributes[name].show
                parts.append(f"{label}: {show(b)} instead of {show(a)}")
        said = (
            "; ".join(parts) if parts else "no difference larger than the model's error and the spread between knives"
        )
        sentences.append(f"{option.label} against {first.label}: {said}.")
    return sentences
