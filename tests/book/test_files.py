"""Files by their hash: kept once, whole, under no other name."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest

from compliance.book import files
from compliance.records.problem import ComplianceError

ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"  # FIPS 180-4, "abc"


def test_bytes_and_files_are_kept_under_their_hash(tmp_path: Path) -> None:
    """The published hash of 'abc' is its name; a file over several reads is kept whole; the source stays."""
    assert files.put(tmp_path, b"abc") == ABC
    assert files.get(tmp_path, ABC).read_bytes() == b"abc"
    source = tmp_path / "IMG 0001 (copy).jpg"
    source.write_bytes(os.urandom((1 << 20) + 17))
    name = files.put(tmp_path, source)
    assert name == sha256(source.read_bytes()).hexdigest() == files.hash_of(files.get(tmp_path, name))
    assert files.names(tmp_path) == sorted([ABC, name])
    assert sorted(path.name for path in (tmp_path / "files").iterdir()) == files.names(tmp_path)


def test_the_same_bytes_twice_are_one_file_and_a_damaged_one_is_healed(tmp_path: Path) -> None:
    """A second put leaves the good file alone and replaces a bad one."""
    path = files.get(tmp_path, files.put(tmp_path, b"abc"))
    before = path.stat().st_ino
    files.put(tmp_path, b"abc")
    assert path.stat().st_ino == before
    path.write_bytes(b"abd")
    files.put(tmp_path, b"abc")
    assert path.read_bytes() == b"abc"
    assert files.names(tmp_path) == [ABC]


@pytest.mark.parametrize("sha", ["", "..", "../records.sqlite", ABC[:-1], ABC.upper(), ABC + "0", "0" * 64])
def test_only_a_hash_is_looked_up(tmp_path: Path, sha: str) -> None:
    """Nothing outside the folder is reached, and what is not there is said."""
    files.put(tmp_path, b"abc")
    (tmp_path / "records.sqlite").write_bytes(b"x")
    with pytest.raises(ComplianceError, match="holds no file"):
        files.get(tmp_path, sha)


def test_what_was_lost_or_changed_is_none_for_who_goes_on_without_it(tmp_path: Path) -> None:
    """A page prints no picture that is not the one that was kept."""
    path = files.get(tmp_path, files.put(tmp_path, b"abc"))
    assert files.sound(tmp_path, ABC) == b"abc"
    path.write_bytes(b"abd")
    assert files.sound(tmp_path, ABC) is None
    path.unlink()
    assert files.sound(tmp_path, ABC) is None
    assert files.sound(tmp_path, "") is None


def test_names_without_a_folder_are_none(tmp_path: Path) -> None:
    """A book without attachments has no folder for them."""
    assert files.names(tmp_path) == []


@pytest.mark.parametrize("as_path", [False, True])
def test_a_file_over_the_cap_is_refused_before_it_is_read(tmp_path: Path, as_path: bool) -> None:
    """At the cap it is taken, one byte more is not, and nothing stays behind."""
    (tmp_path / "source").write_bytes(b"12345")
    source = tmp_path / "source" if as_path else b"12345"
    files.put(tmp_path / "book", source, largest=5)
    with pytest.raises(ComplianceError, match="5 bytes, 4 at most") as caught:
        files.put(tmp_path / "other", source, largest=4)
    assert caught.value.problems[0].where == (str(source) if as_path else "the bytes given")
    assert not (tmp_path / "other").exists()


def test_a_source_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    """A missing file and a folder are refused by name."""
    for source in (tmp_path / "nowhere.jpg", tmp_path):
        with pytest.raises(ComplianceError) as caught:
            files.put(tmp_path, source)
        assert str(source) in caught.value.problems[0].where


def test_a_source_that_fails_midway_is_named_and_leaves_nothing(tmp_path: Path) -> None:
    """An unreadable source is the source's fault, not the book's disk's."""
    with pytest.raises(ComplianceError) as caught:
        files.hash_of(tmp_path)
    assert str(tmp_path) in caught.value.problems[0].where


def failing(number: int) -> Callable[..., None]:
    """A system call that fails with this error number."""

    def fail(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "disk is full"),
        (errno.EFBIG, "disk is full"),
        (errno.EDQUOT, "disk is full"),
        (errno.EIO, "did not"),
    ],
)
def test_a_failing_disk_is_said_in_plain_words_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    """Sync fails: the message names the disk, no half file stays, an earlier whole one does."""
    (tmp_path / "kept").write_bytes(b"earlier")
    (tmp_path / "moving").write_bytes(b"finished")
    (tmp_path / "files").mkdir()
    monkeypatch.setattr(files.os, "fsync", failing(number))
    for write in (
        lambda: files.put(tmp_path, b"abc"),
        lambda: files.write_whole(tmp_path / "kept", b"later"),
        lambda: files.move_whole(tmp_path / "moving", tmp_path / "moved"),
        lambda: files.make_folder(tmp_path / "new"),
    ):
        with pytest.raises(ComplianceError) as caught:
            write()
        assert words in caught.value.problems[0].what
        assert str(tmp_path) in caught.value.problems[0].where and "disk" in caught.value.problems[0].where
    assert (tmp_path / "kept").read_bytes() == b"earlier"
    assert not (tmp_path / "moved").exists()
    assert files.names(tmp_path) == []
    assert [path for path in tmp_path.rglob("*") if path.name.startswith(".part")] == []


def test_an_error_without_words_of_the_system_keeps_its_own() -> None:
    """Some errors carry only a message."""
    assert "(odd)" in files.explain(OSError("odd"), Path("x")).problems[0].where
    assert "(No space left)" in files.explain(OSError(28, "No space left"), Path("x")).problems[0].where


def test_every_file_and_its_folder_are_synced_before_the_name_is_returned(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In this order: the content, the name, the folder."""
    done: list[str] = []
    sync, replace = os.fsync, Path.replace
    monkeypatch.setattr(files.os, "fsync", lambda handle: (done.append("sync"), sync(handle))[1])
    monkeypatch.setattr(Path, "replace", lambda self, to: (done.append("name"), replace(self, to))[1])
    (tmp_path / "files").mkdir()
    files.put(tmp_path, b"abc")
    assert done == ["sync", "name", "sync"]


def test_where_folders_cannot_be_synced_files_still_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As on Windows: only the file itself is synced."""
    monkeypatch.setattr(files, "_FOLDERS_SYNC", False)
    handles: list[int] = []
    monkeypatch.setattr(files.os, "fsync", handles.append)
    assert files.put(tmp_path, b"abc") == ABC
    assert len(handles) == 1


def test_a_copy_is_made_only_of_what_its_name_says(tmp_path: Path) -> None:
    """A good file arrives, a spoilt one leaves no trace in the copy."""
    good, bad = files.put(tmp_path / "a", b"good"), files.put(tmp_path / "a", b"bad")
    files.get(tmp_path / "a", bad).write_bytes(b"good")
    assert files.copy(tmp_path / "a", good, tmp_path / "b")
    assert not files.copy(tmp_path / "a", bad, tmp_path / "b")
    assert files.names(tmp_path / "b") == [good]
    assert len(list((tmp_path / "b" / "files").iterdir())) == 1
