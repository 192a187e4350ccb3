"""The formulas behind the computed facts, over the calculators of one knowledge base.

Each method reads settled attributes and returns findings; nothing here gives advice.  The figures a formula
needs come from rules/, and every finding carries its basis and error band into the trace.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Any

from advisor.abrasives.grits import GrainSize
from advisor.errors import OutOfRangeError
from advisor.inference.reason import MOST_REMEMBERED, Finding
from advisor.knowledge.model import Grade, Use
from advisor.knowledge.vocabulary import Value
from advisor.metallurgy.carbides import CarbideState
from advisor.metallurgy.composition import Composition, composition_from_mapping, parse_composition
from advisor.metallurgy.retention import EdgeOption
from advisor.workbench import Workbench

Values = Mapping[str, Value]
Findings = dict[str, Finding]
_SteelKey = tuple[Value | None, Value | None, Value | None]

ELEMENTS = {
    "steel.carbon": "C",
    "steel.chromium": "Cr",
    "steel.molybdenum": "Mo",
    "steel.vanadium": "V",
    "steel.niobium": "Nb",
    "steel.tungsten": "W",
    "steel.nitrogen": "N",
}
CARBIDES = {
    "carbide.mc": ("MC",),
    "carbide.chromium": ("M7C3", "M23C6"),
    "carbide.m6c": ("M6C",),
    "carbide.m3c": ("M3C",),
    "carbide.nitride": ("M2N",),
}
_REPORTED_AS = {"carbide.mc": "MC", "carbide.chromium": "CrC", "carbide.m6c": "M6C", "carbide.m3c": "M3C"}
HARDEST_FIRST = (
    ("carbide.mc", "MC"),
    ("carbide.nitride", "nitrides"),
    ("carbide.m6c", "M6C"),
    ("carbide.chromium", "M7C3"),
    ("carbide.m3c", "M3C"),
)


class Facts:
    """The formulas, with the steels already computed kept for the next question."""

    def __init__(self, bench: Workbench) -> None:
        self.bench, self.kb = bench, bench.kb
        self._facts: Mapping[str, Any] = self.kb.data["metallurgy/facts.yaml"]
        self._steels: dict[_SteelKey, tuple[CarbideState | None, str]] = {}

    def _grade(self, values: Values) -> Grade | None:
        name = values.get("grade")
        return self.kb.grades[str(name)] if name is not None else None

    def steel(self, values: Values) -> Composition | None:
        """Return the composition in question, if the steel has one."""
        if "composition" in values:
            return parse_composition(str(values["composition"]))
        grade = self._grade(values)
        return composition_from_mapping(dict(grade.composition)) if grade and grade.composition else None

    def grade_record(self, values: Values) -> Findings:
        """Return what the catalogue says of the grade."""
        grade = self._grade(values)
        if grade is None:
            return {"grade.known": Finding("composition")} if "composition" in values else {}
        return _record(grade)

    def composition(self, values: Values) -> Findings:
        """Return the contents that rules test, wt %."""
        steel = self.steel(values)
        if steel is None:
            return {}
        grade = self._grade(values)
        basis = grade.composition_basis if grade else "given"
        return {name: Finding(steel.get(element), basis=basis) for name, element in ELEMENTS.items()}

    def carbide_state(self, values: Values) -> CarbideState | None:
        """Return the model's full answer for the steel in question; None if it has none."""
        return self._hardened(values)[0]

    def refusal(self, values: Values) -> str:
        """Return why the carbides of the steel in question are not computed; empty if they are."""
        return self._hardened(values)[1]

    def _hardened(self, values: Values) -> tuple[CarbideState | None, str]:
        key = _key(values)
        found = self._steels.get(key)
        if found is None:
            found = self._harden(values)
            # Anybody may ask for any composition, so not all of them can be kept.
            if len(self._steels) >= MOST_REMEMBERED:
                self._steels.clear()
            self._steels[key] = found
        return found

    def _harden(self, values: Values) -> tuple[CarbideState | None, str]:
        steel, grade = self.steel(values), self._grade(values)
        if steel is None:
            return None, ""
        temperature = grade.hardening_temperature if grade else None
        process = str(values.get("process", "ingot"))
        try:
            return self.bench.carbide_model.hardened(steel, temperature, process), ""
        except OutOfRangeError as exc:
            # Such a steel is still advised on, by what the rules know without its carbides.
            return None, f"The carbides are not computed: {exc.message}."

    def carbides(self, values: Values) -> Findings:
        """Return carbides and matrix after hardening: reported volumes where published, else computed ones."""
        state, grade = self.carbide_state(values), self._grade(values)
        if state is None:
            size = grade.carbide_size if grade else ""
            return {"carbide.size": Finding(size, basis=grade.carbide_size_basis)} if grade and size else {}
        found: Findings = {}
        volumes = []
        published = {c.family: c for c in grade.carbides if c.basis == "published"} if grade else {}
        for name, families in CARBIDES.items():
            reported = published.get(_REPORTED_AS.get(name, ""))
            if reported is not None:
                low, high = reported.volume
                found[name] = Finding((low + high) / 2, (high - low) / 2, "published", reported.source)
                volumes.append((low + high) / 2)
            else:
                volume = sum(state.volume[f] for f in families)
                # Where two families share what is counted, their sum is surer than either of them.
                error = min(max(state.error_by_family[f] for f in families), state.error_total)
                found[name] = Finding(round(volume, 2), round(error, 2))
                volumes.append(volume)
        total = published.get("total")
        found["carbide.total"] = (
            Finding(sum(total.volume) / 2, None, "published", total.source)
            if total is not None
            else Finding(round(sum(volumes), 2), state.error_total)
        )
        if grade and grade.carbide_size:
            found["carbide.size"] = Finding(grade.carbide_size, basis=grade.carbide_size_basis)
        else:
            found["carbide.size"] = Finding(state.size_class, note=state.size_reason)
        found["matrix.carbon"] = Finding(round(state.matrix.get("C", 0.0), 3))
        found["matrix.chromium"] = Finding(round(state.matrix.get("Cr", 0.0), 2))
        found["matrix.stainless"] = Finding(state.stainless)
        return found

    def hardness_given(self, values: Values) -> Findings:
        """Return whether anybody gave the hardness."""
        return {"hardness.given": Finding("yes" if "hardness" in values else "no")}

    def hardness_margin(self, values: Values) -> Findings:
        """Return how far the hardness stays below what the grade can carry, HRC."""
        known = _numbers(values, "grade.hardness_max", "hardness")
        return {"hardness.margin": Finding(known[0] - known[1], 1.0)} if known else {}

    def wear_resistance(self, values: Values) -> Findings:
        """Return card cut over that of a steel without carbides, both at one hardness and angle."""
        state = self.carbide_state(values)
        if state is None:
            return {}
        at = self._facts["wear_reference"]
        plain = EdgeOption(float(at["hardness"]), float(at["included_angle"]), {}, "computed")
        this = replace(plain, volume=self.bench.retention.volumes(state))
        try:
            found = self.bench.retention.edge_life_ratio(this, plain)
        except OutOfRangeError:
            # More carbide than the regression can speak of: no figure is better than a stretched one.
            return {}
        return {"wear.resistance": Finding(round(found.ratio, 2), round(found.error, 2))}

    def abrasive_cuts(self, values: Values) -> Findings:
        """Return whether the abrasive cuts the hardest carbide present."""
        abrasive = values.get("abrasive")
        hardest = self.hardest_family(values)
        if abrasive is None or hardest is None:
            return {}
        return {"abrasive.cuts": Finding(self.bench.minerals.cuts(str(abrasive), hardest), note=hardest)}

    def hardest_family(self, values: Values) -> str | None:
        """Return the hardest carbide family that is present in an amount that counts."""
        least = float(self._facts["carbide_counts_from"]["volume"])
        for name, family in HARDEST_FIRST:
            volume = values.get(name)
            if isinstance(volume, (int, float)) and volume >= least:
                return family
        return None

    def use_profile(self, values: Values) -> Findings:
        """Return what the use asks of an edge."""
        use: Use | None = self.kb.uses.get(str(values.get("use")))
        if use is None:
            return {}
        names = ("motion", "bite", "refinement", "side_load", "impact", "corrosion", "wear")
        return {f"use.{name}": Finding(getattr(use, name), basis=use.basis) for name in names}

    def strop_jump(self, values: Values) -> Findings:
        """Return the size of the last abrasive over that of the compound."""
        known = _numbers(values, "finish", "strop_compound")
        return {"strop.jump": Finding(round(known[0] / known[1], 3))} if known else {}

    def strop_risk(self, values: Values) -> Findings:
        """Return the risk, 0 to 1, that the planned stropping rounds the apex."""
        known, backing = _numbers(values, "finish", "strop_passes"), values.get("strop_backing")
        if known is None or backing is None:
            return {}
        compound = _numbers(values, "strop_compound")
        found = self.bench.strops.risk(
            known[0],
            compound[0] if compound else None,
            str(backing),
            round(known[1]),
            self.bench.planning.stropping.pressure,
        )
        return {"strop.risk": Finding(round(found.value, 3), basis="estimated", note=found.level)}

    def progression(self, values: Values) -> tuple[GrainSize, ...]:
        """Return the steps before the finish, coarse to fine."""
        text = str(values.get("progression", ""))
        return tuple(self.bench.scales.parse(part) for part in re.split(r",\s*", text) if part)

    def worst_ratio(self, values: Values) -> Findings:
        """Return the widest jump between neighbours of the planned progression, coarser over finer."""
        sizes = [s.um for s in self.progression(values)] + (_numbers(values, "finish") or [])
        if len(sizes) < 2:
            return {}
        return {"progression.worst_ratio": Finding(round(max(a / b for a, b in pairwise(sizes)), 2))}

    def rebevel(self, values: Values) -> Findings:
        """Return the planned angle less the present one, degrees per side."""
        known = _numbers(values, "angle", "present_angle")
        return {"edge.rebevel": Finding(known[0] - known[1])} if known else {}


def _key(values: Values) -> _SteelKey:
    return (values.get("grade"), values.get("composition"), values.get("process"))


def _numbers(values: Values, *names: str) -> list[float] | None:
    """Return numeric attributes in order; None if one of them is not known."""
    found = [values.get(name) for name in names]
    return [float(v) for v in found if isinstance(v, (int, float))] if None not in found else None


def _record(grade: Grade) -> Findings:
    found: Findings = {
        "grade.known": Finding("catalogue"),
        "grade.group": Finding(grade.group),
        "process": Finding(grade.process, basis="memory"),
    }
    if grade.layers:
        found["grade.layers"] = Finding(grade.layers)
    if grade.toughness:
        found["grade.toughness"] = Finding(grade.toughness, basis="estimated")
    if grade.hardness_low is not None and grade.hardness_high is not None and grade.hardness_max is not None:
        basis = grade.hardness_basis
        found["grade.hardness_low"] = Finding(grade.hardness_low, basis=basis)
        found["grade.hardness_high"] = Finding(grade.hardness_high, basis=basis)
        found["grade.hardness_usual"] = Finding((grade.hardness_low + grade.hardness_high) / 2, basis=basis)
        found["grade.hardness_max"] = Finding(grade.hardness_max, basis=basis)
    return found
