"""The database: settings that hold, guards that bite, errors in plain words."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from compliance.book import schema
from compliance.book.store import Book
from compliance.records.problem import BookDamaged, ComplianceError

from .making import book_of


def test_every_setting_is_read_back_from_the_open_book(tmp_path: Path) -> None:
    """Safe settings, log-ahead, and the marks of the file, each asked of SQLite itself."""
    with book_of(tmp_path, 1) as book:
        expected = {
            "foreign_keys": 1,
            "synchronous": 2,
            "trusted_schema": 0,
            "cell_size_check": 1,
            "recursive_triggers": 1,
            "busy_timeout": 10_000,
            "journal_mode": "wal",
            "application_id": int.from_bytes(b"WWRB"),
            "user_version": 1,
        }
        assert {name: book._db.execute(f"PRAGMA {name}").fetchone()[0] for name in expected} == expected
        assert schema.objects(book._db) == schema.SCHEMA


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE records SET kind = 'stop' WHERE seq = 2",
        "DELETE FROM records WHERE seq = 3",
        "DELETE FROM records",
        "INSERT OR REPLACE INTO records SELECT * FROM records WHERE seq = 2",
        "REPLACE INTO records SELECT 4, id, kind, schema, event_time, device_time, receipt_time, payload_hash, "
        "leaf_hash, payload FROM records WHERE seq = 2",
        "INSERT INTO records SELECT 9, 'x', kind, schema, event_time, device_time, receipt_time, payload_hash, "
        "leaf_hash, payload FROM records WHERE seq = 2",
        "INSERT OR IGNORE INTO records SELECT NULL, 'x', kind, schema, event_time, device_time, receipt_time, "
        "payload_hash, leaf_hash, payload FROM records WHERE seq = 2",
    ],
)
@pytest.mark.parametrize("recursive", [0, 1])
def test_another_program_is_stopped_by_the_guards(tmp_path: Path, statement: str, recursive: int) -> None:
    """Update, delete, replace and a gap are refused whatever the other program's settings are."""
    book_of(tmp_path, 3).close()
    other = sqlite3.connect(schema.path_of(tmp_path))
    other.execute(f"PRAGMA recursive_triggers = {recursive}")
    before = other.execute("SELECT * FROM records").fetchall()
    with pytest.raises(sqlite3.IntegrityError, match="a record is"):
        other.execute(statement)
    other.rollback()
    assert other.execute("SELECT * FROM records").fetchall() == before
    other.close()


def test_a_setting_that_does_not_hold_is_an_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings are read back: one that SQLite does not take, or does not know, stops the opening."""
    book_of(tmp_path, 1).close()
    for name, value in (("synchronous", 9), ("no_such_setting", 1)):
        monkeypatch.setattr(schema, "CONNECTION", {name: value})
        with pytest.raises(ComplianceError, match=f"setting {name} does not hold"):
            schema.connect(schema.path_of(tmp_path))


def test_a_disk_without_log_ahead_writing_is_refused(tmp_path: Path) -> None:
    """Where SQLite answers with another mode (a database in memory here), the message speaks of network drives."""
    memory = sqlite3.connect(":memory:")
    with pytest.raises(ComplianceError, match="cannot keep a book") as caught:
        schema.log_ahead(memory, tmp_path)
    assert "network drive" in caught.value.problems[0].next_step
    memory.close()


@pytest.mark.parametrize(
    ("code", "words", "exit_code"),
    [
        (sqlite3.SQLITE_FULL, "disk is full", 2),
        (sqlite3.SQLITE_IOERR, "disk failed", 2),
        (sqlite3.SQLITE_IOERR_FSYNC, "disk failed", 2),
        (sqlite3.SQLITE_BUSY, "Another program", 2),
        (sqlite3.SQLITE_BUSY_SNAPSHOT, "Another program", 2),
        (sqlite3.SQLITE_LOCKED, "Another program", 2),
        (sqlite3.SQLITE_READONLY, "cannot be written", 2),
        (sqlite3.SQLITE_PERM, "cannot be written", 2),
        (sqlite3.SQLITE_CANTOPEN, "cannot be opened", 2),
        (sqlite3.SQLITE_CORRUPT, "does not answer", 3),
        (sqlite3.SQLITE_NOTADB, "does not answer", 3),
        (None, "does not answer", 3),
    ],
)
def test_every_database_error_is_said_in_plain_words(code: int | None, words: str, exit_code: int) -> None:
    """The message names the file and its disk, and keeps what SQLite said."""
    error = sqlite3.OperationalError("as SQLite has it")
    if code is not None:
        error.sqlite_errorcode = code
    said = schema.explain(error, Path("book/records.sqlite"))
    assert words in said.problems[0].what
    assert "records.sqlite" in said.problems[0].where and "as SQLite has it" in said.problems[0].where
    assert said.exit_code == exit_code


def test_a_file_that_is_no_database_is_damage_and_not_overwritten(tmp_path: Path) -> None:
    """Opening and creating both refuse, and the bytes stay."""
    schema.path_of(tmp_path).write_bytes(b"not a database, but ours to keep " * 40)
    with pytest.raises(BookDamaged):
        Book.open(tmp_path)
    with pytest.raises(BookDamaged):
        book_of(tmp_path, 1)
    assert schema.path_of(tmp_path).read_bytes() == b"not a database, but ours to keep " * 40
