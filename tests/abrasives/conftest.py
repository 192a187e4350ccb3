"""Knowledge of the abrasives tests, read from rules/."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.abrasives.grits import GritScales
from advisor.abrasives.kit_words import KitWords
from advisor.abrasives.minerals import Minerals
from advisor.abrasives.stones import LadderLimits

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
def scales(rules: dict[str, Any]) -> GritScales:
    return GritScales.from_data(rules["scales"])


@pytest.fixture(scope="session")
def minerals(rules: dict[str, Any]) -> Minerals:
    return Minerals.from_data(rules["minerals"], rules["hard_phases"])


@pytest.fixture(scope="session")
def words(rules: dict[str, Any], minerals: Minerals) -> KitWords:
    return KitWords.from_data(rules["kit"], minerals, rules["strops"])


@pytest.fixture(scope="session")
def limits(rules: dict[str, Any]) -> LadderLimits:
    return LadderLimits.from_data(rules["kit"])
