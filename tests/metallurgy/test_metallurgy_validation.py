"""Every published figure of metallurgy against what is computed; sources stand in tests/published."""

from __future__ import annotations

from typing import Any

from advisor.metallurgy.validation import EQUILIBRIA, FILES, rank_correlation, rows


def test_published_figures_are_met_except_the_known_misses(
    published: dict[str, Any], knowledge: dict[str, Any]
) -> None:
    found = rows(published, knowledge)
    known = {row["what"] for name in FILES for row in published[name] if "known_miss" in row}
    missed = {row.what for row in found if not row.ok}
    assert missed == known


def test_every_figure_is_compared(published: dict[str, Any], knowledge: dict[str, Any]) -> None:
    found = rows(published, knowledge)
    single = sum(len(published[name]) for name in FILES)
    groups = sum(len(quantities) for quantities in published[EQUILIBRIA]["tolerance"].values())
    assert len(found) == single + groups


def test_every_row_says_where_it_comes_from(published: dict[str, Any]) -> None:
    for name in FILES:
        for row in published[name]:
            assert row["source"] and row["where"]
            assert row["basis"] in {"published", "memory", "common-practice", "estimated", "computed"}
            assert row["year"] or row["basis"] == "memory" or row["where"]


def test_rank_correlation_by_hand() -> None:
    assert rank_correlation([1, 2, 3], [10, 20, 30]) == 1.0
    assert rank_correlation([1, 2, 3], [30, 20, 10]) == -1.0
    # 1 - 6 * (1 + 1 + 0) / (3 * 8)
    assert rank_correlation([1, 2, 3], [2, 1, 3]) == 0.5
