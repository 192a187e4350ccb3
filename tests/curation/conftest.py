"""A small knowledge folder: the shipped vocabulary and data, three grades, and rules written for the test."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.consult import Consultant
from advisor.curation.grid import Grid
from advisor.knowledge.load import load_knowledge, shipped_folder
from advisor.knowledge.model import KnowledgeBase

GRADES = ("x105crmo17", "100cr6", "pm-x230crvmo14-9-1")
"""Coarse stainless, plain ball-bearing steel, vanadium-rich powder stainless."""
KEPT = ("schemas", "abrasives", "metallurgy", "planning", "kits", "sources")
_USE, _STEEL, _HARDNESS = ({name: {"known": True}} for name in ("use", "grade.known", "hardness"))
_OTHER = {"any": [{"method": {"known": True}}, {"symptom": {"known": True}}]}
_BASIC: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    ("angle", _USE, {"favour": {"angle": {"from": 15, "to": 20}, "strength": "moderate"}}),
    ("finish", _USE, {"favour": {"finish": {"from": 12, "to": 3}, "strength": "moderate"}}),
    ("strop", _USE, {"conclude": {"strop.verdict": "useful"}}),
    ("structure", _STEEL, {"conclude": {"steel.structure": "moderate"}}),
    ("support", _HARDNESS, {"conclude": {"matrix.support": "adequate"}}),
    ("burr", _HARDNESS, {"conclude": {"burr.kind": "ordinary"}}),
    ("firmness", _USE, {"conclude": {"strop.firmness": "firm"}}),
    ("strength", _USE, {"conclude": {"advice.strength": "moderate"}}),
    ("reads", _OTHER, {"advise": {"topic": "care", "text": "Wipe it dry."}}),
]
BASIC = [{"id": f"basic-{name}", "when": when, "then": then} for name, when, then in _BASIC]
BASIC_CASES: list[dict[str, Any]] = [
    {"id": "basic-fires", "inputs": {"grade": "52100", "hardness": 60, "use": "camp", "method": "freehand"},
     "expect": {"angle.per_side_deg.low": {"equals": 15}}},
    {"id": "basic-quiet", "inputs": {}, "expect": {"angle": {"absent": True}}},
]  # fmt: skip


def rule(entry: dict[str, Any]) -> dict[str, Any]:
    """Fill in what a rule must have and the test does not care about; None leaves a key out."""
    full = {
        "title": f"Test rule {entry['id']}",
        "status": "accepted",
        "because": "It is written for a test of the program.",
        "does_not_apply_when": "Anywhere outside this test.",
        "basis": "memory",
        "cases": {"fires": ["basic-fires"], "quiet": ["basic-quiet"]},
        **entry,
    }
    return {key: value for key, value in full.items() if value is not None}


def case(entry: dict[str, Any]) -> dict[str, Any]:
    """Fill in what a case must have."""
    return {"title": f"Test case {entry['id']}", "mode": "ask", "basis": "memory", **entry}


def build(
    folder: Path, rules: Iterable[dict[str, Any]] = (), cases: Iterable[dict[str, Any]] = (),
    drop: Iterable[str] = (), files: dict[str, str] | None = None,
) -> Path:  # fmt: skip
    """Write a rules/ folder: basic rules (without those to drop) and further ones; return it."""
    shipped = shipped_folder("rules")
    folder.mkdir(parents=True)
    for name in KEPT:
        shutil.copytree(shipped / name, folder / name)
    for name in ("vocabulary.yaml", "uses.yaml"):
        shutil.copy(shipped / name, folder / name)
    entries = [e for p in sorted((shipped / "grades").glob("*.yaml")) for e in yaml.safe_load(p.read_text("utf-8"))]
    gone = set(drop)
    write(folder / "grades/some.yaml", [e for e in entries if e["id"] in GRADES])
    write(folder / "causes.yaml", {"tests": [], "causes": []})
    write(folder / "retired.yaml", [])
    write(folder / "planted/rules.yaml", [rule(e) for e in [*BASIC, *rules] if e["id"] not in gone])
    write(folder / "cases/planted.yaml", [case(e) for e in [*BASIC_CASES, *cases]])
    for name, text in (files or {}).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def write(path: Path, data: Any) -> None:
    """Write YAML without aliases."""
    path.parent.mkdir(parents=True, exist_ok=True)
    dumper = type("Plain", (yaml.SafeDumper,), {"ignore_aliases": lambda self, _: True})
    path.write_text(yaml.dump(data, Dumper=dumper, allow_unicode=True, sort_keys=False), encoding="utf-8")


@pytest.fixture
def make(tmp_path: Path) -> Callable[..., Path]:
    """Build folders in this test's temporary folder, numbered; the arguments are those of ``build``."""
    count = iter(range(100))

    def made(*args: Any, **kwargs: Any) -> Path:
        return build(tmp_path / str(next(count)) / "rules", *args, **kwargs)

    return made


@pytest.fixture
def small() -> Callable[[KnowledgeBase], Grid]:
    """Return the grid of a knowledge base with few wishes and abrasives: 9 steels x 10 uses x 2 x 2."""
    return lambda kb: replace(Grid.of(kb), wishes=("shine", None), abrasives=("diamond", None))


@pytest.fixture
def opened() -> Callable[[Path], Consultant]:
    """Open a folder without the cache."""
    return lambda folder: Consultant.of(load_knowledge(folder, use_cache=False))
