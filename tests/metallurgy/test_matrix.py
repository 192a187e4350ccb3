"""Matrix indicators; relations recalled from corrosion and heat-treatment handbooks."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from advisor.errors import KnowledgeError, OutOfRangeError
from advisor.metallurgy.matrix import MatrixModel, hardness_margin
from advisor.metallurgy.validation import MetallurgyModels


def test_pitting_resistance_by_hand(models: MetallurgyModels) -> None:
    matrix = {"Cr": 14.0, "Mo": 1.0, "W": 0.5, "N": 0.25, "C": 0.3}
    assert models.matrix.pitting_resistance(matrix) == pytest.approx(14 + 3.3 * 1.25 + 16 * 0.25)


def test_attainable_hardness(models: MetallurgyModels) -> None:
    # handbooks give about 60 HRC at 0.45 % and the ceiling near 66 HRC from 0.6 % on
    assert models.matrix.attainable_hardness(0.45) == pytest.approx(60.2, abs=0.1)
    assert models.matrix.attainable_hardness(0.8) == 66.0
    with pytest.raises(OutOfRangeError):
        models.matrix.attainable_hardness(0.05)
    assert models.matrix.indicators({"C": 0.05, "Cr": 1.0}).attainable_hardness is None


def test_hardness_margin() -> None:
    margin = hardness_margin(62.0, (58.0, 61.0), 63.0)
    assert (margin.below_highest, margin.above_usual, margin.below_usual) == (1.0, 1.0, -4.0)
    assert margin.share_of_band == pytest.approx(4.0 / 3.0)
    with pytest.raises(OutOfRangeError):
        hardness_margin(60.0, (61.0, 58.0), 63.0)


def test_missing_entry_is_an_error(knowledge: dict[str, Any]) -> None:
    data = copy.deepcopy(knowledge["matrix"])
    del data["pitting_resistance"]["tungsten"]
    with pytest.raises(KnowledgeError, match="tungsten"):
        MatrixModel(data)
