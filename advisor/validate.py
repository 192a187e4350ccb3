"""The table *published, computed, error* over every figure the project checks itself against."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from advisor.abrasives import validation as abrasives
from advisor.errors import KnowledgeError
from advisor.geometry import validation as geometry
from advisor.knowledge.marked_yaml import read_yaml, yaml_files
from advisor.knowledge.model import KnowledgeBase
from advisor.metallurgy import validation as metallurgy
from advisor.validation_row import ValidationRow


def published_folder() -> Path:
    """Return the folder of published check values, of a checkout or of the installed package."""
    package = Path(__file__).resolve().parent
    for candidate in (package.parent / "tests" / "published", package / "_shipped" / "published"):
        if candidate.is_dir():
            return candidate
    raise KnowledgeError(
        "the published check values were not found",
        path="tests/published",
        hint="run it from a checkout, or reinstall Whetrule",
    )


def published_values(folder: Path | None = None) -> dict[str, Any]:
    """Read the published check values: file stem -> parsed data."""
    place = folder or published_folder()
    values: dict[str, Any] = {path.stem: read_yaml(path).data for path in yaml_files(place)}
    values |= {path.stem: json.loads(path.read_text("utf-8")) for path in sorted(place.glob("*.json"))}
    return values


def knowledge_by_stem(kb: KnowledgeBase) -> dict[str, Any]:
    """Return the computation data of the knowledge base by file stem; JSON files keep their suffix."""
    return {Path(n).stem if n.endswith(".yaml") else Path(n).name: data for n, data in kb.data.items()}


def validation_rows(kb: KnowledgeBase) -> list[ValidationRow]:
    """Return every published figure beside what is computed for it."""
    published, knowledge = published_values(), knowledge_by_stem(kb)
    rows: list[ValidationRow] = []
    for part in (metallurgy, abrasives, geometry):
        rows += part.rows(published, knowledge)
    return rows
