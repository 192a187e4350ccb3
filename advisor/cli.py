"""The command line: thin; every answer comes from a Consultant.

Exit codes: 0 answered or clean, 1 the input or the knowledge cannot be used, 2 findings.
"""

from __future__ import annotations

import importlib
import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from advisor.errors import ErrorList, InputError, WhetruleError

if TYPE_CHECKING:
    from advisor.advice import Advice
    from advisor.consult import Consultant
    from advisor.question import Question

SECTIONS = {
    "ask": ("steel", "work", "bench", "edge"),
    "check": ("steel", "work", "bench", "edge", "plan"),
    "diagnose": ("steel", "work", "bench", "edge", "plan", "trouble"),
    "compare": ("work", "bench", "edge"),
}


_ELSEWHERE = {
    "rules": ("advisor.cli_rules", "rules"),
    "bench": ("advisor.cli_bench", "bench"),
    "trials": ("advisor.cli_trials", "trials"),
}


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
            module, name = _ELSEWHERE[cmd_name]
            command: click.Command = getattr(importlib.import_module(module), name)
            return command
        return super().get_command(ctx, cmd_name)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        try:
            return super().invoke(ctx)
        except WhetruleError as exc:
            _fail(exc, as_json=bool(ctx.meta.get("as_json")))


def _fail(exc: WhetruleError, as_json: bool) -> None:
    errors: Sequence[WhetruleError] = exc.errors if isinstance(exc, ErrorList) else [exc]
    if as_json:
        click.echo(json.dumps({"errors": [e.to_json() for e in errors]}, ensure_ascii=False, indent=2))
    else:
        for error in errors:
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


def knowledge(ctx: click.Context) -> Any:
    from advisor.knowledge.load import load_knowledge

    root = ctx.find_root()
    if "kb" not in root.meta:
        try:
            root.meta["kb"] = load_knowledge(root.params.get("rules"))
        except WhetruleError as exc:
            _fail(exc, as_json=False)
    return root.meta["kb"]


def consultant_of(ctx: click.Context) -> Consultant:
    from advisor.consult import Consultant

    return Consultant.of(knowledge(ctx))


def _question(consultant: Consultant, grade: str | None, given: dict[str, Any]) -> Question:
    raw = {k: v for k, v in given.items() if v is not None}
    if grade is not None:
        raw["grade"] = grade
    if raw.get("kit"):
        raw["kit"] = _kit(raw["kit"], _example_kits(consultant.kb))
    return consultant.question(raw)


def _kit(name: str, examples: Sequence[str]) -> Any:
    """Return a kit file's data, or the name of an example kit as it is."""
    from advisor.knowledge.marked_yaml import read_yaml

    path = Path(name)
    if path.is_file():
        return read_yaml(path).data
    if name in examples:
        return name
    raise InputError(
        f"there is no file '{name[:80]}'",
        field="kit",
        hint=f"name a YAML file with your stones, or an example kit: {', '.join(examples)}",
    )


def _example_kits(kb: Any) -> list[str]:
    return [Path(n).stem for n in kb.data if n.startswith("kits/")]


def _answers(command: Callable[..., None]) -> Callable[..., None]:
    for option in (
        click.option(
            "--json", "as_json", is_flag=True, help="Print the answer's JSON contract and nothing else."
        ),
        click.option(
            "--explain",
            type=click.Choice(["off", "fired", "why-not", "full"]),
            default="fired",
            show_default=True,
            help="How much of the reasoning to show.",
        ),
        click.option(
            "--why-not",
            "why_nots",
            multiple=True,
            metavar="WHAT",
            help="Ask what stands against a value, for example 'finish 1 µm' or 'angle 15'.",
        ),
        click.option(
            "--reply",
            type=click.Choice(["600", "1500"]),
            help="Print a reply of at most that many characters.",
        ),
        click.option("--markdown", is_flag=True, help="Print the bench card (or the reply) as Markdown."),
    ):
        command = option(command)
    return command


@click.group(cls=Whetrule, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 79})
@click.option("--rules", metavar="FOLDER", help="Another rules/ folder; also WHETRULE_RULES.")
@click.version_option(package_name="whetrule", message="%(prog)s %(version)s")
def main(rules: str | None) -> None:
    """Which edge a knife steel can really carry, and why."""


def _run(
    mode: str,
    grade: str | None,
    as_json: bool,
    explain: str,
    why_nots: tuple[str, ...],
    reply: str | None,
    markdown: bool,
    given: dict[str, Any],
) -> None:
    ctx = click.get_current_context()
    ctx.find_root().meta["as_json"] = as_json
    consultant = consultant_of(ctx)
    question = _question(consultant, grade, given)
    advice = consultant.ask(question, mode)
    if as_json:
        click.echo(json.dumps(advice.to_json(), ensure_ascii=False, indent=2))
        return
    _print(consultant, advice, explain, reply, markdown)
    for wanted in why_nots:
        from advisor.report.layout import heading, item
        from advisor.why_not import why_not

        lines = why_not(consultant, question, wanted).lines(consultant)
        click.echo(
            "\n".join([*heading(f"Why not {wanted}?"), *(row for text in lines for row in item(text))])
        )


def _print(consultant: Consultant, advice: Advice, explain: str, reply: str | None, markdown: bool) -> None:
    if reply:
        from advisor.report.reply import reply as short

        click.echo(short(advice, int(reply), markdown))
    elif markdown:
        from advisor.report.bench_card import bench_card

        click.echo(bench_card(advice))
    else:
        from advisor.inference.trace import near_misses
        from advisor.report.text import render_text

        near = (
            near_misses(advice.outcome, consultant.reasoner.compiled.rules)
            if explain in ("why-not", "full")
            else []
        )
        click.echo(render_text(advice, explain, near))


def _question_command(mode: str, text: str) -> None:
    @click.argument("grade", required=False)
    @_answers
    def command(
        grade: str | None,
        as_json: bool,
        explain: str,
        why_nots: tuple[str, ...],
        reply: str | None,
        markdown: bool,
        **given: Any,
    ) -> None:
        _run(mode, grade, as_json, explain, why_nots, reply, markdown, given)

    command.__doc__ = text
    main.command(mode, cls=QuestionCommand, sections=SECTIONS[mode])(command)


_question_command(
    "ask",
    """Recommend angle, finish, stropping and the steps, and explain them.

    GRADE is any designation or common name; give --composition instead for a steel that is not in the
    catalogue.  Leave out what you do not know.""",
)
_question_command(
    "check", "Double-check a planned or finished edge: --angle, --finish, --strop-... and the steel."
)
_question_command(
    "diagnose", "Find out why an edge disappoints: --symptom and what you know of steel, edge and work."
)


@main.command("compare", cls=QuestionCommand, sections=SECTIONS["compare"])
@click.argument("grades", nargs=-1, required=True)
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def compare_command(grades: tuple[str, ...], as_json: bool, **given: Any) -> None:
    """Put two to five grades side by side on the same work; GRADE@HRC sets a hardness."""
    from advisor.compare import compare
    from advisor.report.layout import heading, item, paragraph

    ctx = click.get_current_context()
    ctx.find_root().meta["as_json"] = as_json
    consultant = consultant_of(ctx)
    questions = []
    for text in grades:
        grade, _, hardness = text.partition("@")
        questions.append(_question(consultant, grade, {**given, "hardness": hardness or None}))
    found = compare(consultant, questions)
    if as_json:
        click.echo(json.dumps(found.to_json(), ensure_ascii=False, indent=2))
        return
    for label, cells in found.rows:
        click.echo("\n".join(heading(label)[1:]))
        for option, cell in zip(found.options, cells, strict=True):
            click.echo("\n".join(paragraph(f"{option.label.split(',')[0]}: {cell}", 2)))
        click.echo()
    click.echo("\n".join([*heading("What decides")[1:], *(row for s in found.decides for row in item(s))]))


@main.command("grades")
@click.argument("words", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
@click.pass_context
def grades_command(ctx: click.Context, words: tuple[str, ...], as_json: bool) -> None:
    """List the catalogue, or search it by any designation, alias or group."""
    from advisor.knowledge.catalogue import near_grades, near_words, search_grades
    from advisor.report.layout import table

    kb = knowledge(ctx)
    text = " ".join(words)
    found = search_grades(kb, text)
    if as_json:
        rows = [
            {
                "id": g.id,
                "name": g.name,
                "group": g.group,
                "designations": dict(g.designations),
                "aliases": list(g.aliases),
                "hardness": [g.hardness_low, g.hardness_high, g.hardness_max],
            }
            for g in found
        ]
        click.echo(json.dumps(rows, ensure_ascii=False, indent=2))
        return
    if not found:
        near = near_grades(kb, text)
        raise InputError(
            f"no grade answers to '{text[:40]}'",
            field="grades",
            hint=f"did you mean {near_words(near)}?" if near else "try fewer letters",
        )
    cells = []
    for g in found:
        hrc = f"{g.hardness_low:g}-{g.hardness_high:g}" if g.hardness_low is not None else ""
        others = [d for d in (*g.designations.values(), *g.aliases) if d not in g.name]
        cells.append([g.name, hrc, f"{g.group}. {', '.join(others)}".strip(". ")])
    click.echo("\n".join(table(["Grade", "HRC", "Group, other names"], cells)))


@main.group("kit")
def kit_group() -> None:
    """Your stones, films and strops."""


@kit_group.command("check")
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
@click.pass_context
def kit_check(ctx: click.Context, file: str, as_json: bool) -> None:
    """Check a kit file and show its ladder in micrometres, with gaps."""
    from advisor.abrasives.kit import kit_from_data
    from advisor.abrasives.stones import LadderLimits
    from advisor.report.layout import heading, item
    from advisor.summary import number

    ctx.find_root().meta["as_json"] = as_json
    bench = consultant_of(ctx).bench
    found = _kit(file, _example_kits(bench.kb))
    data = bench.kb.data[f"kits/{file}.yaml"] if isinstance(found, str) else found
    kit = kit_from_data(data, bench.scales, bench.kit_words)
    rungs = kit.ladder(LadderLimits.from_data(bench.kb.data["abrasives/kit.yaml"]))
    if as_json:
        steps = [{"stone": r.stone.name, "um": r.stone.um, "ratio": r.ratio, "gap": r.gap} for r in rungs]
        click.echo(json.dumps({"kit": kit.to_json(), "ladder": steps}, ensure_ascii=False, indent=2))
        return
    lines = heading(f"{kit.name}: {len(kit.items)} items")[1:]
    for rung in rungs:
        ratio = f"  {number(1 / rung.ratio)} times finer" if rung.ratio else ""
        gap = "  GAP: too wide a step" if rung.gap else ""
        lines += item(f"{number(rung.stone.um or 0)} µm  {rung.stone.name}{ratio}{gap}")
    for strop in kit.strops():
        size = f"{number(strop.um)} µm on " if strop.um else "bare "
        lines += item(f"strop: {strop.name}, {size}{strop.backing or 'backing not said'}")
    click.echo("\n".join(lines))


@main.command("serve")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option(
    "--port", default=8000, show_default=True, type=click.IntRange(1, 65535), help="Port to listen on."
)
@click.option("--threads", default=4, show_default=True, type=click.IntRange(1, 64), help="Worker threads.")
@click.pass_context
def serve_command(ctx: click.Context, host: str, port: int, threads: int) -> None:
    """Serve the web form."""
    from waitress import create_server

    from advisor.web import create_app

    app = create_app(consultant_of(ctx))
    try:
        server = create_server(app, host=host, port=port, threads=threads, ident="whetrule")
    except OSError as exc:
        raise InputError(
            f"cannot listen on {host}:{port} ({exc.strerror})", field="port", hint="choose another --port"
        ) from exc
    click.echo(f"Whetrule is at http://{host}:{port}/ (stop with Ctrl-C)")
    server.run()


@main.command("validate")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
@click.option("--all", "show_all", is_flag=True, help="Print every row, not only what is off and a count.")
@click.pass_context
def validate_command(ctx: click.Context, as_json: bool, show_all: bool) -> None:
    """Compare what is computed with published figures; exit 2 if one is outside its tolerance."""
    from advisor.report.layout import table
    from advisor.validate import validation_rows

    rows = validation_rows(knowledge(ctx))
    wrong = [r for r in rows if not r.ok]
    if as_json:
        click.echo(json.dumps([vars(r) for r in rows], ensure_ascii=False, indent=2))
    else:
        cells = [
            [
                _cell(r.published),
                _cell(r.computed),
                _cell(r.error),
                _cell(r.tolerance),
                f"{'' if r.ok else 'OFF: '}{r.what} [{r.unit}] ({r.basis}: {r.source})",
            ]
            for r in (rows if show_all else wrong)
        ]
        if cells:
            click.echo("\n".join(table(["published", "computed", "error", "allowed", "what"], cells)))
        click.echo(
            f"{len(rows)} figures compared, {len(rows) - len(wrong)} within tolerance, {len(wrong)} outside."
        )
    if wrong:
        sys.exit(2)


def _cell(value: float | str | None) -> str:
    return "" if value is None else value if isinstance(value, str) else f"{value:.4g}"


if __name__ == "__main__":
    main()
