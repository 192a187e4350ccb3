"""Steel names by chemical composition (EN 10027-1) and back.

A name carries fewer figures than a composition, and the standards choose representative contents rather
than the middle of the range, so a built name can differ by a few units from the standard one.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor
from typing import Any

from advisor.errors import InputError, KnowledgeError
from advisor.metallurgy.composition import Composition, composition_from_mapping

FIELD = "grade"
UNALLOYED, LOW_ALLOY, HIGH_ALLOY, HIGH_SPEED = "unalloyed", "low-alloy", "high-alloy", "high-speed"
_HIGH_SPEED_ORDER = ("W", "Mo", "V", "Co")
_PREFIX = re.compile(r"(?:PM|G)?[\s-]*")
_UNALLOYED = re.compile(r"C([0-9]{1,3})(?:[A-Z]{1,2}[0-9]?)?")
_HIGH_SPEED = re.compile(r"HS([0-9]+(?:-[0-9]+){2,3})([A-Z]{1,2})?")
_ALLOYED = re.compile(r"(X?)([0-9]{1,3})((?:[A-Z][a-z]?)+)([0-9]+(?:-[0-9]+)*)?")
_SYMBOL = re.compile(r"[A-Z][a-z]?")


@dataclass(frozen=True)
class NamingRules:
    """Factors and thresholds of EN 10027-1; see ``rules/metallurgy/en_names.yaml`` for each meaning."""

    factors: Mapping[str, float]
    high_alloy_from: float
    manganese_below: float
    high_speed_sum: float
    high_speed_carbon: float
    high_speed_chromium: tuple[float, float]
    named_from: Mapping[str, float]
    number_from: float
    presumed: Mapping[str, float]
    high_speed_presumed: Mapping[str, float]


@dataclass(frozen=True)
class EnName:
    """What a name says.

    Attributes:
        text: the name as read.
        group: unalloyed, low-alloy, high-alloy or high-speed.
        symbols: elements named, in order of falling content (for high-speed steel W, Mo, V, Co).
        numbers: contents printed, as printed, for the first of the symbols.
        composition: approximate contents; those without a number are presumed.
        presumed: symbols whose content the name does not tell.
    """

    text: str
    group: str
    symbols: tuple[str, ...]
    numbers: tuple[int, ...]
    composition: Composition
    presumed: tuple[str, ...]


def naming_rules(data: Mapping[str, Any]) -> NamingRules:
    """Build the rules from the parsed ``rules/metallurgy/en_names.yaml``.

    Raises:
        KnowledgeError: an entry is missing or is no number.
    """
    try:
        low, high = data["high_speed"]["chromium"]
        return NamingRules(
            factors=_floats(data["low_alloy_factors"]),
            high_alloy_from=float(data["high_alloy_from"]),
            manganese_below=float(data["unalloyed_manganese_below"]),
            high_speed_sum=float(data["high_speed"]["tungsten_molybdenum_vanadium"]),
            high_speed_carbon=float(data["high_speed"]["carbon_above"]),
            high_speed_chromium=(float(low), float(high)),
            named_from=_floats(data["named_from"]),
            number_from=float(data["number_from"]),
            presumed=_floats(data["presumed"]),
            high_speed_presumed=_floats(data["high_speed_presumed"]),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        raise KnowledgeError(
            f"the EN naming rules are incomplete ({type(problem).__name__}: {problem})",
            path="rules/metallurgy/en_names.yaml",
            hint="add the missing entry",
        ) from problem


def _floats(table: Mapping[str, Any]) -> dict[str, float]:
    return {str(key): float(value) for key, value in table.items()}


def steel_group(rules: NamingRules, composition: Composition) -> str:
    """Return the naming group of a composition."""
    hard = [composition.get(s) for s in ("W", "Mo", "V")]
    low, high = rules.high_speed_chromium
    if (
        sum(hard) >= rules.high_speed_sum
        and sum(content >= 0.5 for content in hard) >= 2
        and composition.get("C") > rules.high_speed_carbon
        and low <= composition.get("Cr") <= high
    ):
        return HIGH_SPEED
    contents = _contents(composition)
    if max(contents.values(), default=0.0) >= rules.high_alloy_from:
        return HIGH_ALLOY
    named = [s for s in contents if contents[s] >= rules.named_from.get(s, 100.0)]
    if not named and composition.get("Mn") < rules.manganese_below:
        return UNALLOYED
    return LOW_ALLOY


def en_name(
    rules: NamingRules,
    composition: Composition,
    *,
    group: str | None = None,
    symbols: Sequence[str] | None = None,
    numbers: int | None = None,
    tool: bool = True,
) -> str:
    """Build the EN 10027-1 name of a composition.

    Args:
        rules: factors and thresholds.
        composition: contents in wt %.
        group: naming group; taken from the composition where not given.
        symbols: elements to name, in order, where the standard's choice is known.
        numbers: how many contents to print, where the standard's choice is known.
        tool: whether an unalloyed steel is a tool steel (adds U).

    Raises:
        InputError: the group is unknown or a low-alloy element has no factor.
    """
    group = group or steel_group(rules, composition)
    carbon = _rounded(100.0 * composition.get("C"))
    if group == UNALLOYED:
        return f"C{carbon}{'U' if tool else ''}"
    if group == HIGH_SPEED:
        contents = [_rounded(composition.get(s)) for s in _HIGH_SPEED_ORDER]
        return "HS" + "-".join(str(c) for c in (contents if contents[3] else contents[:3]))
    if group not in (LOW_ALLOY, HIGH_ALLOY):
        raise InputError(f"unknown steel group {group!r}", field=FIELD, hint="see the EN 10027-1 groups")
    named = tuple(symbols) if symbols is not None else _named(rules, composition)
    high = group == HIGH_ALLOY
    if numbers is None:
        numbers = sum(composition.get(s) >= rules.number_from for s in named) if high else min(1, len(named))
    printed = [_rounded(composition.get(s) * (1.0 if high else _factor(rules, s))) for s in named[:numbers]]
    return f"{'X' if high else ''}{carbon}{''.join(named)}{'-'.join(map(str, printed))}"


def _contents(composition: Composition) -> dict[str, float]:
    return {s: v for s, v in [*composition.as_dict().items(), *composition.ignored] if s != "C"}


def _named(rules: NamingRules, composition: Composition) -> tuple[str, ...]:
    contents = _contents(composition)
    named = [s for s in contents if contents[s] >= rules.named_from.get(s, 100.0)]
    return tuple(sorted(named, key=lambda s: (-contents[s], s)))


def _factor(rules: NamingRules, symbol: str) -> float:
    if symbol not in rules.factors:
        raise InputError(f"EN 10027-1 gives no factor for {symbol}", field=FIELD, hint="leave it out of the name")
    return rules.factors[symbol]


def _rounded(value: float) -> int:
    return floor(value + 0.5)


def parse_en_name(rules: NamingRules, text: str) -> EnName:
    """Read an EN 10027-1 name into its group and an approximate composition.

    Raises:
        InputError: the text is no such name, or its numbers leave no iron.
    """
    name = _PREFIX.sub("", text.strip(), count=1) if len(text) <= 60 else ""
    if match := _HIGH_SPEED.fullmatch(name):
        return _high_speed(rules, text, [int(n) for n in match.group(1).split("-")])
    if match := _UNALLOYED.fullmatch(name):
        composition = composition_from_mapping({"C": int(match.group(1)) / 100.0})
        return EnName(text, UNALLOYED, (), (), composition, ())
    if match := _ALLOYED.fullmatch(name):
        x, carbon, symbols, numbers = match.groups()
        printed = [int(n) for n in numbers.split("-")] if numbers else []
        return _alloyed(rules, text, bool(x), int(carbon) / 100.0, _SYMBOL.findall(symbols), printed)
    raise InputError(
        f"{text[:40]!r} is no EN 10027-1 name by composition",
        field=FIELD,
        hint="such names look like C105U, 100Cr6, X46Cr13 or HS6-5-2",
    )


def _high_speed(rules: NamingRules, text: str, numbers: list[int]) -> EnName:
    contents = dict(zip(_HIGH_SPEED_ORDER, map(float, numbers), strict=False))
    guess = rules.high_speed_presumed
    carbon = guess["constant"] + guess["vanadium"] * contents["V"] + guess["cobalt"] * contents.get("Co", 0.0)
    contents.update(C=carbon, Cr=guess["chromium"])
    return EnName(
        text,
        HIGH_SPEED,
        _HIGH_SPEED_ORDER[: len(numbers)],
        tuple(numbers),
        composition_from_mapping(contents),
        ("C", "Cr"),
    )


def _alloyed(
    rules: NamingRules, text: str, high: bool, carbon: float, symbols: list[str], numbers: list[int]
) -> EnName:
    unknown = [s for s in symbols if s not in rules.factors or symbols.count(s) > 1]
    if unknown or len(numbers) > len(symbols):
        what = f"element {unknown[0]!r}" if unknown else "more numbers than elements"
        raise InputError(
            f"{text[:40]!r} does not fit EN 10027-1 ({what})", field=FIELD, hint="check the name's spelling"
        )
    contents = {"C": carbon}
    for position, symbol in enumerate(symbols):
        if position < len(numbers):
            contents[symbol] = numbers[position] / (1.0 if high else rules.factors[symbol])
        else:
            contents[symbol] = rules.presumed.get(symbol, 0.0)
    return EnName(
        text,
        HIGH_ALLOY if high else LOW_ALLOY,
        tuple(symbols),
        tuple(numbers),
        composition_from_mapping(contents),
        tuple(symbols[len(numbers) :]),
    )
