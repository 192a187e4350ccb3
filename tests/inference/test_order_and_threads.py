"""Nothing of the order in which things are read or asked shows in an answer."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random

import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from random_questions import as_asked, thresholds

from advisor.consult import Consultant
from advisor.inference.reason import Reasoner
from advisor.inference.trace import build_trace
from advisor.knowledge.load import shipped_folder

RAW = {
    "grade": "440C",
    "use": "everyday-carry",
    "wish": "bite",
    "symptom": "chips, rolls",
    "abrasive": "alumina",
}


def whole(consultant: Consultant, raw: dict[str, str]) -> str:
    answer = consultant.ask(consultant.question(raw), "diagnose").to_json()
    answer["knowledge_base"].pop("digest")
    return json.dumps(answer, sort_keys=True)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 10**6))
def test_rules_and_facts_may_come_in_any_order(consultant: Consultant, seed: int) -> None:
    rng = Random(seed)
    kb = consultant.kb
    rules = list(kb.active_rules)
    rng.shuffle(rules)
    shuffled, plain = Reasoner.build(kb, rules=rules), Reasoner.build(kb)
    inputs = as_asked(kb, thresholds(rules), rng)
    pairs = list(inputs.items())
    rng.shuffle(pairs)
    a, b = plain.reason(inputs), shuffled.reason(dict(pairs))
    assert build_trace(a) == build_trace(b)
    assert {**a.values} == {**b.values}
    assert (a.bands, a.set_by) == (b.bands, b.set_by)


def test_files_and_rules_within_files_may_stand_in_any_order(consultant: Consultant, tmp_path: Path) -> None:
    """Rule files renamed, so that they are read in another order, and their rules reversed."""
    folder = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), folder)
    topics = {rule.place.path.split("/", 1)[1] for rule in consultant.kb.rules}
    for place, name in enumerate(sorted(topics, reverse=True)):
        path = folder / name
        rules = yaml.safe_load(path.read_text("utf-8"))
        path.unlink()
        path.with_name(f"{place:03}.yaml").write_text(
            yaml.safe_dump(rules[::-1], allow_unicode=True, sort_keys=False), "utf-8"
        )
    other = Consultant.open(folder, use_cache=False)
    assert len(other.kb.rules) == len(consultant.kb.rules)
    assert whole(other, RAW) == whole(consultant, RAW)


def test_the_hash_seed_does_not_show() -> None:
    code = (
        "import json; from advisor.consult import Consultant; c = Consultant.open();"
        f"print(json.dumps(c.ask(c.question({RAW!r}), 'diagnose').to_json()))"
    )
    answers = {
        subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": seed},
                       check=True, capture_output=True).stdout
        for seed in ("0", "1", "4711")
    }  # fmt: skip
    assert len(answers) == 1


def test_eight_threads_on_one_consultant_answer_as_one_does() -> None:
    """A consultant of their own, so that nothing is remembered when they start."""
    shared = Consultant.open()
    rng, at = Random(11), thresholds(shared.kb.active_rules)
    inputs = [as_asked(shared.kb, at, rng) for _ in range(60)]

    def answer(given: dict[str, object]) -> str:
        outcome = shared.reasoner.reason(given)  # type: ignore[arg-type]
        return json.dumps([build_trace(outcome), sorted(outcome.values.items())], default=str)

    with ThreadPoolExecutor(8) as pool:
        together = list(pool.map(answer, [g for g in inputs for _ in range(3)]))
        advice = list(pool.map(lambda _: whole(shared, RAW), range(8)))
    assert together == [answer(g) for g in inputs for _ in range(3)]
    assert set(advice) == {whole(Consultant.open(), RAW)}
