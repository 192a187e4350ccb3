"""Every published geometry figure against what is computed; sources stand in tests/published."""

from __future__ import annotations

from typing import Any

from advisor.geometry.validation import rows


def test_published_figures_are_met(published: dict[str, Any], rules: dict[str, Any]) -> None:
    found = rows(published, rules)
    assert len(found) == len(published["geometry"]) + len(published["apex"])
    assert [(row.what, row.published, row.computed) for row in found if not row.ok] == []


def test_every_row_says_where_it_comes_from(published: dict[str, Any]) -> None:
    for name in ("geometry", "apex", "grits", "abrasive_hardness"):
        for row in published[name]:
            assert row["source"] and row["year"] and row["where"]
            assert row["basis"] in {"published", "memory", "common-practice", "estimated", "computed"}
