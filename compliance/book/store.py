"""The book: append entries, read records, and say how it stands.

Everything that is ever written to the records goes through `Book.append`: one kind of transaction, in one place.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from hashlib import sha256
from pathlib import Path
from types import TracebackType
from typing import Any

from compliance.book import files, schema
from compliance.book.canon import header
from compliance.book.incoming import SALT, Conflict, conflict, differences, prepare
from compliance.book.schema import COLUMNS, plainly
from compliance.book.tree import Frontier, Head, leaf
from compliance.records.envelope import Entry, Record
from compliance.records.problem import BookDamaged, ComplianceError, Problem
from compliance.records.quick import dataclass

_PAGE = 1000  # records read at a time: no reading transaction stays open while the caller works on them


@dataclass(frozen=True)
class Appended:
    """What became of the entries: new records in their places, and the ids that the book held already."""

    new: tuple[Record, ...]
    known: tuple[str, ...]


class Book:
    """An open book. Use it in a `with` block, in one thread; any number of programs may have the book open."""

    def __init__(self, folder: Path, db: sqlite3.Connection) -> None:
        """For `create` and `open` only."""
        self.folder = folder
        self.path = schema.path_of(folder)
        self._db = db

    @classmethod
    def create(cls, folder: Path, first: Entry, *, now: str, salt: bytes | None = None) -> Book:
        """Start a book in a folder, which is made if need be, with its first record (kind 'book').

        now: RFC 3339 with offset. salt: 16 bytes, for a book that must come out the same twice. Raises
        ComplianceError when there is a book already, or anything else by its name. A crash leaves either no book
        or a whole one.
        """
        prepared = prepare([first], now, None if salt is None else [salt])
        return cls._begin(folder, [(prepared, now)])

    @classmethod
    def refill(cls, folder: Path, kept: Iterable[tuple[Entry, str, bytes]]) -> Book:
        """Make a book again from all its records: each with its time of receipt and its own salt, in one transaction.

        Its root is the old one when they are the old records; that is for the caller to compare. Raises ComplianceError
        as `create` and `append` do; there is then no book.
        """
        return cls._begin(folder, ((prepare([entry], receipt, [salt]), receipt) for entry, receipt, salt in kept))

    @classmethod
    def _begin(cls, folder: Path, batches: Iterable[tuple[list[tuple[Entry, bytes]], str]]) -> Book:
        path = schema.path_of(folder)
        files.make_folder(folder)
        db = schema.connect(path, create=True)
        try:
            with plainly(path):
                _refuse_occupied(db, path)
                schema.log_ahead(db, path)
                with _transaction(db):
                    _refuse_occupied(db, path)  # another program may have been quicker
                    schema.build(db)
                    book = cls(folder, db)
                    for prepared, receipt_time in batches:
                        book._append(prepared, receipt_time)
            files.sync_folder(folder)
            files.sync_folder(folder.absolute().parent)
        except BaseException:
            db.close()
            raise
        return book

    @classmethod
    def open(cls, folder: Path) -> Book:
        """Open the book in a folder. Raises ComplianceError when there is none, or it is not ours to touch."""
        path = schema.path_of(folder)
        if not path.is_file():
            raise no_book(folder)
        db = schema.connect(path)
        try:
            with plainly(path):
                recognise(db, folder)
                schema.log_ahead(db, path)
        except BaseException:
            db.close()
            raise
        return cls(folder, db)

    def close(self) -> None:
        """Let go of the file."""
        self._db.close()

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def append(self, entries: Iterable[Entry], *, receipt_time: str, salts: Sequence[bytes] | None = None) -> Appended:
        """Write all entries or none, on the disk before this returns.

        An id that is in the book already with the same content (times and kind included, the time of receipt
        aside) is *known* and changes nothing; with other content the whole batch is refused (Conflict).
        receipt_time: RFC 3339 with offset. salts: 16 bytes for each entry, for a book that must come out the
        same twice; random otherwise. Raises ComplianceError when an entry cannot be stored, or the disk is full or
        fails, or another program keeps the book busy; nothing is written then.
        """
        prepared = prepare(list(entries), receipt_time, salts)
        with plainly(self.path), _transaction(self._db):
            return self._append(prepared, receipt_time)

    def records(self, after: int = 0, kind: str | None = None) -> Iterator[Record]:
        """The records in their order, from the one behind `after`; of one kind only if it is given.

        Raises BookDamaged at a record that was changed and, where all kinds are read, at the place of one that is gone:
        what is left would pass for the whole account.
        """
        chosen, values = ("AND kind = ?", (kind,)) if kind is not None else ("", ())
        sql = f"SELECT {COLUMNS} FROM records WHERE seq > ? {chosen} ORDER BY seq LIMIT {_PAGE}"
        while True:
            with plainly(self.path):
                rows = self._db.execute(sql, (after, *values)).fetchall()
            for row in rows:
                if kind is None and row[0] != after + 1:
                    raise missing(f"before record {row[0]} in {self.path}")
                yield self._record(row)
                after = row[0]
            if len(rows) < _PAGE:
                return

    def stored(self, size: int) -> Iterator[tuple[bytes, bytes, bytes]]:
        """Header, leaf hash and payload of the first `size` records: the bytes as they are stored and were hashed."""
        after = 0
        while after < size:
            with plainly(self.path):
                rows = self._db.execute(
                    f"SELECT {schema.COLUMNS} FROM records WHERE seq > ? AND seq <= ? ORDER BY seq LIMIT {_PAGE}",
                    (after, size),
                ).fetchall()
            for seq, id, kind, version, event, device, receipt, payload_hash, leaf_hash, payload in rows:
                words = (id.encode(), kind.encode(), version, event.encode(), device.encode(), receipt.encode())
                yield header(seq, *words, payload_hash), leaf_hash, payload
            after += _PAGE

    def record(self, id: str) -> Record:
        """The record with this id. Raises ComplianceError when the book has none."""
        found = self.by_ids([id])
        if id not in found:
            raise _no_record(id, self.path)
        return found[id]

    def by_ids(self, ids: Iterable[str]) -> dict[str, Record]:
        """The records with these ids, by id; ids that the book does not hold are left out."""
        found = {}
        with plainly(self.path):
            for id in ids:
                row = self._db.execute(f"SELECT {COLUMNS} FROM records WHERE id = ?", (id,)).fetchone()
                if row is not None:
                    found[id] = self._record(row)
        return found

    def payload_hash(self, id: str) -> str:
        """The SHA-256 of the stored payload, in hex. Raises ComplianceError when the book has no such record."""
        with plainly(self.path):
            row = self._db.execute("SELECT payload_hash FROM records WHERE id = ?", (id,)).fetchone()
        if row is None:
            raise _no_record(id, self.path)
        hashed: bytes = row[0]
        return hashed.hex()

    def head(self) -> Head:
        """How the book stands now."""
        with plainly(self.path):
            return self._frontier().head()

    def head_at(self, size: int) -> Head:
        """How the book stood at an earlier size. Raises ComplianceError when it never had that size.

        Reads every leaf up to there. Raises BookDamaged when one of them is gone.
        """
        frontier = Frontier()
        with plainly(self.path):
            sql = "SELECT seq, leaf_hash FROM records WHERE seq <= ? ORDER BY seq"
            for seq, leaf_hash in self._db.execute(sql, (size,)):
                if seq != frontier.size + 1:
                    raise missing(f"before record {seq} in {self.path}")
                frontier.append(leaf_hash)
        if frontier.size < size <= self.head().size:
            raise missing(f"the last records of {self.path}")
        if frontier.size != size:
            raise ComplianceError.one(
                f"The book has never held {size} records", str(self.path), f"It holds {frontier.size}."
            )
        return frontier.head()

    def copy_to(self, target: Path) -> None:
        """Copy the database as it stands now into a new file, while others may write to the book.

        The file itself is never copied: that can lose records without a word. Raises ComplianceError when the
        disk of the target is full or fails.
        """
        with plainly(target), closing(sqlite3.connect(target)) as copy:
            self._db.backup(copy)

    def _frontier(self) -> Frontier:
        size, hashes = self._db.execute("SELECT size, hashes FROM tree_frontier").fetchone() or (-1, b"")
        try:
            return Frontier(size, [hashes[start : start + 32] for start in range(0, len(hashes), 32)])
        except ValueError as error:
            raise _damaged(f"The running state of the tree is damaged ({error})", str(self.path)) from error

    def _append(self, prepared: list[tuple[Entry, bytes]], receipt_time: str) -> Appended:
        frontier = self._frontier()
        new: list[Record] = []
        known: list[str] = []
        conflicts: list[Problem] = []
        for entry, payload in prepared:
            row = self._db.execute(f"SELECT {COLUMNS} FROM records WHERE id = ?", (entry.id,)).fetchone()
            if row is None:
                seq = frontier.size + 1
                self._insert(seq, entry, receipt_time, payload, frontier)
                new.append(_placed(seq, entry, receipt_time))
            elif unlike := differences(self._record(row), entry):
                conflicts.append(conflict(entry, unlike, self.path))
            else:
                known.append(entry.id)
        if conflicts:
            raise Conflict(*conflicts)
        if new:
            state = (frontier.size, b"".join(frontier.hashes))
            self._db.execute("UPDATE tree_frontier SET size = ?, hashes = ?", state)
        return Appended(tuple(new), tuple(known))

    def _insert(self, seq: int, entry: Entry, receipt_time: str, payload: bytes, frontier: Frontier) -> None:
        payload_hash = sha256(payload).digest()
        told = (seq, entry.id, entry.kind, entry.schema, entry.event_time, entry.device_time, receipt_time)
        leaf_hash = _leaf(told, payload_hash)
        frontier.append(leaf_hash)
        self._db.execute(
            "INSERT INTO records VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", (*told, payload_hash, leaf_hash, payload)
        )

    def _record(self, row: tuple[Any, ...]) -> Record:
        seq, id, kind, version, event_time, device_time, receipt_time, payload_hash, leaf_hash, stored = row
        where = f"record {seq} in {self.path}"
        try:
            if sha256(stored).digest() != payload_hash or _leaf(row[:7], payload_hash) != leaf_hash:
                raise _damaged(
                    "What the record says is not what was written", where
                )  # nobody is told of it as if it were

            payload = json.loads(stored)
            del payload[SALT]
        except (ValueError, TypeError, KeyError, AttributeError) as error:
            raise _damaged("What the record says cannot be read", where) from error
        return Record(seq, id, kind, version, event_time, device_time, receipt_time, payload)


def _leaf(told: tuple[Any, ...], payload_hash: bytes) -> bytes:
    """The leaf of a record. told: the columns before the payload's hash, in their order."""
    seq, id, kind, version, event_time, device_time, receipt_time = told
    times = (event_time.encode(), device_time.encode(), receipt_time.encode())
    return leaf(header(seq, id.encode(), kind.encode(), version, *times, payload_hash))


@contextmanager
def _transaction(db: sqlite3.Connection) -> Iterator[None]:
    """All or nothing. The lock for writing is taken at once, so that no reader has to become a writer midway."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:  # after some failures of the disk SQLite has rolled back by itself
            db.execute("ROLLBACK")
        raise


def _placed(seq: int, entry: Entry, receipt_time: str) -> Record:
    return Record(
        seq,
        entry.id,
        entry.kind,
        entry.schema,
        entry.event_time,
        entry.device_time,
        receipt_time,
        entry.payload,
    )


def _refuse_occupied(db: sqlite3.Connection, path: Path) -> None:
    application, _, occupied = schema.marks(db)
    if application == schema.APPLICATION_ID:
        raise ComplianceError.one(
            "There is a book here already", str(path), "Go on with that book, or choose another folder."
        )
    if application or occupied:
        raise foreign(path)


def recognise(db: sqlite3.Connection, folder: Path) -> None:
    """Raises ComplianceError unless the database is a book that this program knows, by its two marks."""
    application, version, occupied = schema.marks(db)
    if not application and not occupied:
        raise no_book(folder)  # a start that was broken off
    if application != schema.APPLICATION_ID:
        raise foreign(schema.path_of(folder))
    if version > schema.USER_VERSION:
        raise ComplianceError.one(
            f"This book was written by a newer program (tables of version {version}; this program knows "
            f"{schema.USER_VERSION})",
            str(schema.path_of(folder)),
            "Install the newer program; this one leaves the book untouched.",
        )


def no_book(folder: Path) -> ComplianceError:
    """The error of a folder without a book, to be raised."""
    return ComplianceError.one(
        "There is no book here",
        str(folder.absolute()),  # '.' would tell nobody where that is
        "Name the folder of the book, or start one with `washwater init`.",
    )


def foreign(path: Path) -> ComplianceError:
    """The error of a database that is not ours, to be raised."""
    return ComplianceError.one(
        "This database belongs to another program",
        str(path),
        "Choose another folder; nothing in it was touched.",
    )


def _no_record(id: str, path: Path) -> ComplianceError:
    return ComplianceError.one(
        f"The book holds no record {id}",
        str(path),
        "Look the id up with `washwater list`; all 32 digits count.",
    )


def missing(where: str) -> ComplianceError:
    """The error of a record that is not where it was, to be raised."""
    return _damaged("A record is missing, or was moved", where)


def _damaged(what: str, where: str) -> ComplianceError:
    return BookDamaged.one(
        what,
        where,
        "Stop entering; run `washwater verify`, which says what is damaged, and keep this copy as it is.",
    )
