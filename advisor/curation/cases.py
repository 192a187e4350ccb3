"""Run the cases of the knowledge base: recorded questions and what their answers must hold."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any

from advisor.advice import Advice
from advisor.consult import Consultant
from advisor.curation.expectations import found_at, holds, in_words, texts_of, wrong_path
from advisor.errors import ErrorList, InputError, WhetruleError
from advisor.inference.compile import conjunctions
from advisor.inference.reason import Outcome
from advisor.inference.trace import conditions
from advisor.knowledge.model import Case
from advisor.knowledge.rule import Rule
from advisor.knowledge.words import did_you_mean

_SENSITIVITY = ("ask_next", "would_change")


@dataclass(frozen=True)
class Failure:
    """One thing a case expected and did not get.

    Attributes:
        about: path into the answer, ``says``, ``never_says``, ``error`` or ``rule ID``.
        details: lines that show why, for example the conditions of the rule.
    """

    about: str
    expected: str
    actual: str
    details: tuple[str, ...] = ()


@dataclass(frozen=True)
class CaseResult:
    """What came of one case.

    Attributes:
        advice: the answer; None where the question was refused.
        refused: the message with which it was refused.
    """

    case: Case
    failures: tuple[Failure, ...]
    advice: Advice | None = field(default=None, repr=False)
    refused: str = ""

    @property
    def state(self) -> str:
        """passed, failed or todo (a todo case may fail, and is listed either way)."""
        if self.case.todo:
            return "todo"
        return "failed" if self.failures else "passed"

    @property
    def fired(self) -> frozenset[str]:
        """Ids of the rules whose conditions held."""
        return frozenset(c.rule.id for c in self.advice.outcome.fired) if self.advice else frozenset()

    def to_json(self) -> dict[str, Any]:
        """Return plain data."""
        return {
            "case": self.case.id,
            "place": str(self.case.place),
            "state": self.state,
            "todo": self.case.todo or None,
            "failures": [vars(f) | {"details": list(f.details)} for f in self.failures],
            "fired": sorted(self.fired),
        }


def run_cases(consultant: Consultant, ids: Collection[str] = ()) -> list[CaseResult]:
    """Run the named cases, all by default, in the order of their files.

    Raises:
        ErrorList: of InputError, ids that no case has.
    """
    cases = consultant.kb.cases
    unknown = [
        InputError(f"there is no case '{i}'", field="cases", hint=did_you_mean(i, cases)) for i in ids if i not in cases
    ]
    if unknown:
        raise ErrorList(unknown)
    return [run_case(consultant, case) for case in cases.values() if not ids or case.id in ids]


def run_case(consultant: Consultant, case: Case) -> CaseResult:
    """Ask one case's question and compare the answer with what it expects."""
    wants_error = case.expect.get("error")
    sensitivity = any(path.split(".")[0] in _SENSITIVITY for path in case.expect)
    try:
        advice = consultant.ask(consultant.question(case.inputs), case.mode, sensitivity=sensitivity)
    except WhetruleError as exc:
        return CaseResult(case, tuple(_judge_error(case, str(exc))), refused=str(exc))
    failures = list(_judge(consultant, case, advice))
    if wants_error:
        failures.insert(0, Failure("error", "the question to be refused", "it was answered"))
    return CaseResult(case, tuple(failures), advice)


def _judge_error(case: Case, message: str) -> Iterator[Failure]:
    tests = case.expect.get("error", {})
    if not tests:
        yield Failure("error", "an answer", message)
        return
    for operator, operand in tests.items():
        if not holds(operator, operand, [message]):
            yield Failure("error", in_words(operator, operand), message)
    for path in case.expect:
        if path != "error":
            yield Failure(path, "an answer", f"refused: {message}")
    yield from _judge_words(case, [message])


def _judge(consultant: Consultant, case: Case, advice: Advice) -> Iterator[Failure]:
    answer = advice.to_json()
    for path, tests in case.expect.items():
        if path == "error":
            continue
        mistake = wrong_path(answer, path, consultant.kb.attributes)
        if mistake:
            yield Failure(path, "a path into the answer", mistake)
            continue
        found = found_at(answer, path)
        for operator, operand in tests.items():
            if not holds(operator, operand, found):
                actual = ", ".join(map(str, found)) if found else "nothing there"
                yield Failure(path, in_words(operator, operand), actual, tuple(_origin(advice, answer, path)))
    yield from _judge_words(case, texts_of(answer))
    yield from judge_claims(consultant, case, advice.outcome)


def _judge_words(case: Case, texts: list[str]) -> Iterator[Failure]:
    lower = [t.lower() for t in texts]
    for words in case.says:
        if not any(words.lower() in text for text in lower):
            yield Failure("says", f"'{words}'", "no text of the answer holds it")
    for words in case.never_says:
        for text, small in zip(texts, lower, strict=True):
            if words.lower() in small:
                yield Failure("never_says", f"not '{words}'", text)
                break


def judge_claims(consultant: Consultant, case: Case, outcome: Outcome) -> Iterator[Failure]:
    """Yield the rules that name this case as firing or quiet and are wrong about it."""
    for rule in consultant.kb.rules:
        if rule.status == "retired" or case.id not in (*rule.fires_in, *rule.quiet_in):
            continue
        fired = conditions_hold(rule, outcome)
        if fired is not (case.id in rule.fires_in):
            details = [
                f"{'ok ' if row['held'] else '?  ' if row['held'] is None else 'NOT'} {row['attribute']}: "
                f"wanted {row['wanted']}, is {_shown(row['actual'])}"
                for row in conditions(rule.when, outcome.values, consultant.kb)
            ]
            said = "to fire" if case.id in rule.fires_in else "to stay quiet"
            yield Failure(f"rule {rule.id}", said, "it fired" if fired else "it stayed quiet", tuple(details))


def conditions_hold(rule: Rule, outcome: Outcome) -> bool:
    """Whether a rule's conditions hold in an outcome; also for drafts, which take no part in it."""
    if rule.status == "draft":
        values = outcome.values
        return any(
            all(literal.true_for(values.get(literal.condition.attribute)) for literal in conjunction)
            for conjunction in conjunctions(rule.when)
        )
    return any(c.rule.id == rule.id for c in outcome.fired)


def _origin(advice: Advice, answer: dict[str, Any], path: str) -> Iterator[str]:
    """Yield the rules behind the part of the answer that disappoints."""
    part, _, rest = path.partition(".")
    if part == "values":
        for name in advice.outcome.set_by.get(rest, ()):
            yield f"set by {name} ({advice.outcome.kb.rules_by_id[name].place})"
    elif isinstance(answer[part], dict):
        for key in ("low_set_by", "high_set_by", "coarsest_set_by", "finest_set_by", "favoured_by", "set_by"):
            if answer[part].get(key):
                yield f"{key.replace('_', ' ')}: {', '.join(answer[part][key])}"


def _shown(value: Any) -> str:
    return "not known" if value is None else ", ".join(value) if isinstance(value, list) else str(value)


def trace_difference(before: Outcome, after: Outcome) -> list[str]:
    """Return, a line each, the rules that started or stopped firing and the values that moved."""
    old, new = ({c.rule.id for c in o.fired} for o in (before, after))
    lines = [f"- {i} no longer fires" for i in sorted(old - new)]
    lines += [f"+ {i} fires now" for i in sorted(new - old)]
    for name in sorted({*before.values, *after.values}):
        a, b = before.values.get(name), after.values.get(name)
        if a != b:
            lines.append(f"~ {name}: {_shown(a)} -> {_shown(b)}")
    return lines


def text_report(results: list[CaseResult], base: Consultant | None = None) -> str:
    """Return the report for a terminal.

    Args:
        results: what came of the cases.
        base: another knowledge base; each failing case then shows how its run differs from that one's.
    """
    lines = []
    for result in results:
        if result.state == "failed":
            lines += _failed(result, base)
        elif result.state == "todo":
            state = "still fails" if result.failures else "passes by now: take 'todo' away"
            lines.append(f"todo    {result.case.id} ({result.case.place}): {result.case.todo} [{state}]")
    count = {state: sum(r.state == state for r in results) for state in ("passed", "failed", "todo")}
    lines.append(f"{len(results)} cases: {count['passed']} passed, {count['failed']} failed, {count['todo']} todo")
    return "\n".join(lines)


def _failed(result: CaseResult, base: Consultant | None) -> list[str]:
    lines = [f"FAILED  {result.case.id} ({result.case.place}): {result.case.title}"]
    for failure in result.failures:
        lines.append(f"  {failure.about}: expected {failure.expected}; got {failure.actual}")
        lines += [f"      {detail}" for detail in failure.details]
    if result.advice is not None:
        lines.append(f"  rules that fired: {', '.join(sorted(result.fired))}")
        if base is not None:
            before = base.reasoner.reason(base.question(result.case.inputs).given)
            lines += [f"  {row}" for row in trace_difference(before, result.advice.outcome)]
    return lines
