"""One-line summaries: the answer in under 140 characters."""

from __future__ import annotations

from advisor.advice import SUMMARY_LIMIT
from advisor.geometry.strop import StropModel
from advisor.inference.bands import Band
from advisor.inference.reason import Outcome


def number(value: float) -> str:
    """Return a number with three significant digits at the most and no trailing zeros."""
    return f"{value:.3g}" if value < 100 else f"{value:.0f}"


def firmness_words(outcome: Outcome, strops: StropModel) -> tuple[str, ...]:
    """Return the firmness classes of backings that the advice allows, firmest first.

    The advice names the softest class that will do, or a word that is no class where any will.
    """
    word = outcome.values.get("strop.firmness")
    if word is None or outcome.values.get("strop.verdict") == "leave-out":
        return ()
    classes = tuple(dict.fromkeys(b.firmness for b in strops.backings))
    return classes[: classes.index(str(word)) + 1] if word in classes else classes


def angle_words(band: Band) -> str:
    """Return the angle band in words."""
    return f"{number(band.low)} to {number(band.high)}° a side (aim for {number(band.pick)})"


def finish_words(band: Band) -> str:
    """Return the finish band in words."""
    return f"{number(band.pick)} µm ({number(band.high)} to {number(band.low)})"


def strop_words(outcome: Outcome) -> str:
    """Return the stropping limit in words; empty when no rule speaks."""
    verdict = outcome.values.get("strop.verdict")
    if verdict is None:
        return ""
    if verdict == "leave-out":
        return "no strop"
    passes = outcome.bands.get("strop.passes")
    if passes is None:
        return f"strop: {outcome.kb.attributes['strop.verdict'].show(verdict)}"
    return f"strop {number(passes.low)} to {number(passes.high)} passes a side"


def summarise(outcome: Outcome) -> str:
    """Return the answer in one line of less than ``SUMMARY_LIMIT`` characters."""
    angle, finish = outcome.bands.get("angle"), outcome.bands.get("finish")
    if angle is None or finish is None:
        return "The rules cannot say which edge: name the steel, or at least the use."
    parts = [angle_words(angle), f"finish {finish_words(finish)}", strop_words(outcome)]
    text = "; ".join(p for p in parts if p)
    return (text[0].upper() + text[1:])[: SUMMARY_LIMIT - 1]
