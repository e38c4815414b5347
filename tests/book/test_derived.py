"""The query tables say what the whole book says, however they were arrived at; they can be searched and asked."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compliance.book import derived, derived_files
from compliance.book.derived_rows import of_papers, of_runs
from compliance.book.derived_tables import TABLES
from compliance.book.store import Book
from compliance.records.envelope import Entry
from compliance.records.state import gather

from .deriving import NOW, book_with, entries, worked_out

slow = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
Row = tuple[tuple[str, Any], ...]


def in_file(folder: Path) -> dict[str, list[Row]]:
    """Every row of every table of figures and papers, without the numbers that the file gives them."""
    with closing(sqlite3.connect(folder / derived_files.QUERY)) as db:
        db.row_factory = sqlite3.Row
        return {table.name: plain(dict(row) for row in db.execute(f"SELECT * FROM {table.name}")) for table in TABLES}


def plain(rows: Iterator[dict[str, Any]]) -> list[Row]:
    return sorted((tuple(sorted((key, value) for key, value in row.items() if key != "n")) for row in rows), key=repr)


def from_everything(book: Book) -> dict[str, list[Row]]:
    """The same rows, made in memory from one fold over all records."""
    state = gather(book.records())
    refs = {run.record: run.ref for run in state.runs}
    rows = of_papers(state, lambda run: refs.get(run, ""))
    rows |= of_runs(state, worked_out(state), refs)
    return {name: plain(iter(made)) for name, made in rows.items()}


@slow
@given(entries())
def test_stored_tables_are_the_fold_over_everything(given: list[Entry]) -> None:
    """Made rig by rig and some runs at a time, they hold what one pass over the whole book gives."""
    with book_with(given) as (book, _):
        book.append(given, receipt_time=NOW)
        expected = from_everything(book)
        derived.rebuild(book.folder)
        assert in_file(book.folder) == expected


@slow
@given(entries(), st.lists(st.integers(0, 20), max_size=4))
def test_refreshed_tables_are_rebuilt_tables(given: list[Entry], cuts: list[int]) -> None:
    """Brought up to date after any appends, in any order of arrival, they equal tables made anew."""
    with book_with(given, cuts) as (book, batches):
        for batch in batches:
            book.append(batch, receipt_time=NOW)
            worked_out(gather(book.records()))
            derived.refresh(book.folder)
            assert derived.fresh(book.folder)
        assert in_file(book.folder) == from_everything(book)
