"""The query tables say what the whole book says, however they were arrived at."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.book import derived_making
from compliance.book.derived_tables import EXACT, MEASURED, STATED, TABLES, WORKED_OUT, Table
from compliance.book.store import Book
from compliance.intake import seeded_book
from compliance.records.envelope import Entry

from .deriving import NOW, bibs, book_with, entries, from_everything, id_of, in_file, made, papers, slow
from .small_book import PLAIN, line, more, night


@slow
@given(entries())
def test_stored_tables_are_the_fold_over_everything(given: list[Entry]) -> None:
    """Made rig by rig and some runs at a time, they hold what one pass over the whole book gives."""
    with book_with(given) as (book, _):
        book.append(given, receipt_time=NOW)
        expected = from_everything(book)
        derived_making.rebuild(book.folder)
        assert in_file(book.folder) == expected


@slow
@given(entries(), st.lists(st.integers(0, 20), max_size=4))
def test_refreshed_tables_are_rebuilt_tables(given: list[Entry], cuts: list[int]) -> None:
    """Brought up to date after any appends, in any order of arrival, they equal tables made anew."""
    with book_with(given, cuts) as (book, batches):
        for batch in batches:
            book.append(batch, receipt_time=NOW)
            derived_making.refresh(book.folder)
            assert derived_making.fresh(book.folder)
        assert in_file(book.folder) == from_everything(book)


@slow
@given(st.one_of(papers(), bibs()), st.lists(st.integers(0, 12), max_size=2))
def test_what_binds_runs_of_several_rigs_is_found_whatever_comes_when(given: list[Entry], cuts: list[int]) -> None:
    """A ticket's number, a meter on no rig: brought up to date, or made run by run, the tables are the fold's."""
    with book_with(given, cuts) as (book, batches):
        for batch in batches:
            book.append(batch, receipt_time=NOW)
            derived_making.refresh(book.folder)
        expected = from_everything(book)
        assert in_file(book.folder) == expected
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(derived_making, "_AT_ONCE", 1)
            derived_making.rebuild(book.folder)
        assert in_file(book.folder) == expected


@slow
@given(entries())
def test_no_number_stands_for_an_unknown(given: list[Entry]) -> None:
    """Of each amount there is a number, and then it is known how; or there is none, and the state says why."""
    with book_with(given) as (book, _):
        book.append(given, receipt_time=NOW)
        for name, rows in from_everything(book).items():
            amounts = {column.name for column in _table(name).columns if f"{column.name}_pm" in _names(name)}
            for row in map(dict, rows):
                for amount in amounts:
                    known = row[f"{amount}_state"] in (MEASURED, STATED, WORKED_OUT, EXACT)
                    assert (row[amount] is not None) == known, (name, amount, row)
                    assert row[f"{amount}_pm"] is None or row[f"{amount}_state"] in (MEASURED, EXACT)


def _table(name: str) -> Table:
    return next(table for table in TABLES if table.name == name)


def _names(name: str) -> set[str]:
    return {column.name for column in _table(name).columns}


def test_tables_are_fresh_until_the_book_or_the_program_moves_on(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not before they are made, not after an append, not for another version of the program."""
    assert not derived_making.fresh(folder)
    assert derived_making.refresh(folder)
    assert derived_making.fresh(folder) and not derived_making.refresh(folder)
    more(folder, night("third"))
    assert not derived_making.fresh(folder)
    derived_making.rebuild(folder)
    assert derived_making.fresh(folder)
    monkeypatch.setattr(derived_making, "LAYOUT", 999)
    assert not derived_making.fresh(folder)
    assert derived_making.refresh(folder) and derived_making.fresh(folder)


def test_rebuilding_counts_its_rows(folder: Path) -> None:
    """How many rows went into each table is told."""
    counts = derived_making.rebuild(folder)
    assert counts == {table.name: len(rows) for table, rows in zip(TABLES, in_file(folder).values(), strict=True)}
    assert (counts["runs"], counts["tickets"], counts["changes"]) == (2, 1, 3)


def test_a_refresh_works_out_only_what_can_have_changed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After one more night, a ticket and a correction in a book of many, a few runs are looked at; the rest stays."""
    folder = tmp_path / "book"
    seeded_book.make(folder, 400)
    derived_making.rebuild(folder)
    with Book.open(folder) as book:
        night = next(
            r for r in book.records(after=30) if r.kind == "run" and r.payload["fields"]["where"] == "see lines"
        )
        later = [replace(seeded_book.stored(raw), id=id_of(raw["id"])) for raw in seeded_book.nights(9, 12)]
        change = {"run": night.id, "line": "", "field": "remark", "value": "wet", "reason": "keyed wrong"}
        spots = [{"run": night.id, "line": night.payload["lines"][-1]["n"]}]
        book.append(later, receipt_time=NOW)
        book.append([
            made("fix", "correct", {**change, "was": None, "why": "so", "who": "Priya"}),
            made("slip", "ticket", {"fields": {"number": "N"}, "handovers": spots, "who": "Priya"}),
        ], receipt_time=NOW)  # fmt: skip
    worked: list[str] = []
    figures = derived_making._figures

    def watched(index: Any, runs: Any) -> Any:
        worked.extend(runs)
        return figures(index, list(worked))

    monkeypatch.setattr(derived_making, "_figures", watched)
    monkeypatch.setattr(derived_making, "_rebuild", None)
    assert derived_making.refresh(folder)
    assert night.id in worked and 0 < len(worked) < 15
    with Book.open(folder) as book:
        assert in_file(folder) == from_everything(book)


@pytest.mark.parametrize(
    "given",
    [
        made("reg", "register", {"what": "tank", "name": "Birch recovery", "fields": {"accuracy": "3 %"}, "who": ""}),
        made("moved", "correct", {
            "run": PLAIN.id, "line": "", "field": "date", "value": "2026-09-09", "was": None, "reason": "keyed wrong",
            "why": "", "who": "",
        }),
        made("meter", "complete", {
            "run": PLAIN.id, "after": "", "add": line("reading", of="Birch supply", shows="9 count"), "who": "",
        }),
        made("back", "cancel", {"record": id_of("fix"), "why": "it was right", "who": ""}),
        made("void", "cancel", {"record": id_of("slip"), "why": "another load", "who": ""}),
        made("gone", "cancel", {"record": id_of("photo"), "why": "blurred", "who": ""}),
        made("nobody", "cancel", {"record": id_of("nothing"), "why": "mistake", "who": ""}),
        made("joined", "same outing", {"first": PLAIN.id, "second": id_of("unread"), "why": "two phones", "who": ""}),
        made("came", "order", {"tank": "Birch recovery", "runs": [id_of("unread"), PLAIN.id], "why": "", "who": ""}),
        made("slipped", "correct", {
            "run": id_of("slip"), "line": "", "field": "accepted", "value": "190 gal", "was": "198 gal",
            "reason": "keyed wrong", "why": "", "who": "",
        }),
        made("closed", "close", {"month": "2026-09", "page": "M", "size": 1, "root": "", "figures": {}, "who": ""}),
        made("row", "old row", {
            "fields": {"date": "2019-05-01", "client": "Quay", "used": "~200 gal"}, "typed": {}, "file": "old.csv",
            "sha256": "0" * 64, "sheet": "2019", "row": 7, "mapping": "0" * 64, "method": "", "who": "",
        }),
        made("weather", "weather", {"from": "a newer program"}),
        night("strange", line("move", tank="Birch recovery", to="Alder holding", amount="5 gal")),
    ],
    ids=lambda entry: f"{entry.kind}-{entry.id[:4]}",
)  # fmt: skip
def test_whatever_comes_the_tables_follow(folder: Path, given: Entry) -> None:
    """A change of a register, of a place in time, of a meter, a cancellation of anything: refreshed is rebuilt."""
    derived_making.refresh(folder)
    more(folder, given)
    derived_making.refresh(folder)
    with Book.open(folder) as book:
        assert in_file(folder) == from_everything(book)


def test_a_rebuild_that_fails_leaves_the_tables_as_they_were(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All or nothing: a fault midway rolls everything back."""
    derived_making.rebuild(folder)
    before = in_file(folder)
    more(folder, night("third"))

    def breaks(*_: object) -> None:
        raise RuntimeError("midway")

    monkeypatch.setattr(derived_making, "of_runs", breaks)
    with pytest.raises(RuntimeError, match="midway"):
        derived_making.rebuild(folder)
    assert in_file(folder) == before
    assert not derived_making.fresh(folder)
