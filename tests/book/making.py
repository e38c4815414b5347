"""Entries and books for the tests of this room; every id and salt is drawn from a number, so that runs repeat."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from compliance.book.store import Book
from compliance.records.envelope import Entry

NOW = "2026-03-05T06:10:00-05:00"


def entry(number: int, kind: str = "run", payload: dict[str, Any] | None = None, **other: Any) -> Entry:
    """Entry `number`, always the same one."""
    return Entry(
        id=f"{random.Random(number).getrandbits(128):032x}",
        kind=kind,
        event_time=other.get("event_time", "2026-03-04T22:15:00-05:00"),
        device_time=other.get("device_time", "2026-03-05T05:58:41-05:00"),
        payload=payload if payload is not None else {"used": str(100 + number), "remark": "curb side"},
        schema=other.get("schema", 1),
    )


def salts() -> Iterator[bytes]:
    """Salts without end, the same each time."""
    source = random.Random("salt")
    while True:
        yield source.randbytes(16)


def book_of(folder: Path, size: int, *, seed: int = 0) -> Book:
    """An open book of `size` records, the first of kind 'book'; the same bytes in each column each time."""
    source = salts()
    first = entry(seed * 100_000, "book", {"business": "Bluebank Wash Recovery"})
    book = Book.create(folder, first, now=NOW, salt=next(source))
    entries = [entry(seed * 100_000 + number) for number in range(1, size)]
    book.append(entries, receipt_time=NOW, salts=[next(source) for _ in entries])
    return book


def stored(book: Book) -> list[tuple[Any, ...]]:
    """Every row as it lies in the file."""
    return book._db.execute("SELECT * FROM records ORDER BY seq").fetchall()
