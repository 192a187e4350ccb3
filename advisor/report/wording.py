"""Words that every rendering of an answer shares."""

from __future__ import annotations

from advisor.advice import Advice
from advisor.inference.bands import Band
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.words import plain
from advisor.summary import number

BASIS_WORDS = {
    "published": "published",
    "common-practice": "common practice",
    "memory": "from memory",
    "estimated": "estimated",
    "computed": "computed",
    "measured": "measured",
    "given": "as given",
}


def subject(advice: Advice) -> str:
    """Return what the question is about: the steel, its hardness, the work."""
    question, kb = advice.question, advice.outcome.kb
    if question.grade is not None:
        steel, typed = question.grade.name, question.text["grade"]
        shortest = plain(steel.split(" (")[0])
        if plain(typed) not in (plain(steel), plain(question.grade.id)) and shortest not in plain(typed):
            steel = f"{typed}: {steel}"
    elif question.composition is not None:
        steel = f"steel with {question.composition}"
    else:
        steel = "a steel that was not named"
    parts = [steel]
    for name in ("hardness", "use", "wish"):
        value = question.given.get(name)
        if value is not None:
            parts.append(kb.attributes[name].show(value).split(":")[0])
    return ", ".join(parts)


def angle_line(band: Band) -> str:
    """Return the angle with its included angle."""
    return (
        f"{number(band.low)} to {number(band.high)}° a side, aim for {number(band.pick)}° "
        f"({number(2 * band.pick)}° included)"
    )


def finish_line(band: Band, advice: Advice) -> str:
    """Return the finish with the grit scales' views of it."""
    grit = [v for v in advice.grit.values() if v]
    views = f" (about {', '.join(grit)})" if grit else ""
    return f"{number(band.high)} to {number(band.low)} µm, aim for {number(band.pick)} µm{views}"


def strop_line(advice: Advice) -> str:
    """Return the stropping limit: verdict, passes, compound, backing."""
    kb, values = advice.outcome.kb, advice.outcome.values
    verdict = values.get("strop.verdict")
    if verdict is None:
        return ""
    parts = [kb.attributes["strop.verdict"].show(verdict)]
    if verdict != "leave-out":
        if advice.strop_passes:
            parts.append(f"{number(advice.strop_passes.low)} to {number(advice.strop_passes.high)} passes a side")
        if advice.strop_compound:
            band = advice.strop_compound
            parts.append(f"compound {number(band.high)} to {number(band.low)} µm")
        if "strop.firmness" in values:
            parts.append(kb.attributes["strop.firmness"].show(values["strop.firmness"]))
    return ", ".join(parts)


def assumed_lines(advice: Advice) -> list[str]:
    """Return what was assumed and by which rule."""
    kb, outcome = advice.outcome.kb, advice.outcome
    lines = [
        f"{kb.attributes[name].label}: {kb.attributes[name].show(outcome.values[name])} ({rule})"
        for name, rule in outcome.assumed.items()
    ]
    question = advice.question
    for size in (question.finish, question.compound, *question.progression):
        if size is not None and size.assumed:
            others = ", ".join(f"{scale_words(scale)} {number(um)} µm" for scale, um in size.alternatives)
            lines.append(f"'{size.given}' was read as {size.label}, {number(size.um)} µm; on other scales: {others}")
    other = [scale_words(o["scale"]) for o in advice.computed.get("finish_on_other_scales", ()) if o["changes"]]
    if other:
        lines.append(f"On {' or '.join(other)} the answer about that finish would be another: name the scale")
    return lines


def scale_words(scale: str) -> str:
    """Return a grit scale's id as it is written."""
    return " ".join(w if w in ("coated", "bonded", "mesh") else w.upper() for w in scale.split("-"))


def carbide_line(advice: Advice) -> str:
    """Return the carbides with their error, and whether they are published or computed."""
    figures = advice.computed
    if "carbides" not in figures:
        return ""
    names = {"MC": "MC", "CrC": "chromium carbide", "M6C": "M6C", "M3C": "cementite", "nitrides": "nitrides"}
    parts = []
    for key, name in names.items():
        volume, error, basis = (
            figures["carbides"][key],
            figures["carbide_error"][key],
            figures["carbide_basis"][key],
        )
        if volume >= 0.5:
            band = f" ± {number(error)}" if error else ""
            parts.append(f"{name} {number(volume)}{band} vol % ({BASIS_WORDS.get(basis, basis)})")
    size = advice.outcome.values.get("carbide.size")
    shown = advice.outcome.kb.attributes["carbide.size"].show(size) if size else ""
    return f"{', '.join(parts) or 'hardly any'}; {shown}" if shown else ", ".join(parts)


def evidence_line(advice: Advice) -> str:
    """Return how the rules that set the figures are known, counted."""
    kb, bands = advice.outcome.kb, (advice.angle, advice.finish, advice.strop_passes, advice.strop_compound)
    names = {n for b in bands if b for n in (*b.low_set_by, *b.high_set_by, *b.favoured_by)}
    rules = [kb.rules_by_id[n] for n in names if n in kb.rules_by_id]
    counts = [(word, sum(r.basis == basis for r in rules)) for basis, word in BASIS_WORDS.items()]
    parts = [f"{n} {word}" for word, n in counts if n]
    contested = sum(r.status == "contested" for r in rules)
    if contested:
        parts.append(f"{contested} of them contested")
    return f"{len(rules)} rules set the figures: {', '.join(parts)}" if rules else "no rule set a figure"


def rule_title(kb: KnowledgeBase, name: str) -> str:
    """Return a rule's title with its id; the id alone for what is not a rule."""
    rule = kb.rules_by_id.get(name)
    return f"{rule.title} [{name}]" if rule else name


def figure_lines(advice: Advice) -> list[str]:
    """Return computed figures that help to judge the answer, one sentence each."""
    figures, lines = advice.computed, []
    if "en_name" in figures:
        lines.append(f"By EN 10027-1 such a composition is named {figures['en_name']}")
    if "hardness_hv" in figures:
        reading = figures.get("hardness_reading")
        said = ""
        if reading:
            changes = "changes" if reading["changes"] else "does not change"
            said = f"; within ±{number(reading['plus_minus'])} HRC of a reading the answer {changes}"
        lines.append(f"Hardness is about {figures['hardness_hv']} HV{said}")
    if "bevel_mm" in figures:
        shape = figures["bevel_mm"]
        lines.append(f"At that angle the bevel is {number(shape['width'])} mm wide")
    if "apex_width_um" in figures:
        width = figures["apex_width_um"]
        lines.append(
            f"Such a stone left an apex about {number(width['value'])} µm wide in a published razor series "
            f"(within a factor of {number(width['within_factor'])})"
        )
    if "side_strength_ratio" in figures:
        lines.append(f"Side strength against the present angle: {number(figures['side_strength_ratio'])} times")
    if "strop_adds_deg" in figures:
        lines.append(f"The strop adds about {number(figures['strop_adds_deg'])}° a side at the apex (a model)")
    lines += [note.rstrip(".") for note in figures.get("carbide_notes", ())]
    life = edge_life_lines(advice)
    if life:
        lines.append("Edge life in abrasive slicing, against the advised angle: " + "; ".join(life))
    return lines


def edge_life_lines(advice: Advice) -> list[str]:
    """Return edge life in abrasive slicing at neighbouring angles, relative to the advised one."""
    retention = advice.computed.get("retention")
    if not retention:
        return []
    lines = []
    for step, found in retention["relative_to_pick"].items():
        degrees = step.split("_")[0]
        lines.append(f"{degrees}° a side: {found['ratio']:.2f} ± {found['error']:.2f} times as long")
    return lines
