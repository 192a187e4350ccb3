"""The rules, the grades, the sources, and what this site is."""

from __future__ import annotations

from flask import Blueprint, abort, render_template, request, url_for
from flask.typing import ResponseReturnValue

from advisor.knowledge.catalogue import names_by_kind, near_grades, search_grades
from advisor.knowledge.model import Case
from advisor.knowledge.rule import Rule
from advisor.web.query import query_string
from advisor.web.rule_text import conclusion_words, search_rules
from advisor.web.state import site

pages = Blueprint("catalogue", __name__)

LONGEST_SEARCH = 200


def _word(name: str) -> str:
    return "".join(c for c in request.args.get(name, "")[:LONGEST_SEARCH] if c.isprintable()).strip()


@pages.get("/rules")
def rules() -> ResponseReturnValue:
    """Catalogue of all rules, searchable by word, topic and status."""
    kb = site().consultant.kb
    words, topic, status = _word("q"), _word("topic"), _word("status")
    found = [r for r in search_rules(kb, words) if topic in ("", r.topic) and status in ("", r.status)]
    by_topic: dict[str, list[Rule]] = {}
    for rule in found:
        by_topic.setdefault(rule.topic, []).append(rule)
    return render_template(
        "rules.html",
        by_topic=dict(sorted(by_topic.items())),
        count=len(found),
        words=words,
        topic=topic,
        status=status,
        topics=sorted({r.topic for r in kb.rules}),
        statuses=sorted({r.status for r in kb.rules}),
        says=lambda r: conclusion_words(r, kb),
    )


@pages.get("/rules/<rule_id>")
def rule(rule_id: str) -> ResponseReturnValue:
    """One rule with its conditions, limits, sources and cases; or why its id is retired."""
    kb = site().consultant.kb
    found = kb.rules_by_id.get(rule_id)
    if found is None:
        if rule_id in kb.retired:
            return render_template("retired.html", rule_id=rule_id, why=kb.retired[rule_id]), 410
        abort(404)
    cases = [
        (kind, [(c, _case_link(c)) for n in names if (c := kb.cases.get(n))])
        for kind, names in (("Fires in", found.fires_in), ("Stays quiet in", found.quiet_in))
    ]
    return render_template("rule.html", rule=found, says=conclusion_words(found, kb), cases=cases)


def _case_link(case: Case) -> str | None:
    """Return the address that asks a case's question; None for a kit given as data."""
    if any(isinstance(v, dict) for v in case.inputs.values()):
        return None
    return f"{url_for(f'advice.{case.mode}')}?{query_string(case.inputs)}"


@pages.get("/grades")
def grades() -> ResponseReturnValue:
    """The catalogue of steels, searchable by any designation, alias or group."""
    kb, words = site().consultant.kb, _word("q")
    found = search_grades(kb, words)
    near = [g for _, g in near_grades(kb, words)] if words and not found else []
    return render_template("grades.html", found=found, near=near, words=words)


@pages.get("/grades/<path:grade_id>")
def grade(grade_id: str) -> ResponseReturnValue:
    """One steel."""
    kb = site().consultant.kb
    found = kb.grades.get(grade_id)
    if found is None:
        abort(404)
    return render_template("grade.html", grade=found, designations=names_by_kind(found))


@pages.get("/sources")
def sources() -> ResponseReturnValue:
    """Every source, and the rules and grades that rest on it."""
    kb = site().consultant.kb
    cited: dict[str, list[Rule]] = {}
    for one in kb.rules:
        for key in one.sources:
            cited.setdefault(key, []).append(one)
    steels = {key: sum(key in g.sources for g in kb.grades.values()) for key in kb.sources}
    found = sorted(kb.sources.values(), key=lambda s: s.title.lower())
    return render_template("sources.html", found=found, cited=cited, steels=steels)


@pages.get("/about")
def about() -> ResponseReturnValue:
    """What this is, what it cannot do, and under which licences."""
    return render_template("about.html")
