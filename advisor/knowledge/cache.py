"""The compiled knowledge base on disk, so that the command starts fast.

One file per content digest and program version in the user's cache folder.  It is written to a
temporary name and renamed, so a reader never sees half a file; anything unreadable, stale or not owned
by this user is ignored and written anew.
"""

from __future__ import annotations

import contextlib
import gc
import hashlib
import os
import pickle
import sys
import tempfile
from pathlib import Path
from typing import Any

KEEP = 8
"""Compiled copies kept; older ones are removed when a new one is written."""


def folder() -> Path:
    """Return the cache folder: WHETRULE_CACHE, or the platform's usual place.

    Raises:
        RuntimeError: the user has no home folder.
    """
    if chosen := os.environ.get("WHETRULE_CACHE"):
        return Path(chosen)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home()) / "whetrule" / "cache"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "whetrule"


def _code_stamp() -> str:
    """Digest of the code that builds the cached objects; other code must not read them."""
    total = hashlib.sha256(f"{sys.version_info[:3]}".encode())
    package = Path(__file__).resolve().parent.parent
    for path in sorted((package / "knowledge").glob("*.py")):
        stat = path.stat()
        total.update(f"{path.name}{stat.st_size}{stat.st_mtime_ns}".encode())
    return total.hexdigest()[:16]


def _path(digest: str) -> Path:
    return folder() / f"kb-{digest[:32]}-{_code_stamp()}.pickle"


def _trusted(stat: os.stat_result) -> bool:
    """Whether the open file is this user's own; a pickle of somebody else must never be loaded."""
    if not hasattr(os, "getuid"):
        return True
    return stat.st_uid == os.getuid() and not stat.st_mode & 0o022


def read(digest: str) -> Any | None:
    """Return the object stored for a digest, or None if there is no usable one."""
    enabled = gc.isenabled()
    try:
        with open(_path(digest), "rb") as source:
            if not _trusted(os.fstat(source.fileno())):
                return None
            raw = source.read()
        # The collector would walk the growing object graph again and again while it loads.
        gc.disable()
        stored_digest, payload = raw[:64], raw[64:]
        if hashlib.sha256(payload).hexdigest().encode() != stored_digest:
            return None
        return pickle.loads(payload)
    except Exception:
        # Whatever is wrong with a cache file, the answer is the same: build it anew.
        return None
    finally:
        if enabled:
            gc.enable()


def write(digest: str, value: Any) -> None:
    """Store an object for a digest; a folder that cannot be found or written is no error."""
    payload = pickle.dumps(value, protocol=pickle.HIGHEST_PROTOCOL)
    # RuntimeError: a user without a home folder, as in many containers.
    with contextlib.suppress(OSError, RuntimeError):
        place = folder()
        place.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, temporary = tempfile.mkstemp(dir=place, suffix=".tmp")
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(hashlib.sha256(payload).hexdigest().encode() + payload)
            os.replace(temporary, _path(digest))
        finally:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        _prune(place)


def _prune(place: Path) -> None:
    copies = sorted(place.glob("kb-*.pickle"), key=lambda p: p.stat().st_mtime, reverse=True)
    for old in copies[KEEP:]:
        with contextlib.suppress(OSError):
            old.unlink()
