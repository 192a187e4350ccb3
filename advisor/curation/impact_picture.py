"""A picture of an impact: for angle and finish, the pick before against the pick after."""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape

from advisor.curation.impact import Comparison
from advisor.curation.impact_report import headline
from advisor.knowledge.vocabulary import Target

TARGETS = ("angle", "finish")
SIDE, GAP, LEFT, TOP = 320, 90, 70, 60
_TICKS = 5


def as_svg(found: Comparison) -> str:
    """Return the picture as an SVG document; the area of a dot is the number of answers it stands for."""
    width, height = LEFT + 2 * SIDE + GAP + 30, TOP + SIDE + 60
    told = escape(headline(found))
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" role="img" aria-labelledby="t d" font-family="sans-serif" font-size="12">',
        f'<title id="t">How the picks moved</title><desc id="d">{told}</desc>',
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
        f'<text x="{LEFT}" y="24" font-size="15">{told}</text>',
    ]
    for i, name in enumerate(TARGETS):
        if name in found.head.targets:
            lines += _panel(found, found.head.targets[name], LEFT + i * (SIDE + GAP))
    return "\n".join([*lines, "</svg>"]) + "\n"


def _panel(found: Comparison, target: Target, left: int) -> Iterator[str]:
    moves = {
        (a, b): n
        for (name, a, b), n in sorted(found.impact.picks.items(), key=str)
        if name == target.name and a is not None and b is not None
    }
    bottom, right = TOP + SIDE, left + SIDE
    told = escape(f"{target.label}, {target.unit}: {sum(moves.values())} picks moved")
    yield f'<text x="{left}" y="{TOP - 10}">{told}</text>'
    yield f'<rect x="{left}" y="{TOP}" width="{SIDE}" height="{SIDE}" fill="#f4f4f4" stroke="#555"/>'
    yield f'<line x1="{left}" y1="{bottom}" x2="{right}" y2="{TOP}" stroke="#555" stroke-dasharray="4 4"/>'
    for value in _ticks(target):
        at = _along(target, value)
        yield f'<text x="{left + at:.1f}" y="{bottom + 16}" text-anchor="middle">{value:.3g}</text>'
        yield f'<text x="{left - 6}" y="{bottom - at + 4:.1f}" text-anchor="end">{value:.3g}</text>'
    yield f'<text x="{left + SIDE / 2}" y="{bottom + 36}" text-anchor="middle">before</text>'
    middle = TOP + SIDE / 2
    turned = f'transform="rotate(-90 {left - 44} {middle})"'
    yield f'<text x="{left - 44}" y="{middle}" text-anchor="middle" {turned}>after</text>'
    most = max(moves.values(), default=1)
    for (a, b), count in moves.items():
        x, y, r = left + _along(target, a), bottom - _along(target, b), 2 + 8 * math.sqrt(count / most)
        yield (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="#1b5e8c" fill-opacity="0.55">'
            f"<title>{a:g} to {b:g} {escape(target.unit)}: {count} answers</title></circle>"
        )


def _along(target: Target, value: float) -> float:
    low, high = target.range
    if target.scale == "log":
        return SIDE * math.log(value / low) / math.log(high / low)
    return SIDE * (value - low) / (high - low)


def _ticks(target: Target) -> list[float]:
    low, high = target.range
    steps = [i / (_TICKS - 1) for i in range(_TICKS)]
    return [low * (high / low) ** s if target.scale == "log" else low + (high - low) * s for s in steps]
