"""Which runs there are, and which records name them: so that one run or one month costs no more in a large book.

`index.sqlite` is caught up lazily, when it is opened, from the last record that it has seen; appending to the book
never waits for it. It holds no figure and no text that is not a name. What it says comes out the same however far
it had got before (a test holds incremental = rebuilt); when the book is not the one it was made from, or another
version of this program made it, it starts over.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from compliance.book import derived_files
from compliance.book.derived_names import named_by, names_in, tanks_after, tanks_in
from compliance.book.store import Book
from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.names import folded, slug
from compliance.records.quick import dataclass
from compliance.records.state import gather, run_order
from compliance.records.views import RunView

LAYOUT: Final = 4
"""The version of the tables below and of what is put into them; another one starts the file over."""

_BATCH: Final = 2_000  # records a transaction: catching up keeps what it has done when it is stopped
_MANY: Final = 500  # values in one SQL list
_AMENDING: Final = (kinds.CORRECT, kinds.COMPLETE, kinds.CANCEL)
_TELLING: Final = (*_AMENDING, kinds.SAME_OUTING)
"""Kinds of record that decide what a run is."""

_SCHEMA: Final = (
    "CREATE TABLE seen (one INTEGER PRIMARY KEY CHECK (one = 1), layout INTEGER NOT NULL, seq INTEGER NOT NULL,"
    " id TEXT NOT NULL)",
    "CREATE TABLE name (n INTEGER PRIMARY KEY, what TEXT NOT NULL, key TEXT NOT NULL, UNIQUE (what, key))",
    # tanks: [folded name ('' for the rig's first), whether it was left empty], the last touched last.
    # names: every n that the run holds. head: the first hand-in of the outing, which stands for all of it.
    "CREATE TABLE run (seq INTEGER PRIMARY KEY, id BLOB NOT NULL UNIQUE, rig INTEGER NOT NULL, day TEXT NOT NULL,"
    " moment TEXT NOT NULL, base TEXT NOT NULL, cancelled INTEGER NOT NULL, tanks TEXT NOT NULL, names TEXT NOT NULL,"
    " head INTEGER NOT NULL)",
    "CREATE INDEX run_by_rig ON run (rig, day, moment, id)",
    "CREATE INDEX run_by_day ON run (day, moment, id)",
    "CREATE INDEX run_by_base ON run (base, seq)",
    "CREATE INDEX run_by_head ON run (head) WHERE head <> seq",
    "CREATE TABLE held (n INTEGER NOT NULL, day TEXT NOT NULL, run INTEGER NOT NULL, PRIMARY KEY (n, day, run))"
    " WITHOUT ROWID",
    # which records name a record (by its id), are about something (by what was typed, folded) or number a ticket
    "CREATE TABLE names (key TEXT NOT NULL, id TEXT NOT NULL, kind TEXT NOT NULL, PRIMARY KEY (key, id)) WITHOUT ROWID",
)


@dataclass(frozen=True)
class Row:
    """A run as the index knows it. rig: number of its name; tanks: see `tanks_after`; `order` sorts a rig's runs.

    head: seq of the hand-in that stands for the outing: its own, but for a later hand-in that was joined to it.
    """

    seq: int
    id: str
    rig: int
    day: str
    moment: str
    base: str
    cancelled: bool
    tanks: Sequence[tuple[str, bool]]
    head: int = 0

    @property
    def order(self) -> tuple[str, str, bytes]:
        return self.day, self.moment, bytes.fromhex(self.id)


ROW = "SELECT run.seq, run.id, run.rig, run.day, run.moment, run.base, run.cancelled, run.tanks, run.head FROM run"


def path_of(book: Book) -> Path:
    """The file of a book's index."""
    return book.folder / derived_files.INDEX


class IndexFile:
    """The index of an open book: made, and caught up. `derived_lookup.Index` is what looks things up in it."""

    def __init__(self, book: Book, db: sqlite3.Connection) -> None:
        """For `open` only."""
        self.book = book
        self.db = db
        self.path = path_of(book)
        self._numbers: dict[tuple[str, str], int] = {}

    @classmethod
    def open(cls, book: Book) -> Self:
        """Open the index of a book, make it if need be, and catch up with the book.

        Raises ComplianceError when the file cannot be written or another program keeps it busy.
        """
        try:
            return cls._open(book)
        except sqlite3.Error as error:
            if not derived_files.beyond_repair(error):
                raise derived_files.explain(error, path_of(book)) from error
        with derived_files.plainly(path_of(book)):
            derived_files.remove(path_of(book))
            return cls._open(book)

    @classmethod
    def _open(cls, book: Book) -> Self:
        index = cls(book, derived_files.connect(path_of(book), log_ahead=True))
        try:
            index.catch_up()
        except BaseException:
            index.close()
            raise
        return index

    def close(self) -> None:
        """Let go of the file."""
        self.db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
        if isinstance(error, sqlite3.Error) and not isinstance(error, sqlite3.ProgrammingError):
            raise derived_files.explain(error, self.path) from error

    # ---- catching up -------------------------------------------------------------------------------------------

    @property
    def seen(self) -> int:
        """How many records of the book it has seen."""
        row = self.db.execute("SELECT seq FROM seen").fetchone() if self._made() else None
        return 0 if row is None else int(row[0])

    def catch_up(self) -> int:
        """Take in what was appended since; returns how many records that were."""
        if not self._continues():
            with self._transaction():
                self._start_over()
        taken = 0
        while batch := list(islice(self.book.records(after=(seen := self.seen)), _BATCH)):
            with self._transaction():
                if self.seen == seen:  # else another program was quicker, and it is looked at again
                    self._take(batch)
                    taken += len(batch)
        return taken

    def _made(self) -> bool:
        return self.db.execute("SELECT 1 FROM sqlite_master WHERE name = 'seen'").fetchone() is not None

    def _continues(self) -> bool:
        """Whether the file was made by this program from this book, as far as it goes."""
        if not self._made():
            return False
        row = self.db.execute("SELECT layout, seq, id FROM seen").fetchone()
        if row is None or row[0] != LAYOUT:
            return False
        last = self.book.by_ids([row[2]]).get(row[2])
        return row[1] == 0 or (last is not None and last.seq == row[1])

    def _start_over(self) -> None:
        for kind, name in self.db.execute("SELECT type, name FROM sqlite_master WHERE sql IS NOT NULL").fetchall():
            self.db.execute(f'DROP {kind} IF EXISTS "{name}"')
        for sql in _SCHEMA:
            self.db.execute(sql)
        self.db.execute("INSERT INTO seen VALUES (1, ?, 0, '')", (LAYOUT,))
        self._numbers = {}

    def _take(self, batch: Sequence[Record]) -> None:
        """Note who names whom, then bring the runs that are new or were changed up to date."""
        named = [(key, record.id, record.kind) for record in batch for key in named_by(record)]
        self.db.executemany("INSERT OR IGNORE INTO names VALUES (?, ?, ?)", named)
        here = {record.id: record for record in batch}
        touched = dict.fromkeys(run for record in batch for run in self._concerned(record, here))
        done: set[str] = set()
        for id in touched:
            if id not in done:
                done |= self._put(self._story(id, here, batch[-1].seq))
        self.db.execute("UPDATE seen SET seq = ?, id = ?", (batch[-1].seq, batch[-1].id))

    def _concerned(self, record: Record, here: Mapping[str, Record]) -> Iterator[str]:
        """The runs that a record makes, changes, cancels or joins, and those that it does so to through another."""
        match record.kind:
            case kinds.RUN:
                yield record.id
            case kinds.CORRECT | kinds.COMPLETE:
                yield record.payload["run"]
            case kinds.SAME_OUTING:
                yield from (record.payload["first"], record.payload["second"])
                changes = self.book.by_ids(self.naming([record.id], (kinds.CORRECT, kinds.COMPLETE))).values()
                yield from (change.payload["run"] for change in changes)
            case kinds.CANCEL:
                id = record.payload["record"]
                cancelled = here.get(id) or self.book.by_ids([id]).get(id)
                if cancelled is not None and cancelled.kind != kinds.CANCEL:
                    yield from self._concerned(cancelled, here)
            case _:
                return

    def _story(self, id: str, here: Mapping[str, Record], until: int) -> list[Record]:
        """All records up to `until` that decide what a run is: of each hand-in of its outing, and what changed them."""
        found: dict[str, Record] = {}
        keys = [id]
        while keys:
            new = [key for key in keys if key not in found]
            known = {key: here[key] for key in new if key in here}
            known |= self.book.by_ids(key for key in new if key not in known)
            found |= {key: one for key, one in known.items() if one.seq <= until}
            joined = [id for one in known.values() if one.kind in _TELLING for id in named_by(one)]
            keys = [key for key in (*self.naming(new, _TELLING), *joined) if key not in found]
            keys = [key for key in dict.fromkeys(keys) if key not in new]
        return sorted(found.values(), key=lambda record: record.seq)

    def _put(self, story: Sequence[Record]) -> set[str]:
        """Write down the runs that a story makes; returns the ids of their hand-ins."""
        done = set()
        for view in gather(story).runs:
            self._put_head(view)
            done |= {one.record for one in view.handed_in_as}
            for one in view.handed_in_as[1:]:
                self._put_row(one, view.seq, (), ())
        return done

    def _put_head(self, view: RunView) -> None:
        tanks, rig = tanks_after(view), folded(str(view.fields["rig"]))
        named = set(names_in(view))
        named |= {("tank of rig", f"{rig}\n{name}") for name, _ in tanks}
        named |= {("tank named", f"{rig}\n{name}") for name in tanks_in(view.lines)}
        self._put_row(view, view.seq, tanks, sorted(self._number(what, key) for what, key in named))

    def _put_row(self, view: RunView, head: int, tanks: Sequence[tuple[str, bool]], numbers: Sequence[int]) -> None:
        day, moment, _ = run_order(view)
        alone = view.handed_in_as[0]  # refs are counted over hand-ins as each stands by itself
        old = self.db.execute("SELECT day, names FROM run WHERE seq = ?", (view.seq,)).fetchone()
        if old is not None:
            gone = [(n, old[0], view.seq) for n in json.loads(old[1])]
            self.db.executemany("DELETE FROM held WHERE n = ? AND day = ? AND run = ?", gone)
        self.db.execute(
            "INSERT OR REPLACE INTO run VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                view.seq, bytes.fromhex(view.record), self._number("rig", folded(str(view.fields["rig"]))), day, moment,
                f"{alone.day}-{slug(str(alone.fields['rig']))}", view.cancelled is not None, json.dumps(tanks),
                json.dumps(numbers), head,
            ),
        )  # fmt: skip
        self.db.executemany("INSERT INTO held VALUES (?, ?, ?)", [(n, day, view.seq) for n in numbers])

    def amendments(self, ids: Iterable[str]) -> list[Record]:
        """Corrections, completions and cancellations of these records, and of those in turn, in their order."""
        found: dict[str, Record] = {}
        keys = list(ids)
        while keys:
            new = [id for id in self.naming(keys, _AMENDING) if id not in found]
            found |= self.book.by_ids(new)
            keys = new
        return sorted(found.values(), key=lambda record: record.seq)

    def naming(self, keys: Sequence[str], only: Sequence[str] = ()) -> list[str]:
        """The ids of records that name one of these."""
        found: list[str] = []
        for part in in_parts(keys):
            sql = f"SELECT id, kind FROM names WHERE key IN ({marks(part)})"
            found += [id for id, kind in self.db.execute(sql, part) if not only or kind in only]
        return found

    def _number(self, what: str, key: str) -> int:
        """The number of a name, given to it when it is met for the first time."""
        if (what, key) not in self._numbers:
            self.db.execute("INSERT OR IGNORE INTO name (what, key) VALUES (?, ?)", (what, key))
            row = self.db.execute("SELECT n FROM name WHERE what = ? AND key = ?", (what, key)).fetchone()
            self._numbers[what, key] = int(row[0])
        return self._numbers[what, key]

    def _transaction(self) -> _Transaction:
        return _Transaction(self.db)


class _Transaction:
    """All or nothing; the lock for writing is taken at once."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self.db = db

    def __enter__(self) -> None:
        self.db.execute("BEGIN IMMEDIATE")

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.db.in_transaction:
            self.db.execute("COMMIT" if error is None else "ROLLBACK")


def row_of(values: tuple[Any, ...]) -> Row:
    """What `ROW` selects."""
    seq, id, rig, day, moment, base, cancelled, stored, head = values
    tanks = [(key, empty) for key, empty in json.loads(stored)]
    return Row(seq, id.hex(), rig, day, moment, base, bool(cancelled), tanks, head)


def in_parts(values: Sequence[Any]) -> Iterator[Sequence[Any]]:
    """Values in lists that SQL can hold."""
    for start in range(0, len(values), _MANY):
        yield values[start : start + _MANY]


def marks(values: Sequence[Any]) -> str:
    """As many question marks as there are values."""
    return ", ".join("?" * len(values))
