"""The bench card: the plan on one page, as Markdown."""

from __future__ import annotations

from advisor.advice import Advice
from advisor.report.wording import angle_line, assumed_lines, finish_line, strop_line, subject
from advisor.summary import number

TOPICS = (("deburr", "Deburr"), ("test", "Test"), ("caution", "Cautions"))


def bench_card(advice: Advice, link: str = "") -> str:
    """Return the plan as a Markdown page to print and to tick off."""
    lines = [f"# {subject(advice)}", ""]
    if advice.angle:
        lines.append(f"- **Angle** {angle_line(advice.angle)}")
    if advice.finish:
        lines.append(f"- **Finish** {finish_line(advice.finish, advice)}")
    if strop_line(advice):
        lines.append(f"- **Strop** {strop_line(advice)}")
    for text in assumed_lines(advice):
        lines.append(f"- Assumed: {text}")
    plan = advice.plan
    lines += ["", "## Find the angle", ""]
    if plan and plan.dial_in_stone:
        lines.append(f"- [ ] On {plan.dial_in_stone}")
    lines += [f"- [ ] {n.text}" for n in advice.by_topic("dial-in")]
    lines += ["", "## Stones", ""]
    for step in plan.steps if plan else ():
        passes = f"{step.passes[0]} to {step.passes[1]} passes a side"
        lines.append(f"- [ ] **{step.stone}**, {number(step.micron)} µm: {passes}. Until: {step.until}")
        lines += [f"  - {extra}" for extra in (*step.notes, *step.cautions)]
    if plan and plan.reason_if_empty:
        lines.append(f"- {plan.reason_if_empty}")
    for gap in plan.gaps if plan else ():
        lines.append(f"- Gap {number(gap.coarse_um)} to {number(gap.fine_um)} µm: {gap.cost}")
    if plan and plan.strop:
        lines += ["", "## Strop", "", f"- [ ] {plan.strop.text}"]
        lines += [f"  - {note}" for note in plan.strop.notes]
    for topic, title in TOPICS:
        notes = advice.by_topic(topic)
        if notes:
            box = "" if topic == "caution" else "[ ] "
            lines += ["", f"## {title}", "", *(f"- {box}{n.text}" for n in notes)]
    digest = advice.outcome.kb.digest[:12]
    lines += ["", f"Knowledge base {advice.outcome.kb.version}, {digest}.{' ' + link if link else ''}", ""]
    return "\n".join(lines)
