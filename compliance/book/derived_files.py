"""Files beside the records that are made from them: how they are opened, and thrown away without a thought.

Nothing in them proves anything. A loss of power may cost the last changes to such a file, never its soundness
(synchronous NORMAL), and it then catches up; one that no longer answers is deleted and made again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from compliance.records.problem import ComplianceError

INDEX = "index.sqlite"
QUERY = "query.sqlite"

_WAIT = 10_000  # milliseconds for another program to finish
_PASSING = (
    sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_INTERRUPT,
)  # fmt: skip
"""Errors that making the file again would not mend."""


def connect(path: Path, *, log_ahead: bool) -> sqlite3.Connection:
    """Open a derived file for writing, made if it is not there; transactions are opened and closed by hand.

    log_ahead: readers go on while it is written to; only for a file that nobody opens read-only.
    """
    db = sqlite3.connect(path, isolation_level=None, timeout=_WAIT / 1000)
    try:
        db.execute(f"PRAGMA journal_mode = {'WAL' if log_ahead else 'DELETE'}")
        db.execute("PRAGMA synchronous = NORMAL")
    except BaseException:
        db.close()
        raise
    return db


def reading(path: Path) -> sqlite3.Connection:
    """Open a derived file so that nothing in it can be changed."""
    db = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=_WAIT / 1000)
    db.execute("PRAGMA query_only = ON")
    db.execute("PRAGMA trusted_schema = OFF")
    return db


def remove(path: Path) -> None:
    """Delete a derived file and what SQLite keeps beside it."""
    for name in (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm", "-journal"))):
        name.unlink(missing_ok=True)


def beyond_repair(error: sqlite3.Error) -> bool:
    """Whether making the file again is what helps: it is torn, or no database at all."""
    code = getattr(error, "sqlite_errorcode", None)
    return isinstance(error, sqlite3.DatabaseError) and code is not None and code & 0xFF not in _PASSING


@contextmanager
def plainly(path: Path) -> Iterator[None]:
    """Turn any database error inside the block into one that says what happened and what to do.

    Raises ComplianceError in its place; a misuse of the connection is our own mistake and stays what it is.
    """
    try:
        yield
    except sqlite3.ProgrammingError:
        raise  # our own mistake
    except (sqlite3.Error, OSError) as error:
        raise explain(error, path) from error


def explain(error: Exception, path: Path) -> ComplianceError:
    """An error of a derived file in plain words. The records are never in doubt here."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    where = f"{path} ({error})"
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return ComplianceError.one(
            "Another program is making the tables of this book", where, "Wait until it is done, then do it again."
        )
    if code in _PASSING or isinstance(error, OSError):
        return ComplianceError.one(
            "The tables made from the records cannot be written; the records themselves are not touched",
            where,
            "Look whether the disk is full and whether you may write in the folder, then do it again.",
        )
    return ComplianceError.one(
        "A file made from the records does not answer as it should; the records themselves are not touched",
        where,
        "Delete this file: it is made again from the records.",
    )
