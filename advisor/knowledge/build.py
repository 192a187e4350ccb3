"""Turn parsed knowledge files, other than rules, into the model's dataclasses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.errors import KnowledgeError
from advisor.knowledge.marked_yaml import Key, Marked
from advisor.knowledge.model import BenchTest, Case, Cause, Grade, ReportedCarbide, Source, Use
from advisor.knowledge.rule import Place
from advisor.knowledge.vocabulary import Attribute, Choice, Target
from advisor.knowledge.words import did_you_mean

Errors = list[KnowledgeError]


def _place(marked: Marked, key: Key) -> Place:
    return Place(marked.path, *marked.place(key))


def attributes(marked: Marked, errors: Errors) -> dict[str, Attribute]:
    """Build the vocabulary's attributes, in file order."""
    found: dict[str, Attribute] = {}
    for i, a in enumerate(marked.data["attributes"]):
        key: Key = ("attributes", i)
        if a["name"] in found:
            errors.append(marked.error((*key, "name"), f"attribute '{a['name']}' is defined twice"))
        low_high = a.get("range")
        if low_high and low_high[0] >= low_high[1]:
            errors.append(marked.error((*key, "range"), "needs the smaller number first"))
        found[a["name"]] = Attribute(
            name=a["name"],
            label=a["label"],
            type=a["type"],
            origin=a["from"],
            unit=a.get("unit", ""),
            range=(float(low_high[0]), float(low_high[1])) if low_high else None,
            section=a.get("section", ""),
            question=a.get("question", ""),
            hint=a.get("hint", ""),
            values=tuple(Choice(v["value"], v["label"]) for v in a.get("values", ())),
            probe=tuple(float(p) for p in a.get("probe", ())),
        )
    return found


def targets(marked: Marked, verdicts: Mapping[str, Any], errors: Errors) -> dict[str, Target]:
    """Build what advice can be given about as a band."""
    found: dict[str, Target] = {}
    for i, t in enumerate(marked.data["targets"]):
        for side in ("below", "above"):
            if t[side] not in verdicts:
                errors.append(
                    marked.error(("targets", i, side), f"unknown verdict '{t[side]}'", did_you_mean(t[side], verdicts))
                )
        found[t["name"]] = Target(
            t["name"],
            t["label"],
            t["unit"],
            t["scale"],
            (float(t["range"][0]), float(t["range"][1])),
            float(t["least_width"]),
            t["when_limits_tie"],
            t["below"],
            t["above"],
            t.get("step"),
            float(t.get("question_weight", 1.0)),
        )
    return found


def uses(marked: Marked, words: tuple[str, ...], errors: Errors) -> dict[str, Use]:
    """Build the profiles of the uses; every use of the vocabulary needs exactly one."""
    found: dict[str, Use] = {}
    for i, u in enumerate(marked.data):
        if u["use"] not in words:
            errors.append(marked.error((i, "use"), f"unknown use '{u['use']}'", did_you_mean(u["use"], words)))
        if u["use"] in found:
            errors.append(marked.error((i, "use"), f"use '{u['use']}' is described twice"))
        fields: dict[str, Any] = {k: float(v) if isinstance(v, (int, float)) else v for k, v in u.items()}
        found[u["use"]] = Use(**fields)
    for word in words:
        if word not in found:
            errors.append(marked.error((), f"use '{word}' of the vocabulary is not described", "add an entry"))
    return found


def sources(marked: Marked, found: dict[str, Source], errors: Errors) -> None:
    """Add the sources of one file to ``found``."""
    for key, s in (marked.data or {}).items():
        if key in found:
            errors.append(marked.error((key,), f"source '{key}' is defined in another file too", "rename it"))
        found[key] = Source(key, s["title"], s["kind"], s.get("year"), s.get("seen", ""), s.get("note", ""))


def _reported(entry: Mapping[str, Any]) -> ReportedCarbide:
    v = entry["volume"]
    low, high = (v, v) if isinstance(v, (int, float)) else (v[0], v[1])
    return ReportedCarbide(entry["family"], (float(low), float(high)), entry["basis"], entry.get("source", ""))


def grades(marked: Marked, found: dict[str, Grade], errors: Errors) -> None:
    """Add the grades of one file to ``found``."""
    for i, g in enumerate(marked.data or []):
        if g["id"] in found:
            errors.append(
                marked.error(
                    (i, "id"),
                    f"grade '{g['id']}' is defined twice",
                    f"the other is at {found[g['id']].place}",
                )
            )
            continue
        hard, band = g.get("hardness"), g.get("card_cut_band")
        if hard and not hard["low"] <= hard["high"] <= hard["max"]:
            errors.append(marked.error((i, "hardness"), f"hardness of '{g['id']}' must rise from low to high to max"))
        found[g["id"]] = Grade(
            id=g["id"],
            name=g["name"],
            group=g["group"],
            designations=dict(g["designations"]),
            aliases=tuple(g["aliases"]),
            process=g["process"],
            composition=tuple((k, float(v)) for k, v in g.get("composition", {}).items()),
            composition_basis=g.get("composition_basis", ""),
            sources=tuple(g.get("sources", ())),
            hardness_low=float(hard["low"]) if hard else None,
            hardness_high=float(hard["high"]) if hard else None,
            hardness_max=float(hard["max"]) if hard else None,
            hardness_basis=hard["basis"] if hard else "",
            hardening_temperature=float(g["hardening_temperature"]["celsius"])
            if "hardening_temperature" in g
            else None,
            carbides=tuple(_reported(c) for c in g.get("carbides", ())),
            carbide_size=g.get("carbide_size", {}).get("class", ""),
            carbide_size_basis=g.get("carbide_size", {}).get("basis", ""),
            toughness=g.get("toughness", {}).get("class", ""),
            corrosion=g.get("corrosion", {}).get("class", ""),
            layers={"unknown": "unknown-layers"}.get(
                g.get("layered", {}).get("edge_is", ""), g.get("layered", {}).get("edge_is", "")
            ),
            notes=g.get("notes", ""),
            place=_place(marked, (i, "id")),
            typical_use=tuple(g.get("typical_use", ())),
            card_cut_band=(float(band["low"]), float(band["high"]), float(band["included_angle"])) if band else None,
        )


def causes(marked: Marked, errors: Errors) -> tuple[dict[str, Cause], dict[str, BenchTest]]:
    """Build the causes and the tests that tell them apart."""
    tests = {t["id"]: BenchTest(t["id"], t["title"], t["how"], t["effort"]) for t in marked.data["tests"]}
    found = {}
    for i, c in enumerate(marked.data["causes"]):
        for test in c["shows"]:
            if test not in tests:
                errors.append(
                    marked.error(("causes", i, "shows", test), f"unknown test '{test}'", did_you_mean(test, tests))
                )
        found[c["id"]] = Cause(c["id"], c["title"], c["lies_with"], c["remedy"], dict(c["shows"]))
    return found, tests


def cases(marked: Marked, found: dict[str, Case], errors: Errors) -> None:
    """Add the cases of one file to ``found``."""
    for i, c in enumerate(marked.data or []):
        if c["id"] in found:
            errors.append(
                marked.error((i, "id"), f"case '{c['id']}' is defined twice", f"the other is at {found[c['id']].place}")
            )
            continue
        found[c["id"]] = Case(
            id=c["id"],
            title=c["title"],
            mode=c["mode"],
            inputs=dict(c["inputs"]),
            expect=dict(c.get("expect", {})),
            says=tuple(c.get("says", ())),
            never_says=tuple(c.get("never_says", ())),
            basis=c["basis"],
            place=_place(marked, (i, "id")),
            sources=tuple(c.get("sources", ())),
            todo=c.get("todo", ""),
        )
