"""The JSON Schema for kit files: it takes what the reader of kits takes and refuses what that refuses."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
import yaml

from advisor.abrasives.kit import kit_from_data
from advisor.errors import ErrorList

RULES = Path(__file__).parents[2] / "rules"
KITS = sorted((RULES / "kits").glob("*.yaml"))


@pytest.fixture(scope="module")
def validator():
    schema = json.loads((RULES / "schemas/kit.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_there_are_four_example_kits():
    assert len(KITS) == 4


@pytest.mark.parametrize("path", KITS, ids=lambda path: path.stem)
def test_example_kits_are_valid_and_name_their_schema(validator, path):
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# yaml-language-server: $schema=../schemas/kit.schema.json\n")
    assert [error.message for error in validator.iter_errors(yaml.safe_load(text))] == []


GOOD = {"kind": "stone", "size": "JIS 1000", "abrasive": "alumina"}
WRONG = [
    ({"items": [GOOD | {"grit": 1000}]}, "an unknown key"),
    ({"items": [{"kind": "stone", "abrasive": "alumina"}]}, "a stone without a size"),
    ({"items": [{"kind": "strop", "compound": "1 um diamond"}]}, "a strop without a backing"),
    ({"items": [{"kind": "strop", "backing": "felt", "size": "1 um"}]}, "a strop with a size of its own"),
    ({"items": [{"kind": "strop", "backing": "felt", "state": "worn"}]}, "a strop with a dressing state"),
    ({"items": [GOOD | {"compound": "1 um diamond"}]}, "a stone with a compound"),
    ({"items": [GOOD | {"thickness": 61}]}, "too thick"),
    ({"items": [GOOD | {"thickness": "thick"}]}, "a thickness without a number"),
    ({"items": [GOOD | {"name": "a: b"}]}, "a name with a colon"),
    ({"items": [GOOD | {"name": "x" * 61}]}, "a name that is too long"),
    ({"items": [GOOD | {"size": 1.5}]}, "a size that is a fraction without a unit"),
    ({"items": [GOOD] * 61}, "too many items"),
    ({"items": "JIS 1000"}, "items that are no list"),
    ({"items": [], "owner": "me"}, "an unknown key of the kit"),
]


@pytest.mark.parametrize(("data", "what"), WRONG, ids=[what for _, what in WRONG])
def test_schema_and_reader_refuse_the_same(validator, scales, words, data, what):
    assert not validator.is_valid(data)
    with pytest.raises(ErrorList):
        kit_from_data(data, scales, words)


def test_schema_keeps_to_the_keys_and_limits_of_the_data():
    schema = json.loads((RULES / "schemas/kit.schema.json").read_text(encoding="utf-8"))
    data = yaml.safe_load((RULES / "abrasives/kit.yaml").read_text(encoding="utf-8"))
    items = schema["properties"]["items"]
    assert list(items["items"]["properties"]) == data["keys"]
    assert items["maxItems"] == data["items_at_most"]
    name = items["items"]["properties"]["name"]
    assert name["maxLength"] == schema["properties"]["name"]["maxLength"] == data["name_at_most"]
    thickness = items["items"]["properties"]["thickness"]["anyOf"][0]
    assert [thickness["minimum"], thickness["maximum"]] == list(data["thickness_mm"].values())
