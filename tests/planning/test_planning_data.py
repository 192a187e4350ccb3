"""The planner's data: every figure says how it is known, and mistakes are refused with what to do."""

from __future__ import annotations

import copy
import inspect
import json
from pathlib import Path

import jsonschema
import pytest

from advisor.errors import KnowledgeError
from advisor.planning import left_out, plan, steps, stropping
from advisor.planning.data import planning_data

RULES = Path(__file__).parents[2] / "rules"
BASES = {"published", "common-practice", "computed", "estimated", "memory"}


def walk(node, path=""):
    if isinstance(node, dict):
        yield path, node
        for key, value in node.items():
            yield from walk(value, f"{path}.{key}")
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield from walk(value, f"{path}[{index}]")


def test_every_single_figure_says_how_it_is_known(parsed):
    for name in ("progression", "removal", "stropping"):
        for path, node in walk(parsed[name], name):
            if "value" in node:
                assert node.get("basis") in BASES, path


def test_published_figures_name_a_listed_source(parsed):
    for name in ("progression", "removal", "stropping"):
        listed = parsed[name]["sources"]
        named = {key for _, node in walk(parsed[name]) for key in node.get("sources", []) if node is not listed}
        assert named - set(listed) == set()
        for path, node in walk(parsed[name], name):
            if node.get("basis") == "published":
                assert node.get("sources"), path
        assert set(listed) - named == set(), "a source nothing rests on"


NAMES = ("progression", "removal", "stropping", "texts")


def schema(name):
    return json.loads((RULES / f"schemas/planning-{name}.schema.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", NAMES)
def test_files_fit_their_schema_and_name_it(parsed, name):
    jsonschema.Draft202012Validator.check_schema(schema(name))
    errors = jsonschema.Draft202012Validator(schema(name)).iter_errors(parsed[name])
    assert [error.message for error in errors] == []
    first = (RULES / f"planning/{name}.yaml").read_text(encoding="utf-8").splitlines()[0]
    assert first == f"# yaml-language-server: $schema=../schemas/planning-{name}.schema.json"


@pytest.mark.parametrize("name", NAMES)
def test_schemas_refuse_a_key_too_many_and_a_key_too_few(parsed, name):
    check = jsonschema.Draft202012Validator(schema(name))
    assert not check.is_valid(parsed[name] | {"grit": 1})
    for key in parsed[name]:
        assert not check.is_valid({k: v for k, v in parsed[name].items() if k != key}), key


@pytest.mark.parametrize("name", NAMES[:3])
def test_schemas_refuse_a_figure_without_its_basis(parsed, name):
    check = jsonschema.Draft202012Validator(schema(name))
    for path, _ in walk(parsed[name]):
        changed = copy.deepcopy(parsed[name])
        node = dict(walk(changed))[path]
        if "value" in node and node.pop("basis", None):
            assert not check.is_valid(changed), path


def broken(parsed, change):
    copied = copy.deepcopy(parsed)
    change(copied)
    with pytest.raises(KnowledgeError) as refused:
        planning_data(copied)
    return str(refused.value)


def test_ratios_out_of_order_are_refused(parsed):
    def change(files):
        files["progression"]["ratios"]["widest"]["value"] = 2.5

    assert "out of order" in broken(parsed, change)


def test_slack_wider_than_near_is_refused(parsed):
    def change(files):
        files["progression"]["start"]["slack"]["value"] = 3

    assert "slack" in broken(parsed, change)


def test_a_ladder_that_does_not_get_finer_is_refused(parsed):
    def change(files):
        files["progression"]["ladders"][0]["um"] = [10, 20]

    assert "does not get finer" in broken(parsed, change)


def test_an_unknown_slot_in_a_text_is_refused_with_the_slots_there_are(parsed):
    def change(files):
        files["texts"]["texts"]["gap"]["between"] = "From {grit}"

    message = broken(parsed, change)
    assert "gap.between" in message and "coarse, fine, ratio, stone" in message


def test_a_missing_text_is_named(data):
    with pytest.raises(KnowledgeError, match=r"no text gap\.none"):
        data.texts.fill("gap.none")


def test_numbers_are_shown_to_three_digits(data):
    text = data.texts.fill("gap.finish", coarse=1234.5678, fine=0.012345, ratio=1.0)
    assert "1230" in text and "0.0123" in text


def test_no_sentence_stands_in_the_planner():
    """Sentences belong to rules/planning/texts.yaml; code holds only template keys."""
    for module in (plan, steps, left_out, stropping):
        code = "\n".join(
            line for line in inspect.getsource(module).splitlines() if 'fill("' not in line and '"""' not in line
        )
        quoted = [piece for piece in code.split('"')[1::2] if piece.count(" ") > 3]
        assert quoted == []
