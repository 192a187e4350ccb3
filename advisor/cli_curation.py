"""What the commands of curators share: errors and exit codes, opening rules, JSON, progress."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from advisor.errors import WhetruleError

if TYPE_CHECKING:
    from advisor.consult import Consultant

FINDINGS = 2


class RulesGroup(click.Group):
    """A group whose errors are messages with exit code 1, also for wrong usage of its commands."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except WhetruleError as exc:
            for error in exc.parts:
                click.echo(f"whetrule: {error}", err=True)
            sys.exit(1)
        except click.ClickException as exc:
            exc.show()
            sys.exit(1)


def given_folder() -> str | None:
    """Return the folder named with ``--rules`` before the command, if any."""
    folder: str | None = click.get_current_context().find_root().params.get("rules")
    return folder


def open_rules(folder: str | None = None) -> Consultant:
    """Open a rules/ folder; the one in use by default.

    Raises:
        ErrorList, KnowledgeError: what is wrong in its files.
    """
    from advisor.consult import Consultant

    return Consultant.open(folder or given_folder())


def print_json(data: Any) -> None:
    """Print data as JSON."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=2))


@contextmanager
def progress_bar(total: int, label: str) -> Iterator[Callable[[int], Any]]:
    """Show a progress bar on standard error, so that what is printed can be piped."""
    with click.progressbar(length=total, label=label, file=sys.stderr) as bar:
        yield bar.update
