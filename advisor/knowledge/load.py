"""Find, read, check and freeze the knowledge base.

The folder rules/ is found beside the package in a checkout and inside it in an installed wheel; the
environment variable WHETRULE_RULES or an argument names another one.
"""

from __future__ import annotations

import hashlib
import os
from dataclasses import replace
from pathlib import Path

from advisor.errors import KnowledgeError
from advisor.knowledge import cache
from advisor.knowledge.model import KnowledgeBase


def shipped_folder(name: str) -> Path:
    """Return the folder ``rules`` or ``templates`` of a checkout or of the installed package."""
    package = Path(__file__).resolve().parent.parent
    for candidate in (package.parent / name, package / "_shipped" / name):
        if candidate.is_dir():
            return candidate
    raise KnowledgeError(
        f"the folder {name}/ was not found",
        path=str(package.parent / name),
        hint="reinstall Whetrule, or name a folder with WHETRULE_RULES",
    )


def rules_folder(folder: str | Path | None = None) -> Path:
    """Return the knowledge folder to use: the argument, WHETRULE_RULES, or the shipped one."""
    chosen = folder or os.environ.get("WHETRULE_RULES")
    if not chosen:
        return shipped_folder("rules")
    path = Path(chosen)
    if not (path / "vocabulary.yaml").is_file():
        raise KnowledgeError(
            "is not a knowledge folder",
            path=str(path),
            hint="it must hold vocabulary.yaml; name the rules/ folder itself",
        )
    return path


def knowledge_files(folder: Path) -> list[Path]:
    """Return every file the knowledge base is read from, in name order."""
    data = [p for p in folder.rglob("*") if p.suffix in (".yaml", ".json") and p.is_file()]
    return sorted(data)


def digest_of(folder: Path) -> str:
    """Return the SHA-256 over names and contents of all knowledge files.

    Raises:
        KnowledgeError: a file cannot be read.
    """
    total = hashlib.sha256()
    for path in knowledge_files(folder):
        try:
            content = path.read_bytes()
        except OSError as exc:
            raise KnowledgeError(f"cannot be read ({exc.strerror})", path=str(path)) from exc
        total.update(f"{path.relative_to(folder).as_posix()}\0{len(content)}\0".encode())
        total.update(content)
    return total.hexdigest()


def load_knowledge(folder: str | Path | None = None, *, use_cache: bool = True) -> KnowledgeBase:
    """Load the knowledge base.

    Args:
        folder: rules/ folder; the shipped one by default.
        use_cache: read and write the compiled copy in the user's cache folder.

    Raises:
        ErrorList: of KnowledgeError, everything wrong in all files at once.
        KnowledgeError: there is no such folder, or one of its files cannot be read.
    """
    path = rules_folder(folder)
    digest = digest_of(path)
    if use_cache:
        cached = cache.read(digest)
        if isinstance(cached, KnowledgeBase):
            # The copy may stem from another folder of the same content.
            return replace(cached, folder=str(path))
    # Reading YAML costs a start-up a good part of its time, and most starts find the compiled copy.
    from advisor.knowledge.reader import Reader

    kb = Reader(path, digest).read()
    if use_cache:
        cache.write(digest, kb)
    return kb
