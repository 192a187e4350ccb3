"""Look for a question that shows something: one in which a rule fires, wins, or meets another."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence

from advisor.consult import Consultant
from advisor.curation.domains import OTHER, Conjunction, Domains, domains, narrowed
from advisor.curation.grid import Given, hardness_bands
from advisor.errors import ConflictError
from advisor.inference.reason import Outcome
from advisor.knowledge.load import shipped_folder
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.vocabulary import NUMBER_TYPES, Attribute, Value

TRIES = 1500
"""Questions asked for one alternative before the search gives up."""
_POINTS = 7
Shows = Callable[[Outcome | ConflictError], bool]


def find(consultant: Consultant, conjs: Sequence[Conjunction], shows: Shows, tries: int = TRIES) -> Given | None:
    """Return the first question found whose outcome shows what is looked for.

    Args:
        consultant: who answers.
        conjs: alternatives, one of which should hold; the search tries each in turn.
        shows: whether an outcome, or the conflict that keeps it from one, is the thing.
        tries: questions for each alternative.
    """
    over = domains(consultant.kb.attributes, conjs)
    for conjunction in conjs:
        left = narrowed(conjunction, over)
        if left is None:
            continue
        names = {literal.condition.attribute for literal in conjunction}
        for given in _candidates(consultant, {n: left[n] for n in sorted(names)}, tries):
            try:
                found: Outcome | ConflictError = consultant.reasoner.reason(given)
            except ConflictError as exc:
                found = exc
            if shows(found):
                return given
    return None


def fired(*ids: str) -> Shows:
    """Return the test whether all these rules fired."""
    wanted = set(ids)

    def shows(found: Outcome | ConflictError) -> bool:
        return isinstance(found, Outcome) and wanted <= {c.rule.id for c in found.fired}

    return shows


def _candidates(consultant: Consultant, left: Domains, tries: int) -> Iterator[Given]:
    """Yield questions that give the asked attributes values that fit, the rest at random but repeatably."""
    kb = consultant.kb
    rng = random.Random(repr(sorted(left.items(), key=lambda item: item[0])))
    wanted = {"grade", "hardness", "use", "wish", "abrasive"} | set(left) | _feeding(consultant, left)
    asked = [a for a in kb.asked if a.name in wanted and a.name not in ("grade", "composition", "kit", "hardness")]
    options = {a.name: left.get(a.name) or spread(a) for a in asked}
    steels = _steels(consultant, left)
    uses = _fitting(consultant, left, "use", options["use"])
    hardness = left.get("hardness")
    if not steels or not uses:
        return
    for _ in range(tries):
        given: Given = dict(rng.choice(steels))
        grade = kb.grades.get(str(given.get("grade")))
        bands: Sequence[Value | None] = (
            (*hardness_bands(kb, grade), None) if grade else spread(kb.attributes["hardness"])
        )
        parts: dict[str, Value | None] = {n: rng.choice(values) for n, values in options.items()}
        parts |= {"use": rng.choice(uses), "hardness": rng.choice(hardness or bands)}
        yield given | {n: v for n, v in parts.items() if v is not None and v != OTHER}


def _feeding(consultant: Consultant, names: Mapping[str, object]) -> set[str]:
    """Return every attribute that the computations of the named ones read, directly or not."""
    found: set[str] = set()
    todo = list(names)
    computations = [m.computation for level in consultant.reasoner.plan for m in level.computations]
    while todo:
        name = todo.pop()
        for computation in computations:
            if name in computation.outputs:
                todo += [i for i in computation.inputs if i not in found]
                found |= set(computation.inputs)
    return found


def _steels(consultant: Consultant, left: Domains) -> list[Given]:
    kb = consultant.kb
    grades: list[Given] = [{"grade": g} for g in kb.grades]
    mixes: list[Given] = [
        {"composition": ", ".join(f"{e} {v:g}" for e, v in g.composition)} for g in kb.grades.values() if g.composition
    ]
    known = left.get("grade.known")
    if known is not None:
        grades = grades if "catalogue" in known else []
        mixes = mixes if "composition" in known else []
        both = [*grades, *mixes, *([{}] if None in known else [])]
    else:
        both = [*grades, *mixes[:: max(1, len(mixes) // 20)]]
    return [s for s in both if _may_fit(consultant, left, s)]


def _fitting(consultant: Consultant, left: Domains, name: str, values: Sequence[Value | None]) -> list[Value | None]:
    return [v for v in values if v is None or _may_fit(consultant, left, {name: v})]


def _may_fit(consultant: Consultant, left: Domains, given: Given) -> bool:
    """Whether what is computed from one input alone fits the domains; a quick way to drop what cannot."""
    try:
        outcome = consultant.reasoner.reason(given)
    except ConflictError:
        return True
    for name in left:
        computed = outcome.findings.get(name)
        if computed is None or not set(computed[0].inputs) <= {"grade", "composition", "process", "use"}:
            continue
        if not _inside(consultant.kb.attributes[name], computed[1].value, left[name]):
            return False
    return True


def _inside(attribute: Attribute, value: Value, allowed: Sequence[Value | None]) -> bool:
    if attribute.type not in NUMBER_TYPES or not isinstance(value, (int, float)):
        return value in allowed
    # The domain's numbers stand for stretches between thresholds: a value is inside when it lies between
    # two of them that are both allowed, or on one.
    numbers = sorted(float(v) for v in allowed if isinstance(v, (int, float)))
    return (bool(numbers) and numbers[0] <= value <= numbers[-1]) or not numbers


def spread(attribute: Attribute) -> tuple[Value | None, ...]:
    """Return values over the range of an asked attribute, with None for not said."""
    if attribute.type == "choices":
        return (*((w,) for w in attribute.words), None)
    if attribute.words:
        return (*attribute.words, None)
    if attribute.range is None:
        return (None,)
    low, high = attribute.range
    if low > 0 and high / low > 100:
        points = [low * (high / low) ** (i / (_POINTS - 1)) for i in range(_POINTS)]
    else:
        points = [low + (high - low) * i / (_POINTS - 1) for i in range(_POINTS)]
    rounded = [float(f"{p:.2g}") for p in points]
    if attribute.type == "grains":
        texts = [", ".join(f"{p:g} µm" for p in rounded[i:j:-1]) for i in range(1, _POINTS) for j in range(i - 1)]
        return (*texts, None)
    return (*attribute.probe, *rounded, None)


def command_line(kb: KnowledgeBase, given: Given) -> str:
    """Return the command that asks a question, to reproduce a finding."""
    sections = {kb.attributes[n].section for n in given}
    mode = "diagnose" if "trouble" in sections else "check" if "plan" in sections else "ask"
    other = "" if kb.folder == str(shipped_folder("rules")) else f" --rules {_quoted(kb.folder)}"
    words = [f"whetrule{other} {mode}"]
    if "grade" in given:
        words.append(_quoted(str(given["grade"])))
    for name, value in given.items():
        if name != "grade":
            words.append(f"--{name.replace('_', '-')} {_quoted(_text(kb.attributes[name], value))}")
    return " ".join(words)


def _text(attribute: Attribute, value: Value) -> str:
    if isinstance(value, tuple):
        return ",".join(value)
    text = f"{value:g}" if isinstance(value, (int, float)) else value
    return f"{text} µm" if attribute.type == "grain" else text


def _quoted(text: str) -> str:
    return text if all(c.isalnum() or c in "-._/" for c in text) else "'" + text.replace("'", "'\\''") + "'"
