"""An answer as plain text for an 80-column terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.advice import Advice
from advisor.inference.bands import Band
from advisor.inference.trace import POLICY
from advisor.knowledge.rule import Rule
from advisor.report.layout import heading, item, pairs, paragraph
from advisor.report.wording import (
    BASIS_WORDS,
    angle_line,
    assumed_lines,
    carbide_line,
    evidence_line,
    figure_lines,
    finish_line,
    rule_title,
    strop_line,
    subject,
)
from advisor.summary import number


def render_text(advice: Advice, explain: str = "fired", near: list[dict[str, Any]] | None = None) -> str:
    """Return the answer as text.

    Args:
        advice: the answer.
        explain: off for the answer alone, fired adds the rules behind it, why-not adds near misses and
            what lost, full adds every fact and condition.
        near: near misses, needed from why-not on; see trace.near_misses.
    """
    lines = [subject(advice), "=" * min(len(subject(advice)), 79)]
    lines += _verdicts(advice) + _causes(advice) + _answer(advice) + _costs(advice) + _plan(advice)
    if explain != "off":
        lines += _why(advice) + _figures(advice) + _assumed(advice) + _next(advice) + _would_change(advice)
    if explain in ("why-not", "full"):
        lines += _why_not(advice, near or [])
    if explain == "full":
        lines += _trace(advice)
    lines += _cautions(advice)
    kb = advice.outcome.kb
    lines += [
        "",
        f"Knowledge base {kb.version}, {kb.digest[:12]}.",
        "One knife differs from the next: try it, and note it.",
    ]
    return "\n".join(lines)


def _answer(advice: Advice) -> list[str]:
    kb = advice.outcome.kb
    if advice.angle is None and advice.finish is None:
        return ["", *paragraph("The rules cannot say which edge this wants. Name the steel or the use.")]
    steel = advice.outcome.values.get("steel.structure")
    rows = [
        ("Angle", angle_line(advice.angle) if advice.angle else "no rule speaks"),
        ("Finish", finish_line(advice.finish, advice) if advice.finish else "no rule speaks"),
        ("Strop", strop_line(advice)),
        ("Steel", kb.attributes["steel.structure"].show(steel) if steel else ""),
        ("Carbides", carbide_line(advice)),
        ("Rests on", f"{kb.attributes['advice.strength'].show(advice.strength)}; {evidence_line(advice)}"),
    ]
    lines = ["", *pairs(rows)]
    for band in (advice.angle, advice.finish):
        lines += _trade_offs(advice, band)
    return lines


def _trade_offs(advice: Advice, band: Band | None) -> list[str]:
    kb = advice.outcome.kb
    if band is None:
        return []
    label, lines = kb.targets[band.target].label.lower(), []
    for trade in band.trade_offs:
        stands = ", ".join(rule_title(kb, r) for r in trade.stands)
        gives = ", ".join(rule_title(kb, r) for r in trade.gives_way)
        lines += item(
            f"Trade-off on {label}: {stands} stands; {gives} gives way: {trade.why}.",
            "!",
        )
    return lines


def _verdicts(advice: Advice) -> list[str]:
    if advice.mode != "check":
        return []
    if not advice.verdicts:
        known = {"grade.known", "use"} & set(advice.outcome.values)
        missing = "give an angle, a last abrasive or a strop" if known else "name the steel or the work"
        return heading("Verdict") + paragraph(f"Nothing to judge yet: {missing}.", 2)
    lines = heading("Verdict")
    if all(v.verdict == "fits" for v in advice.verdicts):
        lines += paragraph("Yes, this fits.", 2)
    for verdict in advice.verdicts:
        lines += item(f"{verdict.about.capitalize()}: {verdict.label}. {verdict.summary}", "+" if verdict.good else "x")
        details = [d for d in (verdict.deviation, verdict.change) if d]
        if details:
            lines += paragraph("; ".join(details), 6)
        if verdict.rules:
            lines += paragraph("Rules: " + ", ".join(verdict.rules), 6)
    return lines


def _causes(advice: Advice) -> list[str]:
    if advice.mode != "diagnose":
        return []
    lines = heading("What it probably is")
    if not advice.causes:
        return lines + paragraph("No rule suspects anything. Say what disappoints, and what the edge is.", 2)
    for place, cause in enumerate(advice.causes, 1):
        lines += item(f"{cause.title} ({cause.strength}; lies with the {cause.lies_with})", f"{place}.")
        if place <= 3:
            lines += paragraph(cause.because[0], 5)
            lines += paragraph(f"Remedy: {cause.remedy}", 5)
            lines += paragraph(f"Rules: {', '.join(cause.rules)}", 5)
        if place == 1 and cause.tell_apart:
            lines += paragraph(f"To tell: {cause.tell_apart}", 5)
    return lines


def _notes(advice: Advice, *topics: str) -> list[str]:
    lines = []
    for topic in topics:
        for note in advice.by_topic(topic):
            contested = " (contested)" if note.status == "contested" else ""
            lines += item(f"{note.text}{contested} [{note.rule}]")
    return lines


def _costs(advice: Advice) -> list[str]:
    lines = _notes(advice, "cost")
    lines = heading("What it costs") + lines if lines else []
    notes = _notes(advice, "note")
    return lines + (heading("Worth knowing") + notes if notes else [])


def _plan(advice: Advice) -> list[str]:
    plan = advice.plan
    lines: list[str] = []
    dial_in = _notes(advice, "dial-in")
    if plan and plan.dial_in_stone:
        lines += item(f"Find the angle on: {plan.dial_in_stone}.")
        lines += [row for c in plan.angle_corrections for row in item(c.text)]
    lines += dial_in
    lines = heading("Find the angle") + lines if lines else []
    if plan:
        lines += heading("Stones") + _steps(advice)
    for title, topics in (
        ("Dress the stones", ("dressing",)),
        ("At the stones", ("progression",)),
        ("Deburr", ("deburr",)),
        ("Strop", ("strop",)),
        ("Test", ("test",)),
        ("Care", ("care",)),
    ):
        found = _notes(advice, *topics)
        if title == "Strop" and plan and plan.strop:
            found = item(plan.strop.text) + [r for n in plan.strop.notes for r in item(n)] + found
        if found:
            lines += heading(title) + found
    return lines


def _steps(advice: Advice) -> list[str]:
    plan = advice.plan
    assert plan is not None
    if plan.reason_if_empty:
        return paragraph(plan.reason_if_empty, 2)
    lines: list[str] = []
    for place, step in enumerate(plan.steps, 1):
        ratio = f", {number(step.ratio)} times finer" if step.ratio else ""
        lines += item(f"{step.stone}: {number(step.micron)} µm{ratio}. {step.purpose}", f"{place}.")
        lines += paragraph(f"About {step.passes[0]} to {step.passes[1]} passes a side, until: {step.until}", 5)
        lines += [row for extra in (*step.notes, *step.cautions) for row in paragraph(extra, 5)]
    if plan.deburr_stone:
        lines += item(f"Last light deburring passes on: {plan.deburr_stone}.")
    if plan.finish and not plan.finish.inside:
        lines += item(plan.finish.because, "!")
    for gap in plan.gaps:
        lines += item(
            f"Gap {number(gap.coarse_um)} to {number(gap.fine_um)} µm, {number(gap.ratio)} times: {gap.cost}",
            "!",
        )
    lines += [row for s in plan.skipped for row in item(f"Left out: {s.stone}: {s.reason}")]
    lines += item(f"Rough time: {number(plan.minutes_low)} to {number(plan.minutes_high)} minutes.")
    if plan.not_worth_it:
        lines += item(plan.not_worth_it, "!")
    return lines + [row for note in plan.notes for row in item(note)]


def _why(advice: Advice) -> list[str]:
    kb = advice.outcome.kb
    lines = heading("Why")
    for label, band, ends in (
        ("Angle", advice.angle, ("low", "high")),
        ("Finish", advice.finish, ("finest", "coarsest")),
    ):
        if band is None:
            continue
        for end, value, by in zip(ends, (band.low, band.high), (band.low_set_by, band.high_set_by), strict=True):
            named = "; ".join(rule_title(kb, r) for r in by[:3])
            lines += item(f"{label}, {end} end {number(value)}: {named}", "*")
    shown = [r for r in advice.outcome.effective if r.then.verb in ("favour", "limit", "shift", "conclude")]
    for rule in shown:
        lines += _rule_lines(advice, rule)
    return lines


def _rule_lines(advice: Advice, rule: Rule) -> list[str]:
    kb = advice.outcome.kb
    step: Mapping[str, Any] = next(s for s in advice.trace if s["rule"] == rule.id)
    contested = ", contested" if rule.status == "contested" else ""
    lines = item(f"{step['then']['text']}: {rule.title} [{rule.id}]")
    lines += paragraph(step["because"], 4)
    lines += paragraph(f"Not when: {rule.does_not_apply_when}", 4)
    sources = "; ".join(kb.sources[s].cite() for s in rule.sources)
    return lines + paragraph(f"Basis: {BASIS_WORDS[rule.basis]}{contested}{'. ' + sources if sources else ''}", 4)


def _assumed(advice: Advice) -> list[str]:
    lines = [row for text in assumed_lines(advice) for row in item(text)]
    return heading("Assumed") + lines if lines else []


def _next(advice: Advice) -> list[str]:
    lines = heading("What to tell next")
    if not advice.ask_next:
        return lines + paragraph("Nothing else you could tell would change this.", 2)
    for entry in advice.ask_next[:4]:
        lines += item(f"{entry['question']} ({moves_words(entry['moves'])})")
    return lines


def moves_words(moves: Mapping[str, Any]) -> str:
    """Return how far an unknown could move the answer."""
    parts = []
    for name, unit in (("angle", "°"), ("finish", " µm"), ("strop_passes", " passes")):
        if name in moves:
            ends = (
                (moves[name]["to"], moves[name]["from"])
                if name == "finish"
                else (moves[name]["from"], moves[name]["to"])
            )
            parts.append(f"{name.replace('_', ' ')} {number(ends[0])} to {number(ends[1])}{unit}")
    if "strop_verdict" in moves:
        parts.append("whether to strop")
    return ", ".join(parts)


def _would_change(advice: Advice) -> list[str]:
    lines = heading("What would change it")
    if not advice.would_change:
        return lines + paragraph("No single change of what you gave would alter this.", 2)
    kb, shown = advice.outcome.kb, 0
    for name in dict.fromkeys(e["attribute"] for e in advice.would_change):
        attribute = kb.attributes[name]
        # Two of an attribute's changes show the direction; the machine-readable answer has them all.
        for entry in [e for e in advice.would_change if e["attribute"] == name][:2]:
            changes = "; ".join(change_words(c) for c in entry["changes"])
            lines += item(f"{attribute.label}: {attribute.show(entry['to']).split(':')[0]} instead: {changes}")
            shown += 1
    rest = len(advice.would_change) - shown
    return lines + (paragraph(f"... and {rest} more; --json lists them all.", 4) if rest else [])


def _figures(advice: Advice) -> list[str]:
    lines = [row for text in figure_lines(advice) for row in item(f"{text}.")]
    return heading("Figures") + lines if lines else []


def change_words(change: Mapping[str, Any]) -> str:
    """Return one difference between two answers."""

    def show(side: Any) -> str:
        return number(side["pick"]) if isinstance(side, Mapping) else str(side or "nothing")

    return f"{change['about'].replace('.', ' ')} {show(change['before'])} -> {show(change['after'])}"


def _why_not(advice: Advice, near: list[dict[str, Any]]) -> list[str]:
    lines = heading("What did not count")
    for compiled, why in advice.outcome.overruled:
        lines += item(f"{compiled.rule.title} [{compiled.rule.id}]: {why}")
    for compiled in advice.outcome.set_aside:
        lines += item(f"{compiled.rule.title} [{compiled.rule.id}]: set aside by what you want")
    for miss in near:
        lines += item(
            f"Nearly: {miss['title']} [{miss['rule']}] wants {miss['attribute']} {miss['wanted']}, "
            f"is {miss['actual']}. It would say: {miss['then']}"
        )
    return lines if len(lines) > 3 else [*lines, *paragraph("Everything that fired counted.", 2)]


def _trace(advice: Advice) -> list[str]:
    lines = [*heading("Trace"), *paragraph(POLICY, 2)]
    for step in advice.trace:
        note = f" - {step['note']}" if step["note"] else ""
        lines += item(
            f"{step['stage']}: {step['then']['text']} [{step['rule']}]{note}",
            f"{step['step']}.",
        )
        for row in step["when"]:
            held = {True: "yes", False: "no", None: "not known"}[row["held"]]
            lines += paragraph(f"{row['attribute']} {row['wanted']}: {row['actual']} ({held})", 6)
    return lines


def _cautions(advice: Advice) -> list[str]:
    lines = _notes(advice, "caution")
    return heading("Cautions") + lines if lines else []
