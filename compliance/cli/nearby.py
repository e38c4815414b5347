"""Only as much of a book as one night needs, so that handing in costs the same in a book of any size."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import islice
from typing import TYPE_CHECKING, Any

from compliance.records.state import State, gather

if TYPE_CHECKING:
    from compliance.book.derived_lookup import Index
    from compliance.book.store import Book

NEIGHBOURS = 10
"""Runs of the same rig on either side whose figures rules may compare with."""


def around_night(book: Book, raw: Mapping[str, Any]) -> State:
    """What the book says of a night that is about to be handed in: registers, the rig's runs since its tanks were
    empty, those of the same day, and the next one. Without a usable rig or date: the registers alone.
    """
    from compliance.book.derived_context import with_context
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        ids = _next_to(index, str(raw.get("rig", "")), str(raw.get("date", "")))
        return gather(index.records(with_context(index, ids)) if ids else index.register_records())


def around_run(book: Book, name: str) -> tuple[State, str] | None:
    """What the book says of one run and its neighbours, and the run's record id; None when no run is so called."""
    from compliance.book.derived_context import with_context
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        row = index.run_named(name)
        if row is None:
            return None
        ids = with_context(index, [row.id], before=NEIGHBOURS, after=NEIGHBOURS)
        return gather(index.records(ids)), row.id


def _next_to(index: Index, rig: str, day: str) -> list[str]:
    from compliance.book.derived_index import Row

    numbers = index.numbers("rig", rig)
    if not numbers:
        return []
    here = Row(0, "0" * 32, numbers[0], day, "", "", False, ())
    before = [row.id for row in islice(index.walk(numbers, here, back=True), 1)]
    after = []
    for row in index.walk(numbers, here):
        after.append(row.id)
        if row.day != day:
            break
    return [*before, *after]
