"""Every kind of broken knowledge file is refused with words that help and the line they are about.

Each file of broken/ is put into an otherwise empty knowledge folder.  Its first comments say where, and
which words and line the error must have.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from advisor.errors import ConflictError, ErrorList, KnowledgeError, WhetruleError
from advisor.inference.reason import Reasoner
from advisor.knowledge.load import load_knowledge, shipped_folder

BROKEN = sorted((Path(__file__).parent / "broken").glob("*.yaml"))
RULE = """
- id: {id}
  title: A rule for a test
  status: accepted
  when: {when}
  then: {then}
  because: It is written for a test of the loader.
  does_not_apply_when: Anywhere outside this test.
  basis: memory
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A knowledge folder with the shipped vocabulary and hardly anything else."""
    shipped, made = shipped_folder("rules"), tmp_path / "rules"
    shutil.copytree(shipped / "schemas", made / "schemas")
    for name in ("vocabulary.yaml", "uses.yaml"):
        shutil.copy(shipped / name, made / name)
    (made / "causes.yaml").write_text("tests: []\ncauses: []\n")
    (made / "retired.yaml").write_text("- {id: long-gone, was: rule, why: It was never true.}\n")
    return made


def _put(folder: Path, name: str, content: bytes) -> None:
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content)


def _errors(folder: Path) -> list[WhetruleError]:
    with pytest.raises(WhetruleError) as caught:
        load_knowledge(folder, use_cache=False)
    return list(caught.value.errors) if isinstance(caught.value, ErrorList) else [caught.value]


def test_the_folder_loads_before_anything_is_broken(folder: Path) -> None:
    assert load_knowledge(folder, use_cache=False).rules == ()


@pytest.mark.parametrize("path", BROKEN, ids=lambda p: p.stem)
def test_broken_file(folder: Path, path: Path) -> None:
    text = path.read_text("utf-8")
    (name,) = re.findall(r"^# file: (.*)$", text, re.M)
    (line,) = re.findall(r"^# line: (\d+)$", text, re.M)
    _put(folder, name, path.read_bytes())
    errors = _errors(folder)
    for words in re.findall(r"^# says: (.*)$", text, re.M):
        found = [e for e in errors if words in str(e)]
        assert found, [str(e) for e in errors]
        assert (found[0].path, found[0].line) == (f"rules/{name}", int(line))
    assert all(isinstance(e, KnowledgeError) and e.message for e in errors)


@pytest.mark.parametrize(
    ("content", "words", "line"),
    [
        (b"- a\n- b\0c\n", "contains a NUL character", 2),
        (b"- a\n- \xff\n", "is not UTF-8 text", 2),
        (b"[" * 100 + b"]" * 100, "is nested too deeply", 1),
        (b"- " + b"x" * 2_000_001, "is larger than 2000000 bytes", 0),
        (b"- !!python/object/apply:os.system [ls]\n", "is ['ls'], but must be object", 1),
    ],
    ids=["nul", "not-utf-8", "too-deep", "too-large", "python-tag"],
)
def test_broken_bytes(folder: Path, content: bytes, words: str, line: int) -> None:
    _put(folder, "planted/rules.yaml", content)
    (error,) = _errors(folder)
    assert words in error.message
    assert (error.path, error.line) == ("rules/planted/rules.yaml", line)


def test_all_errors_of_all_files_come_at_once(folder: Path) -> None:
    _put(folder, "planted/a.yaml", RULE.format(id="a", when="{usee: {equals: camp}}", then="{}").encode())
    _put(folder, "planted/b.yaml", b"- a\n- b\0c\n")
    _put(folder, "cases/c.yaml", b"- {id: one}\n")
    assert {e.path for e in _errors(folder)} == {f"rules/{n}.yaml" for n in ("planted/a", "planted/b", "cases/c")}


def test_a_missing_vocabulary_and_a_missing_file(folder: Path) -> None:
    (folder / "retired.yaml").unlink()
    assert [str(e) for e in _errors(folder)] == ["rules/retired.yaml: is missing"]
    (folder / "vocabulary.yaml").unlink()
    (error,) = _errors(folder)
    assert "is not a knowledge folder" in error.message and "vocabulary.yaml" in error.hint


def test_a_circle_names_its_attributes(folder: Path) -> None:
    text = RULE.format(
        id="one", when="{burr.kind: {equals: clings}}", then="{conclude: {matrix.support: soft}}"
    ) + RULE.format(id="two", when="{matrix.support: {equals: soft}}", then="{conclude: {burr.kind: clings}}")
    _put(folder, "planted/rules.yaml", text.encode())
    with pytest.raises(KnowledgeError, match=r"in a circle: .*burr\.kind.*matrix\.support") as caught:
        Reasoner.build(load_knowledge(folder, use_cache=False))
    assert (caught.value.path, caught.value.line) in [("rules/planted/rules.yaml", n) for n in (2, 11)]


def test_a_tie_names_every_rule_with_its_place(folder: Path) -> None:
    rules = [("one", "clings"), ("two", "sheds"), ("three", "clings")]
    text = "".join(
        RULE.format(id=i, when="{use: {equals: camp}}", then=f"{{conclude: {{burr.kind: {word}}}}}")
        for i, word in rules
    )
    _put(folder, "planted/rules.yaml", text.encode())
    reasoner = Reasoner.build(load_knowledge(folder, use_cache=False))
    with pytest.raises(ConflictError, match=r"disagree about 'burr\.kind'") as caught:
        reasoner.reason({"use": "camp"})
    for i, line in (("one", 2), ("two", 11), ("three", 20)):
        assert f"{i} (rules/planted/rules.yaml:{line}:3)" in caught.value.message
    assert "higher priority" in caught.value.hint
