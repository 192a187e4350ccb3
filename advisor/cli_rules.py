"""The commands of curators: ``whetrule rules ...``.

Exit codes: 0 clean, 1 wrong usage or knowledge that cannot be loaded, 2 findings.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from advisor.errors import ErrorList, KnowledgeError, WhetruleError

if TYPE_CHECKING:
    from advisor.consult import Consultant
    from advisor.curation.lint import Finding

FINDINGS = 2


class RulesGroup(click.Group):
    """A group whose errors are messages with exit code 1, also for wrong usage of its commands."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except WhetruleError as exc:
            for error in exc.errors if isinstance(exc, ErrorList) else [exc]:
                click.echo(f"whetrule: {error}", err=True)
            sys.exit(1)
        except click.ClickException as exc:
            exc.show()
            sys.exit(1)


@click.group("rules", cls=RulesGroup, context_settings={"help_option_names": ["-h", "--help"]})
def rules() -> None:
    """Check, measure and extend the knowledge; exit codes: 0 clean, 1 cannot run, 2 findings."""


def _folder() -> str | None:
    folder: str | None = click.get_current_context().find_root().params.get("rules")
    return folder


def _consultant(folder: str | None = None) -> Consultant:
    from advisor.consult import Consultant
    from advisor.knowledge.load import load_knowledge, rules_folder

    path = rules_folder(folder or _folder())
    # A compiled copy may stem from another folder of the same content.
    kb = replace(load_knowledge(path), folder=str(path))
    try:
        return Consultant.of(kb)
    except (KeyError, TypeError, ValueError) as exc:
        raise KnowledgeError(
            f"holds figures that this version of the program cannot read ({type(exc).__name__}: {exc})",
            path=str(path),
            hint="compare with rules of the same version",
        ) from exc


def _json(data: Any) -> None:
    click.echo(json.dumps(data, ensure_ascii=False, indent=2))


@contextmanager
def _progress(total: int, label: str) -> Iterator[Callable[[int], Any]]:
    """Show a progress bar on standard error, so that what is printed can be piped."""
    with click.progressbar(length=total, label=label, file=sys.stderr) as bar:
        yield bar.update


@rules.command("cases")
@click.argument("ids", nargs=-1)
@click.option(
    "--base", metavar="BASE", help="Show how each failing case's run differs from this folder or revision."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def cases_command(ids: tuple[str, ...], base: str | None, as_json: bool) -> None:
    """Run the recorded cases, all or those named."""
    from advisor.curation.cases import run_cases, text_report
    from advisor.curation.revisions import rules_at

    consultant = _consultant()
    results = run_cases(consultant, ids)
    if as_json:
        _json([r.to_json() for r in results])
    elif base:
        with rules_at(base, Path(consultant.kb.folder)) as folder:
            click.echo(text_report(results, _consultant(str(folder))))
    else:
        click.echo(text_report(results))
    if any(r.state == "failed" for r in results):
        sys.exit(FINDINGS)


@rules.command("coverage")
@click.option(
    "--threshold", type=click.FloatRange(0, 100), default=0.0, help="Least per cent of rules covered."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def coverage_command(threshold: float, as_json: bool) -> None:
    """Tell which rules, words, verdicts and causes the cases reach; below the threshold, exit with 2."""
    from advisor.curation.cases import run_cases
    from advisor.curation.coverage import measure, text_report

    consultant = _consultant()
    coverage = measure(consultant, run_cases(consultant))
    if as_json:
        _json(coverage.to_json())
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
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "github"]), default="text", show_default=True
)
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
        consultant = _consultant()
    except (KnowledgeError, ErrorList) as exc:
        _print_findings(load_errors(exc), form)
        sys.exit(1)
    grid = Grid.of(consultant.kb)
    numbers = grid.sample(sample, seed) if sample else grid.everything
    with ExitStack() as stack:
        before = None
        if base:
            folder = stack.enter_context(rules_at(base, Path(consultant.kb.folder)))
            before = _consultant(str(folder)).kb
        progress = stack.enter_context(_progress(len(numbers), "asking"))
        found = run_checks(Subject(consultant, before, grid, numbers, jobs, progress), only)
    _print_findings(found, form)
    if any(not f.excepted for f in found):
        sys.exit(FINDINGS)


def _print_findings(found: list[Finding], form: str) -> None:
    from advisor.curation import lint_report

    if form == "json":
        _json(lint_report.as_json(found))
    else:
        click.echo(lint_report.as_github(found) if form == "github" else lint_report.as_text(found))


@rules.command("impact")
@click.argument("base")
@click.argument("head", required=False)
@click.option(
    "--format", "form", type=click.Choice(["text", "markdown", "json"]), default="text", show_default=True
)
@click.option(
    "--picture", type=click.Path(dir_okay=False, writable=True), help="Write how the picks moved as SVG."
)
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

    here = rules_folder(_folder())
    with ExitStack() as stack:
        before, after = (
            _consultant(str(stack.enter_context(rules_at(name, here)))) for name in (base, head or str(here))
        )
        grid = shared_grid(before.kb, after.kb)
        chosen = (sample, seed) if sample else None
        progress = stack.enter_context(_progress(len(grid.sample(*chosen) if chosen else grid), "asking"))
        found = compare(before, after, grid=grid, sample=chosen, jobs=jobs, progress=progress)
    if picture:
        Path(picture).write_text(as_svg(found), encoding="utf-8")
    if form == "json":
        _json(impact_report.as_json(found))
    else:
        click.echo(impact_report.as_markdown(found) if form == "markdown" else impact_report.as_text(found))


@rules.command("new")
@click.argument("id")
@click.option("--topic", required=True, help="Folder of rules/ it goes into, for example finish.")
@click.option(
    "--verb",
    default="favour",
    show_default=True,
    help="conclude, assume, favour, limit, shift, advise, suspect.",
)
def new_command(id: str, topic: str, verb: str) -> None:
    """Write a draft rule and its two cases; what is marked TODO is left to you."""
    from advisor.curation.scaffold import new_rule

    for path in new_rule(_consultant().kb, id, topic, verb):
        click.echo(path)


@rules.command("show")
@click.argument("id")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def show_command(id: str, as_json: bool) -> None:
    """Print one rule: text, limits, sources, cases, the answers it binds, its history."""
    from advisor.curation.show import as_text, rule_page

    page = rule_page(_consultant(), id)
    if as_json:
        _json(page.to_json())
    else:
        click.echo(as_text(page))


@rules.command("schemas")
@click.option("--check", is_flag=True, help="Only tell what is out of date; exit with 2 if anything is.")
def schemas_command(check: bool) -> None:
    """Generate the schema of the vocabulary's words and the field reference in DEVELOPERS.md."""
    from advisor.curation.fields import DOCUMENT, stale_document, write_document
    from advisor.curation.words_schema import stale_schemas, write_schemas

    kb = _consultant().kb
    folder = Path(kb.folder)
    if check:
        stale = [*stale_schemas(kb), *([DOCUMENT] if stale_document(folder) else [])]
        for name in stale:
            click.echo(f"{name} is out of date; run 'whetrule rules schemas'")
        sys.exit(FINDINGS if stale else 0)
    click.echo(write_schemas(kb))
    written = write_document(folder)
    if written:
        click.echo(written)


if __name__ == "__main__":
    rules(prog_name="whetrule rules")
