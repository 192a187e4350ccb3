"""Planning data and example kits, read from rules/ as the knowledge base does."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from advisor.abrasives.grits import GritScales
from advisor.abrasives.kit import kit_from_data
from advisor.abrasives.kit_words import KitWords
from advisor.abrasives.minerals import Minerals
from advisor.planning.data import planning_data

RULES = Path(__file__).parents[2] / "rules"


def read(path: str):
    return yaml.safe_load((RULES / path).read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def parsed():
    planning = {name: read(f"planning/{name}.yaml") for name in ("progression", "removal", "stropping", "texts")}
    return planning | {name: read(f"abrasives/{name}.yaml") for name in ("minerals", "hard_phases", "kit", "strops")}


@pytest.fixture(scope="session")
def data(parsed):
    return planning_data(parsed)


@pytest.fixture(scope="session")
def kits(parsed):
    scales = GritScales.from_data(read("abrasives/scales.yaml"))
    minerals = Minerals.from_data(parsed["minerals"], parsed["hard_phases"])
    words = KitWords.from_data(parsed["kit"], minerals, parsed["strops"])
    return {
        path.stem: kit_from_data(yaml.safe_load(path.read_text(encoding="utf-8")), scales, words)
        for path in sorted((RULES / "kits").glob("*.yaml"))
    }
