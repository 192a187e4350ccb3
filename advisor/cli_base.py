"""What the commands share: errors as messages, options from the vocabulary, the knowledge base at hand."""

from __future__ import annotations

import importlib
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from advisor.errors import InputError, WhetruleError

if TYPE_CHECKING:
    from advisor.consult import Consultant
    from advisor.knowledge.model import KnowledgeBase
    from advisor.question import Question

_ELSEWHERE = {
    "bench": "advisor.cli_bench",
    "compare": "advisor.cli_catalogue",
    "grades": "advisor.cli_catalogue",
    "kit": "advisor.cli_catalogue",
    "rules": "advisor.cli_rules",
    "serve": "advisor.cli_service",
    "trials": "advisor.cli_trials",
    "validate": "advisor.cli_service",
}
"""Commands that are imported only when used, so that answering starts fast."""


class Whetrule(click.Group):
    """A group that shows Whetrule's own errors as messages, never as tracebacks.

    Commands for curators live in modules of their own, imported only when used.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return all command names."""
        return sorted({*super().list_commands(ctx), *_ELSEWHERE})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, importing it if it lives elsewhere."""
        if cmd_name in _ELSEWHERE:
            command: click.Command = getattr(importlib.import_module(_ELSEWHERE[cmd_name]), cmd_name)
            return command
        return super().get_command(ctx, cmd_name)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        try:
            return super().invoke(ctx)
        except WhetruleError as exc:
            _fail(exc, as_json=bool(ctx.meta.get("as_json")))


def _fail(exc: WhetruleError, as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps({"errors": [e.to_json() for e in exc.parts]}, ensure_ascii=False, indent=2))
    else:
        for error in exc.parts:
            click.echo(f"whetrule: {error}", err=True)
    sys.exit(1)


class QuestionCommand(click.Command):
    """A command whose options are the asked attributes of the vocabulary."""

    def __init__(self, *args: Any, sections: tuple[str, ...], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sections, self._extended = sections, False

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """Return the parameters, reading the vocabulary the first time."""
        if not self._extended:
            self._extended = True
            attributes = [a for a in knowledge(ctx).asked if a.section in self.sections and a.name != "grade"]
            made: list[click.Parameter] = []
            for a in attributes:
                unit = f" [{a.unit}]" if a.unit else ""
                words = f" One of: {', '.join(a.words)}." if a.words else f" {a.hint}." if a.hint else ""
                made.append(
                    click.Option(
                        [f"--{a.name.replace('_', '-')}", a.name],
                        help=f"{a.question}{unit}{words}",
                        metavar="FILE" if a.type == "kit" else a.type.upper(),
                    )
                )
            self.params = [*made, *self.params]
        return super().get_params(ctx)


def knowledge(ctx: click.Context) -> KnowledgeBase:
    """Return the knowledge base of this invocation, loading it the first time."""
    from advisor.knowledge.load import load_knowledge

    root = ctx.find_root()
    if "kb" not in root.meta:
        try:
            root.meta["kb"] = load_knowledge(root.params.get("rules"))
        except WhetruleError as exc:
            _fail(exc, as_json=False)
    kb: KnowledgeBase = root.meta["kb"]
    return kb


def consultant_of(ctx: click.Context) -> Consultant:
    """Return a consultant over the knowledge base of this invocation."""
    from advisor.consult import Consultant

    return Consultant.of(knowledge(ctx))


def question_from(consultant: Consultant, grade: str | None, given: dict[str, Any]) -> Question:
    """Return the checked question of a command's grade and options."""
    raw = {k: v for k, v in given.items() if v is not None}
    if grade is not None:
        raw["grade"] = grade
    if raw.get("kit"):
        raw["kit"] = kit_from(raw["kit"], example_kits(consultant.kb))
    return consultant.question(raw)


def kit_from(name: str, examples: Sequence[str]) -> Any:
    """Return a kit file's data, its lines if it is a list of lines, or the name of an example kit as it is."""
    from advisor.knowledge.marked_yaml import read_yaml

    if os.path.isfile(name):
        if not name.endswith((".yaml", ".yml")):
            return Path(name).read_text(encoding="utf-8", errors="replace")
        data = read_yaml(Path(name)).data
        if not data:
            raise InputError(f"'{name[:80]}' is empty", field="kit", hint="list your stones under 'items:'")
        return data
    if name in examples:
        return name
    raise InputError(
        f"there is no file '{name[:80]}'",
        field="kit",
        hint=f"name a file with your stones (YAML, or plain lines in .txt), or one of: {', '.join(examples)}",
    )


def example_kits(kb: KnowledgeBase) -> list[str]:
    """Return the names of the example kits."""
    return [Path(n).stem for n in kb.data if n.startswith("kits/")]
