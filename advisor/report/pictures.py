"""Pictures of an answer as SVG: the finish axis and the angle axis.

Pure functions from an answer to text.  Widths are drawn for a phone: 360 units wide with letters of 12 and
13, so that nothing has to be enlarged at 340 pixels.  Colours come as presentation attributes that read
on light and on dark ground; a page's style sheet may replace them through the classes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from advisor.abrasives.grits import GritScales
from advisor.advice import Advice
from advisor.inference.bands import Band
from advisor.knowledge.rule import Rule
from advisor.report.svg import BRASS, LEFT, RIGHT, STEEL, TEXT_WIDTH, WIDTH, Picture, wrap
from advisor.summary import number

_LINE = 16.0
_MICRONS = (200, 100, 50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05)
_LETTER, _BOLD_LETTER = 8.4, 9.2
"""Width of one digit, at the size of an axis label, in the widest of the usual fonts."""
_LABEL_GAP = 8.0
"""Units that two labels on an axis keep apart."""
_AXIS_SCALES = (("jis", "JIS"), ("fepa-f", "F"), ("fepa-p", "P"))


@dataclass(frozen=True)
class Row:
    """One rule on an axis.

    Attributes:
        kind: favour (a bar from low to high), limit (a wall at one or both ends) or shift (words only).
        low, high: in the target's unit; None where not bounded.
    """

    kind: Literal["favour", "limit", "shift"]
    title: str
    words: str
    low: float | None
    high: float | None


def rows_of(advice: Advice, target: str) -> list[Row]:
    """Return the rules that speak about a target and count: favours, then shifts, then limits."""
    kb = advice.outcome.kb
    order = {"favour": 0, "shift": 1, "limit": 2}
    rules = [r for r in advice.outcome.effective if r.then.subject == target and r.then.verb in order]
    rules.sort(key=lambda r: (order[r.then.verb], -kb.strengths.get(r.then.strength, 0), r.id))
    return [_row(r) for r in rules]


def _row(rule: Rule) -> Row:
    then = rule.then
    if then.verb == "favour":
        return Row("favour", rule.title, then.strength, then.low, then.high)
    if then.verb == "limit":
        return Row("limit", rule.title, "firm limit" if then.firm else "limit", then.low, then.high)
    words = f"times {then.times:g}" if then.times != 1 else f"{then.by:+g}"
    return Row("shift", rule.title, f"moves it {words}", None, None)


def finish_axis(advice: Advice, scales: GritScales) -> str:
    """Return the finish axis: log micrometres, coarse left and fine right, grit scales beside it.

    Raises:
        ValueError: the answer has no finish.
    """
    band, rows = _needed(advice.finish, "finish"), rows_of(advice, "finish")
    fine, coarse = _span(band, rows)
    fine, coarse = fine / 1.5, coarse * 1.5

    def place(um: float) -> float:
        share = math.log(coarse / min(max(um, fine), coarse)) / math.log(coarse / fine)
        return LEFT + share * (RIGHT - LEFT)

    picture = Picture("finish")
    ticks = [(f"{um:g}", um) for um in _MICRONS if fine <= um <= coarse]
    _scale(picture, "µm, coarse left, fine right", ticks, place, strong=True)
    for scale_id, name in _AXIS_SCALES:
        grades = [(f"{g.number:g}", g.um) for g in scales.scale(scale_id).grades if fine <= g.um <= coarse]
        _scale(picture, f"{name} grit", grades, place)
    text = f"{number(band.high)} to {number(band.low)} µm, aim {number(band.pick)} µm"
    _band(picture, band.high, band.pick, band.low, text, place)
    _rows(picture, rows, place, ("no finer", "no coarser"), "µm")
    return picture.svg("Finish axis", _describe(f"Advised finish: {text}.", rows, "µm", fine_first=True))


def angle_axis(advice: Advice) -> str:
    """Return the angle axis in degrees a side, low left.

    Raises:
        ValueError: the answer has no angle.
    """
    band, rows = _needed(advice.angle, "angle"), rows_of(advice, "angle")
    low, high = _span(band, rows)
    low, high = math.floor(low) - 2, math.ceil(high) + 2

    def place(degrees: float) -> float:
        return LEFT + (min(max(degrees, low), high) - low) / (high - low) * (RIGHT - LEFT)

    picture = Picture("angle")
    step = 5 if high - low > 16 else 2
    ticks = [(f"{d}°", float(d)) for d in range(low, high + 1) if d % step == 0]
    _scale(picture, "degrees a side", ticks, place, strong=True)
    _scale(picture, "degrees included", [(f"{2 * d:g}°", d) for _, d in ticks], place)
    text = f"{number(band.low)} to {number(band.high)}°, aim {number(band.pick)}°"
    _band(picture, band.low, band.pick, band.high, text, place)
    _rows(picture, rows, place, ("no lower", "no higher"), "°")
    return picture.svg("Angle axis", _describe(f"Advised angle a side: {text}.", rows, "°"))


def _needed(band: Band | None, what: str) -> Band:
    if band is None:
        raise ValueError(f"the answer has no {what}")
    return band


def _span(band: Band, rows: Iterable[Row]) -> tuple[float, float]:
    ends = [band.low, band.high, *(e for r in rows for e in (r.low, r.high) if e is not None)]
    return min(ends), max(ends)


def _spaced(
    ticks: Iterable[tuple[str, float]], place: Callable[[float], float], letter: float
) -> list[tuple[str, float, float]]:
    """Return as many ticks as have room, from the left: label, place of the tick, middle of the label.

    ``letter`` is the width of one character; a label at either end is moved inside the frame.
    """
    kept: list[tuple[str, float, float]] = []
    free = 0.0
    for x, label in sorted((place(value), label) for label, value in ticks):
        half = letter * len(label) / 2
        middle = min(max(x, half + 2), WIDTH - half - 2)
        if middle - half >= free:
            kept.append((label, x, middle))
            free = middle + half + _LABEL_GAP
    return kept


def _scale(
    picture: Picture,
    name: str,
    ticks: Sequence[tuple[str, float]],
    place: Callable[[float], float],
    strong: bool = False,
) -> None:
    picture.text(LEFT, picture.y + 11, name, "pic-quiet", size=12)
    picture.y += 17
    for label, x, middle in _spaced(ticks, place, _BOLD_LETTER if strong else _LETTER):
        picture.text(middle, picture.y + 11, label, "pic-text", "middle", bold=strong)
        picture.line(x, picture.y + 15, x, picture.y + 20)
    picture.line(LEFT, picture.y + 20, RIGHT, picture.y + 20, width=1.5 if strong else 0.75)
    picture.y += 26


def _band(picture: Picture, left: float, pick: float, right: float, text: str, place: Callable[[float], float]) -> None:
    picture.y += 4
    picture.text(LEFT, picture.y + 11, f"Advised: {text}", "pic-text", bold=True)
    picture.y += 18
    a, b, p = place(left), place(right), place(pick)
    picture.box(a, picture.y, max(b - a, 2), 16, BRASS, "pic-band")
    picture.path(f"M{p:.1f} {picture.y - 3:.1f}v22", "currentColor", "pic-pick", width=3)
    picture.y += 30


def _rows(
    picture: Picture, rows: Iterable[Row], place: Callable[[float], float], sides: tuple[str, str], unit: str
) -> None:
    for row in rows:
        for line in wrap(f"{row.title} ({row.words})", TEXT_WIDTH):
            picture.text(LEFT, picture.y + 11, line, "pic-text")
            picture.y += _LINE
        if row.kind == "favour" and row.low is not None and row.high is not None:
            a, b = sorted((place(row.low), place(row.high)))
            picture.box(a, picture.y + 2, max(b - a, 2), 8, STEEL, "pic-favour")
            picture.y += 12
        elif row.kind == "limit":
            for side, value in zip(sides, (row.low, row.high), strict=True):
                if value is not None:
                    words = f"{side} than {number(value)}{'' if unit == '°' else ' '}{unit}"
                    _wall(picture, place(value), words, allowed_right=side in ("no lower", "no coarser"))
        picture.y += 8


def _wall(picture: Picture, x: float, words: str, allowed_right: bool) -> None:
    """Draw a limit: a wall, the barred side hatched by short strokes, its value beside it."""
    picture.y += 9
    picture.line(LEFT, picture.y + 6, RIGHT, picture.y + 6, width=0.75)
    picture.path(f"M{x:.1f} {picture.y:.1f}v13", "currentColor", "pic-limit", width=3)
    away = -1 if allowed_right else 1
    strokes = "".join(f"M{x + away * (4 + 5 * n):.1f} {picture.y + 12:.1f}l{away * 4} -12" for n in range(4))
    picture.path(strokes, "currentColor", "pic-limit", width=1)
    inward = -away
    room = (RIGHT - x) if inward > 0 else (x - LEFT)
    if room > 6.3 * len(words) + 8:
        picture.text(
            x + inward * 7,
            picture.y + 3,
            words,
            "pic-quiet",
            "start" if inward > 0 else "end",
            size=12,
            ground=True,
        )
    picture.y += 13


def _describe(first: str, rows: Iterable[Row], unit: str, fine_first: bool = False) -> str:
    parts = [first]
    for row in rows:
        low, high = (None if v is None else f"{number(v)} {unit}" for v in (row.low, row.high))
        if row.kind == "favour":
            ends = f"{high} to {low}" if fine_first else f"{low} to {high}"
            parts.append(f"{row.title}: {ends}, {row.words}.")
        elif row.kind == "shift":
            parts.append(f"{row.title}: {row.words}.")
        else:
            sides = ("no finer", "no coarser") if fine_first else ("no lower", "no higher")
            bounds = [f"{side} than {v}" for side, v in zip(sides, (low, high), strict=True) if v is not None]
            parts.append(f"{row.title}: {' and '.join(bounds)} ({row.words}).")
    return " ".join(parts)
