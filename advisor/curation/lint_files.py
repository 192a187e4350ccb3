"""Checks on what is written down: sources, cases, words, schemas and things left to fill in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from advisor.consult import Consultant
from advisor.curation.expectations import wrong_path
from advisor.curation.finding import Finding
from advisor.curation.lint import Subject, check
from advisor.curation.witness import spread
from advisor.curation.words_schema import stale_schemas
from advisor.inference.trace import slots
from advisor.knowledge.rule import Place

TODO = "TODO"
PLANS_TRIED = 3
"""Questions that an input no case gives is tried on."""
_EMPTY_LIMITS = re.compile(r"(?i)^\W*(n/?a|none|never|nothing|no exceptions?|unknown|always applies|not known|-)\W*$")


@check("unused-attribute", "warning")
def unused_attribute(subject: Subject) -> Iterator[Finding]:
    """A question that is asked though nothing depends on it, or a word that nothing ever sets."""
    kb = subject.kb
    read = {c.attribute for r in kb.rules for c in r.conditions} | {r.then.same_as for r in kb.rules}
    read |= {name for r in kb.rules for name in (*slots(r.because), *slots(r.then.text))}
    plan = subject.consultant.reasoner.plan
    computations = [m.computation for level in plan for m in level.computations]
    read |= {name for c in computations for name in c.inputs}
    made = {name for c in computations for name in c.outputs}
    set_by_rules = {r.then.subject for r in kb.active_rules if r.then.verb in ("conclude", "assume")}
    for attribute in kb.attributes.values():
        name = attribute.name
        more = {"subject": name, "place": Place(f"{Path(kb.folder).name}/vocabulary.yaml", 1)}
        if attribute.asked and name not in read and not _moves_the_plan(subject, name):
            yield subject.finding(None, f"'{name}' is asked, but no rule, computation or plan depends on it", **more)
        if attribute.origin == "concluded" and name not in set_by_rules:
            yield subject.finding(None, f"no rule concludes '{name}'", **more)
        if attribute.origin == "computed" and name not in made:
            yield subject.finding(None, f"no computation settles '{name}'", **more)


def _moves_the_plan(subject: Subject, name: str) -> bool:
    """Whether leaving the input out of some question changes the answer to it.

    Tried on the cases that give the input; where none does, on a few others with a kit and a value added.
    """
    kb = subject.kb
    answered = [r.case for r in subject.results if r.advice is not None]
    given = [(c.mode, dict(c.inputs)) for c in answered if name in c.inputs]
    if not given:
        kits = [data for path, data in kb.data.items() if path.startswith("kits/")]
        values = kits if kb.attributes[name].type == "kit" else spread(kb.attributes[name])
        given = [
            (c.mode, {**c.inputs, "kit": kit, name: value})
            for c in answered[:PLANS_TRIED]
            for kit in kits
            for value in values
            if value is not None
        ]
    return any(_matters(subject.consultant, mode, inputs, name) for mode, inputs in given)


def _matters(consultant: Consultant, mode: str, inputs: dict[str, Any], name: str) -> bool:
    answers = [
        consultant.ask(consultant.question(asked), mode, sensitivity=False).to_json()
        for asked in (inputs, {k: v for k, v in inputs.items() if k != name})
    ]
    return any(answers[0][part] != answers[1][part] for part in answers[0] if part not in ("question", "values"))


@check("published-without-source")
def published_without_source(subject: Subject) -> Iterator[Finding]:
    """A case called published that names no source, or one that does not exist.

    Rules are held to it on loading.
    """
    kb = subject.kb
    for case in kb.cases.values():
        if case.basis == "published" and not case.sources:
            yield subject.finding(
                None,
                f"case '{case.id}' says published but names no source",
                subject=case.id,
                place=case.place,
            )
        for key in case.sources:
            if key not in kb.sources:
                yield subject.finding(
                    None,
                    f"case '{case.id}' names the unknown source '{key}'",
                    subject=case.id,
                    place=case.place,
                )


@check("unused-source", "warning")
def unused_source(subject: Subject) -> Iterator[Finding]:
    """A source that nothing names."""
    kb = subject.kb
    folder = Path(kb.folder)
    texts = [p.read_text(encoding="utf-8") for p in sorted(folder.rglob("*.yaml")) if p.parent.name != "sources"]
    for key in kb.sources:
        if not any(re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", text) for text in texts):
            yield subject.finding(None, f"nothing names the source '{key}'", subject=key, place=_find(folder, key))


def _find(folder: Path, key: str) -> Place:
    for path in sorted((folder / "sources").glob("*.yaml")):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if line.startswith(f"{key}:"):
                return Place(f"{folder.name}/sources/{path.name}", number)
    return Place(f"{folder.name}/sources", 1)


@check("limits-not-said")
def limits_not_said(subject: Subject) -> Iterator[Finding]:
    """A does_not_apply_when that says nothing."""
    for rule in subject.kb.rules:
        text = rule.does_not_apply_when
        if _EMPTY_LIMITS.match(text) or " ".join(text.lower().split()) == " ".join(rule.because.lower().split()):
            yield subject.finding(rule, f"rule '{rule.id}' does not say where it is wrong: '{text}'")


@check("without-cases")
def without_cases(subject: Subject) -> Iterator[Finding]:
    """A rule that names no case in which it fires, or none in which it stays quiet."""
    for rule in subject.kb.rules:
        for kind, cases in (("fires", rule.fires_in), ("stays quiet", rule.quiet_in)):
            if not cases and rule.status != "retired":
                yield subject.finding(rule, f"rule '{rule.id}' names no case in which it {kind}")


@check("case-words")
def case_words(subject: Subject) -> Iterator[Finding]:
    """A case that looks at a part of the answer that does not exist, or that expects nothing."""
    kb = subject.kb
    claimed = {c for r in kb.rules for c in (*r.fires_in, *r.quiet_in)}
    for result in subject.results:
        case = result.case
        more = {"subject": case.id, "place": case.place}
        if not (case.expect or case.says or case.never_says or case.id in claimed):
            yield subject.finding(None, f"case '{case.id}' expects nothing, so it cannot fail", **more)
        if result.advice is None:
            if "error" not in case.expect:
                yield subject.finding(None, f"the question of case '{case.id}' is refused: {result.refused}", **more)
            continue
        answer = result.advice.to_json()
        for path in case.expect:
            mistake = wrong_path(answer, path, kb.attributes) if path != "error" else ""
            if mistake:
                yield subject.finding(None, f"case '{case.id}' expects something at '{path}': {mistake}", **more)


@check("todo")
def todo(subject: Subject) -> Iterator[Finding]:
    """Something still to be filled in."""
    folder = Path(subject.kb.folder)
    for path in sorted(folder.rglob("*.yaml")):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if TODO in line:
                shown = f"{folder.name}/{path.relative_to(folder).as_posix()}"
                yield subject.finding(
                    None,
                    f"still to fill in: {line.strip()[:100]}",
                    subject=shown,
                    place=Place(shown, number, line.index(TODO) + 1),
                )


@check("stale-schema")
def stale_schema(subject: Subject) -> Iterator[Finding]:
    """A generated schema file that no longer matches the vocabulary."""
    folder = Path(subject.kb.folder)
    for name in stale_schemas(subject.kb):
        yield subject.finding(
            None,
            f"{name} does not match the vocabulary; run 'whetrule rules schemas'",
            subject=name,
            place=Place(f"{folder.name}/schemas/{name}", 1),
        )
