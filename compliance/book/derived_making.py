"""Making the query tables: all of them anew, or only what the records that came since can have changed.

Everything is written in `db.atomic()`: a reader sees the tables as they were or as they are. That a refresh leaves
what a rebuild would make is a test, over books with records in any order of arrival.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from importlib import metadata
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Final

from compliance.book import derived_files
from compliance.book.derived_changed import Changed, changed_since
from compliance.book.derived_context import touched_by, with_context
from compliance.book.derived_index import in_parts, marks
from compliance.book.derived_lookup import Index
from compliance.book.derived_names import named_by
from compliance.book.derived_rows import Rows, of_papers, of_runs
from compliance.book.derived_tables import (
    FIGURES,
    HELP,
    INDEXED,
    LAYOUT,
    MADE_FROM,
    PAPERS,
    TABLES,
    Table,
    descriptions,
)
from compliance.book.store import Book
from compliance.records import kinds
from compliance.records.state import gather
from compliance.water.fold import calculate

if TYPE_CHECKING:
    from sqlite_utils import Database

_AT_ONCE: Final = 200  # runs that are worked out together
_TYPES: Final[Mapping[str, type]] = {"text": str, "whole": int}
_REGISTERS: Final = (kinds.BOOK, kinds.REGISTER, kinds.SAME_AS)
_PAPERS: Final = (*_REGISTERS, kinds.TICKET, kinds.CANCEL, kinds.ATTACH, kinds.ACCEPT, kinds.ISSUE, kinds.OLD_ROW)
_CHANGES: Final = (kinds.CORRECT, kinds.COMPLETE)


def rebuild(folder: Path) -> dict[str, int]:
    """Drop the tables of figures and papers and make them anew; returns how many rows each has.

    Works through the book rig by rig, some runs at a time: memory grows with its tickets and pages, not with its
    runs. Raises ComplianceError when the file cannot be written or another program is at it.
    """
    with Book.open(folder) as book, Index.open(book) as index, writing(folder) as db, db.atomic():
        return _rebuild(db, index)


def refresh(folder: Path) -> bool:
    """Bring the tables up to date with the book, unless they are; whether anything had to be done.

    Only what new records can have changed is made anew, where that can be told; else everything.
    """
    if fresh(folder):
        return False
    with Book.open(folder) as book, Index.open(book) as index, writing(folder) as db, db.atomic():
        since = _made_from(db, book)
        changed = None if since is None else changed_since(book, since)
        touched = None if changed is None else touched_by(index, changed.runs)
        if changed is None or touched is None:
            _rebuild(db, index)
        else:
            changed.note_numbers(index)
            _remake(db, index, changed, {*touched, *index.heads(changed.named)})
    return True


def fresh(folder: Path) -> bool:
    """Whether the tables say what the book says now, and were made by this program."""
    path = folder / derived_files.QUERY
    if not path.is_file():
        return False
    with Book.open(folder) as book:
        head = book.head()
    try:
        with closing(derived_files.reading(path)) as db:
            made = db.execute("SELECT size, root, program FROM made_from WHERE what = 'figures'").fetchone()
    except sqlite3.Error:
        return False  # it will be made again, or that will say what is wrong
    return bool(made == (head.size, head.root_hex, program()))


# ---- everything --------------------------------------------------------------------------------------------------


def _rebuild(db: Database, index: Index) -> dict[str, int]:
    head = index.book.head()
    for table in (*TABLES, HELP):
        make_table(db, table)
    counts = dict.fromkeys((table.name for table in TABLES), 0)
    for rows in (_papers(index), *_figures(index, index.all_ids())):
        for name, made in rows.items():
            db.table(name).insert_all(made)
            counts[name] += len(made)
    for name, column in INDEXED:
        db.table(name).create_index([column])
    db.table(HELP.name).insert_all({"in_table": t, "column": c, "about": about} for t, c, about in descriptions())
    note(db, "figures", head.size, head.root_hex)
    return counts


def _papers(index: Index) -> Rows:
    papers = {record.id: record for kind in _PAPERS for record in index.book.records(kind=kind)}
    tickets = [record.id for record in papers.values() if record.kind == kinds.TICKET]
    papers |= index.book.by_ids(index.naming(tickets, _CHANGES))
    runs = [run for record in index.book.records(kind=kinds.SAME_OUTING) for run in named_by(record)]
    runs += index.numbered_with(index.numbers_ever([id for id in tickets if not papers[id].payload["handovers"]]))
    papers |= {record.id: record for record in (index.records(runs) if runs else ())}

    def ref(run: str) -> str:
        row = index.heads([run]).get(run)
        return index.ref(row) if row else ""

    return of_papers(gather(sorted(papers.values(), key=lambda record: record.seq)), ref)


def _figures(index: Index, runs: Iterable[str]) -> Iterator[Rows]:
    ids = iter(runs)
    while some := list(islice(ids, _AT_ONCE)):
        state = gather(index.records(with_context(index, some)))
        yield of_runs(state, calculate(state), set(some))


# ---- what came since ---------------------------------------------------------------------------------------------


def _made_from(db: Database, book: Book) -> int | None:
    """The size of the book from which the tables of figures were made; None when they are of no use."""
    if not all(db.table(table.name).exists() for table in (*TABLES, MADE_FROM)):
        return None
    made = next(iter(db.table(MADE_FROM.name).rows_where("what = 'figures'")), None)
    if made is None or made["program"] != program():
        return None
    size, root = int(made["size"]), str(made["root"])
    return size if size <= book.head().size and book.head_at(size).root_hex == root else None


def _remake(db: Database, index: Index, changed: Changed, runs: Collection[str]) -> None:
    """Make the rows of these runs anew, and those of the papers if they changed."""
    head = index.book.head()
    for part in in_parts(sorted(runs)):
        for table in FIGURES:
            column = "run_record" if table.name == "changes" else "record"
            db.table(table.name).delete_where(f"{column} IN ({marks(part)})", part)
    for rows in _figures(index, sorted(runs)):
        for name, made in rows.items():
            db.table(name).insert_all(made)
    if changed.papers or index.naming(sorted(changed.new), (kinds.TICKET, kinds.ATTACH)):
        for table in PAPERS:
            db.table(table.name).delete_where()
        for name, made in _papers(index).items():
            db.table(name).insert_all(made)
    note(db, "figures", head.size, head.root_hex)


# ---- the file ----------------------------------------------------------------------------------------------------


def make_table(db: Database, table: Table) -> None:
    """Make a table anew, empty."""
    db.table(table.name).drop(ignore=True)
    db.create_table(
        table.name,
        {column.name: _TYPES[column.type] for column in table.columns},
        pk=table.key[0] if len(table.key) == 1 else table.key,
        not_null=[column.name for column in table.columns if column.type == "text"],
    )


def note(db: Database, what: str, size: int, root: str) -> None:
    """Write down what 'figures' or 'words' were made from."""
    if not db.table(MADE_FROM.name).exists():
        make_table(db, MADE_FROM)
    db.table(MADE_FROM.name).upsert({"what": what, "size": size, "root": root, "program": program()}, pk="what")


def program() -> str:
    """This program and its tables, as they stand in the file."""
    try:
        version = metadata.version("washwater")
    except metadata.PackageNotFoundError:
        version = "not installed"
    return f"{version}, tables {LAYOUT}"


@contextmanager
def writing(folder: Path) -> Iterator[Database]:
    """The file of the tables, open for writing; one that is no database is made again."""
    from sqlite_utils import Database

    path = folder / derived_files.QUERY
    with derived_files.plainly(path):
        connection = _sound(path)
        try:
            yield Database(connection, execute_plugins=False)
        finally:
            connection.close()


def _sound(path: Path) -> sqlite3.Connection:
    try:
        return derived_files.connect(path, log_ahead=False)
    except sqlite3.DatabaseError as error:
        if not derived_files.beyond_repair(error):
            raise
    derived_files.remove(path)
    return derived_files.connect(path, log_ahead=False)
