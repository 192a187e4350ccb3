"""The command ``whetrule bench``."""

from __future__ import annotations

import json

import click


@click.command("bench")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
@click.option(
    "--questions",
    default=300,
    show_default=True,
    type=click.IntRange(3, 100_000),
    help="Questions for the engine; a third of them for whole answers.",
)
@click.option(
    "--sweep",
    default=20_000,
    show_default=True,
    type=click.IntRange(1),
    help="Questions of the whole grid, at most.",
)
@click.option("--grade", default="440C", show_default=True, help="Grade asked for at start-up.")
@click.pass_context
def bench(ctx: click.Context, as_json: bool, questions: int, sweep: int, grade: str) -> None:
    """Measure speed, memory and start-up; against CLIPS too where clipspy is installed."""
    from advisor.bench.report import lines, measure

    report = measure(ctx.find_root().params.get("rules"), questions=questions, sweep=sweep, grade=grade)
    if as_json:
        click.echo(json.dumps(report, ensure_ascii=False, indent=2))
    else:
        click.echo("\n".join(lines(report)))
