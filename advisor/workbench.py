"""The calculators, built once from the knowledge base's data: grit scales, carbide model and the rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.abrasives.grits import GritScales
from advisor.abrasives.kit_words import KitWords
from advisor.abrasives.minerals import Minerals
from advisor.errors import KnowledgeError
from advisor.geometry.apex import ApexWidths
from advisor.geometry.strop import StropModel
from advisor.knowledge.model import KnowledgeBase
from advisor.metallurgy.carbides import CarbideModel
from advisor.metallurgy.en_names import NamingRules, naming_rules
from advisor.metallurgy.hardness import HardnessScales, hardness_scales
from advisor.metallurgy.retention import EdgeRetention
from advisor.planning.data import PlanningData, planning_data

_PLANNING = tuple(
    [("planning", n) for n in ("progression", "removal", "stropping", "texts")]
    + [("abrasives", n) for n in ("minerals", "hard_phases", "kit", "strops")]
)


@dataclass(frozen=True)
class Workbench:
    """Calculators of one knowledge base; all frozen, shared by all questions."""

    kb: KnowledgeBase
    scales: GritScales
    kit_words: KitWords
    minerals: Minerals
    carbide_model: CarbideModel
    retention: EdgeRetention
    strops: StropModel
    planning: PlanningData
    hardness: HardnessScales
    apex: ApexWidths
    en_names: NamingRules

    @staticmethod
    def build(kb: KnowledgeBase) -> Workbench:
        """Build every calculator.

        Raises:
            KnowledgeError: a data file is missing or lacks an entry.
        """
        minerals = Minerals.from_data(_data(kb, "abrasives/minerals.yaml"), _data(kb, "abrasives/hard_phases.yaml"))
        strops = _data(kb, "abrasives/strops.yaml")
        return Workbench(
            kb=kb,
            scales=GritScales.from_data(_data(kb, "abrasives/scales.yaml")),
            kit_words=KitWords.from_data(_data(kb, "abrasives/kit.yaml"), minerals, strops),
            minerals=minerals,
            carbide_model=CarbideModel(
                _data(kb, "metallurgy/carbide_model.json"), _data(kb, "metallurgy/carbide_model.yaml")
            ),
            retention=EdgeRetention(_data(kb, "metallurgy/edge_retention.yaml")),
            strops=StropModel.from_data(strops),
            hardness=hardness_scales(_data(kb, "metallurgy/hardness_scales.yaml")),
            apex=ApexWidths.from_data(_data(kb, "abrasives/apex.yaml")),
            en_names=naming_rules(_data(kb, "metallurgy/en_names.yaml")),
            planning=planning_data({name: _data(kb, f"{folder}/{name}.yaml") for folder, name in _PLANNING}),
        )


def _data(kb: KnowledgeBase, name: str) -> Mapping[str, Any]:
    if name not in kb.data:
        raise KnowledgeError("is missing", path=f"rules/{name}", hint="restore it from the project")
    found: Mapping[str, Any] = kb.data[name]
    return found
