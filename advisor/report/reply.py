"""An answer short enough for a comment box."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.advice import Advice
from advisor.errors import OutOfRangeError
from advisor.report import REPLY_LIMITS
from advisor.report.text import moves_words
from advisor.report.wording import angle_line, assumed_lines, finish_line, strop_line, subject

_LEAST = 300


def reply(advice: Advice, limit: int = REPLY_LIMITS[0], markdown: bool = False, link: str = "") -> str:
    """Return the answer in at most ``limit`` characters, honest about what was assumed.

    Args:
        advice: the answer.
        limit: most characters, 300 or more.
        markdown: mark the figures and the link up.
        link: permalink put at the end; left out where it would take more than half.

    Raises:
        OutOfRangeError: too few characters to say anything honest in.
    """
    if limit < _LEAST:
        raise OutOfRangeError(f"{limit} characters are too few", field="limit", hint=f"give {_LEAST} or more")
    tail = f"\n[Why, and all steps]({link})" if markdown and link else f"\nWhy, and all steps: {link}" if link else ""
    if len(tail) > limit // 2:
        tail = ""
    text = ""
    for part in _parts(advice, markdown):
        longer = f"{text}\n{part}" if text else part
        if len(longer) + len(tail) <= limit:
            text = longer
    return text + tail


def _parts(advice: Advice, markdown: bool) -> Iterator[str]:
    """Yield what to say, the most important first; what does not fit is left out whole."""

    def strong(text: str) -> str:
        return f"**{text}**" if markdown else text

    yield subject(advice)[:160] + ":"
    for cause in advice.causes[:1]:
        yield f"Probably {strong(cause.title.lower())} ({cause.strength}). {cause.remedy}"
        if cause.tell_apart:
            yield f"To tell: {cause.tell_apart}"
    for verdict in advice.verdicts:
        yield f"{verdict.about.capitalize()}: {strong(verdict.label)}. {verdict.change}".rstrip(". ") + "."
        if not verdict.good and verdict.rules and verdict.rules[0] in advice.outcome.kb.rules_by_id:
            yield f"Because: {advice.outcome.kb.rules_by_id[verdict.rules[0]].title}."
    if advice.angle:
        yield f"Angle {strong(angle_line(advice.angle))}."
    if advice.finish:
        yield f"Finish {strong(finish_line(advice.finish, advice))}."
    if strop_line(advice):
        yield f"Strop: {strop_line(advice)}."
    kb, bands = advice.outcome.kb, [b for b in (advice.angle, advice.finish) if b]
    binding = dict.fromkeys(n for b in bands for n in (*b.low_set_by[:1], *b.high_set_by[:1]))
    titles = [kb.rules_by_id[n].title for n in binding if n in kb.rules_by_id]
    if titles and not advice.verdicts:
        yield f"Why: {'; '.join(titles)}."
    assumed = assumed_lines(advice)
    if assumed:
        yield f"Assumed: {'; '.join(assumed)}."
    if advice.ask_next:
        first = advice.ask_next[0]
        yield f"Tell me: {first['question']} It could move {moves_words(first['moves'])}."
    for note in (*advice.by_topic("cost"), *advice.by_topic("caution")[:1]):
        yield note.text
    yield "One knife differs from the next; try it and note it."
