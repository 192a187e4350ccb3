"""Models and data of the metallurgy tests, read from rules/ and tests/published."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.metallurgy.carbides import CarbideModel
from advisor.metallurgy.validation import MetallurgyModels, metallurgy_models

ROOT = Path(__file__).parents[2]
# the helper modules beside the tests (carbide_calphad) are imported by name
sys.path.insert(0, str(Path(__file__).parent))


def read(path: Path) -> Any:
    text = path.read_text("utf-8")
    return json.loads(text) if path.suffix == ".json" else yaml.safe_load(text)


@pytest.fixture(scope="session")
def knowledge() -> dict[str, Any]:
    folder = ROOT / "rules/metallurgy"
    files = {path.stem: read(path) for path in folder.glob("*.yaml")}
    return {**files, "carbide_model.json": read(folder / "carbide_model.json")}


@pytest.fixture(scope="session")
def published() -> dict[str, Any]:
    folder = ROOT / "tests/published"
    return {path.stem: read(path) for path in [*folder.glob("*.yaml"), *folder.glob("*.json")]}


@pytest.fixture(scope="session")
def models(knowledge: dict[str, Any]) -> MetallurgyModels:
    return metallurgy_models(knowledge)


@pytest.fixture(scope="session")
def carbides(models: MetallurgyModels) -> CarbideModel:
    return models.carbides
