"""From a query string to raw inputs, and back to the one address that stands for them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from werkzeug.datastructures import MultiDict

from advisor.errors import ErrorList, InputError, WhetruleError
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.vocabulary import Attribute
from advisor.knowledge.words import did_you_mean

LONGEST_QUERY = 64 * 1024
"""Characters of a query string; a kit at its longest, percent-encoded, fits several times."""
MOST_KEYS = 100

SECTIONS = {
    "ask": ("steel", "work", "bench", "edge"),
    "check": ("plan", "steel", "work", "bench", "edge"),
    "diagnose": ("trouble", "steel", "work", "plan", "bench", "edge"),
    "compare": ("work", "bench", "edge"),
}
"""Sections of the vocabulary that each form shows, in its order."""


def attributes_of(kb: KnowledgeBase, mode: str) -> tuple[Attribute, ...]:
    """Return the inputs of a form, in its order."""
    return tuple(a for section in SECTIONS[mode] for a in kb.asked if a.section == section)


@dataclass(frozen=True)
class Query:
    """Inputs as an address gives them.

    Attributes:
        raw: name -> text, blanks dropped, sorted by name.
        errors: what cannot even be read: unknown names, names given twice.
    """

    raw: Mapping[str, str]
    errors: tuple[WhetruleError, ...]

    def check(self) -> None:
        """Raises ErrorList if anything could not be read."""
        if self.errors:
            raise ErrorList(self.errors)


def read_query(args: MultiDict[str, str], length: int, inputs: Iterable[Attribute], everywhere: Iterable[str]) -> Query:
    """Read a query string.

    Args:
        args: parsed query.
        length: characters of the query string.
        inputs: attributes this page takes.
        everywhere: names that other pages take, for the hint.

    Raises:
        ErrorList: the query is too long to be looked at.
    """
    if length > LONGEST_QUERY or len(args) > MOST_KEYS:
        longest = max(args, key=lambda k: sum(map(len, args.getlist(k))), default="")
        raise ErrorList(
            [
                InputError(
                    f"is too long: the address has {length} characters",
                    field=longest[:40],
                    hint=f"at most {LONGEST_QUERY} are read, and {MOST_KEYS} inputs",
                )
            ]
        )
    known, elsewhere = {a.name: a for a in inputs}, set(everywhere)
    raw, errors = dict[str, str](), list[WhetruleError]()
    for name in sorted(args):
        given = [v for v in (_tidy(v) for v in args.getlist(name)) if v]
        attribute = known.get(name)
        if attribute is None:
            errors.append(_unknown(name, known, elsewhere))
        elif attribute.type == "choices":
            raw.update({name: ",".join(given)} if given else {})
        elif len(set(given)) > 1:
            errors.append(InputError(f"is given {len(given)} times", field=name, hint="give it once"))
        elif given:
            raw[name] = given[0]
    return Query(raw, tuple(errors))


def _tidy(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


def _unknown(name: str, known: Mapping[str, Any], elsewhere: set[str]) -> InputError:
    if name in elsewhere:
        return InputError(
            f"'{name}' is not asked on this page",
            field=name,
            hint="take it out, or use the page that asks it",
        )
    hint = did_you_mean(name, known) or "take it out of the address"
    return InputError(f"there is no input called '{name[:40]}'", field=name[:40], hint=hint)


def query_string(inputs: Mapping[str, Any]) -> str:
    """Return the query of a permalink: names sorted, blanks dropped."""
    given = {k: v for k, v in sorted(inputs.items()) if v not in (None, "", ())}
    return urlencode([(k, _text(v)) for k, v in given.items()], safe=",@")


def _text(value: Any) -> str:
    if isinstance(value, (list, tuple)):
        return ",".join(map(str, value))
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)
