"""YAML with the place of every key and value kept past parsing.

The standard loader forgets where a value stood; rules are validated long after parsing, and the person
who wrote them needs ``file:line:column``.  So the node tree is composed with PyYAML's safe loader and
turned into plain data here, with the marks on the side.  Anchors and aliases are refused: no knowledge
file needs them, and they are the way to build a small file that expands without end.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import yaml

from advisor.errors import ErrorList, KnowledgeError

MAX_BYTES = 2_000_000
"""Largest knowledge file read; far above any real one, far below one that stalls the machine."""
MAX_DEPTH = 40

Key = tuple[str | int, ...]


@dataclass(frozen=True)
class Marked:
    """Plain data of one file and where each part of it stands.

    Attributes:
        path: the file, as it is named in errors.
        data: dicts, lists and scalars.
        marks: path into ``data`` -> (line, column), both 1-based; a mapping's entry is marked at its key.
    """

    path: str
    data: Any
    marks: dict[Key, tuple[int, int]] = field(repr=False)

    def place(self, key: Key) -> tuple[int, int]:
        """Return (line, column) of ``key``, or of its nearest marked parent."""
        while key and key not in self.marks:
            key = key[:-1]
        return self.marks.get(key, (1, 1))

    def error(self, key: Key, message: str, hint: str = "") -> KnowledgeError:
        """Build the error for the part at ``key``."""
        line, column = self.place(key)
        return KnowledgeError(message, hint=hint, path=self.path, line=line, column=column)


_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def read_yaml(path: Path, shown_as: str | None = None) -> Marked:
    """Read one knowledge file.

    Args:
        path: the file.
        shown_as: how errors name it; its path by default.

    Raises:
        ErrorList: of KnowledgeError, every problem of the file at once.
    """
    name = shown_as or str(path)
    try:
        raw = path.read_bytes()
    except OSError as exc:
        raise KnowledgeError(f"cannot be read ({exc.strerror})", path=name) from exc
    return parse_yaml(raw, name)


def read_json(path: Path, shown_as: str | None = None) -> Marked:
    """Read one knowledge file in JSON; see read_yaml, from which the places come."""
    marked = read_yaml(path, shown_as)
    try:
        # YAML takes numbers such as 1e-05 for text, so the values are those of a JSON reader.
        return replace(marked, data=json.loads(path.read_bytes()))
    except json.JSONDecodeError as exc:
        raise KnowledgeError(
            f"is not valid JSON: {exc.msg}",
            path=marked.path,
            line=exc.lineno,
            column=exc.colno,
            hint="check commas, quotes and brackets there",
        ) from exc


def parse_yaml(raw: bytes, name: str) -> Marked:
    """Parse the bytes of one YAML document; see read_yaml."""
    if len(raw) > MAX_BYTES:
        raise KnowledgeError(f"is larger than {MAX_BYTES} bytes", path=name, hint="split the file")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as exc:
        line = raw[: exc.start].count(b"\n") + 1
        raise KnowledgeError("is not UTF-8 text", path=name, line=line, hint="save it as UTF-8") from exc
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise KnowledgeError("contains a NUL character", path=name, line=line, hint="remove it")
    errors: list[KnowledgeError] = []
    marks: dict[Key, tuple[int, int]] = {}
    try:
        _refuse_aliases(text, name)
        loader = _Loader(text)
        try:
            node = loader.get_single_node()
            data = _plain(loader, node, (), marks, errors, name) if node is not None else None
        finally:
            loader.dispose()
    except yaml.MarkedYAMLError as exc:
        mark = exc.problem_mark or exc.context_mark
        raise KnowledgeError(
            f"is not valid YAML: {exc.problem or exc.context}",
            path=name,
            line=mark.line + 1 if mark else 1,
            column=mark.column + 1 if mark else 1,
            hint="check indentation, colons and quotes there",
        ) from exc
    except yaml.YAMLError as exc:
        raise KnowledgeError(f"is not valid YAML: {exc}", path=name) from exc
    except RecursionError as exc:
        raise KnowledgeError("is nested too deeply", path=name) from exc
    if errors:
        raise ErrorList(errors)
    return Marked(name, data, marks)


def _refuse_aliases(text: str, name: str) -> None:
    if "&" not in text and "*" not in text:
        return
    for event in yaml.parse(text, Loader=_Loader):
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            mark = event.start_mark
            raise KnowledgeError(
                "uses a YAML anchor or alias",
                path=name,
                line=mark.line + 1 if mark else 1,
                column=mark.column + 1 if mark else 1,
                hint="write the value out; anchors (&) and aliases (*) are not allowed in knowledge files",
            )


def _plain(
    loader: Any,
    node: yaml.Node,
    key: Key,
    marks: dict[Key, tuple[int, int]],
    errors: list[KnowledgeError],
    name: str,
) -> Any:
    marks.setdefault(key, (node.start_mark.line + 1, node.start_mark.column + 1))
    if len(key) > MAX_DEPTH:
        raise KnowledgeError("is nested too deeply", path=name, line=marks[key][0], column=marks[key][1])
    if isinstance(node, yaml.SequenceNode):
        return [_plain(loader, item, (*key, i), marks, errors, name) for i, item in enumerate(node.value)]
    if not isinstance(node, yaml.MappingNode):
        try:
            value = loader.construct_object(node, deep=True)
        except ValueError:
            # A date or number by its form that is none, such as 2024-13-45.
            line, column = marks[key]
            errors.append(
                KnowledgeError(
                    f"'{str(node.value)[:40]}' is neither a date nor a number",
                    path=name,
                    line=line,
                    column=column,
                    hint="correct it, or put it in quotes if it is text",
                )
            )
            return None
        if isinstance(value, datetime.date):
            return value.isoformat()
        return value
    mapping: dict[str, Any] = {}
    for key_node, value_node in node.value:
        line, column = key_node.start_mark.line + 1, key_node.start_mark.column + 1
        if not isinstance(key_node, yaml.ScalarNode):
            errors.append(KnowledgeError("has a key that is not text", path=name, line=line, column=column))
            continue
        # The text as written: `on`, `no` or `1.4116` are names here, never booleans or numbers.
        word = str(key_node.value)
        if word in mapping:
            errors.append(
                KnowledgeError(
                    f"key '{word}' is given twice",
                    path=name,
                    line=line,
                    column=column,
                    hint="keep one of the two",
                )
            )
            continue
        here: Key = (*key, word)
        marks[here] = (line, column)
        mapping[word] = _plain(loader, value_node, here, marks, errors, name)
    return mapping


def yaml_files(folder: Path) -> Iterator[Path]:
    """Yield the YAML files under a folder in name order; nothing if the folder is missing."""
    if folder.is_dir():
        yield from sorted(p for p in folder.rglob("*.yaml") if p.is_file())
