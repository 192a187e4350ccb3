"""What the commands of curators share: errors and exit codes, opening rules, JSON, progress."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from advisor.errors import ErrorList, KnowledgeError, WhetruleError

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
            for error in exc.errors if isinstance(exc, ErrorList) else [exc]:
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
        ErrorList: what is wrong in its files.
        KnowledgeError: figures of another version of the program.
    """
    from advisor.consult import Consultant
    from advisor.knowledge.load import load_knowledge, rules_folder

    path = rules_folder(folder or given_folder())
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


def print_json(data: Any) -> None:
    """Print data as JSON."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=2))


@contextmanager
def progress_bar(total: int, label: str) -> Iterator[Callable[[int], Any]]:
    """Show a progress bar on standard error, so that what is printed can be piped."""
    with click.progressbar(length=total, label=label, file=sys.stderr) as bar:
        yield bar.update
