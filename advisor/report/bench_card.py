"""The bench card: the plan on one page, as Markdown."""

from __future__ import annotations

from advisor.advice import Advice
from advisor.report.wording import angle_line, assumed_lines, finish_line, strop_line, subject
from advisor.summary import number


def bench_card(advice: Advice, link: str = "") -> str:
    """Return the plan as a Markdown page to print and to tick off."""
    lines = [f"# {subject(advice)}", ""]
    if advice.angle:
        lines.append(f"- **Angle** {angle_line(advice.angle)}")
    if advice.finish:
        lines.append(f"- **Finish** {finish_line(advice.finish, advice)}")
    if strop_line(advice):
        lines.append(f"- **Strop** {strop_line(advice)}")
    lines += [f"- Assumed: {text}" for text in assumed_lines(advice)]
    lines += _find_angle(advice) + _stones(advice) + _notes(advice, "deburr", "Deburr") + _strop(advice)
    lines += _notes(advice, "test", "Test") + _notes(advice, "caution", "Cautions", box="")
    digest = advice.outcome.kb.digest[:12]
    lines += ["", f"Knowledge base {advice.outcome.kb.version}, {digest}.{' ' + link if link else ''}", ""]
    return "\n".join(lines)


def _find_angle(advice: Advice) -> list[str]:
    plan, lines = advice.plan, ["", "## Find the angle", ""]
    if plan and plan.dial_in_stone:
        lines.append(f"- [ ] On {plan.dial_in_stone}")
        lines += [f"  - {c.text}" for c in plan.angle_corrections]
    return lines + [f"- [ ] {n.text}" for n in advice.by_topic("dial-in")]


def _stones(advice: Advice) -> list[str]:
    plan, lines = advice.plan, ["", "## Stones", ""]
    if plan is None:
        return []
    for step in plan.steps:
        passes = f"{step.passes[0]} to {step.passes[1]} passes a side"
        lines.append(f"- [ ] **{step.stone}**, {number(step.micron)} µm: {passes}. Until: {step.until}")
        lines += [f"  - {extra}" for extra in (*step.notes, *step.cautions)]
    if plan.deburr_stone:
        lines.append(f"- [ ] Last light deburring passes on {plan.deburr_stone}")
    if plan.steps:
        lines.append(f"- Rough time: {number(plan.minutes_low)} to {number(plan.minutes_high)} minutes")
    lines += [f"- Gap {number(g.coarse_um)} to {number(g.fine_um)} µm: {g.cost}" for g in plan.gaps]
    return lines + [f"- {text}" for text in (plan.reason_if_empty, plan.not_worth_it) if text]


def _strop(advice: Advice) -> list[str]:
    plan = advice.plan
    if plan is None or plan.strop is None:
        return []
    return ["", "## Strop", "", f"- [ ] {plan.strop.text}", *(f"  - {note}" for note in plan.strop.notes)]


def _notes(advice: Advice, topic: str, title: str, box: str = "[ ] ") -> list[str]:
    notes = advice.by_topic(topic)
    return ["", f"## {title}", "", *(f"- {box}{n.text}" for n in notes)] if notes else []
