"""Small repairs of set text: signs, singulars, and lines that must not break."""

from __future__ import annotations

import re

_MICRO = re.compile(r"(?<=\d) ?um\b")
_ONE = re.compile(r"(?<![\d.,])1 (degree|minute)s\b")
_NUMBER_UNIT = re.compile(r"(?<=\d) (?=(?:HRC|µm|mm|%|vol|passes)\b)")


def typeset(text: str) -> str:
    """Return the text with the micro sign where a keyboard has none, and the singular after 1."""
    return _ONE.sub(r"1 \1", _MICRO.sub(" µm", text))


def unbroken(text: str) -> str:
    """Return the text with spaces between a number and its unit that no line breaks at."""
    return _NUMBER_UNIT.sub("\N{NO-BREAK SPACE}", typeset(text))
