"""Only as much of a book as a night, a job or a span of days needs, so that it costs the same in a book of any size."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from compliance.records import kinds
from compliance.records.state import State, gather

if TYPE_CHECKING:
    from compliance.book.derived_lookup import Index
    from compliance.book.store import Book

PAGES: Final = (kinds.ISSUE,)
"""What a page looks at beside its runs: pages are numbered by all there are."""
PAGES_AND_OLD_ROWS: Final = (*PAGES, kinds.OLD_ROW)


def registers_of(book: Book) -> State:
    """The registers of the book, and no night."""
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        return gather(index.register_records())


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
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        row = index.run_named(name)
        return None if row is None else (_around(index, [row.id]), row.id)


def around(book: Book, ids: Iterable[str], besides: Sequence[str] = ()) -> State:
    """What the book says of these runs, by record, with all that their figures and the rules about them rest on.

    Of these runs figures, findings and pages come out as from the whole book; runs at the edge are there for their
    sake, and are not to be told of. besides: kinds of record of which all are wanted too.
    """
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        return _around(index, ids, besides)


def _around(index: Index, ids: Iterable[str], besides: Sequence[str] = ()) -> State:
    from compliance.book.derived_context import with_context
    from compliance.rules.scene import NEARBY

    needed = index.records(with_context(index, ids, before=NEARBY, after=NEARBY), besides)
    seen = index.seen
    return replace(gather(record for record in needed if record.seq <= seen), size=seen)


def runs_of(book: Book, name: str) -> list[str]:
    """The records of the runs that a run, a load, a stop or a job of this name may be of."""
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        named = [index.run_named(one) for one in (name, name.rpartition(".")[0])]
        rows = [*(row for row in named if row is not None), *index.holding("job", name)]
        return list(dict.fromkeys(row.id for row in rows))


def runs_between(book: Book, first: str, last: str, *, whole_jobs: bool = False) -> list[str]:
    """The records of the runs of these days. whole_jobs: and of all others on which one of their jobs went on."""
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        inside = index.between(first, last)
        besides = index.of_same_jobs(inside) if whole_jobs else ()
        return list(dict.fromkeys(row.id for row in (*inside, *besides)))


def summary_from(book: Book, first: str, last: str) -> str:
    """From which day on the owner's summary of a span needs the runs; '' when it needs the whole book.

    A year back, for what is still open and what is usual; further where an earlier summary may no longer be borne out.
    """
    from compliance.book.derived_changed import first_day_changed
    from compliance.book.derived_lookup import Index
    from compliance.reports.span import looks_back_to
    from compliance.reports.touched import looked_at_from, told_up_to

    with Index.open(book) as index:
        issued = _around(index, (), PAGES).issued
        start = looked_at_from(issued, first, last, looks_back_to(first))
        size = told_up_to(issued, first, last, start)
        if size is not None:
            start = looked_at_from(issued, first, last, first_day_changed(index, size, start))
        return start


def runs_for_summary(book: Book, start: str, last: str) -> list[str]:
    """The records of the runs of these days, and of the last run before them of each rig: what it left aboard."""
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        return [row.id for row in (*index.last_before(start), *index.between(start, last))]


def first_day(book: Book) -> str | None:
    """The first day of which a night is recorded; None in a book without one."""
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        return index.first_day()


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
