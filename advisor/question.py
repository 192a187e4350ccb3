"""One question: the inputs a person gave, checked and in the units of the vocabulary.

The command line, the web form and JSON all come through parse_question with the same names, so a value
is judged once and worded once.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from advisor.abrasives.grits import GrainSize
from advisor.abrasives.kit import kit_from_data, kit_from_text, kit_to_text
from advisor.abrasives.stones import Kit
from advisor.errors import ErrorList, InputError, OutOfRangeError, WhetruleError
from advisor.knowledge.catalogue import find_grade
from advisor.knowledge.model import Grade
from advisor.knowledge.vocabulary import Attribute, Value
from advisor.knowledge.words import did_you_mean
from advisor.metallurgy.composition import Composition, parse_composition
from advisor.metallurgy.en_names import parse_en_name
from advisor.workbench import Workbench

LONGEST_TEXT = 4000
"""Characters a single input may have; a kit of a hundred stones fits."""
NOT_KNOWN = frozenset({"", "unknown", "i do not know", "?"})
"""What stands for an open input, in lower case."""
_UNIT = re.compile(r"(?i)\s*(hrc|mm|(deg(ree)?s?|°|passes)(\s*(per|a) side)?)\s*$")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True)
class Question:
    """Checked inputs.

    Attributes:
        given: attribute -> value as rules see it (numbers in the vocabulary's units, words).
        text: attribute -> how the person wrote it, for permalinks and pages; sorted by name.
        grade, composition, kit, finish, compound, progression: the parsed things behind the words.
    """

    given: Mapping[str, Value]
    text: Mapping[str, str]
    grade: Grade | None = None
    composition: Composition | None = None
    kit: Kit | None = field(default=None, repr=False)
    finish: GrainSize | None = None
    compound: GrainSize | None = None
    progression: tuple[GrainSize, ...] = ()

    def changed(self, **inputs: Value | None) -> dict[str, Value]:
        """Return ``given`` with some inputs replaced; None takes one out."""
        given = {**self.given, **{k: v for k, v in inputs.items() if v is not None}}
        return {k: v for k, v in given.items() if k not in inputs or inputs[k] is not None}


def parse_question(raw: Mapping[str, Any], bench: Workbench) -> Question:
    """Check raw inputs.

    Args:
        raw: attribute name -> text, number, list of words, or mapping (a kit's data); None, "" and
            "unknown" mean "I do not know".
        bench: the calculators.

    Raises:
        ErrorList: one InputError per input that cannot be used; ``field`` is the attribute's name.
    """
    attributes = {a.name: a for a in bench.kb.asked}
    reader = _Reader(bench)
    for name in sorted(raw):
        if name not in attributes:
            hint = did_you_mean(name, attributes)
            reader.errors.append(InputError(f"there is no input called '{name[:40]}'", field=name[:40], hint=hint))
        elif not _is_unknown(raw[name]):
            reader.read(attributes[name], raw[name])
    reader.check_together()
    if reader.errors:
        raise ErrorList(reader.errors)
    return Question(reader.given, dict(sorted(reader.text.items())), **reader.things)


def _is_unknown(value: Any) -> bool:
    if value is None or value == [] or value == ():
        return True
    return isinstance(value, str) and value.strip().lower() in NOT_KNOWN


class _Reader:
    def __init__(self, bench: Workbench) -> None:
        self.bench = bench
        self.given: dict[str, Value] = {}
        self.text: dict[str, str] = {}
        self.things: dict[str, Any] = {}
        self.errors: list[WhetruleError] = []

    def read(self, attribute: Attribute, value: Any) -> None:
        try:
            getattr(self, f"_{attribute.type}")(attribute, self._plain(attribute, value))
        except ErrorList as exc:
            self.errors.extend(_named(e, attribute.name) for e in exc.errors)
        except WhetruleError as exc:
            self.errors.append(_named(exc, attribute.name))

    @staticmethod
    def _plain(attribute: Attribute, value: Any) -> Any:
        if isinstance(value, str):
            if len(value) > LONGEST_TEXT:
                raise InputError(f"is {len(value)} characters long", hint=f"at most {LONGEST_TEXT} are read")
            if _CONTROL.search(value):
                raise InputError("contains a control character", hint="type it again as plain text")
            return value.strip()
        allowed = {
            "number": (int, float),
            "grain": (int, float),
            "choices": (list, tuple),
            "kit": (dict, list),
        }
        if isinstance(value, allowed.get(attribute.type, ())) and not isinstance(value, bool):
            return value
        raise InputError(f"cannot be a {type(value).__name__}", hint="give it as text")

    def check_together(self) -> None:
        if "grade" in self.given and "composition" in self.given:
            self.errors.append(
                InputError(
                    "give either a grade or a composition, not both",
                    field="composition",
                    hint="leave one of them out",
                )
            )

        finish, steps = self.things.get("finish"), self.things.get("progression", ())
        if finish is not None and steps and steps[-1].um <= finish.um:
            self.errors.append(
                InputError(
                    f"{steps[-1].label} is not coarser than the last abrasive, {finish.label}",
                    field="progression",
                    hint="list only the stones before the last one",
                )
            )

    # ---- one method per attribute type -----------------------------------------------------------

    def _number(self, attribute: Attribute, value: Any) -> None:
        number = read_number(value, attribute.unit)
        low, high = attribute.range or (-math.inf, math.inf)
        if not low <= number <= high:
            hint = f"give {low:g} to {high:g} {attribute.unit}"
            if "degrees" in attribute.unit and high < number <= 2 * high:
                hint += "; if that is the included angle, give half of it"
            raise OutOfRangeError(f"{number:g} {attribute.unit} cannot be", hint=hint)
        self._set(attribute, number, f"{number:.10g}")

    def _choice(self, attribute: Attribute, value: Any) -> None:
        self._set(attribute, _to_word(attribute, str(value)))

    def _choices(self, attribute: Attribute, value: Any) -> None:
        words = re.split(r"[,\s]+", value) if isinstance(value, str) else [str(v) for v in value]
        chosen = tuple(dict.fromkeys(_to_word(attribute, w) for w in words if w))
        if chosen:
            self._set(attribute, chosen, ",".join(chosen))

    def _grade(self, attribute: Attribute, value: str) -> None:
        try:
            grade = find_grade(self.bench.kb, value)
        except InputError as exc:
            raise self._named_by_en(value, exc) from None
        self.things["grade"] = grade
        self._set(attribute, grade.id, value)

    def _named_by_en(self, value: str, unknown: InputError) -> InputError:
        """Offer what an EN 10027-1 name says of its composition; the steel itself is not invented."""
        try:
            name = parse_en_name(self.bench.en_names, value)
        except WhetruleError:
            return unknown
        hint = f"its name says about {name.composition}: give that, or better the real figures, as composition"
        return InputError(unknown.message, field="grade", hint=hint)

    def _composition(self, attribute: Attribute, value: str) -> None:
        composition = parse_composition(value)
        self.things["composition"] = composition
        self._set(attribute, str(composition), value)

    def _grain(self, attribute: Attribute, value: Any) -> None:
        size = self._size(attribute, value)
        self.things["finish" if attribute.name == "finish" else "compound"] = size
        self._set(attribute, size.um, size.given if isinstance(value, str) else f"{size.um:.10g} µm")

    def _grains(self, attribute: Attribute, value: str) -> None:
        parts = [p for p in re.split(r"[,;\n]+", value) if p.strip()]
        if len(parts) > 30:
            raise InputError(f"names {len(parts)} steps", hint="give at most 30")
        sizes = tuple(self._size(attribute, part) for part in parts)
        for coarse, fine in pairwise(sizes):
            if fine.um >= coarse.um:
                raise InputError(
                    f"{fine.label} ({fine.um:g} µm) does not follow {coarse.label} ({coarse.um:g} µm)",
                    hint="list the stones from coarse to fine",
                )
        self.things["progression"] = sizes
        self._set(attribute, ", ".join(s.label for s in sizes), ", ".join(s.given for s in sizes))

    def _kit(self, attribute: Attribute, value: Any) -> None:
        scales, words = self.bench.scales, self.bench.kit_words
        example = self.bench.kb.data.get(f"kits/{value}.yaml") if isinstance(value, str) else None
        if isinstance(value, str) and example is None:
            kit, text = kit_from_text(value, scales, words), value
        else:
            kit = kit_from_data(value if example is None else example, scales, words)
            text = kit_to_text(kit, words) if example is None else value
        self.things["kit"] = kit
        self._set(attribute, "given", text)

    def _size(self, attribute: Attribute, value: Any) -> GrainSize:
        text = value if isinstance(value, str) else f"{read_number(value, attribute.unit):.10g} um"
        size = self.bench.scales.parse(text)
        low, high = attribute.range or (0.0, math.inf)
        if not low <= size.um <= high:
            raise OutOfRangeError(f"{size.label} is {size.um:g} µm", hint=f"give {low:g} to {high:g} µm")
        return size

    def _set(self, attribute: Attribute, value: Value, text: str | None = None) -> None:
        self.given[attribute.name] = value
        self.text[attribute.name] = str(value) if text is None else text


def read_number(value: Any, unit: str) -> float:
    """Return a number that may carry its unit and a decimal comma.

    Args:
        value: text, int or float.
        unit: named in the error.

    Raises:
        InputError: it is no finite number, or its comma may stand for thousands as well.
    """
    shown = str(value) if len(str(value)) <= 40 else str(value)[:37] + "..."
    error = InputError(f"'{shown}' is not a number", hint=f"give a number in {unit}")
    if isinstance(value, str):
        value = _UNIT.sub("", value)
        if re.fullmatch(r"\s*[1-9][0-9]{0,2},[0-9]{3}\s*", value):
            raise InputError(f"the comma in '{shown}' has two meanings", hint="write a decimal point, or no comma")
        value = value.replace(",", ".") if value.count(",") == 1 else value
    try:
        number = float(value)
    except (ValueError, OverflowError):
        raise error from None
    if not math.isfinite(number):
        raise error
    return number


def _to_word(attribute: Attribute, text: str) -> str:
    word = text.strip().lower().replace("_", "-").replace(" ", "-")
    if word in attribute.words:
        return word
    shown = text if len(text) <= 40 else text[:37] + "..."
    raise InputError(
        f"'{shown}' is not a value of {attribute.name}",
        hint=did_you_mean(word, attribute.words, list_up_to=20),
    )


def _named(error: WhetruleError, name: str) -> WhetruleError:
    """Put the error under its input; what the error itself names becomes part of the message."""
    inner = error.field if error.field and error.field != name else ""
    message = f"{inner}: {error.message}" if inner else error.message
    kind = type(error) if isinstance(error, InputError) else InputError
    return kind(message, hint=error.hint, field=name)
