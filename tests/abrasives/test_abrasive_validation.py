"""Every published grain size and hardness against what is computed; sources stand in tests/published."""

from __future__ import annotations

from typing import Any

from advisor.abrasives.validation import compare, rows


def test_published_figures_are_met(published: dict[str, Any], rules: dict[str, Any]) -> None:
    found = rows(published, rules)
    assert len(found) == len(published["grits"]) + len(published["abrasive_hardness"])
    assert [(row.what, row.published, row.computed) for row in found if not row.ok] == []


def test_a_wrong_figure_or_name_is_not_ok() -> None:
    entry = {"what": "x", "source": "s", "year": 2000, "where": "t", "basis": "memory", "unit": "um"}
    assert not compare(entry | {"published": 1.0, "tolerance": 0.1}, 1.2).ok
    assert compare(entry | {"published": 1.0, "tolerance": 0.1}, 1.05).ok
    assert not compare(entry | {"published": "cuts", "tolerance": None}, "marginal").ok
    assert not compare(entry | {"published": 38, "tolerance": 0.1}, None).ok
