"""The commands that write and show rules: ``whetrule rules new``, ``show`` and ``schemas``."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from advisor.cli_curation import FINDINGS, open_rules, print_json


@click.command("new")
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

    for path in new_rule(open_rules().kb, id, topic, verb):
        click.echo(path)


@click.command("show")
@click.argument("id")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def show_command(id: str, as_json: bool) -> None:
    """Print one rule: text, limits, sources, cases, the answers it binds, its history."""
    from advisor.curation.show import as_text, rule_page

    page = rule_page(open_rules(), id)
    if as_json:
        print_json(page.to_json())
    else:
        click.echo(as_text(page))


@click.command("schemas")
@click.option("--check", is_flag=True, help="Only tell what is out of date; exit with 2 if anything is.")
def schemas_command(check: bool) -> None:
    """Generate the schema of the vocabulary's words and the field reference in DEVELOPERS.md."""
    from advisor.curation.fields import DOCUMENT, stale_document, write_document
    from advisor.curation.words_schema import stale_schemas, write_schemas

    kb = open_rules().kb
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
