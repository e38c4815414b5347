"""What is made from the records and may be deleted at any time: which records some runs need, and SQL over the tables.

```
index.sqlite   which runs there are and which records name them; plain sqlite3, caught up when it is opened
query.sqlite   tables of figures and papers, and a full text of what people typed; made with sqlite-utils
```

`derived_names`, `derived_index`, `derived_lookup`, `derived_context`: one run or one month in a book of any size.
`derived_tables`, `derived_rows`, `derived_making`: the query tables. `derived_words`, `derived_finding`: the search.
sqlite-utils brings pandas with it where that is installed, 0.4 s: it is imported when a function needs it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

from compliance.book import derived_files
from compliance.book.derived_context import with_context
from compliance.book.derived_lookup import Index
from compliance.book.derived_making import refresh
from compliance.book.derived_tables import HELP, MADE_FROM, TABLES, WORDS, Table, descriptions
from compliance.book.store import Book
from compliance.records.envelope import Record
from compliance.records.problem import ComplianceError

_INSTRUCTIONS: Final = 100_000  # of SQLite, between two moments at which Ctrl-C is heard
_READING: Final = (
    sqlite3.SQLITE_SELECT, sqlite3.SQLITE_READ, sqlite3.SQLITE_FUNCTION, sqlite3.SQLITE_RECURSIVE
)  # fmt: skip
_LOOKING: Final = ("table_info", "table_xinfo", "table_list", "index_list", "index_info", "data_version")


def records_for_runs(book: Book, ids: Iterable[str]) -> list[Record]:
    """All records to be gathered so that the figures of these runs, and only theirs, come out as from the whole book.

    ids: record ids of runs. See `derived_context.with_context` and `derived_lookup.Index.records`.
    """
    with Index.open(book) as index:
        return index.records(with_context(index, ids))


def runs_between(book: Book, first: str, last: str, rig: str | None = None) -> list[str]:
    """The record ids of the runs of these days, ends included, of one rig if it is named; cancelled ones too."""
    with Index.open(book) as index:
        return [row.id for row in index.between(first, last, rig)]


def table_docs() -> tuple[Table, ...]:
    """Every table with its columns, for the documentation."""
    return (*TABLES, WORDS, MADE_FROM, HELP)


def query(folder: Path, sql: str, params: Sequence[Any] | dict[str, Any] = ()) -> tuple[list[str], list[Any]]:
    """The column names and rows (tuples) that a query gives; the tables are brought up to date first.

    They can be read, not changed. Raises ComplianceError, in plain words, for SQL that cannot be answered.
    """
    from sqlite_utils import Database

    refresh(folder)
    path = folder / derived_files.QUERY
    with derived_files.plainly(path), closing(derived_files.reading(path)) as connection:
        connection.set_progress_handler(lambda: 0, _INSTRUCTIONS)  # or a query without end could not be stopped
        db = Database(connection, execute_plugins=False)
        connection.set_authorizer(_allowed)
        try:
            cursor = db.execute(sql, params)
            rows = cursor.fetchall()
        except (sqlite3.Error, sqlite3.Warning, OverflowError) as error:
            raise _unanswered(error, sql) from error
        return [column[0] for column in cursor.description or ()], rows


def _allowed(action: int, first: str | None, second: str | None, database: str | None, trigger: str | None) -> int:
    """Reading is: even a read-only connection would make an empty file for ATTACH."""
    if action in _READING or (action == sqlite3.SQLITE_PRAGMA and first in _LOOKING):
        return sqlite3.SQLITE_OK
    return sqlite3.SQLITE_DENY


def _unanswered(error: Exception, sql: str) -> ComplianceError:
    """Why a query could not be answered, and what may have been meant."""
    said = str(error)
    if "authoriz" in said or "prohibited" in said:
        return ComplianceError.one(
            "The query tables can be read, not changed", sql, "Ask with SELECT; correct the records instead."
        )
    kind, _, name = said.partition(": ")
    name = name.rpartition(".")[2]
    names = {
        "no such table": [table.name for table in table_docs()],
        "no such column": sorted({column for _, column, _ in descriptions() if column}),
    }.get(kind, [])
    near = get_close_matches(name, names, 1)
    step = f"Did you mean {near[0]!r}? " if near else ""
    if name in names:  # of another table
        step = f"{name!r} is a column of: {', '.join(table for table, column, _ in descriptions() if column == name)}. "
    return ComplianceError.one(
        f"The query cannot be answered: {said}",
        sql,
        f'{step}`washwater query "select * from help"` lists every table and column.',
    )
