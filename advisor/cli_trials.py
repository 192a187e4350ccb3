"""``whetrule trials``: check records of trials, and see where practice contradicts the rules."""

from __future__ import annotations

import json
import os
from pathlib import Path

import click

from advisor.cli_base import consultant_of, knowledge
from advisor.errors import InputError
from advisor.report.layout import heading, item, paragraph


@click.group("trials")
def trials() -> None:
    """What people measured, and where it disagrees with the rules."""


def _path(name: str) -> Path:
    if not os.path.isfile(name):
        raise InputError(f"there is no file '{name[:80]}'", field="file", hint="name a YAML file of trials")
    return Path(name)


@trials.command("check")
@click.argument("file")
@click.pass_context
def check(ctx: click.Context, file: str) -> None:
    """Check a file of trials."""
    from advisor.trials.model import read_trials

    found = read_trials(_path(file), knowledge(ctx))
    click.echo(f"{file}: {len(found)} trials, nothing wrong.")


@trials.command("compare")
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
@click.pass_context
def compare(ctx: click.Context, file: str, as_json: bool) -> None:
    """Compare trials with the advice; contradictions first."""
    from advisor.trials.contradictions import compare_trials, to_json
    from advisor.trials.model import read_trials

    ctx.find_root().meta["as_json"] = as_json
    consultant = consultant_of(ctx)
    reports, records = compare_trials(consultant, read_trials(_path(file), consultant.kb))
    if as_json:
        click.echo(json.dumps(to_json(reports, records), ensure_ascii=False, indent=2))
        return
    against = [r for r in reports if not r.agrees]
    lines = heading(f"{len(against)} of {len(reports)} trials contradict the rules")[1:]
    for report in sorted(reports, key=lambda r: (r.agrees, r.trial.date, r.trial.id)):
        lines += item(f"{report.trial.date} {report.trial.id}: {report.says}", "+" if report.agrees else "x")
        if report.against:
            lines += paragraph("Speaks against: " + ", ".join(report.against), 6)
    if records:
        lines += heading("Rules, by what practice says")
        lines += [row for r in records for row in item(f"{r.rule}: {r.against} against, {r.backed} for")]
    lines += [
        "",
        *paragraph("One trial is an anecdote: knives of one grade differ. Counts tell where to look, no more."),
    ]
    click.echo("\n".join(lines))
