"""The records that a question about a few nights is answered from."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from compliance.book import derived_files
from compliance.book.derived_lookup import Index
from compliance.book.near import records_around, said_in
from compliance.book.store import Book
from compliance.intake.seeded_book import make
from compliance.records import kinds
from compliance.records.envelope import Entry
from compliance.records.state import gather

AT = "2001-03-01T08:00:00-07:00"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A book of 40 stops from the first of January 2001 on, with an inquiry, a cancelled one and old rows."""
    make(tmp_path / "book", 40)
    entries = [
        Entry("a1" * 16, kinds.INQUIRY, AT, AT, {"fields": {"case": "1"}, "who": "x"}),
        Entry("a2" * 16, kinds.INQUIRY, AT, AT, {"fields": {"case": "2"}, "who": "x"}),
        Entry("a3" * 16, kinds.CANCEL, AT, AT, {"record": "a2" * 16, "why": "a double", "who": "x"}),
        *(_old(n, day) for n, day in enumerate(("2001-01-02", "2001-02-02"))),
    ]
    with Book.open(tmp_path / "book") as book:
        book.append(entries, receipt_time=AT)
    return tmp_path / "book"


def _old(n: int, day: str) -> Entry:
    payload = {"fields": {"date": day}, "typed": {}, "method": "", "file": "f", "sha256": "0" * 64, "sheet": "s",
               "row": n, "mapping": "", "who": "x"}  # fmt: skip
    return Entry(f"b{n}" * 16, kinds.OLD_ROW, day, AT, payload)


def test_the_runs_of_these_days_come_with_inquiries_and_old_rows(folder: Path) -> None:
    """And with what cancels them; nothing of other days."""
    with Book.open(folder) as book, Index.open(book) as index:
        state = gather(records_around(index, "2001-01-02", "2001-01-02"))
    assert {run.day for run in state.runs} == {"2001-01-02"}
    assert [one.cancelled for one in state.inquiries] == [None, "a double"]
    assert [row.day for row in state.old_rows] == ["2001-01-02"]


def _runs(folder: Path) -> list[str]:
    with Book.open(folder) as book:
        return [record.id for record in book.records(kind=kinds.RUN)]


def test_words_are_found_in_the_runs_that_are_asked_about_and_no_other(folder: Path) -> None:
    """By a beginning, whatever the case; no word and no run give nothing."""
    runs = _runs(folder)
    with Book.open(folder) as book:
        found = said_in(book, "tomas zebra", runs)
        assert found
        (first, *_) = found
        assert found[first][0][0] == ""
        assert set(said_in(book, "TOMAS", [first])) == {first}
        assert said_in(book, "zebra", runs) == {}
        assert said_in(book, " - ", runs) == said_in(book, "tomas", []) == {}


def test_what_came_in_since_is_taken_in_before_the_search(folder: Path) -> None:
    """A correction of one run, found by its reason."""
    run = _runs(folder)[0]
    with Book.open(folder) as book:
        said_in(book, "tomas", [run])
        said = {"run": run, "line": "", "field": "remark", "value": "foam", "was": None, "reason": "keyed wrong",
                "why": "told by telephone", "who": "x"}  # fmt: skip
        book.append([Entry("c1" * 16, kinds.CORRECT, AT, AT, said)], receipt_time=AT)
        assert said_in(book, "telephone", [run]) == {run: [("", "foam · told by telephone · x")]}


@pytest.mark.parametrize(
    "spoil",
    [
        "DROP TABLE made_from",
        "DELETE FROM made_from WHERE what = 'words'",
        "UPDATE made_from SET program = 'another'",
        f"UPDATE made_from SET root = '{'0' * 32}'",
    ],
)
def test_a_table_of_another_book_or_program_is_made_again(folder: Path, spoil: str) -> None:
    """The answer is the same as before."""
    runs = _runs(folder)
    with Book.open(folder) as book:
        before = said_in(book, "tomas", runs)
        with closing(sqlite3.connect(folder / derived_files.QUERY)) as db:
            db.execute(spoil)
            db.commit()
        assert said_in(book, "tomas", runs) == before != {}
