"""The compiled copy on disk: never believed where it may be somebody else's, never in the way."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from advisor.knowledge import cache
from advisor.knowledge.load import digest_of, load_knowledge, shipped_folder

DIGEST = "d" * 64


@dataclass(frozen=True)
class Thing:
    """Something to keep."""

    name: str


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder of this test alone."""
    monkeypatch.setenv("WHETRULE_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


def kept(place: Path) -> Path:
    """The one file in the cache."""
    (found,) = place.iterdir()
    return found


def test_what_was_written_is_read_back(place: Path) -> None:
    cache.write(DIGEST, Thing("a"))
    assert cache.read(DIGEST) == Thing("a")
    assert cache.read("e" * 64) is None
    assert kept(place).stat().st_mode & 0o077 == 0


def test_a_damaged_copy_is_ignored(place: Path) -> None:
    cache.write(DIGEST, Thing("a"))
    raw = bytearray(kept(place).read_bytes())
    raw[-1] ^= 1
    kept(place).write_bytes(raw)
    assert cache.read(DIGEST) is None
    kept(place).write_bytes(b"")
    assert cache.read(DIGEST) is None


@pytest.mark.parametrize("mode", [0o620, 0o602])
def test_a_copy_that_others_may_write_is_never_loaded(place: Path, mode: int) -> None:
    """A pickle can run code, so it must be this user's own work."""
    cache.write(DIGEST, Thing("a"))
    kept(place).chmod(mode)
    assert cache.read(DIGEST) is None


def test_a_copy_of_another_user_is_never_loaded(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache.write(DIGEST, Thing("a"))
    owner = kept(place).stat().st_uid
    monkeypatch.setattr(cache.os, "getuid", lambda: owner + 1)
    assert cache.read(DIGEST) is None


def test_other_code_does_not_read_it(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache.write(DIGEST, Thing("a"))
    monkeypatch.setattr(cache, "_code_stamp", lambda: "other")
    assert cache.read(DIGEST) is None


def test_old_copies_go(place: Path) -> None:
    for n in range(cache.KEEP + 3):
        cache.write(f"{n:032d}", Thing(str(n)))
    assert len(list(place.iterdir())) == cache.KEEP


def test_a_user_without_a_home_is_served_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """In many containers the user has neither HOME nor an entry in the list of users."""

    def homeless() -> Path:
        raise RuntimeError("Could not determine home directory.")

    for name in ("WHETRULE_CACHE", "XDG_CACHE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(cache.Path, "home", homeless)
    cache.write(DIGEST, Thing("a"))
    assert cache.read(DIGEST) is None


def test_a_folder_that_cannot_be_written_is_no_error(place: Path) -> None:
    place.write_text("a file where the folder should be")
    cache.write(DIGEST, Thing("a"))
    assert cache.read(DIGEST) is None


def test_a_copy_from_another_folder_names_the_folder_in_use(tmp_path: Path) -> None:
    """Two folders of one content share a copy, but errors and schemas belong to the one at hand."""
    shipped, twin = shipped_folder("rules"), tmp_path / "twin"
    shutil.copytree(shipped, twin)
    assert digest_of(shipped) == digest_of(twin)
    first, second = load_knowledge(shipped), load_knowledge(twin)
    assert first.digest == second.digest
    assert (Path(first.folder), Path(second.folder)) == (shipped, twin)
