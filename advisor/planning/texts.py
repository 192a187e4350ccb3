"""Sentence templates of a plan: grouped, with named slots, filled from numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from string import Formatter
from typing import Any

from advisor.errors import KnowledgeError

DIGITS = 3
PATH = "rules/planning/texts.yaml"


@dataclass(frozen=True)
class Texts:
    """Templates by ``group.key``."""

    templates: Mapping[str, str]

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Texts:
        """Build from the parsed ``texts.yaml``: ``slots`` and ``texts``, both by group.

        Raises:
            KnowledgeError: a template names a slot that its group does not have.
        """
        templates = {}
        for group, rows in data["texts"].items():
            known = data["slots"].get(group, [])
            for key, template in rows.items():
                for _, slot, _, _ in Formatter().parse(template):
                    if slot is not None and slot not in known:
                        raise KnowledgeError(
                            f"text {group}.{key} names the slot {slot!r}",
                            path=PATH,
                            hint=f"slots of {group}: {', '.join(known) or 'none'}",
                        )
                templates[f"{group}.{key}"] = template
        return cls(templates)

    def fill(self, key: str, **slots: object) -> str:
        """Return the sentence ``group.key`` with its slots filled; numbers to three digits.

        Raises:
            KnowledgeError: there is no such template.
        """
        if key not in self.templates:
            raise KnowledgeError(f"no text {key}", path=PATH, hint="add it")
        return self.templates[key].format(**{name: _shown(value) for name, value in slots.items()})


def _shown(value: object) -> str:
    if isinstance(value, float):
        rounded = float(f"{value:.{DIGITS}g}")
        return f"{rounded:.10g}"
    return str(value)
