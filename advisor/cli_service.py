"""``whetrule serve`` and ``whetrule validate``."""

from __future__ import annotations

import json
import logging
import sys
from typing import TYPE_CHECKING

import click

from advisor.cli_base import consultant_of, knowledge
from advisor.errors import InputError

if TYPE_CHECKING:
    from advisor.validation_row import ValidationRow


LONGEST_HEADER = 2 * 1024 * 1024
"""Bytes of a request's head; a longer address than any kit needs still gets Whetrule's own clear answer."""


@click.command("serve")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8000, show_default=True, type=click.IntRange(1, 65535), help="Port to listen on.")
@click.option("--threads", default=4, show_default=True, type=click.IntRange(1, 64), help="Worker threads.")
@click.pass_context
def serve(ctx: click.Context, host: str, port: int, threads: int) -> None:
    """Serve the web form."""
    from waitress import create_server

    from advisor.web import create_app

    app = create_app(consultant_of(ctx))
    try:
        server = create_server(
            app,
            host=host,
            port=port,
            threads=threads,
            ident="whetrule",
            max_request_header_size=LONGEST_HEADER,
        )
    except OSError as exc:
        raise InputError(
            f"cannot listen on {host}:{port} ({exc.strerror})", field="port", hint="choose another --port"
        ) from exc
    except ValueError as exc:
        raise InputError(
            f"'{host}' is no address of this machine", field="host", hint="give one such as 127.0.0.1"
        ) from exc
    # A request that waits its turn is no news for whoever started the server.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    click.echo(f"Whetrule is at http://{host}:{port}/ (stop with Ctrl-C)")
    server.run()


@click.command("validate")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
@click.option("--all", "show_all", is_flag=True, help="Print every row, not only what is missed and a count.")
@click.pass_context
def validate(ctx: click.Context, as_json: bool, show_all: bool) -> None:
    """Compare what is computed with published figures; exit 2 if one is missed that should be met."""
    from advisor.report.layout import table
    from advisor.validate import validation_rows

    rows = validation_rows(knowledge(ctx))
    missed = [r for r in rows if not r.ok]
    if as_json:
        click.echo(json.dumps([vars(r) for r in rows], ensure_ascii=False, indent=2))
    else:
        head = ["published", "computed", "error", "allowed", "what"]
        if shown := rows if show_all else missed:
            click.echo("\n".join(table(head, [_cells(r) for r in shown])))
        click.echo(
            f"{len(rows)} figures compared: {len(rows) - len(missed)} within tolerance, "
            f"{sum(bool(r.known_miss) for r in missed)} known to be missed."
        )
    if not all(r.as_expected for r in rows):
        sys.exit(2)


def _cells(row: ValidationRow) -> list[str]:
    figures = (row.published, row.computed, row.error, row.tolerance)
    mark = "" if row.as_expected else "OFF: "
    why = f". Known to be missed: {row.known_miss}" if row.known_miss else ""
    unit = f" [{row.unit}]" if row.unit else ""
    return [*map(_cell, figures), f"{mark}{row.what}{unit} ({row.basis}: {row.source}){why}"]


def _cell(value: float | str | None) -> str:
    return "" if value is None else value if isinstance(value, str) else f"{value:.4g}"
