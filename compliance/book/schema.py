"""The database of a book: its SQL, its settings, its errors in plain words. The only home of each of them.

Triggers and checks are a seat belt against our own mistakes and against other programs; whoever holds the file can
take them off. Evidence is the tree (`tree`) and a head kept elsewhere.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from compliance.records.problem import BookDamaged, ComplianceError

FILE_NAME = "records.sqlite"

APPLICATION_ID = int.from_bytes(b"WWRB")
"""Marks the file as a wash-water record book, whatever it is called."""

USER_VERSION = 1
"""The version of the tables below. A book with a higher one was written by a newer program and is not touched."""

RECORDS = """\
CREATE TABLE records (
  seq INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (typeof(id) = 'text'),
  kind TEXT NOT NULL CHECK (typeof(kind) = 'text'),
  schema INTEGER NOT NULL CHECK (typeof(schema) = 'integer'),
  event_time TEXT NOT NULL CHECK (typeof(event_time) = 'text'),
  device_time TEXT NOT NULL CHECK (typeof(device_time) = 'text'),
  receipt_time TEXT NOT NULL CHECK (typeof(receipt_time) = 'text'),
  payload_hash BLOB NOT NULL CHECK (typeof(payload_hash) = 'blob' AND length(payload_hash) = 32),
  leaf_hash BLOB NOT NULL CHECK (typeof(leaf_hash) = 'blob' AND length(leaf_hash) = 32),
  payload BLOB NOT NULL CHECK (typeof(payload) = 'blob')
)"""
# The payload stands last: a long one spills to other pages, which reading the columns before it then never touches.

COLUMNS = "seq, id, kind, schema, event_time, device_time, receipt_time, payload_hash, leaf_hash, payload"
"""The columns of a record in the order of the table, for reading them by name."""

FRONTIER = """\
CREATE TABLE tree_frontier (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  size INTEGER NOT NULL CHECK (typeof(size) = 'integer'),
  hashes BLOB NOT NULL CHECK (typeof(hashes) = 'blob')
)"""

SCHEMA: Mapping[str, str] = {
    "records": RECORDS,
    "tree_frontier": FRONTIER,
    "records_by_kind": "CREATE INDEX records_by_kind ON records (kind)",
    "records_no_update": """\
CREATE TRIGGER records_no_update BEFORE UPDATE ON records
BEGIN SELECT RAISE(ABORT, 'a record is never changed'); END""",
    "records_no_delete": """\
CREATE TRIGGER records_no_delete BEFORE DELETE ON records
BEGIN SELECT RAISE(ABORT, 'a record is never removed'); END""",
    # INSERT OR REPLACE removes the old row without firing the delete trigger unless recursive_triggers is on, and
    # another program may have it off. The guard also keeps the sequence without gaps.
    "records_no_replace": """\
CREATE TRIGGER records_no_replace BEFORE INSERT ON records
WHEN NEW.seq IS NOT (SELECT ifnull(max(seq), 0) + 1 FROM records) OR EXISTS (SELECT 1 FROM records WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'a record is added at the end, once'); END""",
}
"""Every object of the database by name, with its exact SQL: `verify` compares them."""

CONNECTION: Mapping[str, int] = {
    "foreign_keys": 1,
    "synchronous": 2,  # FULL: with NORMAL, a loss of power loses records that were acknowledged
    "trusted_schema": 0,
    "cell_size_check": 1,
    "recursive_triggers": 1,
    "busy_timeout": 10_000,  # milliseconds that a second writer waits for the first
}
"""Settings of a connection: set each time, and read back."""


def path_of(folder: Path) -> Path:
    """The database file of a book."""
    return folder / FILE_NAME


def connect(path: Path, *, create: bool = False) -> sqlite3.Connection:
    """Open the file with every setting of a connection in place; the file itself is not changed.

    Transactions are opened and closed by hand only. Raises ComplianceError when the file cannot be opened or a
    setting does not hold.
    """
    mode = "rwc" if create else "rw"
    with plainly(path):
        db = sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, isolation_level=None)
        try:
            for name, value in CONNECTION.items():
                db.execute(f"PRAGMA {name} = {value}")
                row = db.execute(f"PRAGMA {name}").fetchone()
                if row is None or row[0] != value:
                    raise ComplianceError.one(
                        f"The database setting {name} does not hold (wanted {value}, found {row and row[0]})",
                        f"{path}, SQLite {sqlite3.sqlite_version}",
                        "Use a Python with a newer SQLite; without this setting a record could be lost.",
                    )
        except BaseException:
            db.close()
            raise
    return db


def log_ahead(db: sqlite3.Connection, path: Path) -> None:
    """Have the file written ahead to a log; the file remembers. Raises ComplianceError where the disk cannot."""
    mode = db.execute("PRAGMA journal_mode = WAL").fetchone()[0]
    if mode != "wal":
        raise ComplianceError.one(
            f"This disk cannot keep a book: it has no write-ahead logging (it offers {mode!r})",
            str(path),
            "Keep the book on a disk inside this computer, not on a network drive, and back it up to the other.",
        )


def build(db: sqlite3.Connection) -> None:
    """Make the tables and mark the file as a book, inside the caller's transaction."""
    for sql in SCHEMA.values():
        db.execute(sql)
    db.execute("INSERT INTO tree_frontier VALUES (1, 0, x'')")
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {USER_VERSION}")


def marks(db: sqlite3.Connection) -> tuple[int, int, bool]:
    """The application id, the user version, and whether the file holds any table at all."""
    application = db.execute("PRAGMA application_id").fetchone()[0]
    version = db.execute("PRAGMA user_version").fetchone()[0]
    return application, version, db.execute("SELECT 1 FROM sqlite_master").fetchone() is not None


def objects(db: sqlite3.Connection) -> dict[str, str]:
    """The SQL of every object by name; indexes that SQLite makes by itself have none and are left out."""
    return dict(db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"))


@contextmanager
def plainly(path: Path) -> Iterator[None]:
    """Turn any database error inside the block into one that says what happened and what to do.

    Raises ComplianceError in its place. A misuse of the connection, after closing it for instance, is our own mistake
    and stays what it is.
    """
    try:
        yield
    except sqlite3.ProgrammingError:
        raise
    except (sqlite3.Error, UnicodeDecodeError) as error:  # damaged text can reach even the messages of SQLite
        raise explain(error, path) from error


_WORDS: Mapping[int, tuple[str, str]] = {
    sqlite3.SQLITE_FULL: (
        "The disk is full; nothing was written",
        "Free some space on that disk, then do it again.",
    ),
    sqlite3.SQLITE_IOERR: (
        "The disk failed to read or write; nothing was written in part",
        "Check the disk and its cable, and that it is not full; then do it again: what is already in is not doubled.",
    ),
    sqlite3.SQLITE_BUSY: (
        "Another program is writing to this book and has not finished; nothing was written",
        "Wait until it is done, then do it again.",
    ),
    sqlite3.SQLITE_READONLY: (
        "The book cannot be written to; nothing was written",
        "Check who may write to the folder and whether the disk is locked against writing.",
    ),
    sqlite3.SQLITE_CANTOPEN: (
        "The book cannot be opened",
        "Check that the folder exists and that you may read and write in it.",
    ),
}
_SAME = {sqlite3.SQLITE_LOCKED: sqlite3.SQLITE_BUSY, sqlite3.SQLITE_PERM: sqlite3.SQLITE_READONLY}


def explain(error: Exception, path: Path) -> ComplianceError:
    """The database error in plain words; BookDamaged when the file no longer answers as a book should."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR)
    where = f"{path} and the disk it is on (SQLite says: {error})"
    primary = _SAME.get(code & 0xFF, code & 0xFF)
    if primary in _WORDS:
        what, next_step = _WORDS[primary]
        return ComplianceError.one(what, where, next_step)
    return BookDamaged.one(
        "The book does not answer as a book should",
        where,
        "Stop entering; run `washwater verify`, which says what is damaged, and keep this copy as it is.",
    )
