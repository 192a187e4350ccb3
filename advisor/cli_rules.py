"""The commands of curators: ``whetrule rules ...``.

Exit codes: 0 clean, 1 wrong usage or knowledge that cannot be loaded, 2 findings.
"""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

import click

from advisor.errors import ErrorList, WhetruleError

if TYPE_CHECKING:
    from advisor.consult import Consultant

FINDINGS = 2


class RulesGroup(click.Group):
    """A group whose errors are messages with exit code 1, also for wrong usage."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Run the command line."""
        if not kwargs.pop("standalone_mode", True):
            return super().main(*args, standalone_mode=False, **kwargs)
        try:
            super().main(*args, standalone_mode=False, **kwargs)
        except WhetruleError as exc:
            for error in exc.errors if isinstance(exc, ErrorList) else [exc]:
                click.echo(f"whetrule: {error}", err=True)
            sys.exit(1)
        except click.ClickException as exc:
            exc.show()
            sys.exit(1)
        except (click.Abort, KeyboardInterrupt):
            click.echo("stopped", err=True)
            sys.exit(1)
        sys.exit(0)


@click.group("rules", cls=RulesGroup, context_settings={"help_option_names": ["-h", "--help"]})
def rules() -> None:
    """Check, measure and extend the knowledge; exit codes: 0 clean, 1 cannot run, 2 findings."""


def _consultant(folder: str | None = None) -> Consultant:
    from advisor.consult import Consultant

    if folder is None:
        folder = click.get_current_context().find_root().params.get("rules")
    return Consultant.open(folder)


def _json(data: Any) -> None:
    click.echo(json.dumps(data, ensure_ascii=False, indent=2))


@rules.command("cases")
@click.argument("ids", nargs=-1)
@click.option("--base", metavar="FOLDER", help="Show how each failing case's run differs from these rules.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def cases_command(ids: tuple[str, ...], base: str | None, as_json: bool) -> None:
    """Run the recorded cases, all or those named."""
    from advisor.curation.cases import run_cases, text_report

    results = run_cases(_consultant(), ids)
    if as_json:
        _json([r.to_json() for r in results])
    else:
        click.echo(text_report(results, _consultant(base) if base else None))
    if any(r.state == "failed" for r in results):
        sys.exit(FINDINGS)


if __name__ == "__main__":
    rules(prog_name="whetrule rules")
