"""Where practice contradicts the rules: edges that did well against them, or badly in spite of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from advisor.consult import Consultant
from advisor.errors import ErrorList, WhetruleError
from advisor.trials.model import Trial


@dataclass(frozen=True)
class TrialReport:
    """One trial beside the advice for it.

    Attributes:
        agrees: the outcome is what the rules expected.
        expected_good: whether every item fitted the advice.
        against: rules that the trial speaks against; ``backed``: rules that it bears out.
        says: one sentence.
    """

    trial: Trial
    expected_good: bool
    agrees: bool
    against: tuple[str, ...]
    backed: tuple[str, ...]
    says: str


@dataclass(frozen=True)
class RuleRecord:
    """How one rule did over all trials."""

    rule: str
    backed: int
    against: int


def compare_trials(consultant: Consultant, trials: Iterable[Trial]) -> tuple[list[TrialReport], list[RuleRecord]]:
    """Judge every trial and count, rule by rule, what practice says.

    A single trial is an anecdote: knives of one grade differ.  The counts tell where to look, no more.

    Raises:
        ErrorList: trials whose inputs cannot be used or have no answer, each with its place.
    """
    reports, errors = [], list[WhetruleError]()
    for trial in trials:
        try:
            reports.append(_judge(consultant, trial))
        except WhetruleError as exc:
            errors += [_placed(e, trial) for e in exc.parts]
    if errors:
        raise ErrorList(errors)
    names = sorted({r for report in reports for r in (*report.against, *report.backed)})
    records = [RuleRecord(n, sum(n in r.backed for r in reports), sum(n in r.against for r in reports)) for n in names]
    return reports, sorted(records, key=lambda r: (-r.against, r.rule))


def _placed(error: WhetruleError, trial: Trial) -> WhetruleError:
    place = trial.place
    about = f"trial '{trial.id}', {error.field}" if error.field else f"trial '{trial.id}'"
    message = f"{about}: {error.message}"
    return WhetruleError(message, hint=error.hint, path=place.path, line=place.line, column=place.column)


def _judge(consultant: Consultant, trial: Trial) -> TrialReport:
    advice = consultant.ask(consultant.question(trial.inputs), "check", sensitivity=False)
    barred = tuple(dict.fromkeys(r for v in advice.verdicts if not v.good for r in v.rules))
    fitting = tuple(dict.fromkeys(r for v in advice.verdicts if v.good for r in v.rules))
    expected = not any(not v.good for v in advice.verdicts)
    if not advice.verdicts:
        return TrialReport(trial, expected, True, (), (), "Nothing in it that the rules could judge.")
    if trial.good and not expected:
        labels = ", ".join(v.label.lower() for v in advice.verdicts if not v.good)
        says = f"It did well although the rules bar it ({labels})."
        return TrialReport(trial, expected, False, barred, fitting, says)
    if not trial.good and expected:
        return TrialReport(
            trial, expected, False, fitting, (), "It did badly although the rules have nothing against it."
        )
    says = "It did well, as the rules expect." if trial.good else "It did badly, as the rules expect."
    return TrialReport(trial, expected, True, (), fitting if trial.good else barred, says)


def to_json(reports: list[TrialReport], records: list[RuleRecord]) -> dict[str, Any]:
    """Return both lists as plain JSON data."""
    return {
        "trials": [
            {
                "id": r.trial.id,
                "date": r.trial.date,
                "outcome": "good" if r.trial.good else "poor",
                "expected": "good" if r.expected_good else "poor",
                "agrees": r.agrees,
                "against": list(r.against),
                "backed": list(r.backed),
                "says": r.says,
            }
            for r in reports
        ],
        "rules": [vars(r) for r in records],
    }
