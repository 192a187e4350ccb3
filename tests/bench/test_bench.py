"""The benchmark measures what it says, on a small run, and its table fits a terminal."""

from __future__ import annotations

import json
from random import Random

import pytest
from click.testing import CliRunner

from advisor.bench.engine_speed import clips_is_there, growth
from advisor.bench.report import lines
from advisor.bench.synthetic import synthetic_base, synthetic_question
from advisor.cli_bench import bench
from advisor.consult import Consultant
from advisor.inference.reason import Reasoner
from advisor.knowledge.model import KnowledgeBase


def test_made_up_bases_grow_with_what_fires(kb: KnowledgeBase) -> None:
    """Ten times the rules, about ten times the firings: the work grows with the base."""
    rng = Random(5)
    asked = [synthetic_question(rng) for _ in range(20)]
    fired = []
    for size in (100, 1000):
        reasoner = Reasoner.build(synthetic_base(kb, size))
        fired.append(sum(len(reasoner.reason(q).fired) for q in asked))
    assert 5 < fired[1] / fired[0] < 20


def test_time_grows_no_faster_than_the_rules(kb: KnowledgeBase) -> None:
    """From 100 to 1,000 rules the least time grows less than tenfold; it is about twofold here."""
    small, large = growth(kb, (100, 1000), 25)
    assert large["ours"]["least_ms"] / small["ours"]["least_ms"] < 10


@pytest.mark.slow
def test_the_whole_benchmark_runs() -> None:
    """Both engines agree on every question (else it stops), and the table fits 80 columns."""
    ran = CliRunner().invoke(bench, ["--json", "--questions", "9", "--sweep", "600"], catch_exceptions=False)
    report = json.loads(ran.output)
    assert report["engine"]["ours"]["runs"] == 9
    assert ("ratio" in report["engine"]) is clips_is_there()
    assert {row["rules"] for row in report["growth"]} >= {100, 1000}
    assert report["start_up"]["first_answer_warm"]["median_ms"] > report["start_up"]["python_alone"]["median_ms"]
    assert max(map(len, lines(report))) < 80


def test_one_question(consultant: Consultant, benchmark: object) -> None:
    """pytest-benchmark's figure for the reasoner alone."""
    given = consultant.question({"grade": "440C", "use": "everyday-carry"}).given
    outcome = benchmark(lambda: consultant.reasoner.reason(given))  # type: ignore[operator]
    assert outcome.fired
