"""Reading YAML: scalars that only look like values, and nesting without end."""

from __future__ import annotations

import pytest
import yaml

from advisor.errors import ErrorList, KnowledgeError
from advisor.knowledge import marked_yaml
from advisor.knowledge.marked_yaml import parse_yaml


@pytest.mark.parametrize("text", ["2024-13-45", "2024-02-30", "0x_"])
def test_a_scalar_that_is_no_value_is_an_error_at_its_place(text: str) -> None:
    """By its form YAML takes each for a date or a number."""
    with pytest.raises(ErrorList) as caught:
        parse_yaml(f"a: 1\nb: {text}\n".encode(), "x.yaml")
    (error,) = caught.value.errors
    assert (error.line, error.column) == (2, 1) and error.hint and len(str(error)) < 200


@pytest.mark.parametrize("loader", [yaml.SafeLoader, marked_yaml._Loader])
def test_nesting_without_end_is_an_error(loader: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """With and without the C library behind PyYAML."""
    monkeypatch.setattr(marked_yaml, "_Loader", loader)
    with pytest.raises(KnowledgeError):
        parse_yaml(b"[" * 20_000, "x.yaml")
