"""Judge a planned or finished edge against the advice, item by item."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.advice import Verdict
from advisor.geometry.strop import StropModel
from advisor.inference.bands import Band
from advisor.inference.reason import Outcome, Reasoner
from advisor.inference.trace import filled
from advisor.knowledge.rule import Rule
from advisor.question import Question
from advisor.summary import firmness_words, number

_INPUT_OF = {
    "angle": "angle",
    "finish": "finish",
    "strop.passes": "strop_passes",
    "strop.compound": "strop_compound",
}
_ABOUT = {"angle": "angle", "finish": "finish", "strop.passes": "strop", "strop.compound": "strop"}
_ABOUT_VERDICT = {
    "size-jump": "progression",
    "abrasive-too-soft": "abrasive",
    "over-stropping": "strop",
    "backing-too-soft": "strop",
    "compound-too-fine": "strop",
    "compound-too-coarse": "strop",
    "below-what-holds": "angle",
    "wider-than-needed": "angle",
}


def judge(reasoner: Reasoner, question: Question, outcome: Outcome, strops: StropModel) -> tuple[Verdict, ...]:
    """Return one verdict for every item the person planned; at least a plain yes for each that fits.

    Nothing is judged while neither the steel nor the work is known: an edge is right only for something.
    """
    verdicts: dict[str, list[Verdict]] = {}
    if "grade.known" not in outcome.values and "use" not in outcome.values:
        return ()
    for target, given in _INPUT_OF.items():
        value, band = question.given.get(given), outcome.bands.get(target)
        if isinstance(value, (int, float)) and band is not None:
            verdicts.setdefault(_ABOUT[target], []).append(_judge_band(outcome, band, float(value)))
    for rule in outcome.effective:
        if rule.then.verb == "advise" and rule.then.subject == "check":
            about = _ABOUT_VERDICT.get(rule.then.verdict, "finish")
            verdicts.setdefault(about, []).append(_from_advice(outcome, rule, about))
    backing, firmness = question.given.get("strop_backing"), firmness_words(outcome, strops)
    if backing is not None and firmness:
        verdicts.setdefault("strop", []).append(_judge_backing(outcome, strops, str(backing), firmness))
    if "progression.worst_ratio" in outcome.values and "progression" not in verdicts:
        verdicts["progression"] = [_verdict(outcome, "progression", "fits")]
    _mark_looks(reasoner, question, outcome, verdicts)
    return tuple(v for about in sorted(verdicts) for v in _worst(verdicts[about]))


def _worst(found: list[Verdict]) -> list[Verdict]:
    """Keep what is wrong; a yes stands only where nothing is wrong, once."""
    wrong = [v for v in found if not v.good]
    if wrong:
        # A limit says how far off and what mends it; a rule that only names the same verdict adds nothing.
        return list({v.verdict: v for v in reversed(wrong)}.values())
    return [next((v for v in found if v.verdict != "fits"), found[0])]


def _verdict(outcome: Outcome, about: str, name: str, **more: Any) -> Verdict:
    entry = outcome.kb.verdicts[name]
    return Verdict(about, name, entry["label"], entry["good"], more.pop("summary", entry["text"]), **more)


def _judge_band(outcome: Outcome, band: Band, value: float) -> Verdict:
    target, about = outcome.kb.targets[band.target], _ABOUT[band.target]
    for bound, broken, default in (
        (band.floor, band.floor is not None and value < band.floor[0], target.below),
        (band.ceiling, band.ceiling is not None and value > band.ceiling[0], target.above),
    ):
        if broken and bound is not None:
            limit, rule = bound
            end = band.low if value < limit else band.high
            name = rule.then.verdict or default
            text = outcome.kb.verdicts[name]["text"]
            return _verdict(
                outcome,
                about,
                name,
                summary=f"{text} {filled(rule.because, outcome.values, outcome.kb)}",
                deviation=_deviation(target.scale, target.unit, value, limit),
                change=_change(target.label, target.unit, end, value),
                rules=(rule.id,),
            )
    if band.low <= value <= band.high:
        return _verdict(outcome, about, "fits", rules=band.favoured_by[:3])
    end, by = (band.low, band.low_set_by) if value < band.low else (band.high, band.high_set_by)
    return _verdict(
        outcome,
        about,
        "inside-limits",
        deviation=_deviation(target.scale, target.unit, value, end),
        change=_change(target.label, target.unit, end, value),
        rules=tuple(r for r in by[:3] if r in outcome.kb.rules_by_id),
    )


def _judge_backing(outcome: Outcome, strops: StropModel, backing: str, firmness: tuple[str, ...]) -> Verdict:
    kb, rules = outcome.kb, outcome.set_by.get("strop.firmness", ())
    allowed = [b.id for b in strops.backings if b.firmness in firmness]
    if backing in allowed or strops.backing(backing).uncertain:
        return _verdict(outcome, "strop", "fits", rules=rules)
    show = kb.attributes["strop_backing"].show
    because = " ".join(filled(kb.rules_by_id[r].because, outcome.values, kb) for r in rules[:1])
    return _verdict(
        outcome,
        "strop",
        "backing-too-soft",
        summary=f"{kb.verdicts['backing-too-soft']['text']} {because}".strip(),
        change=f"Strop backing: {show(allowed[-1])}, or firmer, instead of {show(backing)}",
        rules=rules,
    )


def _deviation(scale: str, unit: str, value: float, bound: float) -> str:
    if scale == "log":
        ratio = value / bound
        return f"{number(ratio)} times as coarse" if ratio > 1 else f"{number(1 / ratio)} times as fine"
    return f"{number(abs(value - bound))} {unit} {'above' if value > bound else 'below'}"


def _change(label: str, unit: str, bound: float, value: float) -> str:
    return f"{label}: {number(bound)} {unit} instead of {number(value)}"


def _from_advice(outcome: Outcome, rule: Rule, about: str) -> Verdict:
    return _verdict(
        outcome,
        about,
        rule.then.verdict or "inside-limits",
        summary=filled(rule.then.text, outcome.values, outcome.kb),
        rules=(rule.id,),
    )


def _mark_looks(
    reasoner: Reasoner, question: Question, outcome: Outcome, verdicts: Mapping[str, list[Verdict]]
) -> None:
    """A finish that fits only because a mirror is wanted is judged as what it is: for looks."""
    finish = question.given.get("finish")
    if question.given.get("wish") != "shine" or not isinstance(finish, (int, float)):
        return
    without = reasoner.reason(question.changed(wish=None)).bands.get("finish")
    found = verdicts.get("finish", [])
    if without is not None and finish < without.low and all(v.good for v in found):
        rules = without.low_set_by[:3]
        found[:] = [
            _verdict(
                outcome,
                "finish",
                "only-for-looks",
                rules=rules,
                change=_change("Finish for cutting", "µm", without.pick, float(finish)),
            )
        ]
