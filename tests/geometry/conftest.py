"""Knowledge of the geometry tests, read from rules/."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.geometry.apex import ApexWidths
from advisor.geometry.strop import StropModel

ROOT = Path(__file__).parents[2]


def load(folder: str) -> dict[str, Any]:
    return {path.stem: yaml.safe_load(path.read_text("utf-8")) for path in (ROOT / folder).glob("*.yaml")}


@pytest.fixture(scope="session")
def rules() -> dict[str, Any]:
    return load("rules/abrasives")


@pytest.fixture(scope="session")
def published() -> dict[str, Any]:
    return load("tests/published")


@pytest.fixture(scope="session")
def strops(rules: dict[str, Any]) -> StropModel:
    return StropModel.from_data(rules["strops"])


@pytest.fixture(scope="session")
def apex_widths(rules: dict[str, Any]) -> ApexWidths:
    return ApexWidths.from_data(rules["apex"])
