"""Rockwell and Vickers conversion; source: ASTM E140-12b Table 1, ISO 18265 (values in tests/published)."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from advisor.errors import KnowledgeError, OutOfRangeError
from advisor.metallurgy.hardness import hardness_scales
from advisor.metallurgy.validation import MetallurgyModels


def test_half_way_is_interpolated(models: MetallurgyModels) -> None:
    # E140: 60 HRC is 697 HV, 61 HRC is 720 HV
    assert models.hardness.hv_from_hrc(60.5) == pytest.approx(708.5)
    assert models.hardness.hrc_from_hv(708.5) == pytest.approx(60.5)


@pytest.mark.parametrize("hrc", [20.0, 33.3, 57.9, 68.0])
def test_there_and_back(models: MetallurgyModels, hrc: float) -> None:
    assert models.hardness.hrc_from_hv(models.hardness.hv_from_hrc(hrc)) == pytest.approx(hrc)


@pytest.mark.parametrize("hrc", [19.9, 68.1, -5.0, float("nan"), float("inf")])
def test_outside_the_table_is_refused(models: MetallurgyModels, hrc: float) -> None:
    with pytest.raises(OutOfRangeError, match="20 to 68 HRC"):
        models.hardness.hv_from_hrc(hrc)


def test_vickers_outside_the_table_is_refused(models: MetallurgyModels) -> None:
    with pytest.raises(OutOfRangeError, match="238 to 940 HV"):
        models.hardness.hrc_from_hv(1000.0)


def test_table_that_does_not_rise_is_an_error(knowledge: dict[str, Any]) -> None:
    data = copy.deepcopy(knowledge["hardness_scales"])
    data["pairs"].reverse()
    with pytest.raises(KnowledgeError, match="do not rise"):
        hardness_scales(data)
    del data["pairs"]
    with pytest.raises(KnowledgeError, match="incomplete"):
        hardness_scales(data)
