"""The cross-section of the edge as SVG, to scale; see pictures.py for the conventions."""

from __future__ import annotations

import math

from advisor.advice import Advice
from advisor.geometry.edge import bevel
from advisor.report.svg import BRASS, LEFT, STEEL, TEXT_WIDTH, WIDTH, Picture, wrap
from advisor.summary import number

_LINE = 16.0


def edge_section(advice: Advice) -> str:
    """Return the cross-section of the edge at the advised angle, to scale.

    With the thickness behind the edge it carries a scale bar and the bevel's width; without, only the
    angle is true.  The present angle, if known, is dashed.

    Raises:
        ValueError: the answer has no angle.
    """
    band = advice.angle
    if band is None:
        raise ValueError("the answer has no angle")
    values = advice.outcome.values
    thickness, present = values.get("edge_thickness"), values.get("present_angle")
    thick = float(thickness) if isinstance(thickness, (int, float)) else None
    now = float(present) if isinstance(present, (int, float)) else None
    picture = Picture("section")
    unit = _draw_section(picture, band.pick, now, thick)
    text = f"Cross-section at {number(band.pick)} degrees a side"
    if thick is None:
        about = "Thickness behind the edge is not known, so only the angle is to scale."
    else:
        width = bevel(thick, band.pick).width_mm
        about = f"{number(thick)} mm behind the edge, bevel {width:.2f} mm wide on each side, to scale."
        _scale_bar(picture, unit)
    lines = [about] + ([f"Dashed: the present {number(now)}° a side."] if now is not None else [])
    for sentence in lines:
        for line in wrap(sentence, TEXT_WIDTH):
            picture.text(LEFT, picture.y + 11, line, "pic-text")
            picture.y += _LINE
    return picture.svg("Cross-section of the edge", f"{text}. {' '.join(lines)}")


def _draw_section(picture: Picture, angle: float, present: float | None, thick: float | None) -> float:
    """Draw blade and bevels, apex down; return how many units one millimetre takes."""
    t = thick or 1.0
    lowest = min(a for a in (angle, present) if a is not None)
    tallest = t / 2 / math.tan(math.radians(lowest))
    unit = min(180 / (tallest * 1.25), 150 / t)
    middle, apex = WIDTH / 2, picture.y + tallest * 1.25 * unit + 8
    half, top = t / 2 * unit, picture.y + 8

    def outline(degrees: float) -> str:
        shoulder = apex - half / math.tan(math.radians(degrees))
        return (
            f"M{middle - half:.1f} {top:.1f}V{shoulder:.1f}L{middle:.1f} {apex:.1f}"
            f"L{middle + half:.1f} {shoulder:.1f}V{top:.1f}"
        )

    picture.path(outline(angle), "currentColor", "pic-blade", width=2, fill=STEEL, opacity=0.35)
    picture.path(f"M{middle:.1f} {top:.1f}V{apex:.1f}", "currentColor", "pic-axis", width=0.75, dash="2 4")
    if present is not None:
        picture.path(outline(present), BRASS, "pic-present", width=2, dash="6 4")
    reach = min(0.55 * tallest * unit, 70)
    end_x = middle + reach * math.sin(math.radians(angle))
    end_y = apex - reach * math.cos(math.radians(angle))
    picture.path(
        f"M{middle:.1f} {apex - reach:.1f}A{reach:.1f} {reach:.1f} 0 0 1 {end_x:.1f} {end_y:.1f}",
        BRASS,
        "pic-arc",
        width=2,
    )
    picture.text(middle + half + 12, (apex - reach) + 4, f"{number(angle)}°", "pic-text", bold=True, size=16)
    picture.text(middle + half + 12, (apex - reach) + 20, "a side", "pic-quiet", size=12)
    picture.y = apex + 10
    return unit


def _scale_bar(picture: Picture, unit: float) -> None:
    """Draw a bar of a round length below 90 units."""
    length = next((mm for mm in (5, 2, 1, 0.5, 0.2, 0.1, 0.05) if mm * unit <= 90), 0.02)
    picture.line(LEFT, picture.y + 6, LEFT + length * unit, picture.y + 6, width=2)
    for x in (LEFT, LEFT + length * unit):
        picture.line(x, picture.y + 2, x, picture.y + 10, width=2)
    picture.text(LEFT + length * unit + 8, picture.y + 10, f"{length:g} mm", "pic-text")
    picture.y += 18
