"""The computed facts: which formula settles which attributes, from which others."""

from __future__ import annotations

from advisor.facts import CARBIDES, ELEMENTS, HARDEST_FIRST, Facts
from advisor.inference.reason import Computation


def computations(facts: Facts) -> tuple[Computation, ...]:
    """Return every computation over one knowledge base."""
    steel = ("grade", "composition")
    hard = tuple(name for name, _ in HARDEST_FIRST)
    return (
        Computation(
            "grade record",
            "catalogue of grades",
            steel,
            (
                "grade.known",
                "grade.group",
                "grade.layers",
                "process",
                "grade.hardness_low",
                "grade.hardness_high",
                "grade.hardness_usual",
                "grade.hardness_max",
                "grade.toughness",
            ),
            facts.grade_record,
        ),
        Computation("composition", "nominal composition", steel, tuple(ELEMENTS), facts.composition),
        Computation(
            "carbides after hardening",
            "ideal-solution carbide equilibrium at the hardening temperature, less what lags behind",
            (*steel, "process"),
            (
                *CARBIDES,
                "carbide.total",
                "carbide.size",
                "matrix.carbon",
                "matrix.chromium",
                "matrix.stainless",
            ),
            facts.carbides,
        ),
        Computation("hardness given", "whether anybody gave it", (), ("hardness.given",), facts.hardness_given),
        Computation(
            "hardness left unused",
            "hardness the grade can carry less this hardness",
            ("hardness", "grade.hardness_max"),
            ("hardness.margin",),
            facts.hardness_margin,
        ),
        Computation(
            "wear resistance",
            "card-cut regression, this steel over one without carbides at equal hardness",
            (*steel, "process"),
            ("wear.resistance",),
            facts.wear_resistance,
        ),
        Computation(
            "abrasive against carbide",
            "hardness of the abrasive over that of the hardest carbide present",
            ("abrasive", *hard),
            ("abrasive.cuts",),
            facts.abrasive_cuts,
        ),
        Computation(
            "use profile",
            "what the use asks of an edge",
            ("use",),
            (
                "use.motion",
                "use.bite",
                "use.refinement",
                "use.side_load",
                "use.impact",
                "use.corrosion",
                "use.wear",
            ),
            facts.use_profile,
        ),
        Computation(
            "size jump to the strop",
            "last abrasive over compound",
            ("finish", "strop_compound"),
            ("strop.jump",),
            facts.strop_jump,
        ),
        Computation(
            "risk of rounding by the strop",
            "1 - 0.5^(passes / passes the backing allows after this jump), a working model",
            ("finish", "strop_compound", "strop_backing", "strop_passes"),
            ("strop.risk",),
            facts.strop_risk,
        ),
        Computation(
            "widest size jump",
            "coarser over finer, neighbours in the progression",
            ("progression", "finish"),
            ("progression.worst_ratio",),
            facts.worst_ratio,
        ),
        Computation(
            "change of angle",
            "planned angle less present angle",
            ("angle", "present_angle"),
            ("edge.rebevel",),
            facts.rebevel,
        ),
    )
