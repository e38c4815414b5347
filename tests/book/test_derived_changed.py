"""From which day on new records may have changed a figure: never later than the first that they did change."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compliance.book.derived_changed import first_day_changed
from compliance.book.derived_lookup import Index
from compliance.book.derived_rows import amount
from compliance.book.store import Book
from compliance.records.envelope import Entry
from compliance.records.state import gather
from compliance.water.fold import calculate
from compliance.water.results import Night

from .deriving import NOW, bibs, book_with, entries, id_of, made, papers

slow = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
FAR = "2026-12-31"


def figures(night: Night, before: str) -> dict[str, Any]:
    """What runs of earlier days used, captured, left aboard and had left over, and each of their stops."""
    return {
        run.ref: [
            amount("x", figure)
            for figure in (
                run.used.figure, run.captured.figure, run.aboard_after, run.not_explained,
                *(figure for stop in run.stops for figure in (stop.used.figure, stop.captured.figure)),
            )
        ]
        for run in night.runs.values()
        if run.date < before
    }  # fmt: skip


@slow
@given(st.one_of(entries(), papers(), bibs()), st.integers(0, 20), st.sampled_from([FAR, "2026-09-02", "2026-09-03"]))
def test_no_figure_of_an_earlier_day_is_another_one(given: list[Entry], cut: int, before: str) -> None:
    """Random nights, changes, tickets and joins, some of which come later: what lies before the day is as it was."""
    with book_with(given) as (book, _):
        book.append(given[:cut], receipt_time=NOW)
        size = book.head().size
        was = calculate(gather(book.records()))
        book.append(given[cut:], receipt_time=NOW)
        with Index.open(book) as index:
            day = first_day_changed(index, size, before)
        assert day <= before
        assert figures(calculate(gather(book.records())), day) == figures(was, day)


def night(name: str, day: str, **of_stop: Any) -> Entry:
    given = {"rig": "Alder", "lead": "Rosa Iglesias", "date": day, "where": "Station", "used": "90 gal"}
    lines = [{"n": "1", "line": "stop", "fields": {"site": "Quay", **of_stop}}]
    return made(name, "run", {"fields": given, "lines": lines, "typed": {}, "who": ""})


def old_row(name: str, day: str) -> Entry:
    fields = {"date": day, "client": "Alderside Owners", "used": "300 gal"}
    said = {"fields": fields, "typed": {}, "method": "stated", "file": "old.csv", "sha256": "ab", "sheet": "", "row": 2}
    return made(name, "old row", {**said, "mapping": "cd", "who": "the office"})


def register(what: str, name: str, **fields: str) -> Entry:
    return made(f"{what} {name} new", "register", {"what": what, "name": name, "fields": fields, "who": "the office"})


def cancelled(name: str) -> Entry:
    return made(f"off {name}", "cancel", {"record": id_of(name), "why": "twice", "who": "the office"})


LENT = {"method": "mark", "tank": "Birch recovery", "start": "1 in", "end": "2 in"}
BEFORE = [night("first", "2026-09-01"), night("second", "2026-09-08"), old_row("row", "2024-05-01")]


@pytest.mark.parametrize(
    ("came", "day"),
    [
        ([], FAR),
        ([register("person", "Wren Tully"), register("limit", "recovery ratio")], FAR),
        ([register("site", "Far Quay")], FAR),
        ([register("site", "quay")], ""),
        ([register("client", "ALDERSIDE owners")], ""),
        ([register("client", "Birchside Owners")], FAR),
        ([register("tank", "a new tank")], ""),
        ([night("late", "2026-08-20")], "2026-08-20"),
        ([night("next", "2027-01-02")], "2026-09-08"),
        ([old_row("another", "2023-02-03")], "2023-02-03"),
        ([cancelled("row")], ""),
        ([cancelled("second")], "2026-09-01"),
        ([night("lent", "2026-09-09", recovered=LENT)], ""),
        ([made("o", "order", {"tank": "T", "runs": [id_of("first"), id_of("second")], "why": "so", "who": "x"})], ""),
        ([made("b", "backup", {"made": NOW, "head": "ab", "sha256": "ab", "files": 1, "spoilt": 0})], FAR),
    ],
)  # fmt: skip
def test_each_kind_of_record_is_told_by_what_it_may_change(came: list[Entry], day: str) -> None:
    """Names that earlier nights hold, tanks, orders, changed rows may be anything; a person or a limit is nothing.

    A night is told with the one before it, from which its water may have come.
    """
    with book_with([]) as (book, _):
        book.append(BEFORE, receipt_time=NOW)
        size = book.head().size
        book.append(came, receipt_time=NOW)
        assert changed(book, size) == day


def changed(book: Book, size: int) -> str:
    with Index.open(book) as index:
        return first_day_changed(index, size, FAR)


@pytest.mark.parametrize("what", ["client", "site"])
def test_a_name_is_held_through_the_entry_of_a_job_too(what: str) -> None:
    """The stop names the job alone; its register says whose job it is, and where."""
    quay = register("job", "Quay, September", client="Millside Owners", site="Millside")
    with book_with([]) as (book, _):
        book.append([quay, night("first", "2026-09-01", job="quay, september")], receipt_time=NOW)
        size = book.head().size
        book.append([register(what, "MILLSIDE owners" if what == "client" else "millside")], receipt_time=NOW)
        with Index.open(book) as index:
            assert first_day_changed(index, size, FAR) == ""
