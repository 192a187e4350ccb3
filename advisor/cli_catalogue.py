"""``whetrule compare``, ``grades`` and ``kit``."""

from __future__ import annotations

import json
from typing import Any

import click

from advisor.cli_base import QuestionCommand, consultant_of, example_kits, kit_from, knowledge, question_from
from advisor.errors import InputError


@click.command("compare", cls=QuestionCommand, sections=("work", "bench", "edge"))
@click.argument("grade_names", metavar="GRADES...", nargs=-1, required=True)
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def compare(grade_names: tuple[str, ...], as_json: bool, **given: Any) -> None:
    """Put two to five grades side by side on the same work; GRADE@HRC sets a hardness."""
    from advisor.compare import compare as put_side_by_side
    from advisor.compare import option_inputs
    from advisor.report.layout import heading, item, paragraph

    ctx = click.get_current_context()
    ctx.find_root().meta["as_json"] = as_json
    consultant = consultant_of(ctx)
    questions = []
    for text in grade_names:
        questions.append(question_from(consultant, None, {**given, **option_inputs(text)}))
    found = put_side_by_side(consultant, questions)
    if as_json:
        click.echo(json.dumps(found.to_json(), ensure_ascii=False, indent=2))
        return
    for label, cells in found.rows:
        click.echo("\n".join(heading(label)[1:]))
        for option, cell in zip(found.options, cells, strict=True):
            click.echo("\n".join(paragraph(f"{option.short}: {cell}", 2)))
        click.echo()
    click.echo("\n".join([*heading("What decides")[1:], *(row for s in found.decides for row in item(s))]))


@click.command("grades")
@click.argument("words", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
@click.pass_context
def grades(ctx: click.Context, words: tuple[str, ...], as_json: bool) -> None:
    """List the catalogue, or search it by any designation, alias or group."""
    from advisor.knowledge.catalogue import near_grades, near_words, search_grades
    from advisor.report.layout import table

    kb = knowledge(ctx)
    text = " ".join(words)
    found = search_grades(kb, text)
    if as_json:
        rows = [
            {
                "id": g.id,
                "name": g.name,
                "group": g.group,
                "designations": dict(g.designations),
                "aliases": list(g.aliases),
                "hardness": [g.hardness_low, g.hardness_high, g.hardness_max],
            }
            for g in found
        ]
        click.echo(json.dumps(rows, ensure_ascii=False, indent=2))
        return
    if not found:
        near = near_grades(kb, text)
        raise InputError(
            f"no grade answers to '{text[:40]}'",
            field="grades",
            hint=f"did you mean {near_words(near)}?" if near else "try fewer letters",
        )
    cells = []
    for g in found:
        hrc = f"{g.hardness_low:g}-{g.hardness_high:g}" if g.hardness_low is not None else ""
        others = [d for d in (*g.designations.values(), *g.aliases) if d not in g.name]
        cells.append([g.name, hrc, f"{g.group}. {', '.join(others)}".strip(". ")])
    click.echo("\n".join(table(["Grade", "HRC", "Group, other names"], cells)))


@click.group("kit")
def kit() -> None:
    """Your stones, films and strops."""


@kit.command("check")
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
@click.pass_context
def kit_check(ctx: click.Context, file: str, as_json: bool) -> None:
    """Check a kit file and show its ladder in micrometres, with gaps."""
    from advisor.abrasives.kit import kit_from_data, kit_from_text
    from advisor.abrasives.stones import LadderLimits
    from advisor.report.layout import heading, item
    from advisor.summary import number

    ctx.find_root().meta["as_json"] = as_json
    bench = consultant_of(ctx).bench
    found = kit_from(file, example_kits(bench.kb))
    if isinstance(found, str) and f"kits/{found}.yaml" not in bench.kb.data:
        owned = kit_from_text(found, bench.scales, bench.kit_words)
    else:
        data = bench.kb.data[f"kits/{found}.yaml"] if isinstance(found, str) else found
        owned = kit_from_data(data, bench.scales, bench.kit_words)
    rungs = owned.ladder(LadderLimits.from_data(bench.kb.data["abrasives/kit.yaml"]))
    if as_json:
        steps = [
            {"stone": r.stone.name, "um": r.stone.um, "ratio": r.ratio, "gap": r.gap, "adds_little": r.adds_little}
            for r in rungs
        ]
        click.echo(json.dumps({"kit": owned.to_json(), "ladder": steps}, ensure_ascii=False, indent=2))
        return
    lines = heading(f"{owned.name}: {len(owned.items)} items")[1:]
    for rung in rungs:
        ratio = f"  {number(1 / rung.ratio)} times finer" if rung.ratio else ""
        gap = "  GAP: too wide a step" if rung.gap else ""
        little = "  adds little to the one before" if rung.adds_little else ""
        lines += item(f"{number(rung.um)} µm  {rung.stone.name}{ratio}{gap}{little}")
    for strop in owned.strops():
        size = f"{number(strop.um)} µm on " if strop.um else "bare "
        lines += item(f"strop: {strop.name}, {size}{strop.backing or 'backing not said'}")
    click.echo("\n".join(lines))
