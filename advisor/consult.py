"""The only way through: question -> facts -> rules -> bands -> plan -> Advice.

Command line, web, cases, impact and trials all come through a Consultant; it is built once from the
knowledge base, never changes, and may be used by several threads at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor.advice import Advice, Note
from advisor.checking import judge
from advisor.computing import computations
from advisor.diagnosis import rank_causes
from advisor.errors import InputError, KnowledgeError
from advisor.facts import Facts
from advisor.figures import computed_figures
from advisor.inference.reason import Outcome, Reasoner
from advisor.inference.trace import build_trace, filled
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.words import did_you_mean
from advisor.planning.model import Plan, PlanRequest
from advisor.planning.plan import make_plan
from advisor.question import Question, parse_question
from advisor.sensitivity import ask_next, would_change
from advisor.summary import firmness_words, summarise
from advisor.tolerance import other_readings, within_reading
from advisor.workbench import Workbench

MODES = ("ask", "check", "diagnose")


@dataclass(frozen=True)
class Consultant:
    """A knowledge base ready to answer.

    Attributes:
        kb, bench, facts, reasoner: knowledge, calculators, computed facts and compiled rules.
    """

    kb: KnowledgeBase
    bench: Workbench
    facts: Facts
    reasoner: Reasoner

    @staticmethod
    def open(folder: str | Path | None = None, *, use_cache: bool = True) -> Consultant:
        """Load a rules/ folder, the shipped one by default, and get ready.

        Raises:
            ErrorList: what is wrong in the knowledge files.
        """
        return Consultant.of(load_knowledge(folder, use_cache=use_cache))

    @staticmethod
    def of(kb: KnowledgeBase) -> Consultant:
        """Get ready to answer from a loaded knowledge base.

        Raises:
            KnowledgeError: a file of figures is missing or is of another version of the program.
        """
        try:
            bench = Workbench.build(kb)
            facts = Facts(bench)
            return Consultant(kb, bench, facts, Reasoner.build(kb, computations(facts)))
        except (KeyError, TypeError, ValueError) as exc:
            raise KnowledgeError(
                f"holds figures that this version of the program cannot read ({type(exc).__name__}: {exc})",
                path=kb.folder,
                hint="compare with rules of the same version",
            ) from exc

    def question(self, raw: Mapping[str, Any]) -> Question:
        """Check raw inputs; see parse_question."""
        return parse_question(raw, self.bench)

    def ask(self, question: Question, mode: str = "ask", *, sensitivity: bool = True) -> Advice:
        """Answer a question.

        Args:
            question: checked inputs.
            mode: ask; check also judges the planned edge; diagnose also ranks causes.
            sensitivity: also find what to ask next and what would change the answer.

        Raises:
            ConflictError: rules of equal rank disagree; the message names them.
            InputError: there is no such mode.
        """
        if mode not in MODES:
            raise InputError(f"there is no mode '{mode}'", field="mode", hint=did_you_mean(mode, MODES))
        outcome = self.reasoner.reason(question.given)
        bands = outcome.bands
        finish = bands.get("finish")
        return Advice(
            mode=mode,
            question=question,
            outcome=outcome,
            summary=summarise(outcome),
            angle=bands.get("angle"),
            finish=finish,
            strop_passes=bands.get("strop.passes"),
            strop_compound=bands.get("strop.compound"),
            grit=self.bench.scales.views(finish.pick) if finish else {},
            firmness=firmness_words(outcome, self.bench.strops),
            plan=self._plan(question, outcome),
            notes=_notes(outcome),
            computed=computed_figures(outcome, self.bench, self.facts) | self._uncertain(question, outcome),
            trace=tuple(build_trace(outcome)),
            ask_next=tuple(ask_next(self.reasoner, question, outcome)) if sensitivity else (),
            would_change=tuple(would_change(self.reasoner, question, outcome)) if sensitivity else (),
            verdicts=judge(self.reasoner, question, outcome, self.bench.strops) if mode == "check" else (),
            causes=rank_causes(outcome) if mode == "diagnose" else (),
        )

    def _uncertain(self, question: Question, outcome: Outcome) -> dict[str, Any]:
        found: dict[str, Any] = {}
        if reading := within_reading(self.reasoner, question, outcome, self.bench.hardness):
            found["hardness_reading"] = reading
        if others := other_readings(self.reasoner, question, outcome):
            found["finish_on_other_scales"] = others
        return found

    def _plan(self, question: Question, outcome: Outcome) -> Plan | None:
        angle, finish = outcome.bands.get("angle"), outcome.bands.get("finish")
        if angle is None or finish is None:
            return None
        values = outcome.values
        compound, passes = outcome.bands.get("strop.compound"), outcome.bands.get("strop.passes")
        verdict = values.get("strop.verdict")
        request = PlanRequest(
            angle_deg=angle.pick,
            finish_coarsest_um=finish.high,
            finish_pick_um=finish.pick,
            finish_finest_um=finish.low,
            abrasive=_word(values.get("abrasive")),
            kit=question.kit,
            edge_state=_word(values.get("edge_state")),
            chip_depth_mm=_number(values.get("chip_depth")),
            present_angle_deg=_number(values.get("present_angle")),
            edge_thickness_mm=_number(values.get("edge_thickness")),
            edge_length_mm=_number(values.get("edge_length")),
            wear_resistance=_number(values.get("wear.resistance")) or 1.0,
            hardest_family=self.facts.hardest_family(values),
            burr_kind=_word(values.get("burr.kind")),
            strop_allowed=verdict is not None and verdict != "leave-out",
            strop_min_passes=round(passes.low) if passes else None,
            strop_max_passes=round(passes.high) if passes else None,
            strop_compound_coarsest_um=compound.high if compound else None,
            strop_compound_finest_um=compound.low if compound else None,
            strop_firmness=firmness_words(outcome, self.bench.strops),
            rod_reach_mm=_number(values.get("rod_reach")),
        )
        return make_plan(request, self.bench.planning)


def _word(value: Any) -> str | None:
    return value if isinstance(value, str) else None


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, (int, float)) else None


def _notes(outcome: Outcome) -> tuple[Note, ...]:
    kb = outcome.kb
    found = [r for r in outcome.effective if r.then.verb == "advise" and r.then.subject != "check"]
    topics = list(kb.topics)
    found.sort(key=lambda r: (topics.index(r.then.subject), r.then.order, r.id))
    return tuple(
        Note(
            r.then.subject,
            filled(r.then.text, outcome.values, kb),
            r.id,
            r.status,
            r.basis,
            filled(r.because, outcome.values, kb),
            r.does_not_apply_when,
            tuple(kb.sources[s].cite() for s in r.sources),
        )
        for r in found
    )
