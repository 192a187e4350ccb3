"""Knowledge bases to compare: folders, or the rules/ folder of a git revision."""

from __future__ import annotations

import io
import subprocess
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from advisor.errors import InputError

SECONDS = 60
"""How long git may take."""


@contextmanager
def rules_at(name: str, beside: Path) -> Iterator[Path]:
    """Give the rules/ folder that a folder or a git revision holds.

    Args:
        name: a rules/ folder, a checkout that holds one, or a git revision.
        beside: the rules/ folder of the checkout whose revisions are meant.

    Raises:
        InputError: there is no such folder or revision.
    """
    for folder in (Path(name), Path(name) / "rules"):
        if (folder / "vocabulary.yaml").is_file():
            yield folder
            return
    with TemporaryDirectory(prefix="whetrule-") as temporary:
        yield _export(name, beside, Path(temporary))


def _export(revision: str, beside: Path, into: Path) -> Path:
    if revision.startswith("-"):
        raise InputError(f"'{revision}' is neither a folder nor a git revision", field="revision")
    top = Path(_git(beside, "rev-parse", "--show-toplevel").decode().strip())
    prefix = _git(beside, "rev-parse", "--show-prefix").decode().strip().rstrip("/")
    commit = _git(beside, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}").decode().strip()
    packed = _git(top, "archive", "--format=tar", f"{commit}:{prefix}")
    folder = into / beside.name
    folder.mkdir()
    with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
        for member in archive.getmembers():
            path = folder / member.name
            if member.isdir():
                path.mkdir(parents=True, exist_ok=True)
            # Links and anything that would lie outside are left where they are: rules are plain files.
            elif member.isfile() and folder.resolve() in path.resolve().parents:
                path.parent.mkdir(parents=True, exist_ok=True)
                content = archive.extractfile(member)
                path.write_bytes(content.read() if content else b"")
    if not (folder / "vocabulary.yaml").is_file():
        raise InputError(
            f"revision '{revision}' has no {prefix}/vocabulary.yaml",
            field="revision",
            hint="name a revision that holds the rules",
        )
    return folder


def _git(folder: Path, *words: str) -> bytes:
    try:
        run = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, timeout=SECONDS, check=False)
    except FileNotFoundError:
        raise InputError("git is not installed", field="revision", hint="name folders instead of revisions") from None
    except subprocess.TimeoutExpired:
        raise InputError(f"git {words[0]} took longer than {SECONDS} s", field="revision") from None
    if run.returncode:
        told = run.stderr.decode(errors="replace").strip().splitlines()
        raise InputError(
            f"'{words[-1].split('^')[0]}' is neither a folder nor a git revision",
            field="revision",
            hint=told[-1] if told else "see 'git log --oneline'",
        )
    return run.stdout


def history_of(text: str, folder: Path, path: Path) -> list[str]:
    """Return the commits that added, moved or took away a text in a file, newest first; empty outside git."""
    try:
        found = _git(folder, "log", "--date=short", "--format=%h %ad %s", f"-G{text}", "--", str(path))
    except InputError:
        return []
    return found.decode(errors="replace").splitlines()
