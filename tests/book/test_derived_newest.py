"""Names for who is typing: the newest runs first, however many there are."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from compliance.book.derived_lookup import Index
from compliance.book.derived_newest import months, newest
from compliance.book.store import Book
from tests.book.deriving import FIRST, NOW, made


@pytest.fixture
def index(tmp_path: Path) -> Iterator[Index]:
    """Four nights of three months, two of them on one day."""
    nights = [("2026-08-30", "Alder"), ("2026-09-01", "Alder"), ("2026-09-01", "Birch"), ("2026-10-05", "Alder")]
    with Book.create(tmp_path / "book", FIRST, now=NOW) as book:
        for day, rig in nights:
            fields = {"rig": rig, "date": day, "lead": "Ana", "where": "aboard"}
            book.append([made(f"{day} {rig}", "run", {"fields": fields, "lines": []})], receipt_time=NOW)
        with Index.open(book) as index:
            yield index


def test_the_newest_runs_come_first(index: Index) -> None:
    """As many as are asked for; of the days that begin so, where that is said."""
    assert [row.day for row in newest(index, 10)] == ["2026-10-05", "2026-09-01", "2026-09-01", "2026-08-30"]
    assert [row.day for row in newest(index, 1)] == ["2026-10-05"]
    assert [row.day for row in newest(index, 10, "2026-0")] == ["2026-09-01", "2026-09-01", "2026-08-30"]
    assert len(newest(index, 10, "2026-09-01")) == 2
    assert newest(index, 10, "2025") == []


def test_each_month_with_a_run_is_named_once(index: Index) -> None:
    """The newest first; months in between without a run are not."""
    assert months(index) == ["2026-10", "2026-09", "2026-08"]
