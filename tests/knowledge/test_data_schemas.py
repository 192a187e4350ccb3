"""Every data file is checked against its schema; slips are refused with file, line and a hint."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from advisor.errors import ErrorList, KnowledgeError
from advisor.knowledge.load import load_knowledge, rules_folder
from advisor.knowledge.marked_yaml import read_json, read_yaml
from advisor.knowledge.reader import COMPUTATION_FOLDERS
from advisor.knowledge.schema import schema_errors

RULES = rules_folder()
SCHEMAS = RULES / "schemas"
FILES = sorted(
    path.relative_to(RULES).as_posix()
    for folder in COMPUTATION_FOLDERS
    for path in (RULES / folder).iterdir()
    if path.suffix in (".yaml", ".json")
)

Slips = dict[tuple[str, str], tuple[int, list[KnowledgeError]]]

# file -> (text of one place, the same with a mistyped key, the key meant)
TYPOS = {
    "abrasives/apex.yaml": ("finest_um:", "finest_mu:", "finest_um"),
    "abrasives/hard_phases.yaml": ("working_hv: 1000", "workin_hv: 1000", "working_hv"),
    "abrasives/kit.yaml": ("name_at_most:", "names_at_most:", "name_at_most"),
    "abrasives/minerals.yaml": ("aliases: [b4c]", "alias: [b4c]", "aliases"),
    "abrasives/scales.yaml": ("used_for: water", "use_for: water", "used_for"),
    "abrasives/strops.yaml": ("easy_jump: 2", "easy_jmp: 2", "easy_jump"),
    "kits/two-sided-stone.yaml": ("{name: coarse side, kind:", "{name: coarse side, kinds:", "kind"),
    "metallurgy/carbide_model.json": ('"smallest_nitrogen":', '"smalest_nitrogen":', "smallest_nitrogen"),
    "metallurgy/carbide_model.yaml": ("lag_celsius:", "lag_celcius:", "lag_celsius"),
    "metallurgy/edge_retention.yaml": ("least_millimetres:", "least_millimeters:", "least_millimetres"),
    "metallurgy/en_names.yaml": ("high_alloy_from:", "high_aloy_from:", "high_alloy_from"),
    "metallurgy/facts.yaml": ("{volume:", "{volum:", "volume"),
    "metallurgy/hardness_scales.yaml": ("rockwell_tolerance:", "rockwell_tolerence:", "rockwell_tolerance"),
    "planning/progression.yaml": ("from_um:", "from_mu:", "from_um"),
    "planning/removal.yaml": ("size_exponent:", "size_exponant:", "size_exponent"),
    "planning/stropping.yaml": ("widest_jump:", "widst_jump:", "widest_jump"),
    "planning/texts.yaml": ("    higher-angle:", "    higher-angel:", "higher-angle"),
}  # fmt: skip

# file -> (text of one place, the same with a value of the wrong kind, the name the message must give)
WRONG_TYPES = {
    "abrasives/apex.yaml": ("exponent: 0.692", "exponent: steep", "exponent"),
    "abrasives/hard_phases.yaml": ("hv: [840, 1150]", "hv: 840-1150", "hv"),
    "abrasives/kit.yaml": ("items_at_most: 60", "items_at_most: many", "items_at_most"),
    "abrasives/minerals.yaml": ("cuts_from: 1.2", 'cuts_from: "1.2"', "cuts_from"),
    "abrasives/scales.yaml": ("{grade: 8000, um: 1.2, tol", "{grade: 8000, um: 1.2 um, tol", "um"),
    "abrasives/strops.yaml": ("pass_limit: 25", "pass_limit: 25.5", "pass_limit"),
    "kits/two-sided-stone.yaml": ("bond: vitrified, size: F320", "bond: [vitrified], size: F320", "bond"),
    "metallurgy/carbide_model.json": ('"self": 5.648963', '"self": "5.648963"', "self"),
    "metallurgy/carbide_model.yaml": ("nearly_stable: 0.90", "nearly_stable: [0.90]", "nearly_stable"),
    "metallurgy/edge_retention.yaml": ("hardness: [55, 65]", "hardness: 60", "hardness"),
    "metallurgy/en_names.yaml": ("carbon_above: 0.6", "carbon_above: 0.6 %", "carbon_above"),
    "metallurgy/facts.yaml": ("share: 0.15", "share: 15 %", "share"),
    "metallurgy/hardness_scales.yaml": ("[60, 697]", "[60, HV697]", "1"),
    "planning/progression.yaml": ("hard_families: [MC, M2C]", "hard_families: MC", "hard_families"),
    "planning/removal.yaml": ("at_deg: 17", "at_deg: 17 deg", "at_deg"),
    "planning/stropping.yaml": ("coarser_than_um: 10", "coarser_than_um: 10 um", "coarser_than_um"),
    "planning/texts.yaml": ("basis: common-practice", "basis: [common-practice]", "basis"),
}  # fmt: skip


def kind_of(file: str) -> str:
    """Return the name of the schema of a data file."""
    folder, name = file.split("/")
    stem, suffix = name.rsplit(".", 1)
    return "kit" if folder == "kits" else f"{folder}-{stem}" + ("_json" if suffix == "json" else "")


def plant(path: Path, at: str, instead: str) -> int:
    """Put a slip into a file and return its line."""
    text = path.read_text("utf-8")
    assert at in text, f"{path.name} no longer holds {at!r}"
    path.write_text(text.replace(at, instead, 1), "utf-8")
    return text[: text.index(at)].count("\n") + 1


def errors_of(folder: Path) -> list[KnowledgeError]:
    """Return what loading a folder complains about."""
    with pytest.raises(ErrorList) as caught:
        load_knowledge(folder, use_cache=False)
    return [error for error in caught.value.errors if isinstance(error, KnowledgeError)]


@pytest.fixture(scope="module")
def slips(tmp_path_factory: pytest.TempPathFactory) -> Slips:
    """(file, "typo" or "type") -> line of the slip and the errors of that file; all of them in one load."""
    folder = tmp_path_factory.mktemp("slips") / "rules"
    shutil.copytree(RULES, folder)
    lines = {(file, "typo"): plant(folder / file, *slip[:2]) for file, slip in TYPOS.items()}
    lines |= {(file, "type"): plant(folder / file, *slip[:2]) for file, slip in WRONG_TYPES.items()}
    errors = errors_of(folder)
    return {key: (line, [e for e in errors if e.path == f"rules/{key[0]}"]) for key, line in lines.items()}


@pytest.mark.parametrize("file", FILES)
def test_shipped_file_is_valid(file: str) -> None:
    read = read_json if file.endswith(".json") else read_yaml
    assert schema_errors(read(RULES / file), kind_of(file), SCHEMAS) == []


@pytest.mark.parametrize("file", FILES)
def test_editor_is_told_the_schema(file: str) -> None:
    if file.endswith(".yaml"):
        first = (RULES / file).read_text("utf-8").splitlines()[0]
        assert first == f"# yaml-language-server: $schema=../schemas/{kind_of(file)}.schema.json"


def test_slips_cover_every_schema() -> None:
    every = {kind_of(file) for file in FILES}
    assert {kind_of(file) for file in TYPOS} == every
    assert {kind_of(file) for file in WRONG_TYPES} == every


@pytest.mark.parametrize("file", TYPOS)
def test_mistyped_key(file: str, slips: Slips) -> None:
    line, errors = slips[file, "typo"]
    found = [e for e in errors if e.line == line and e.message.startswith("unknown key")]
    assert len(found) == 1
    assert re.match(rf"did you mean {TYPOS[file][2]}\b", found[0].hint)


@pytest.mark.parametrize("file", WRONG_TYPES)
def test_wrong_type(file: str, slips: Slips) -> None:
    line, errors = slips[file, "type"]
    found = [e for e in errors if e.line == line and e.message.startswith(f"'{WRONG_TYPES[file][2]}' is ")]
    assert len(found) == 1
    assert found[0].hint


def objects_in(schema: Any) -> Iterator[dict[str, Any]]:
    """Yield every part of a schema that describes keys."""
    if isinstance(schema, dict):
        if "properties" in schema and schema.get("type") == "object":
            yield schema
        for part in schema.values():
            yield from objects_in(part)
    elif isinstance(schema, list):
        for part in schema:
            yield from objects_in(part)


@pytest.mark.parametrize("kind", sorted({kind_of(file) for file in FILES}))
def test_schema_is_closed_and_sound(kind: str) -> None:
    schema = json.loads((SCHEMAS / f"{kind}.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$id"] == f"{kind}.schema.json"
    assert all(part.get("additionalProperties") is False for part in objects_in(schema))


def test_missing_schema_and_unknown_file_are_errors(tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(RULES, folder)
    (folder / "schemas" / "metallurgy-facts.schema.json").unlink()
    (folder / "planning" / "strops.yaml").write_text("{}\n", "utf-8")
    missing = "cannot be checked: rules/schemas/{}.schema.json is missing"
    assert [(e.path, e.message) for e in errors_of(folder)] == [
        ("rules/metallurgy/facts.yaml", missing.format("metallurgy-facts")),
        ("rules/planning/strops.yaml", missing.format("planning-strops")),
    ]


def test_json_that_only_yaml_would_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "figures.json"
    path.write_text('{\n "first": 1e-05,\n "second": two\n}\n', "utf-8")
    with pytest.raises(KnowledgeError, match="is not valid JSON") as caught:
        read_json(path)
    assert (caught.value.line, caught.value.column) == (3, 12)
    path.write_text('{"first": 1e-05}', "utf-8")
    assert read_json(path).data == {"first": 1e-05}
