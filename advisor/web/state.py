"""What all pages of one application share; frozen when it is made."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from flask import current_app

from advisor.consult import Consultant
from advisor.knowledge.load import shipped_folder
from advisor.knowledge.words import plain


@dataclass(frozen=True)
class Site:
    """The knowledge, and the identity of the code.

    Attributes:
        consultant: answers questions.
        version: of the package; "unknown" from an uninstalled checkout.
        code: digest over code, templates and style sheet.
    """

    consultant: Consultant
    version: str
    code: str

    @cached_property
    def steel_names(self) -> tuple[str, ...]:
        """Every name a person would type for a steel, once however it is spelled, in the order of the catalogue."""
        found: dict[str, str] = {}
        for grade in self.consultant.kb.grades.values():
            for name in (grade.name, *grade.designations.values(), *grade.aliases):
                found.setdefault(plain(name), name)
        return tuple(found.values())

    @staticmethod
    def of(consultant: Consultant) -> Site:
        """Return the site of a consultant."""
        try:
            number = version("whetrule")
        except PackageNotFoundError:
            number = "unknown"
        return Site(consultant, number, _code_digest())


def site() -> Site:
    """Return the current application's site."""
    found = current_app.extensions["whetrule"]
    assert isinstance(found, Site)
    return found


def _code_digest() -> str:
    package, templates = Path(__file__).resolve().parent.parent, shipped_folder("templates")
    files = [*package.rglob("*.py"), *package.rglob("static/*"), *templates.rglob("*.html")]
    total = hashlib.sha256()
    for path in sorted(files):
        if "_shipped" not in path.parts or path.suffix == ".html":
            total.update(path.name.encode() + b"\0" + path.read_bytes())
    return total.hexdigest()[:16]
