"""The commands of curators: ``whetrule rules ...``.

Exit codes: 0 clean, 1 wrong usage or knowledge that cannot be loaded, 2 findings.
"""

from __future__ import annotations

import sys
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

import click

from advisor.cli_curation import FINDINGS, RulesGroup, given_folder, open_rules, print_json, progress_bar
from advisor.cli_rules_edit import new_command, schemas_command, show_command
from advisor.errors import ErrorList, InputError, KnowledgeError

if TYPE_CHECKING:
    from advisor.curation.finding import Finding


@click.group("rules", cls=RulesGroup, context_settings={"help_option_names": ["-h", "--help"]})
def rules() -> None:
    """Check, measure and extend the knowledge; exit codes: 0 clean, 1 cannot run, 2 findings."""


for _command in (new_command, show_command, schemas_command):
    rules.add_command(_command)


@rules.command("cases")
@click.argument("ids", nargs=-1)
@click.option("--base", metavar="BASE", help="Show how each failing case's run differs from this folder or revision.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def cases_command(ids: tuple[str, ...], base: str | None, as_json: bool) -> None:
    """Run the recorded cases, all or those named."""
    from advisor.curation.cases import run_cases, text_report
    from advisor.curation.revisions import rules_at

    consultant = open_rules()
    results = run_cases(consultant, ids)
    if as_json:
        print_json([r.to_json() for r in results])
    elif base:
        with rules_at(base, Path(consultant.kb.folder)) as folder:
            click.echo(text_report(results, open_rules(str(folder))))
    else:
        click.echo(text_report(results))
    if any(r.state == "failed" for r in results):
        sys.exit(FINDINGS)


@rules.command("coverage")
@click.option("--threshold", type=click.FloatRange(0, 100), default=0.0, help="Least per cent of rules covered.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def coverage_command(threshold: float, as_json: bool) -> None:
    """Tell which rules, words, verdicts and causes the cases reach; below the threshold, exit with 2."""
    from advisor.curation.cases import run_cases
    from advisor.curation.coverage import measure, text_report

    consultant = open_rules()
    coverage = measure(consultant, run_cases(consultant))
    if as_json:
        print_json(coverage.to_json())
    else:
        click.echo(text_report(coverage))
    if coverage.percent < threshold:
        sys.exit(FINDINGS)


@rules.command("lint")
@click.option("--base", metavar="BASE", help="Judge the change against this folder or git revision as well.")
@click.option("--check", "only", multiple=True, metavar="ID", help="Run only this check; may be given again.")
@click.option("--explain", metavar="ID", help="Print the help page of a check and stop.")
@click.option("--sample", type=click.IntRange(1), help="Ask only so many questions of the grid.")
@click.option("--seed", type=int, default=1, show_default=True, help="Seed of the sample.")
@click.option("--jobs", type=click.IntRange(1), help="Processes; all cores by default.")
@click.option("--format", "form", type=click.Choice(["text", "json", "github"]), default="text", show_default=True)
def lint_command(
    base: str | None,
    only: tuple[str, ...],
    explain: str | None,
    sample: int | None,
    seed: int,
    jobs: int | None,
    form: str,
) -> None:
    """Look for conflicts, shadowed and impossible rules, gaps, and what else the schema cannot see."""
    from advisor.curation.grid import Grid
    from advisor.curation.lint import Subject, help_page, load_errors, run_checks
    from advisor.curation.revisions import rules_at

    if explain:
        click.echo(help_page(explain))
        return
    try:
        consultant = open_rules()
    except (KnowledgeError, ErrorList) as exc:
        _print_findings(load_errors(exc), form)
        sys.exit(1)
    grid = Grid.of(consultant.kb)
    numbers = grid.sample(sample, seed) if sample else grid.everything
    with ExitStack() as stack:
        before = None
        if base:
            folder = stack.enter_context(rules_at(base, Path(consultant.kb.folder)))
            before = open_rules(str(folder)).kb
        progress = stack.enter_context(progress_bar(len(numbers), "asking"))
        found = run_checks(Subject(consultant, before, grid, numbers, jobs, progress), only)
    _print_findings(found, form)
    if any(not f.excepted for f in found):
        sys.exit(FINDINGS)


def _print_findings(found: list[Finding], form: str) -> None:
    from advisor.curation import lint_report

    if form == "json":
        print_json(lint_report.as_json(found))
    else:
        click.echo(lint_report.as_github(found) if form == "github" else lint_report.as_text(found))


@rules.command("impact")
@click.argument("base")
@click.argument("head", required=False)
@click.option("--format", "form", type=click.Choice(["text", "markdown", "json"]), default="text", show_default=True)
@click.option("--picture", type=click.Path(dir_okay=False, writable=True), help="Write how the picks moved as SVG.")
@click.option("--sample", type=click.IntRange(1), help="Ask only so many questions of the grid.")
@click.option("--seed", type=int, default=1, show_default=True, help="Seed of the sample.")
@click.option("--jobs", type=click.IntRange(1), help="Processes; all cores by default.")
def impact_command(
    base: str,
    head: str | None,
    form: str,
    picture: str | None,
    sample: int | None,
    seed: int,
    jobs: int | None,
) -> None:
    """Ask two knowledge bases the whole grid and tell which answers differ.

    BASE and HEAD are folders or git revisions; without HEAD, the rules in use.
    """
    from advisor.curation import impact_report
    from advisor.curation.grid import shared_grid
    from advisor.curation.impact import compare
    from advisor.curation.impact_picture import as_svg
    from advisor.curation.revisions import rules_at
    from advisor.knowledge.load import rules_folder

    here = rules_folder(given_folder())
    with ExitStack() as stack:
        before, after = (
            open_rules(str(stack.enter_context(rules_at(name, here)))) for name in (base, head or str(here))
        )
        grid = shared_grid(before.kb, after.kb)
        chosen = (sample, seed) if sample else None
        progress = stack.enter_context(progress_bar(len(grid.sample(*chosen) if chosen else grid), "asking"))
        found = compare(before, after, grid=grid, sample=chosen, jobs=jobs, progress=progress)
    if picture:
        try:
            Path(picture).write_text(as_svg(found), encoding="utf-8")
        except OSError as exc:
            raise InputError(
                f"cannot write '{picture}' ({exc.strerror})", field="picture", hint="name a file in a folder of yours"
            ) from exc
    if form == "json":
        print_json(impact_report.as_json(found))
    else:
        click.echo(impact_report.as_markdown(found) if form == "markdown" else impact_report.as_text(found))


if __name__ == "__main__":
    rules(prog_name="whetrule rules")
