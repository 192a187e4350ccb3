"""New rules, pages about rules, generated schema and field reference."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
import yaml
from click.testing import CliRunner
from referencing import Registry, Resource

from advisor.cli import main
from advisor.consult import Consultant
from advisor.curation.cases import run_cases
from advisor.curation.fields import END, START, field_reference, with_reference
from advisor.curation.grid import Grid
from advisor.curation.lint import Subject, run_checks
from advisor.curation.scaffold import VERBS, new_rule
from advisor.curation.words_schema import words_schema
from advisor.errors import ErrorList, KnowledgeError
from advisor.knowledge.model import KnowledgeBase

Make = Callable[..., Path]
Open = Callable[[Path], Consultant]
CAUSES = """
tests: [{id: look, title: Look, how: Look at it., effort: 1}]
causes: [{id: burr, title: A burr, lies_with: technique, remedy: Deburr., shows: {look: It glints.}}]
"""


@pytest.mark.parametrize("verb", VERBS)
def test_a_new_rule_loads_its_cases_pass_and_only_todo_is_left(
    make: Make, opened: Open, verb: str, small: Callable[[KnowledgeBase], Grid]
) -> None:
    folder = make(files={"causes.yaml": CAUSES})
    before = run_checks(Subject(opened(folder), None, small(opened(folder).kb), jobs=1))
    paths = new_rule(opened(folder).kb, "fresh-thought", "finish", verb)
    consultant = opened(folder)
    assert [p.relative_to(folder).as_posix() for p in paths] == [
        "finish/fresh-thought.yaml",
        "cases/fresh-thought.yaml",
    ]
    assert consultant.kb.rules_by_id["fresh-thought"].then.verb == verb
    results = run_cases(consultant, ["fresh-thought-fires", "fresh-thought-quiet"])
    assert [r.state for r in results] == ["passed", "passed"]
    found = run_checks(Subject(consultant, None, small(consultant.kb), jobs=1))
    new = {(f.check, f.subject) for f in found} - {(f.check, f.subject) for f in before}
    assert {check for check, _ in new} == {"todo"}


@pytest.mark.parametrize(
    ("name", "topic", "verb", "words"),
    [
        ("Not An Id", "finish", "favour", "lower-case words"),
        ("basic-angle", "finish", "favour", "rule 'basic-angle' exists"),
        ("fresh", "../outside", "favour", "cannot be a topic"),
        ("fresh", "grades", "favour", "cannot be a topic"),
        ("fresh", "finish", "favor", "did you mean favour"),
        ("gone", "finish", "favour", "was retired"),
    ],
)
def test_what_cannot_be_written_is_refused(
    make: Make, opened: Open, name: str, topic: str, verb: str, words: str
) -> None:
    folder = make(files={"retired.yaml": "- {id: gone, was: rule, why: It was never true.}"})
    with pytest.raises(ErrorList, match=words):
        new_rule(opened(folder).kb, name, topic, verb)


def test_new_and_show_commands(make: Make) -> None:
    folder = make(
        [
            {
                "id": "planted",
                "when": {"use": {"equals": "camp"}},
                "then": {"limit": {"angle": {"no_lower_than": 18}}},
            }
        ]
    )

    def run(*words: str) -> tuple[int, str]:
        result = CliRunner().invoke(main, ["--rules", str(folder), "rules", *words])
        return result.exit_code, result.output

    assert run("new", "fresh", "--topic", "finish")[0] == 0
    assert run("new", "fresh", "--topic", "finish")[0] == 1
    assert run("new", "fresher")[0] == 1
    code, text = run("show", "planted")
    assert code == 0
    for words in (
        "use: equals camp",
        "no lower than 18 degrees per side",
        "Anywhere outside this test.",
        "fires in basic-fires",
        "holds in 300 of 3000 sampled questions",
        "for example: whetrule",
    ):
        assert words in text
    page = json.loads(run("show", "planted", "--json")[1])
    assert page["grid"]["binds"] == 300 and page["history"] == []
    code, text = run("show", "plantd")
    assert code == 1 and "did you mean planted" in text


@pytest.fixture(scope="module")
def validator(kb: KnowledgeBase) -> jsonschema.Draft202012Validator:
    """The rule schema as an editor sees it, with the generated words."""
    schema = json.loads((Path(kb.folder) / "schemas/rules.schema.json").read_text("utf-8"))
    registry = Registry().with_resource("words.schema.json", Resource.from_contents(words_schema(kb)))
    return jsonschema.Draft202012Validator(schema, registry=registry)


def test_every_shipped_rule_fits_the_words_an_editor_offers(
    kb: KnowledgeBase, validator: jsonschema.Draft202012Validator
) -> None:
    paths = {Path(kb.folder) / Path(*Path(r.place.path).parts[1:]) for r in kb.rules}
    assert paths
    for path in sorted(paths):
        assert not [e.message for e in validator.iter_errors(yaml.safe_load(path.read_text("utf-8")))], path


@pytest.mark.parametrize(
    "when",
    [
        {"carbide.mk": {"at_least": 8}},
        {"carbide.mc": {"at_leest": 8}},
        {"carbide.mc": {"at_least": 800}},
        {"carbide.mc": {"in": [1, 2]}},
        {"use": {"equals": "whittle"}},
        {"any": [{"use": {"equals": "whittle"}}]},
        {"grade": {"equals": "D2"}},
    ],
)
def test_the_words_schema_refuses_what_the_loader_refuses(
    validator: jsonschema.Draft202012Validator, when: object
) -> None:
    rule = {
        "id": "a",
        "title": "A rule",
        "status": "draft",
        "when": when,
        "then": {"shift": {"angle": {"by": 1}}},
        "because": "It is written for a test.",
        "does_not_apply_when": "Anywhere else.",
        "basis": "memory",
    }
    assert list(validator.iter_errors([rule]))
    assert not list(validator.iter_errors([rule | {"when": {"use": {"equals": "camp"}}}]))


def test_field_reference_names_every_field(kb: KnowledgeBase) -> None:
    folder = Path(kb.folder)
    text = field_reference(folder)
    for name in ("rules", "cases"):
        schema = json.loads((folder / f"schemas/{name}.schema.json").read_text("utf-8"))
        for field in schema["items"]["properties"]:
            assert f"| `{field}`" in text
    assert "| `then.favour.strength` * |" in text
    assert all(row.split("|")[3].strip() for row in text.splitlines() if row.startswith("| `"))


def test_reference_goes_between_its_markers() -> None:
    text = with_reference(f"a\n{START}\nold\n{END}\nb\n", "new")
    assert text == f"a\n{START}\n\nnew\n{END}\nb\n"
    assert with_reference(text, "new") == text
    with pytest.raises(KnowledgeError, match="once, in this order"):
        with_reference(f"{END}{START}", "new")


def test_schemas_command_checks_and_writes(make: Make) -> None:
    folder = make(files={"../DEVELOPERS.md": f"{START}\n{END}\n", "schemas/words.schema.json": "{}"})

    def run(*words: str) -> tuple[int, str]:
        result = CliRunner().invoke(main, ["--rules", str(folder), "rules", "schemas", *words])
        return result.exit_code, result.stdout

    code, text = run("--check")
    assert code == 2 and "words.schema.json is out of date" in text and "DEVELOPERS.md is out of date" in text
    assert run()[0] == 0
    assert run("--check") == (0, "")
