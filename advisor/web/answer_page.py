"""What the answer page shows, taken from an Advice; the template only sets it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from flask import url_for

from advisor.advice import Advice, Verdict
from advisor.consult import Consultant
from advisor.inference.trace import near_misses
from advisor.knowledge.model import Source
from advisor.knowledge.rule import Rule
from advisor.knowledge.vocabulary import Attribute
from advisor.report import pictures
from advisor.report.edge_picture import edge_section
from advisor.report.text import moves_words
from advisor.report.wording import evidence_line, scale_words, subject
from advisor.summary import number
from advisor.web.answer_reasons import Reason, reasons_of
from advisor.web.query import query_string
from advisor.web.typeset import typeset


@dataclass(frozen=True)
class Figure:
    """One headline figure: the value to aim for, its band, and what else it is called."""

    name: str
    value: str
    unit: str
    band: str
    also: str = ""


@dataclass(frozen=True)
class AnswerPage:
    """An answer and the addresses that belong to it."""

    advice: Advice
    consultant: Consultant
    mode: str

    # ---- addresses ------------------------------------------------------------------------------

    def link(self, endpoint: str, **inputs: Any) -> str:
        """Return the address of a page for this question, some inputs replaced."""
        query = query_string({**self.advice.question.text, **inputs})
        return url_for(endpoint) + (f"?{query}" if query else "")

    def change_link(self, attribute: str) -> str:
        """Return the address of the form, answers filled in, at one field."""
        field = self.consultant.kb.attributes[attribute]
        group = "-0" if field.type in ("choice", "choices") else ""
        return f"{self.link(f'advice.{self.mode}_form')}#{attribute}{group}"

    # ---- what it is about -----------------------------------------------------------------------

    @property
    def heading(self) -> str:
        """Return what the page is about: what disappoints, or the knife."""
        attribute, symptoms = self.consultant.kb.attributes["symptom"], self.advice.question.given.get("symptom")
        if self.mode == "diagnose" and isinstance(symptoms, tuple):
            return "; ".join(attribute.show(s) for s in symptoms)
        return subject(self.advice)

    @property
    def evidence(self) -> str:
        """Return how the rules behind the figures are known."""
        return evidence_line(self.advice)

    def verdict_groups(self) -> list[tuple[str, str, list[Verdict]]]:
        """Return the verdicts by level (wrong, works, fits), the worst first: level, heading, verdicts."""
        found: dict[str, list[Verdict]] = {"wrong": [], "works": [], "fits": []}
        for verdict in self.advice.verdicts:
            found[_level(verdict)].append(verdict)
        headings = {
            "wrong": "What does not fit",
            "works": "What works, with a reserve",
            "fits": "Yes, this fits" if len(found["fits"]) == len(self.advice.verdicts) else "What fits",
        }
        return [(level, headings[level], verdicts) for level, verdicts in found.items() if verdicts]

    # ---- the figures ----------------------------------------------------------------------------

    def figures(self) -> Iterator[Figure]:
        """Yield angle, finish and strop, as far as the rules speak."""
        angle, finish = self.advice.angle, self.advice.finish
        if angle:
            yield Figure(
                "Angle",
                f"{number(angle.pick)}°",
                "a side",
                f"{number(angle.low)} to {number(angle.high)}° a side",
                f"{number(2 * angle.pick)}° included",
            )
        if finish:
            grits = [v for k, v in self.advice.grit.items() if v and k != "ansi"]
            yield Figure(
                "Finish",
                number(finish.pick),
                "µm",
                f"{number(finish.high)} to {number(finish.low)} µm",
                f"about {', '.join(grits)}" if grits else "",
            )
        verdict = self.advice.outcome.values.get("strop.verdict")
        if verdict is not None:
            yield self._strop(verdict)

    def _strop(self, verdict: Any) -> Figure:
        advice, attributes = self.advice, self.consultant.kb.attributes
        said = attributes["strop.verdict"].show(verdict)
        passes, compound = advice.strop_passes, advice.strop_compound
        if verdict == "leave-out" or passes is None:
            return Figure("Strop limit", "none" if verdict == "leave-out" else "–", "", said)
        firmness = advice.outcome.values.get("strop.firmness")
        also = [f"compound {number(compound.high)} to {number(compound.low)} µm"] if compound else []
        also += [attributes["strop.firmness"].show(firmness)] if firmness else []
        band = f"{number(passes.low)} to {number(passes.high)} passes a side, {said}"
        return Figure("Strop limit", number(passes.high), "passes a side at most", band, ", ".join(also))

    @cached_property
    def pictures(self) -> list[str]:
        """Return the pictures that can be drawn."""
        advice, found = self.advice, list[str]()
        if advice.angle:
            found.append(pictures.angle_axis(advice))
        if advice.finish:
            found.append(pictures.finish_axis(advice, self.consultant.bench.scales))
        if advice.angle:
            found.append(edge_section(advice))
        return found

    # ---- what was said and assumed --------------------------------------------------------------

    def answers(self) -> Iterator[tuple[Attribute, str, str]]:
        """Yield each given answer: its attribute, how it reads, where to change it."""
        for attribute in self.consultant.kb.asked:
            name = attribute.name
            if name in self.advice.question.text:
                written = self.advice.question.text[name]
                chosen = attribute.type in ("choice", "choices")
                shown = attribute.show(self.advice.question.given[name]) if chosen else written
                grade = self.advice.question.grade
                if name == "grade" and grade is not None and not grade.name.startswith(written):
                    shown = f"{written} ({grade.name})"
                if attribute.type == "number":
                    shown = f"{written} {attribute.unit}"
                yield attribute, typeset(shown), self.change_link(name)

    def assumed(self) -> Iterator[tuple[Attribute, str, Rule]]:
        """Yield each assumption: attribute, value, rule."""
        kb = self.consultant.kb
        for name, rule in self.advice.outcome.assumed.items():
            attribute = kb.attributes[name]
            yield attribute, attribute.show(self.advice.outcome.values[name]), kb.rules_by_id[rule]

    def plan_assumed(self) -> list[str]:
        """Return what the bench plan took for granted: usual stones, thickness, length or state of the edge."""
        texts = self.consultant.bench.planning.texts.templates
        starts = tuple(texts[key].split("{")[0] for key in ("note.no-kit", "note.assumed"))
        return [n for n in (self.advice.plan.notes if self.advice.plan else ()) if n.startswith(starts)]

    def read_as(self) -> Iterator[str]:
        """Yield how grain sizes without a scale were read."""
        question = self.advice.question
        for size in (question.finish, question.compound, *question.progression):
            if size is not None and size.assumed:
                others = ", ".join(f"{scale_words(scale)} {number(um)} µm" for scale, um in size.alternatives)
                yield f"“{size.given}” was read as {size.label}, {number(size.um)} µm; elsewhere: {others}"

    # ---- why ------------------------------------------------------------------------------------

    @cached_property
    def reasons(self) -> list[tuple[str, list[Reason]]]:
        """Return the rules behind each figure, then those that describe steel and edge."""
        return reasons_of(self.advice)

    def trade_offs(self) -> Iterator[tuple[str, list[Rule], list[Rule], str]]:
        """Yield each trade-off: what it is about, rules that stand, rules that give way, why."""
        kb = self.consultant.kb
        for band in self.advice.outcome.bands.values():
            for trade in band.trade_offs:
                yield (
                    kb.targets[band.target].label,
                    [kb.rules_by_id[r] for r in trade.stands if r in kb.rules_by_id],
                    [kb.rules_by_id[r] for r in trade.gives_way if r in kb.rules_by_id],
                    trade.why,
                )

    @cached_property
    def near_misses(self) -> list[dict[str, Any]]:
        """Return rules that one condition kept from counting."""
        return near_misses(self.advice.outcome, self.consultant.reasoner.compiled.rules)

    @cached_property
    def sources(self) -> list[Source]:
        """Return every source behind this answer, once, by title."""
        kb = self.consultant.kb
        keys = {s for rule in self.advice.outcome.effective for s in rule.sources}
        return sorted((kb.sources[k] for k in keys), key=lambda s: s.title.lower())

    # ---- what next ------------------------------------------------------------------------------

    def ask_next(self) -> Iterator[tuple[str, str, str]]:
        """Yield each open question, how far it could move the answer, and where to answer it."""
        for entry in self.advice.ask_next:
            yield entry["question"], moves_words(entry["moves"]), self.change_link(entry["attribute"])

    @cached_property
    def would_change(self) -> list[tuple[str, list[tuple[str, str, list[str]]]]]:
        """Return, for each input, the other values with their address and what they would change."""
        groups: dict[str, list[tuple[str, str, list[str]]]] = {}
        for entry in self.advice.would_change:
            attribute = self.consultant.kb.attributes[entry["attribute"]]
            value = attribute.show(entry["to"])
            link = self.link(f"advice.{self.mode}", **{attribute.name: entry["to"]})
            changes = [self._change(c) for c in entry["changes"]]
            groups.setdefault(attribute.label, []).append((value, link, changes))
        return list(groups.items())

    def _change(self, change: Mapping[str, Any]) -> str:
        kb, about = self.consultant.kb, change["about"]
        if about in kb.targets:
            unit = {"degrees per side": "°"}.get(kb.targets[about].unit, f" {kb.targets[about].unit}")
            ends = [number(e["pick"]) if e else "none" for e in (change["before"], change["after"])]
            if ends[0] == ends[1]:
                return f"{kb.targets[about].label}: other band, still {ends[1]}{unit}"
            return f"{kb.targets[about].label} {ends[0]} → {ends[1]}{unit}"
        attribute = kb.attributes[about]
        return f"{attribute.label}: {attribute.show(change['after'])}"

    def topic(self, *names: str) -> list[Any]:
        """Return the notes of some topics."""
        return [n for name in names for n in self.advice.by_topic(name)]

    def rules(self, names: Iterable[str]) -> list[Rule]:
        """Return rules by id, those that exist."""
        return [self.consultant.kb.rules_by_id[n] for n in names if n in self.consultant.kb.rules_by_id]


def _level(verdict: Verdict) -> str:
    """Return wrong, works (allowed, but not what the rules aim for) or fits."""
    if not verdict.good:
        return "wrong"
    return "fits" if verdict.verdict == "fits" else "works"
