"""The index says what the whole book says, however it was arrived at."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compliance.book import derived, derived_files
from compliance.book.derived_context import with_context
from compliance.book.derived_lookup import Index
from compliance.book.derived_names import moves_site, named_by, numbers_named
from compliance.book.store import Book
from compliance.intake import seeded_book
from compliance.records.envelope import Entry, Record
from compliance.records.names import folded
from compliance.records.problem import ComplianceError
from compliance.records.state import gather
from compliance.water.fold import calculate
from compliance.water.results import Line
from compliance.water.volume import Unknown

from .deriving import NOW, book_with, entries, id_of, made

slow = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def said(what: Any) -> Any:
    """A result of the calculator without the words that give the reason of an unknown.

    Of a tank that nobody touched yet they tell whether somebody ever will, which the few runs cannot know. Nor can they
    know which run ended last before a tank was looked at again, where no look closed an interval.
    """
    if isinstance(what, Unknown):
        return what.kind
    if isinstance(what, Line) and not what.line:
        return "the end of a run"
    if is_dataclass(what) and not isinstance(what, type):
        return type(what).__name__, [said(getattr(what, field.name)) for field in fields(what) if field.name != "why"]
    if isinstance(what, Mapping):
        return {key: said(value) for key, value in what.items()}
    return [said(one) for one in what] if isinstance(what, tuple) else what


def everything_in(book: Book) -> dict[str, Any]:
    """All that an index says, with names for their numbers."""
    with Index.open(book) as index:
        names = {n: (what, key) for n, what, key in index.db.execute("SELECT n, what, key FROM name")}
        held = {(names[n], day, run) for n, day, run in index.db.execute("SELECT n, day, run FROM held")}
        rows = {
            seq: (id.hex(), names[rig], *rest)
            for seq, id, rig, *rest in index.db.execute(
                "SELECT seq, id, rig, day, moment, base, cancelled, tanks FROM run"
            )
        }
        return {
            "seen": index.seen,
            "held": held,
            "runs": rows,
            "names": set(index.db.execute("SELECT key, id, kind FROM names")),
        }


@slow
@given(entries(), st.lists(st.integers(0, 20), max_size=4))
def test_an_index_that_followed_the_book_is_the_one_made_at_its_end(given: list[Entry], cuts: list[int]) -> None:
    """Caught up after any appends, in any order of arrival, it equals an index made anew."""
    with book_with(given, cuts) as (book, batches):
        for batch in batches:
            book.append(batch, receipt_time=NOW)
            everything_in(book)
        followed = everything_in(book)
        derived_files.remove(book.folder / derived_files.INDEX)
        assert everything_in(book) == followed


@slow
@given(entries())
def test_runs_are_named_and_ordered_as_the_whole_book_has_them(given: list[Entry]) -> None:
    """Refs, days, order, cancellation: the same as from the fold over everything."""
    with book_with(given) as (book, _):
        book.append(given, receipt_time=NOW)
        state = gather(book.records())
        with Index.open(book) as index:
            rows = index.between("0000", "9999")
            assert [row.id for row in rows] == [run.record for run in state.runs]
            assert [index.ref(row) for row in rows] == [run.ref for run in state.runs]
            assert [row.cancelled for row in rows] == [run.cancelled is not None for run in state.runs]
            for run in state.runs:
                for name in (run.ref, run.record, run.record[:8]):
                    found, expected = index.run_named(name), state.run(name)
                    assert found is not None and expected is not None
                    assert found.id == expected.record
            for rig in ("Birch", "Alder", "Nobody"):
                key = state.registers.key("rig", rig)
                there = [r.record for r in state.runs if state.registers.key("rig", str(r.get("rig"))) == key]
                assert [row.id for row in index.between("0000", "9999", rig)] == there


@slow
@given(entries(), st.integers(0, 6), st.integers(0, 3), st.integers(0, 2))
def test_figures_of_a_few_runs_are_those_of_the_whole_book(
    given: list[Entry], which: int, before: int, after: int
) -> None:
    """Gathering a run with its context gives its figures and its loads exactly as gathering everything does."""
    with book_with(given) as (book, _):
        book.append(given, receipt_time=NOW)
        state = gather(book.records())
        night = calculate(state)
        run = state.runs[which % len(state.runs)]
        with Index.open(book) as index:
            part = gather(index.records(with_context(index, [run.record], before=before, after=after)))
        few = calculate(part)
        assert part.run(run.record) == run
        assert said(few.runs[run.record]) == said(night.runs[run.record])
        for name in night.runs[run.record].loads:
            assert said(few.loads[name]) == said(night.loads[name])
        assert [t for t in part.tickets if t.record in {t.record for t in state.tickets_of(run.record, "1")}] == list(
            state.tickets_of(run.record, "1")
        )
        rig = state.registers.key("rig", str(run.get("rig")))
        of_rig = [r for r in state.runs if state.registers.key("rig", str(r.get("rig"))) == rig and r.cancelled is None]
        if run.cancelled is None:
            at = of_rig.index(run)
            for near in of_rig[max(0, at - before) : at + after + 1]:
                assert said(few.runs[near.record]) == said(night.runs[near.record])


def night(name: str, day: str, *lines: dict[str, Any], rig: str = "Birch") -> Entry:
    numbered = [{"n": str(n), **line} for n, line in enumerate(lines, start=1)]
    fields = {"rig": rig, "lead": "Rosa Iglesias", "date": day, "where": "see lines"}
    return made(name, "run", {"fields": fields, "lines": numbered, "typed": {}, "who": "Rosa Iglesias"})


STOP = {"line": "stop", "fields": {"site": "Quay"}}
DUMP = {"line": "hand over", "fields": {"place": "Station", "amount": "50 gal", "tank_after": "empty"}}


def reading(shows: str) -> dict[str, Any]:
    return {"line": "reading", "fields": {"of": "Birch supply", "shows": shows}}


def test_a_supply_meter_reaches_over_nights_that_left_the_tank_empty() -> None:
    """What a stop used may follow from a reading nights before and one nights after."""
    nights = [
        night("n0", "2026-09-01", STOP, DUMP),
        night("n1", "2026-09-02", STOP, DUMP, reading("100 count")),
        night("n2", "2026-09-03", DUMP),
        night("n3", "2026-09-04", STOP, DUMP),
        night("n4", "2026-09-05", DUMP),
        night("n5", "2026-09-06", reading("150 count"), STOP, DUMP),
        night("n6", "2026-09-07", STOP, DUMP),
    ]
    with book_with([]) as (book, _):
        book.append(nights, receipt_time=NOW)
        whole = calculate(gather(book.records()))
        with Index.open(book) as index:
            ids = with_context(index, [nights[3].id])
            assert {one.id for one in nights[1:6]} <= set(ids)
            few = calculate(gather(index.records(ids)))
        assert few.runs[nights[3].id] == whole.runs[nights[3].id]
        assert str(whole.runs[nights[3].id].used.figure.best) == "50.00"  # type: ignore[union-attr]


def test_water_in_a_second_tank_is_followed_to_where_it_came_from() -> None:
    """That the first tank was emptied tells nothing while the other holds water of nights before."""
    into = {"line": "move", "fields": {"tank": "Alder recovery", "to": "Alder holding", "tank_after": "empty"}}
    out = {"line": "hand over", "fields": {"place": "Station", "tank": "Alder holding", "tank_after": "empty"}}
    looked = [
        {"line": "reading", "fields": {"of": tank, "shows": "empty"}} for tank in ("Alder recovery", "Alder holding")
    ]
    full = {"line": "reading", "fields": {"of": "Alder recovery", "shows": "20.0 in"}}
    nights = [
        night("n0", "2026-09-01", *looked, rig="Alder"),
        night("n1", "2026-09-02", STOP, full, into, rig="Alder"),
        night("n2", "2026-09-03", rig="Alder"),
        night("n3", "2026-09-04", STOP, DUMP, rig="Alder"),
        night("n4", "2026-09-05", STOP, DUMP, rig="Alder"),
        night("n5", "2026-09-06", out, rig="Alder"),
        night("n6", "2026-09-07", STOP, DUMP, rig="Alder"),
    ]
    with book_with([]) as (book, _):
        book.append(nights, receipt_time=NOW)
        whole = calculate(gather(book.records()))
        with Index.open(book) as index:
            ids = with_context(index, [nights[5].id])
            assert set(ids) == {one.id for one in nights[:6]}
            few = calculate(gather(index.records(ids)))
        assert few.runs[nights[5].id] == whole.runs[nights[5].id]
        handed = next(load for load in whole.loads.values() if load.tank == "Alder holding").draws[0]
        assert handed.parts == {"2026-09-02-alder.s1": 28571}


def test_a_change_of_a_joined_run_names_what_joined_it() -> None:
    """So that taking the two apart is known to concern the change."""
    payload = {"run": "a" * 32, "line": "", "field": "used", "value": "1 gal", "outing": "b" * 32}
    record = Record(1, "c" * 32, "correct", 1, NOW, NOW, NOW, payload)
    assert list(named_by(record)) == ["a" * 32, "b" * 32]


def test_a_change_that_names_a_number_or_a_site_is_told_by_its_field_or_by_its_line() -> None:
    """A ticket's number on an added handover, and nothing of the kind on a remark."""

    def added(line: str, **fields: str) -> Record:
        payload = {"run": "a" * 32, "after": "1", "add": {"line": line, "fields": fields}}
        return Record(1, "c" * 32, "complete", 1, NOW, NOW, NOW, payload)

    handover, stop, remark = added("hand over", ticket="R  7"), added("stop", site="Quay"), added("remark", text="R-7")
    assert [numbers_named(one) for one in (handover, stop, remark)] == [{"r 7"}, set(), set()]
    assert [moves_site(one) for one in (handover, stop, remark)] == [False, True, False]


# ---- a book of many nights -------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("many") / "book"
    seeded_book.make(folder, 700)
    return folder


def test_an_order_that_was_cancelled_is_none() -> None:
    """Only what still holds decides which run came to a shared tank first."""
    said = {"tank": "yard", "why": "the log", "who": "Ruth Okafor"}
    orders = [made(f"order {n}", "order", {**said, "runs": [id_of("a"), id_of(f"b{n}")]}) for n in (1, 2)]
    taken_back = made("cancel", "cancel", {"record": orders[0].id, "why": "wrong night", "who": "Ruth Okafor"})
    with book_with([]) as (book, _):
        book.append([*orders, taken_back], receipt_time=NOW)
        with Index.open(book) as index:
            assert index.orders() == [(id_of("a"), id_of("b2"))]


def test_a_month_is_worked_out_from_its_own_records(many: Path) -> None:
    """Figures of a month's runs are those of the whole book, from hardly more records than the month has."""
    with Book.open(many) as book:
        ids = derived.runs_between(book, "2001-01-10", "2001-01-16")
        records = derived.records_for_runs(book, ids)
        whole, few = calculate(gather(book.records())), calculate(gather(records))
        assert len(ids) > 20
        assert sum(record.kind == "run" for record in records) < len(ids) + 12
    assert [few.runs[id] for id in ids] == [whole.runs[id] for id in ids]


def test_one_run_needs_a_few_others_wherever_it_stands(many: Path) -> None:
    """How many runs are looked at together does not grow with the book."""
    with Book.open(many) as book, Index.open(book) as index:
        for row in index.between("0000", "9999"):
            assert len(with_context(index, [row.id])) <= 6


def test_runs_far_apart_do_not_draw_in_all_between(many: Path) -> None:
    """The first and the last night of a rig are two pieces of its history."""
    with Book.open(many) as book, Index.open(book) as index:
        rows = index.between("0000", "9999", "Big Blue")
        ids = with_context(index, [rows[1].id, rows[-2].id])
        assert len(ids) <= 10 < len(rows)
        few = calculate(gather(index.records(ids)))
        whole = calculate(gather(book.records()))
        assert few.runs[rows[1].id] == whole.runs[rows[1].id]
        assert few.runs[rows[-2].id] == whole.runs[rows[-2].id]


def test_neighbours_asked_for_have_their_figures_right_too(many: Path) -> None:
    """So many runs of the same rig on either side are there, and right."""
    with Book.open(many) as book, Index.open(book) as index:
        rows = [row for row in index.between("0000", "9999", "Little Heron") if not row.cancelled]
        few = calculate(gather(index.records(with_context(index, [rows[9].id], before=4, after=2))))
        whole = calculate(gather(book.records()))
    for row in rows[5:12]:
        assert few.runs[row.id] == whole.runs[row.id]


def test_runs_are_found_by_the_names_in_them(many: Path) -> None:
    """By client, site or place, between days; nobody's name finds nothing."""
    with Book.open(many) as book, Index.open(book) as index:
        state = gather(book.records())
        for what, name in (("client", "Old Depot Market"), ("site", "hillrow GARAGE"), ("place", "Dry Fork Hauling")):
            there = [
                run.record
                for run in state.runs
                if any(folded(str(line.get(what))) == folded(name) for line in run.lines)
            ]
            assert [row.id for row in index.holding(what, name)] == there
            first_half = [run.record for run in state.runs if run.record in there and run.day < "2001-01-14"]
            assert [row.id for row in index.holding(what, name, last="2001-01-13")] == first_half
        assert index.holding("client", "nobody") == []
        assert len({row.id for row in index.holding("client", "Old Depot Market")}) > 5


def test_what_is_no_name_of_a_run_finds_none(many: Path) -> None:
    """Neither an unknown ref nor too short a beginning of an id, nor a name with a number that cannot be counted."""
    with Book.open(many) as book, Index.open(book) as index:
        row = index.between("0000", "9999")[3]
        assert index.run_named(row.id[:6]) == row
        for name in ("2001-01-02-nobody", row.id[:5], "zzzzzzzz", "", "2001-01-02-big-blue-99", "x-99999999999999"):
            assert index.run_named(name) is None


# ---- the file --------------------------------------------------------------------------------------------------------


def test_a_second_program_that_is_quicker_is_noticed() -> None:
    """What it has taken in is not taken in again."""

    class Slow(Index):
        def _transaction(self) -> Any:
            everything_in(self.book)  # another program catches up just before this one
            return super()._transaction()

    with book_with([]) as (book, _):
        with Slow.open(book) as index:
            assert index.seen == book.head().size
        assert everything_in(book)["seen"] == book.head().size


def test_a_fault_while_catching_up_loses_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """The batch is taken in whole or not at all, and the next attempt goes on from there."""
    with book_with([]) as (book, _):
        everything_in(book)
        book.append(
            [made("late", "accept", {"rule": "", "about": "", "why": "", "until": "", "who": ""})], receipt_time=NOW
        )

        def breaks(*_: object) -> None:
            raise RuntimeError("midway")

        with monkeypatch.context() as patch, pytest.raises(RuntimeError, match="midway"):
            patch.setattr(Index, "_concerned", breaks)
            Index.open(book)
        assert everything_in(book)["seen"] == book.head().size


def test_an_index_that_another_program_holds_is_waited_for_and_then_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """After the wait, a plain refusal; the records are not touched."""
    monkeypatch.setattr(derived_files, "_WAIT", 50)
    with book_with([]) as (book, _):
        everything_in(book)
        book.append(
            [made("late", "accept", {"rule": "", "about": "", "why": "", "until": "", "who": ""})], receipt_time=NOW
        )
        with closing(sqlite3.connect(book.folder / derived_files.INDEX, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(ComplianceError, match="Another program"):
                Index.open(book)


def test_trouble_with_the_index_is_told_in_plain_words() -> None:
    """In use too, not only when it is opened; our own misuse stays a fault."""
    with book_with([]) as (book, _):
        with pytest.raises(ComplianceError, match="does not answer as it should"), Index.open(book) as index:
            index.db.execute("SELECT * FROM nothing")
        with pytest.raises(sqlite3.ProgrammingError), Index.open(book) as index:
            index.db.execute("SELECT ?")


def test_a_transaction_that_sqlite_took_back_by_itself_is_over() -> None:
    """After some failures of the disk there is nothing left to roll back."""
    with book_with([]) as (book, _), Index.open(book) as index:
        with pytest.raises(RuntimeError, match="disk"), index._transaction():
            index.db.execute("ROLLBACK")
            raise RuntimeError("disk")
        assert not index.db.in_transaction


def test_an_index_of_another_layout_starts_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """Made by another version of the program, it is not read."""
    with book_with([]) as (book, _):
        before = everything_in(book)
        with closing(sqlite3.connect(book.folder / derived_files.INDEX)) as db, db:
            db.execute("UPDATE seen SET layout = 0")
            db.execute("DELETE FROM names")
        assert everything_in(book) == before


def test_an_index_that_has_seen_what_the_book_has_not_starts_over(tmp_path: Path) -> None:
    """A book brought back from an earlier backup has fewer records, or others in their places."""
    with book_with([]) as (book, _):
        book.copy_to(tmp_path / "earlier.sqlite")
        book.append(
            [made("late", "accept", {"rule": "", "about": "", "why": "", "until": "", "who": ""})], receipt_time=NOW
        )
        everything_in(book)
        index = (book.folder / derived_files.INDEX).read_bytes()
        earlier = tmp_path / "again"
        earlier.mkdir()
        (tmp_path / "earlier.sqlite").rename(earlier / "records.sqlite")
        (earlier / derived_files.INDEX).write_bytes(index)
        with Book.open(earlier) as other:
            assert everything_in(other)["seen"] == other.head().size == book.head().size - 1
