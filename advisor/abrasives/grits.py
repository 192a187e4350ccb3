"""Grain sizes as people type them: grit numbers on any scale, sieve pairs, micrometres."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from advisor.abrasives.scales import Grade, Scale, scale_from_data
from advisor.errors import InputError, OutOfRangeError

MICRON = "micron"
MAX_TEXT = 60  # longer than any size written on a stone
_NUMBER = r"[0-9]{1,7}(?:\.[0-9]{1,6})?"
_PAIR = re.compile(rf"({_NUMBER}) ?[/-] ?({_NUMBER}) ?([a-z]*)")
_SINGLE = re.compile(rf"({_NUMBER}) ?([a-z]+)")
_BARE = re.compile(rf"(?:grit )?#? ?({_NUMBER}) ?(k?) ?(?:grit|grade|#)?")
_HOW = "write a number with its scale, such as JIS 1000, P400, F600 or D46, or a size, such as 6 um"


@dataclass(frozen=True)
class GrainSize:
    """A grain size in micrometres and what it was read from.

    Attributes:
        um: size in micrometres, above 0; the centre of a range or distribution.
        scale: id of the scale it was read on; ``micron`` for a size given in micrometres.
        label: unambiguous way to write it, such as ``JIS 1000``.
        given: what was typed where the scale was assumed, else the label; parses to this same size.
        low_um, high_um: bounds in micrometres, if the grade is a range.
        assumed: True if the scale was not named and the usual one was taken.
        alternatives: (scale id, micrometres) for the other scales an assumed number could be on.
        basis: published, memory, common-practice, computed; ``given`` for a size in micrometres.
        source: where the grade's size stands.
    """

    um: float
    scale: str
    label: str
    given: str
    low_um: float | None = None
    high_um: float | None = None
    assumed: bool = False
    alternatives: tuple[tuple[str, float], ...] = ()
    basis: str = "given"
    source: str = ""

    def to_json(self) -> dict[str, object]:
        """Return the size with its reading, sizes rounded to four significant digits."""
        return {
            "um": _round(self.um),
            "scale": self.scale,
            "label": self.label,
            "given": self.given,
            "low_um": self.low_um,
            "high_um": self.high_um,
            "assumed": self.assumed,
            "alternatives": {scale: _round(um) for scale, um in self.alternatives},
            "basis": self.basis,
        }


@dataclass(frozen=True)
class GritScales:
    """All scales of ``rules/abrasives/scales.yaml`` and the reading of what people type."""

    scales: tuple[Scale, ...]
    default_scale: str
    view_scales: tuple[tuple[str, str], ...]
    finest_um: float
    coarsest_um: float
    unitless_range_um: float
    vague_words: frozenset[str]
    units: tuple[tuple[str, float], ...]
    maker_numbers: tuple[tuple[str, tuple[str, ...]], ...]

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> GritScales:
        """Build from the parsed YAML. Raises KnowledgeError as ``scale_from_data`` does."""
        limits = data["size_limits_um"]
        return cls(
            scales=tuple(scale_from_data(entry, data["sources"]) for entry in data["scales"]),
            default_scale=data["bare_number"]["scale"],
            view_scales=tuple(data["views"].items()),
            finest_um=float(limits["finest"]),
            coarsest_um=float(limits["coarsest"]),
            unitless_range_um=float(data["range_without_unit_at_most_um"]),
            vague_words=frozenset(data["vague_words"]),
            units=tuple((unit, float(factor)) for unit, factor in data["units"].items()),
            maker_numbers=tuple((key, tuple(v)) for key, v in data["maker_micron_numbers"].items()),
        )

    def scale(self, scale_id: str) -> Scale:
        """Return a scale by its id. Raises InputError if there is none."""
        for scale in self.scales:
            if scale.id == scale_id:
                return scale
        known = ", ".join(scale.id for scale in self.scales)
        raise InputError(f"unknown grit scale {scale_id!r}", field="scale", hint=f"one of {known}, {MICRON}")

    def parse(self, text: str, scale: str | None = None) -> GrainSize:
        """Read a grain size.

        Args:
            text: such as ``#1000``, ``JIS 1000``, ``P400``, ``F600``, ``D46``, ``6 um``,
                ``2/1 micron``, ``600 mesh``, ``325/400 mesh``, ``8000 grit``.
            scale: id of the scale to read a bare number on; the usual one is assumed if None.

        Raises:
            OutOfRangeError: the number lies outside its scale or the size outside
                ``finest_um`` to ``coarsest_um``.
            InputError: the text names no size; the hint says what to write.
        """
        given = _tidy(text)
        size = (
            self._read_pair(given)
            or self._read_microns(given, scale)
            or self._read_named(given)
            or self._read_bare(given, scale)
        )
        if size is None:
            raise self._refusal(given)
        if not self.finest_um <= size.um <= self.coarsest_um:
            raise OutOfRangeError(
                f"{given!r} is {size.um:.4g} um",
                field="size",
                hint=f"abrasives for edges lie between {self.finest_um:g} and {self.coarsest_um:g} um",
            )
        return replace(size, given=given.lower() if size.assumed else size.label)

    def views(self, um: float) -> dict[str, str | None]:
        """Return the nearest grade on each scale shown beside a size; None where it does not reach."""
        shown: dict[str, str | None] = {}
        for key, scale_id in self.view_scales:
            scale = self.scale(scale_id)
            grade = scale.nearest(um)
            shown[key] = scale.write(grade.number) if grade else None
        return shown

    def _read_pair(self, given: str) -> GrainSize | None:
        match = _PAIR.fullmatch(given.lower())
        if not match:
            return None
        first, second, unit = match.groups()
        if unit in ("", "mesh"):
            for scale in self.scales:
                for grade in scale.grades:
                    if grade.mesh == f"{first}/{second}":
                        return _size(scale, grade, f"{grade.mesh} mesh", given)
            if unit == "mesh":
                return None
        elif unit not in dict(self.units):
            return None
        low, high = sorted((float(first), float(second)))
        # Without a unit only the coarse-first style (7/5) is a range; 400/1000 is a two-sided stone.
        if low == high or (unit == "" and not low < float(first) <= self.unitless_range_um):
            return None
        factor = dict(self.units).get(unit, 1.0)
        low, high = low * factor, high * factor
        return GrainSize((low + high) / 2, MICRON, f"{high:.10g}-{low:.10g} um", given, low, high, unit == "")

    def _read_microns(self, given: str, scale: str | None) -> GrainSize | None:
        match = _SINGLE.fullmatch(given.lower())
        units = dict(self.units)
        if match and match[2] in units:
            um = float(match[1]) * units[match[2]]
        elif scale == MICRON and re.fullmatch(_NUMBER, given):
            um = float(given)
        else:
            return None
        if um == 0:
            return None
        return GrainSize(um, MICRON, f"{um:.10g} um", given)

    def _read_named(self, given: str) -> GrainSize | None:
        lower = given.lower()
        for scale in self.scales:
            for alias in scale.aliases:
                number = _number_beside(lower, alias)
                if number is not None:
                    letter = alias if "{letter}" in scale.label else ""
                    return self._on_scale(scale, number, given, letter)
        return None

    def _read_bare(self, given: str, scale_id: str | None) -> GrainSize | None:
        match = _BARE.fullmatch(given.lower())
        if not match or float(match[1]) == 0:
            return None
        number = float(match[1]) * (1000 if match[2] else 1)
        if scale_id is not None:
            return self._on_scale(self.scale(scale_id), number, given)
        usual = self.scale(self.default_scale)
        if number < usual.grades[0].number:
            raise OutOfRangeError(
                f"{given!r} is too small for a grit number",
                field="size",
                hint=f"write {number:g} um if it is micrometres",
            )
        found = self._on_scale(usual, number, given)
        others = tuple(
            (other.id, grade.um)
            for other in self.scales
            if other.bare and other.id != self.default_scale
            if (grade := other.exact(number) or other.between(number)) is not None
        )
        return GrainSize(found.um, found.scale, found.label, given, None, None, True, others, found.basis, found.source)

    def _on_scale(self, scale: Scale, number: float, given: str, letter: str = "") -> GrainSize:
        grade = scale.exact(number) or scale.between(number)
        if grade is not None:
            return _size(scale, grade, scale.write(number, letter), given)
        label = scale.write(number, letter)
        ranges = dict(self.maker_numbers).get(label)
        if ranges:
            meant = " or ".join(ranges)
            hint = f"makers use {label} for {meant} um; write the range of yours, such as {ranges[0]} um"
        elif scale.interpolates:
            first, last = scale.grades[0].number, scale.grades[-1].number
            hint = f"its grades here go from {scale.write(first)} to {scale.write(last)}"
        else:
            numbers = ", ".join(f"{grade.number:g}" for grade in scale.grades)
            hint = f"its numbers are {numbers}; or write the size in um"
        raise OutOfRangeError(f"{label} is not a grade of {scale.name}", field="size", hint=hint)

    def _refusal(self, given: str) -> InputError:
        words = re.findall(r"[a-z]+", given.lower())
        if _PAIR.fullmatch(given.lower()):
            hint = "write one size; the two faces of a stone are two stones"
        elif "fepa" in words:
            hint = "say P for coated or F for bonded, such as P400 or F400"
        elif words and all(word in self.vague_words for word in words):
            return InputError(f"{given!r} is a different size from every maker", field="size", hint=_HOW)
        else:
            hint = _HOW
        return InputError(f"{given!r} is not a grain size", field="size", hint=hint)


def _tidy(text: str) -> str:
    """Fold width, micro signs, commas in numbers and spaces; refuse what is too long to be a size."""
    if not isinstance(text, str):
        raise InputError("a grain size is given as text", field="size", hint=_HOW)
    if len(text) > MAX_TEXT:
        raise InputError(f"a grain size of {len(text)} characters cannot be read", field="size", hint=_HOW)
    folded = unicodedata.normalize("NFKC", text).replace("μ", "u").replace("‑", "-").replace("–", "-")
    folded = re.sub(r"[()]", " ", folded)
    folded = re.sub(r"(?<=[0-9]),(?=[0-9]{3}(?![0-9]))", "", folded)
    folded = re.sub(r"(?<=[0-9]),(?=[0-9]{1,2}(?![0-9]))", ".", folded)
    return " ".join(folded.split())


def _number_beside(text: str, alias: str) -> float | None:
    """Return the number written with a scale's word, before or (for whole words) after it."""
    number = rf"#? ?({_NUMBER})(k?)"
    word = re.escape(alias).replace(r"\ ", "[ -]?")
    match = re.fullmatch(rf"{word} ?-? ?{number}(?: grit)?", text)
    if not match and len(alias) > 1:
        match = re.fullmatch(rf"{number} ?(?:grit )?{word}", text)
    if not match:
        return None
    return float(match[1]) * (1000 if match[2] else 1)


def _size(scale: Scale, grade: Grade, label: str, given: str) -> GrainSize:
    return GrainSize(
        grade.um, scale.id, label, given, grade.low_um, grade.high_um, basis=grade.basis, source=grade.source
    )


def _round(um: float) -> float:
    return float(f"{um:.4g}")
