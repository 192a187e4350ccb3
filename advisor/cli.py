"""The command line: thin; every answer comes from a Consultant.

Exit codes: 0 answered or clean, 1 the input or the knowledge cannot be used, 2 findings.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from advisor.cli_base import QuestionCommand, Whetrule, consultant_of, question_from
from advisor.report import EXPLAIN, REPLY_LIMITS

if TYPE_CHECKING:
    from advisor.advice import Advice
    from advisor.consult import Consultant
    from advisor.question import Question
    from advisor.why_not import WhyNot

SECTIONS = {
    "ask": ("steel", "work", "bench", "edge"),
    "check": ("steel", "work", "bench", "edge", "plan"),
    "diagnose": ("steel", "work", "bench", "edge", "plan", "trouble"),
}


def _answers(command: Callable[..., None]) -> Callable[..., None]:
    for option in (
        click.option("--json", "as_json", is_flag=True, help="Print the answer's JSON contract and nothing else."),
        click.option(
            "--explain",
            type=click.Choice(EXPLAIN),
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
            type=click.Choice([str(limit) for limit in REPLY_LIMITS]),
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
    question = question_from(consultant, grade, given)
    found = _why_nots(consultant, question, why_nots)
    advice = consultant.ask(question, mode)
    if as_json:
        more = {"why_not": [w.to_json() for w in found.values()]} if found else {}
        click.echo(json.dumps(advice.to_json() | more, ensure_ascii=False, indent=2))
    elif found:
        _print_why_nots(consultant, advice, found)
    else:
        _print(consultant, advice, explain, reply, markdown)


def _why_nots(consultant: Consultant, question: Question, wanted: tuple[str, ...]) -> dict[str, WhyNot]:
    """Return what stands against each value; one that cannot be understood is an error before any answer."""
    if not wanted:
        return {}
    from advisor.why_not import why_not

    return {text: why_not(consultant, question, text) for text in wanted}


def _print_why_nots(consultant: Consultant, advice: Advice, found: dict[str, WhyNot]) -> None:
    from advisor.report.layout import heading, item, paragraph

    click.echo("\n".join(paragraph(advice.summary)))
    for text, answer in found.items():
        rows = [row for line in answer.lines(consultant) for row in item(line)]
        click.echo("\n".join([*heading(f"Why not {text}?"), *rows]))


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

        near = near_misses(advice.outcome, consultant.reasoner.compiled.rules) if explain in ("why-not", "full") else []
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
_question_command("check", "Double-check a planned or finished edge: --angle, --finish, --strop-... and the steel.")
_question_command("diagnose", "Find out why an edge disappoints: --symptom and what you know of steel, edge and work.")


if __name__ == "__main__":
    main()
