"""Sentence templates of a plan: grouped, with named slots, filled from numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.errors import KnowledgeError

DIGITS = 3


@dataclass(frozen=True)
class Texts:
    """Templates by ``group.key``."""

    templates: Mapping[str, str]

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Texts:
        """Build from the parsed ``texts.yaml``: groups of templates, other keys are left out."""
        return cls(
            {
                f"{group}.{key}": template
                for group, rows in data.items()
                if isinstance(rows, Mapping)
                for key, template in rows.items()
            }
        )

    def fill(self, key: str, **slots: object) -> str:
        """Return the sentence ``group.key`` with its slots filled; numbers to three digits.

        Raises:
            KnowledgeError: there is no such template, or it names a slot that is not filled.
        """
        if key not in self.templates:
            raise KnowledgeError(f"no text {key}", path="rules/planning/texts.yaml", hint="add it")
        shown = {name: _shown(value) for name, value in slots.items()}
        try:
            return self.templates[key].format(**shown)
        except KeyError as missing:
            hint = f"it may use {', '.join(sorted(shown))}" if shown else "it has no slots"
            message = f"text {key} names the slot {missing.args[0]}"
            raise KnowledgeError(message, path="rules/planning/texts.yaml", hint=hint) from None


def _shown(value: object) -> str:
    if isinstance(value, float):
        rounded = float(f"{value:.{DIGITS}g}")
        return f"{rounded:.10g}"
    return str(value)
