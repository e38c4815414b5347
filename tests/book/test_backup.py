"""Backups: made while others write, opened and read before they count, and brought back whole."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from compliance.book import backup as room
from compliance.book import drafts, files, schema
from compliance.book.backup import backup, read, restore
from compliance.book.store import Book
from compliance.book.verify import verify
from compliance.records.problem import BookDamaged, ComplianceError

from .damaging import TAMPERING, sound_scene
from .making import NOW, book_of, entry


def test_a_backup_holds_every_record_and_file_and_says_what_it_is(tmp_path: Path) -> None:
    """Same records, same head, same files; the stated hash is that of the file; drafts stay out."""
    scene = sound_scene(tmp_path / "book")
    drafts.save(scene.folder, "night", {"used": "1"})
    (scene.folder / "query.sqlite").write_bytes(b"derived")
    made = backup(scene.folder, tmp_path / "usb" / "copy", now=NOW, named_files=scene.named_files)
    with Book.open(scene.folder) as book, Book.open(made.folder) as copy:
        assert list(copy.records()) == list(book.records())
        assert made.head == copy.head() == book.head()
    assert made.sha256 == sha256(schema.path_of(made.folder).read_bytes()).hexdigest()
    assert list(made.files) == files.names(scene.folder) == files.names(made.folder)
    assert made.damage == ()
    assert {path.name for path in made.folder.iterdir()} == {"records.sqlite", "files", "backup.json"}
    assert read(made.folder) == made


def test_restoring_brings_back_the_book(tmp_path: Path) -> None:
    """Into a folder that is not there: every record and file, and a book that goes on."""
    scene = sound_scene(tmp_path / "book")
    made = backup(scene.folder, tmp_path / "copy", now=NOW)
    report = restore(made.folder, tmp_path / "back")
    assert report.sound and report.deep and report.head == made.head and report.files == 2
    with Book.open(scene.folder) as book, Book.open(tmp_path / "back") as back:
        assert list(back.records()) == list(book.records())
        assert back.append([entry(77)], receipt_time=NOW).new[0].seq == book.head().size + 1
    assert files.names(tmp_path / "back") == list(made.files)
    assert read(made.folder) == made


def test_a_book_without_files_is_backed_up_too(tmp_path: Path) -> None:
    """No attachments: no folder for them, and nothing missing."""
    book_of(tmp_path / "book", 1).close()
    made = backup(tmp_path / "book", tmp_path / "copy", now=NOW)
    assert made.files == ()
    assert restore(made.folder, tmp_path / "back").head == made.head


WRITER = """
import sys
from pathlib import Path
from compliance.book import files
from compliance.book.store import Book
from tests_book_making import NOW, entry
with Book.open(Path(sys.argv[1])) as book:
    for number in range(1, 1_000_000):
        sha = files.put(book.folder, str(number % 50).encode())
        book.append([entry(number, payload={"photo": sha})], receipt_time=NOW)
        print(number, flush=True)
"""


def test_backups_taken_during_writing_are_all_sound(tmp_path: Path) -> None:
    """15 copies while another process appends records with files: each is sound, continues the one before it, and
    holds all that was acknowledged when it began."""
    book_of(tmp_path / "book", 1).close()
    shutil.copyfile(Path(__file__).parent / "making.py", tmp_path / "tests_book_making.py")
    environment = {**os.environ, "PYTHONPATH": str(tmp_path)}
    command = [sys.executable, "-c", WRITER, str(tmp_path / "book")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as writer:
        assert writer.stdout is not None
        last, sizes = None, []
        try:
            for number in range(15):
                acknowledged = 0
                for _ in range(7):
                    acknowledged = int(writer.stdout.readline())
                made = backup(tmp_path / "book", tmp_path / f"copy-{number}", now=NOW)
                assert made.head.size >= acknowledged + 1
                with Book.open(made.folder) as copy:
                    named = [(record.id, record.payload["photo"]) for record in copy.records(kind="run")]
                assert verify(made.folder, deep=True, kept_head=last, named_files=named).sound
                last = made.head
                sizes.append(last.size)
        finally:
            writer.kill()
    assert sizes == sorted(sizes) and sizes[-1] > 15 * 7


def test_a_place_in_use_is_never_written_to(tmp_path: Path) -> None:
    """A folder with anything in it, a file, the book itself: refused, and as it was."""
    scene = sound_scene(tmp_path / "book")
    made = backup(scene.folder, tmp_path / "copy", now=NOW)
    (tmp_path / "used").mkdir()
    (tmp_path / "used" / "letter.txt").write_text("mine")
    (tmp_path / "file").write_text("mine")
    for place in (tmp_path / "used", tmp_path / "file", scene.folder, made.folder):
        for attempt in (
            lambda to: backup(scene.folder, to, now=NOW),
            lambda to: restore(made.folder, to),
        ):
            before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")}
            with pytest.raises(ComplianceError, match="in use"):
                attempt(place)
            assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*") if path.is_file()} == {
                path: time for path, time in before.items() if path.is_file()
            }


def test_an_empty_folder_may_be_used(tmp_path: Path) -> None:
    """An external disk is mostly an empty folder at first."""
    book_of(tmp_path / "book", 2).close()
    for name in ("copy", "back"):
        (tmp_path / name).mkdir()
    backup(tmp_path / "book", tmp_path / "copy", now=NOW)
    assert restore(tmp_path / "copy", tmp_path / "back").sound


def test_a_spoilt_or_missing_file_is_told_and_holds_nothing_up(tmp_path: Path) -> None:
    """The backup is made; the spoilt photo is not in it, and the result names both."""
    scene = sound_scene(tmp_path / "book")
    loose = files.put(scene.folder, b"named by no record")
    (_, missing), (record, spoilt) = scene.named_files
    files.get(scene.folder, missing).unlink()
    for sha in (spoilt, loose):
        files.get(scene.folder, sha).write_bytes(b"spoilt")
    made = backup(scene.folder, tmp_path / "copy", now=NOW, named_files=scene.named_files)
    assert sorted(damage.kind for damage in made.damage) == ["changed-file", "changed-file", "missing-file"]
    assert sum(record in damage.where for damage in made.damage) == 1
    assert made.files == () and files.names(made.folder) == []
    assert restore(made.folder, tmp_path / "back").head == made.head


@pytest.mark.parametrize("name", ["edited-body", "deleted-middle", "dropped-trigger"])
def test_the_copy_of_a_damaged_book_is_not_a_backup(tmp_path: Path, name: str) -> None:
    """It is refused as damage, stays for comparison, and cannot be restored."""
    scene = sound_scene(tmp_path / "book")
    TAMPERING[name](scene)
    with pytest.raises(BookDamaged):
        backup(scene.folder, tmp_path / "copy", now=NOW)
    assert schema.path_of(tmp_path / "copy").exists()
    with pytest.raises(ComplianceError, match="not a finished backup"):
        restore(tmp_path / "copy", tmp_path / "back")
    assert not (tmp_path / "back").exists()


@pytest.mark.parametrize("name", ["edited-body", "truncated-tail-with-care", "rewritten-book", "forked-from-backup"])
def test_a_backup_that_was_tampered_with_is_not_restored(tmp_path: Path, name: str) -> None:
    """Even a careful hand is given away by the head that the backup was made with; nothing is written."""
    scene = sound_scene(tmp_path / "book")
    made = backup(scene.folder, tmp_path / "copy", now=NOW)
    scene.folder = made.folder
    TAMPERING[name](scene)
    with pytest.raises(BookDamaged):
        restore(made.folder, tmp_path / "back")
    assert not (tmp_path / "back").exists()


def test_a_backup_that_was_written_to_is_not_restored(tmp_path: Path) -> None:
    """Somebody went on working in the copy: sound in itself, but not what was made."""
    scene = sound_scene(tmp_path / "book")
    made = backup(scene.folder, tmp_path / "copy", now=NOW)
    with Book.open(made.folder) as book:
        book.append([entry(50)], receipt_time=NOW)
    with pytest.raises(BookDamaged, match="not the one that was made"):
        restore(made.folder, tmp_path / "back")
    assert not (tmp_path / "back").exists()


def test_a_backup_that_lost_a_file_is_not_restored(tmp_path: Path) -> None:
    """Every file that was in it must still be there and unchanged."""
    scene = sound_scene(tmp_path / "book")
    made = backup(scene.folder, tmp_path / "copy", now=NOW)
    path = files.get(made.folder, made.files[0])
    path.write_bytes(b"spoilt")
    with pytest.raises(BookDamaged, match="has other content"):
        restore(made.folder, tmp_path / "back")
    path.unlink()
    with pytest.raises(BookDamaged, match="is not there"):
        restore(made.folder, tmp_path / "back")


@pytest.mark.parametrize("content", [None, b"", b"{}", b"[]", b'{"head": 5}', b'{"head": "x"}', b"\xff"])
def test_what_is_no_finished_backup_is_refused(tmp_path: Path, content: bytes | None) -> None:
    """Without its description, or with one that cannot be read, a copy is not restored."""
    scene = sound_scene(tmp_path / "book")
    made = backup(scene.folder, tmp_path / "copy", now=NOW)
    path = made.folder / "backup.json"
    path.unlink() if content is None else path.write_bytes(content)
    with pytest.raises(ComplianceError, match="not a finished backup"):
        restore(made.folder, tmp_path / "back")


def test_the_description_is_plain_json(tmp_path: Path) -> None:
    """Readable in any editor for whoever finds the disk."""
    scene = sound_scene(tmp_path / "book")
    made = backup(scene.folder, tmp_path / "copy", now=NOW)
    content = json.loads((made.folder / "backup.json").read_text())
    assert content == {"made": NOW, "head": str(made.head), "sha256": made.sha256, "files": list(made.files)}


def test_a_copy_that_is_broken_off_does_not_look_like_a_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk of the copy fills up among the files: no book there, no backup there."""
    scene = sound_scene(tmp_path / "book")

    def full(*_: object) -> bool:
        raise ComplianceError.one("The disk is full; the file was not written", "the disk", "Free some space.")

    monkeypatch.setattr(room.files, "copy", full)
    with pytest.raises(ComplianceError, match="disk is full"):
        backup(scene.folder, tmp_path / "copy", now=NOW)
    with pytest.raises(ComplianceError, match="no book here"):
        Book.open(tmp_path / "copy")


def test_a_place_that_cannot_be_looked_into_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk of the copy fails at the first look."""
    scene = sound_scene(tmp_path / "book")
    real = Path.exists

    def failing(self: Path, **more: object) -> bool:
        if self.name == "copy":
            raise PermissionError(13, "Permission denied")
        return real(self, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Path, "exists", failing)
    with pytest.raises(ComplianceError) as caught:
        backup(scene.folder, tmp_path / "copy", now=NOW)
    assert "Permission denied" in caught.value.problems[0].where
