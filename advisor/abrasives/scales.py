"""One grain-size scale: its grades, sizes between grades, and the grade nearest to a size."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from advisor.errors import KnowledgeError


@dataclass(frozen=True)
class Grade:
    """One grade of a scale.

    Attributes:
        number: the printed number, such as 1000 or 6.3.
        um: usual centre of the grain-size distribution, micrometres.
        low_um, high_um: bounds in micrometres if the grade is defined by a range.
        mesh: sieve pair such as ``325/400``; empty if none.
        basis, source: how and from where ``um`` is known.
    """

    number: float
    um: float
    low_um: float | None
    high_um: float | None
    mesh: str
    basis: str
    source: str


@dataclass(frozen=True)
class Scale:
    """A named series of grades.

    Attributes:
        id, name, used_for: identifier, title and what it is used on.
        aliases: words people type for it, lower case.
        label: how a grade is written, with ``{grade}`` and perhaps ``{letter}``.
        interpolates: whether a number between two grades has a size (log-log interpolation).
        bare: whether a number without a scale could be meant on this one.
        grades: in the order of their numbers.
    """

    id: str
    name: str
    used_for: str
    aliases: tuple[str, ...]
    label: str
    interpolates: bool
    bare: bool
    grades: tuple[Grade, ...]

    def write(self, number: float, letter: str = "") -> str:
        """Return the unambiguous label of a number, such as ``JIS 1000`` or ``D46``."""
        return self.label.format(grade=f"{number:.10g}", letter=letter.upper())

    def exact(self, number: float) -> Grade | None:
        """Return the grade with this number, if there is one."""
        return next((grade for grade in self.grades if grade.number == number), None)

    def between(self, number: float) -> Grade | None:
        """Return a grade interpolated log-log between its neighbours, or None outside the scale."""
        if not self.interpolates:
            return None
        for low, high in pairwise(self.grades):
            if low.number < number < high.number:
                share = math.log(number / low.number) / math.log(high.number / low.number)
                um = low.um * (high.um / low.um) ** share
                source = f"log-log between {self.write(low.number)} and {self.write(high.number)}"
                return Grade(number, um, None, None, "", "computed", source)
        return None

    def nearest(self, um: float) -> Grade | None:
        """Return the grade nearest to a size by ratio, or None where the scale does not reach."""
        sizes = [grade.um for grade in self.grades]
        if not min(sizes) <= um <= max(sizes):
            return None
        return min(self.grades, key=lambda grade: abs(math.log(grade.um / um)))


def scale_from_data(data: Mapping[str, Any], sources: Mapping[str, str]) -> Scale:
    """Build a scale from its entry in ``scales.yaml``.

    Raises:
        KnowledgeError: a source is not listed, or sizes of a scale that interpolates do not fall
            as the numbers rise.
    """
    grades = []
    for row in data["grades"]:
        if row["source"] not in sources:
            raise KnowledgeError(
                f"grade {row['grade']} of scale {data['id']} names the unknown source {row['source']}",
                hint="list it under sources",
            )
        grades.append(
            Grade(
                float(row["grade"]),
                float(row["um"]),
                row.get("low_um"),
                row.get("high_um"),
                row.get("mesh", ""),
                row["basis"],
                sources[row["source"]],
            )
        )
    grades.sort(key=lambda grade: grade.number)
    interpolates = data["between_grades"] == "interpolate"
    if interpolates and any(low.um <= high.um for low, high in pairwise(grades)):
        raise KnowledgeError(
            f"sizes of scale {data['id']} do not fall as its numbers rise",
            hint="check the grades for a slip of the pen",
        )
    return Scale(
        id=data["id"],
        name=data["name"],
        used_for=data["used_for"],
        aliases=tuple(data["aliases"]),
        label=data["label"],
        interpolates=interpolates,
        bare=bool(data["alternative"]),
        grades=tuple(grades),
    )
