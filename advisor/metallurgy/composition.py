"""A steel's composition in mass per cent, and the text people write it in.

Iron is the balance and is not written.  Eleven elements take part in the carbide model; other elements
that do occur in knife steel (sulfur, copper, titanium ...) are accepted, kept in ``Composition.ignored``
so that an answer can name them, and counted as iron by every computation.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from difflib import get_close_matches

from advisor.errors import InputError

FIELD = "composition"
LONGEST_TEXT = 300

# IUPAC conventional atomic weights, g/mol.
ATOMIC_WEIGHT: Mapping[str, float] = {
    "C": 12.011, "N": 14.007, "Si": 28.085, "Mn": 54.938, "Cr": 51.996, "Mo": 95.95, "W": 183.84,
    "V": 50.942, "Nb": 92.906, "Co": 58.933, "Ni": 58.693, "Fe": 55.845,
}  # fmt: skip
MODELLED = ("C", "N", "Si", "Mn", "Cr", "Mo", "W", "V", "Nb", "Co", "Ni")
IGNORED = (
    "Al", "As", "B", "Be", "Bi", "Ca", "Ce", "Cu", "H", "Mg", "O", "P", "Pb", "S", "Sb", "Se", "Sn", "Ta",
    "Te", "Ti", "Zr",
)  # fmt: skip
_ELEMENT_NAMES = {
    "aluminium": "Al", "aluminum": "Al", "boron": "B", "carbon": "C", "chrome": "Cr", "chromium": "Cr",
    "cobalt": "Co", "columbium": "Nb", "copper": "Cu", "iron": "Fe", "manganese": "Mn", "moly": "Mo",
    "molybdenum": "Mo", "nickel": "Ni", "niobium": "Nb", "nitrogen": "N", "phosphorus": "P", "silicon": "Si",
    "sulfur": "S", "sulphur": "S", "titanium": "Ti", "tungsten": "W", "vanadium": "V",
}  # fmt: skip
_SYMBOLS = {symbol.lower(): symbol for symbol in (*MODELLED, *IGNORED, "Fe")}
_BALANCE_WORDS = frozenset({"bal", "balance", "rest", "remainder"})
_HINT = "write symbols with mass per cent, for example: C 0.95, Cr 17, Mo 0.5"

_UNIT = re.compile(r"(?:wt\.?|mass)\s*-?\s*%|%", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"[0-9],[0-9]")
_RANGE = re.compile(r"[0-9]\s*(?:-|–|\.\.|to)\s*[0-9]")
_TOKEN = re.compile(r"\s*(?:([-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+))|([A-Za-z]+)|(\S))")


def _error(message: str, hint: str = _HINT) -> InputError:
    return InputError(message, field=FIELD, hint=hint)


@dataclass(frozen=True)
class Composition:
    """Mass per cent of the elements the models use; the balance is iron.

    Each field is >= 0 wt %.  ``ignored`` holds further elements as (symbol, wt %), alphabetically.

    Raises:
        InputError: a value is negative, not finite, above 100 %, or no iron would be left.
    """

    C: float = 0.0
    N: float = 0.0
    Si: float = 0.0
    Mn: float = 0.0
    Cr: float = 0.0
    Mo: float = 0.0
    W: float = 0.0
    V: float = 0.0
    Nb: float = 0.0
    Co: float = 0.0
    Ni: float = 0.0
    ignored: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        pairs = [(name, getattr(self, name)) for name in MODELLED] + list(self.ignored)
        for symbol, value in pairs:
            _check_content(symbol, value)
        if self.iron <= 0.0:
            raise _error(
                f"the elements add up to {100.0 - self.iron:g} %, which leaves no iron",
                "check the figures; a steel is mostly iron, and iron itself is not written",
            )

    @property
    def iron(self) -> float:
        """Balance to 100, wt %; elements in ``ignored`` are not part of it."""
        named: float = sum(getattr(self, name) for name in MODELLED)
        return 100.0 - named - sum(value for _, value in self.ignored)

    def get(self, symbol: str) -> float:
        """Return wt % of one element; 0 where it is absent, the balance for ``Fe``.

        Raises:
            InputError: the symbol is no element used in steel.
        """
        name = _symbol(symbol)
        if name == "Fe":
            return self.iron
        if name in MODELLED:
            return float(getattr(self, name))
        return dict(self.ignored).get(name, 0.0)

    def as_dict(self) -> dict[str, float]:
        """Return {symbol: wt %} of the modelled elements that are present, in the fields' order."""
        present = {field.name: getattr(self, field.name) for field in fields(self) if field.name != "ignored"}
        return {symbol: float(value) for symbol, value in present.items() if value}

    def __str__(self) -> str:
        """Return the text that ``parse_composition`` reads back."""
        pairs = [*self.as_dict().items(), *self.ignored]
        return ", ".join(f"{symbol} {_decimal(value)}" for symbol, value in pairs)


def _decimal(value: float) -> str:
    """Write a content without an exponent, which no reader of compositions expects."""
    return f"{value:.8f}".rstrip("0").rstrip(".")


def _check_content(symbol: str, value: object) -> None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise _error(f"{symbol} has no usable number: {value!r}")
    if value < 0:
        raise _error(f"{symbol} cannot be negative ({value:g} %)", "give mass per cent, 0 or more")
    if value > 100:
        raise _error(f"{symbol} cannot exceed 100 % ({value:g} %)", "give mass per cent")


def _symbol(text: str) -> str:
    known = _SYMBOLS.get(text.lower())
    if known:
        return known
    shown = text if len(text) <= 20 else text[:20] + "..."
    close = get_close_matches(text.lower(), [*_ELEMENT_NAMES, *_SYMBOLS], n=1, cutoff=0.6)
    if close:
        meant = _ELEMENT_NAMES.get(close[0]) or _SYMBOLS[close[0]]
        raise _error(f"unknown element {shown!r}", f"did you mean {meant}? Use chemical symbols")
    raise _error(f"unknown element {shown!r}", f"use chemical symbols: {', '.join(MODELLED)}")


def composition_from_mapping(contents: Mapping[str, float]) -> Composition:
    """Build a composition from {symbol: wt %}; iron, if given, is checked against the balance.

    Raises:
        InputError: an unknown or repeated element, a bad number, nothing but iron, or iron that does not fit
            the rest.
    """
    if not contents:
        raise _error("the composition is empty")
    found: dict[str, float] = {}
    for text, value in contents.items():
        symbol = _symbol(str(text))
        if symbol in found:
            raise _error(f"{symbol} is given twice", "give each element once")
        _check_content(symbol, value)
        found[symbol] = float(value)
    iron = found.pop("Fe", None)
    ignored = tuple(sorted((symbol, found.pop(symbol)) for symbol in list(found) if symbol in IGNORED))
    composition = Composition(**found, ignored=ignored)
    if not any(round(value, 8) for value in (*found.values(), *dict(ignored).values())):
        raise _error("the composition names nothing but iron")
    if iron is not None and abs(iron - composition.iron) > 1.0:
        raise _error(
            f"iron is given as {iron:g} % but the other elements leave {composition.iron:g} %",
            "leave iron out; it is the balance",
        )
    return composition


def parse_composition(text: str) -> Composition:
    """Read a composition as people write it.

    Accepts symbol and number in either order ("C 0.95, Cr 17", "0.95C 17Cr", "C=0.95; Cr=17 %"),
    separated by commas, semicolons or blanks, symbols in any case, "Fe bal" for the balance.

    Args:
        text: at most 300 characters; decimal points only, since "0,95, 17" cannot be told apart.

    Raises:
        InputError: the text is empty, too long, or some part of it cannot be read.
    """
    if len(text) > LONGEST_TEXT:
        raise _error(f"the composition is {len(text)} characters long; at most {LONGEST_TEXT} are read")
    if not text.strip():
        raise _error("the composition is empty")
    if _DECIMAL_COMMA.search(text):
        raise _error(
            "a comma between two digits can be a decimal comma or a separator",
            "write a decimal point and a blank after each comma: C 0.95, Cr 17",
        )
    if _RANGE.search(text):
        raise _error("a range of contents cannot be used", "give one number for each element, such as the middle")
    return composition_from_mapping(_pairs(_tokens(_UNIT.sub(" ", text))))


def _tokens(text: str) -> list[str | float]:
    tokens: list[str | float] = []
    for match in _TOKEN.finditer(text.rstrip()):
        number, word, other = match.groups()
        if number is not None:
            tokens.append(float(number))
        elif word is not None:
            tokens.append(word)
        elif other not in ",;=:/|":
            raise _error(f"cannot read {other!r} in the composition")
    return tokens


def _pairs(tokens: list[str | float]) -> dict[str, float]:
    found: dict[str, float] = {}
    words_first = bool(tokens) and isinstance(tokens[0], str)
    position = 0
    while position < len(tokens):
        pair = tokens[position : position + 2]
        word, number = (pair if words_first else pair[::-1]) if len(pair) == 2 else (pair[0], None)
        position += 2
        if {str(item).lower() for item in pair} & _BALANCE_WORDS and len(pair) == 2:
            _check_balance(pair)
            continue
        if not isinstance(word, str):
            raise _error(f"there is no element for the number {word:g}")
        symbol = _symbol(word)
        if not isinstance(number, float):
            raise _error(f"{symbol} has no number", f"give its mass per cent, for example {symbol} 1")
        if symbol in found:
            raise _error(f"{symbol} is given twice", "give each element once")
        found[symbol] = number
    if not found:
        raise _error("the composition is empty")
    return found


def _check_balance(pair: list[str | float]) -> None:
    if not any(str(item).lower() == "fe" for item in pair):
        raise _error("only iron can be the balance", "write Fe bal, or leave iron out")
