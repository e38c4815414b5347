"""The query tables say what the whole book says, however they were arrived at; they can be searched and asked."""

from __future__ import annotations

import ast
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from decimal import Decimal
from importlib.metadata import PackageNotFoundError
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compliance.book import derived, derived_files, derived_finding, derived_making, derived_words
from compliance.book.derived_context import with_context
from compliance.book.derived_lookup import Index
from compliance.book.derived_rows import amount, of_papers, of_runs, ratio
from compliance.book.derived_tables import EXACT, MEASURED, STATED, STATES, TABLES, WORKED_OUT, Table
from compliance.book.derived_words import words_of
from compliance.book.store import Book
from compliance.intake import seeded_book
from compliance.records import kinds
from compliance.records.envelope import Entry
from compliance.records.problem import ComplianceError
from compliance.records.state import gather
from compliance.water.fold import calculate
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.volume import Figure, Unknown, Volume, exact, stated, with_limits

from .deriving import NOW, bibs, book_with, entries, id_of, made, papers

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
    rows |= of_runs(state, calculate(state), refs)
    return {name: plain(iter(made)) for name, made in rows.items()}


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


# ---- one small book ------------------------------------------------------------------------------------------------


def night(name: str, *lines: dict[str, Any], **fields: Any) -> Entry:
    """A night of Birch, from its lines without their numbers."""
    numbered = [{"n": str(n), **line} for n, line in enumerate(lines, start=1)]
    given = {"rig": "Birch", "lead": "Rosa Iglesias", "date": "2026-09-04", "where": "see lines", **fields}
    return made(name, "run", {"fields": given, "lines": numbered, "typed": {}, "who": "Rosa Iglesias"})


def line(kind: str, **fields: Any) -> dict[str, Any]:
    return {"line": kind, "fields": fields}


PLAIN = night(
    "plain",
    line("reading", of="Birch recovery", shows="empty"),
    line("stop", site="Quay", surface="Señal pintada", area="900 ft2"),
    line("hand over", place="Station", amount="200 gal", tank_after="empty", ticket="later"),
    used="240 gal", recovered="200 gal", remark="Fuga en el desagüe, \"curb\" side", got_away="saw none",
)  # fmt: skip
ALL = [
    PLAIN,
    night("unread", line("stop", site="Hill"), date="2026-09-05", used="not read", recovered=">=50 gal"),
    made("fix", "correct", {
        "run": PLAIN.id, "line": "2", "field": "surface", "value": "brick", "was": "Señal pintada",
        "reason": "keyed wrong", "why": "the sheet says ladrillo", "who": "Priya",
    }),
    made("full", "complete", {"run": PLAIN.id, "line": "", "field": "supply", "value": "hydrant 12", "who": "Priya"}),
    made("more", "complete", {
        "run": PLAIN.id, "after": "2", "add": {"line": "escape", "fields": {"what": "mat leaked", "reached": "soil"}},
        "who": "Priya",
    }),
    made("slip", "ticket", {
        "fields": {"number": "R-20914", "accepted": "198 gal", "received_by": "Orla Benning"},
        "handovers": [{"run": PLAIN.id, "line": "3"}], "who": "Priya",
    }),
    made("photo", "attach", {
        "record": PLAIN.id, "line": "2", "name": "drain.jpg", "sha256": "0" * 64, "size": 10, "media": "image/jpeg",
        "what": "the curb inlet", "who": "Priya",
    }),
    made("ok", "accept", {
        "rule": "ticket-2", "about": "2026-09-04-birch/3", "why": "known difference", "until": "2026-12-31",
        "who": "Ruth",
    }),
    made("page", "issue", {
        "page": "proof", "number": "P-7", "about": "2026-09-04-birch.s1", "date": "2026-09-20", "files": {},
        "made_from": {"size": 3, "root": "ab"}, "figures": {"used": "240"}, "replaces": "", "who": "Ruth",
    }),
    made("to come", "same outing", {"first": "0" * 32, "second": PLAIN.id, "why": "two phones", "who": "Priya"}),
    made("alone", "order", {"tank": "Birch recovery", "runs": [PLAIN.id], "why": "the crews say so", "who": "Ruth"}),
    made("closed once", "close", {"month": "2026-09", "page": "M-1", "size": 1, "root": "", "figures": {}, "who": ""}),
    made("again", "reopen", {"month": "2026-09", "why": "a late ticket", "who": "Ruth"}),
    made("backed up", "backup", {"made": NOW, "head": "", "sha256": "", "files": 0, "spoilt": 0}),
    made("new", "weather", {"from": "a newer program"}),
]  # fmt: skip


@pytest.fixture
def folder() -> Iterator[Path]:
    with book_with([]) as (book, _):
        book.append(ALL, receipt_time=NOW)
        yield book.folder


def more(folder: Path, *given: Entry) -> None:
    with Book.open(folder) as book:
        book.append(given, receipt_time=NOW)


def asked(folder: Path, sql: str, *params: Any) -> list[Any]:
    return derived.query(folder, sql, params)[1]


def test_amounts_stand_in_hundredths_with_how_they_are_known(folder: Path) -> None:
    """A stated amount has no ±, an unread one and a bound no number; the ratio stands in ten-thousandths."""
    sql = "SELECT used, used_pm, used_state, captured, captured_state, ratio, ratio_state FROM runs ORDER BY date"
    plain, unread = asked(folder, sql)
    assert plain == (24000, None, "stated", 20000, "stated", 8333, "stated")
    assert unread[:5] == (None, None, "not read", None, "at least 50.00")
    assert unread[5] is None and unread[6].startswith("none: what was applied is not read")


def test_what_nobody_wrote_down_is_no_zero(folder: Path) -> None:
    """No line about water let go or led away is 'none recorded'; an unasked remark is '', an asked supply is not."""
    row = asked(
        folder, "SELECT let_go, let_go_state, led_away_state, remark, supply FROM runs WHERE date = '2026-09-05'"
    )
    assert row == [(None, "none recorded", "none recorded", "", "not recorded yet")]


def test_tickets_escapes_changes_and_papers_have_their_rows(folder: Path) -> None:
    """Each thing that was handed in is found in its table, tied to its run."""
    assert asked(folder, "SELECT run, amount, accepted, accepted_from, tickets, ticket FROM handovers") == [
        ("2026-09-04-birch", 20000, 19800, "ticket", "R-20914", "later")
    ]
    assert asked(folder, "SELECT line, stop, what, reached, amount_state FROM escapes") == [
        ("2.1", "2026-09-04-birch.s1", "mat leaked", "soil", "not recorded yet")
    ]
    assert asked(folder, "SELECT line, field, was, now, kind FROM changes ORDER BY n") == [
        ("2", "surface", "Señal pintada", "brick", "correct"),
        ("", "supply", "not recorded yet", "hydrant 12", "complete"),
        ("2.1", "", "not recorded yet", "escape", "complete"),
    ]
    assert asked(folder, "SELECT run, ticket FROM ticket_handovers") == [("2026-09-04-birch", "R-20914")]
    assert asked(folder, "SELECT run, name FROM attachments") == [("2026-09-04-birch", "drain.jpg")]
    assert asked(folder, "SELECT number, figure, printed FROM issued_figures") == [("P-7", "used", "240")]
    assert asked(folder, "SELECT rule, who FROM acceptances") == [("ticket-2", "Ruth")]
    assert ("rig", "old birch", "Birch") in asked(folder, "SELECT register, name, same_as FROM registers")


def test_a_stop_whose_water_cannot_be_followed_keeps_a_row(folder: Path) -> None:
    """A join over pieces does not lose it: its one piece says 'not known'."""
    rows = asked(folder, "SELECT way, amount FROM pieces JOIN stops USING (stop) WHERE site = 'Hill'")
    assert rows == [("not known", None)]


def test_a_cancelled_run_stays_without_amounts(folder: Path) -> None:
    """It is in the table, with why, and its amounts do not apply."""
    more(folder, made("off", "cancel", {"record": PLAIN.id, "why": "entered twice", "who": "Priya"}))
    sql = "SELECT cancelled, used, used_state, let_go_state FROM runs WHERE record = ?"
    assert asked(folder, sql, PLAIN.id) == [("entered twice", None, "not applicable", "not applicable")]
    assert asked(folder, "SELECT count(*) FROM stops WHERE record = ?", PLAIN.id) == [(0,)]


@pytest.mark.parametrize(
    ("accepted", "expected"),
    [
        (["198 gal"], (19800, "stated")),
        (["100 gal", "90 gal"], (19000, "stated")),
        (["100 gal", "not read"], (None, "not read")),
        ([None], (None, "not recorded yet")),
    ],
)
def test_what_tickets_say_together(folder: Path, accepted: list[str | None], expected: tuple[Any, str]) -> None:
    """Several tickets of one handover are summed; where one says nothing, neither does the sum."""
    more(folder, made("off", "cancel", {"record": id_of("slip"), "why": "wrong load", "who": "Priya"}))
    for number, said in enumerate(accepted):
        fields = {"number": f"N-{number}"} | ({"accepted": said} if said else {})
        spots = [{"run": PLAIN.id, "line": "3"}]
        more(folder, made(f"slip {number}", "ticket", {"fields": fields, "handovers": spots, "who": "Priya"}))
    assert asked(folder, "SELECT accepted, accepted_state FROM handovers") == [expected]


def test_a_ticket_for_several_handovers_is_split_on_none(folder: Path) -> None:
    """Its amount is of all of them together, so none of them shows it as its own."""
    other = night("other", line("hand over", place="Station", amount="10 gal"), date="2026-09-06")
    spots = [{"run": PLAIN.id, "line": "3"}, {"run": other.id, "line": "1"}]
    more(folder, other, made("shared", "ticket", {"fields": {"number": "N"}, "handovers": spots, "who": "Priya"}))
    states = asked(folder, "SELECT DISTINCT accepted, accepted_state FROM handovers")
    assert states == [(None, "on a ticket for several handovers")]


def test_a_ticket_that_names_no_handover_follows_its_number(folder: Path) -> None:
    """Whatever changes: the number on it, the number of the line, the place, a second night, and that one cancelled."""
    correct = {"line": "", "was": None, "reason": "keyed wrong", "why": "the sheet says so", "who": "Priya"}
    other = night("other", line("hand over", place="Station", ticket="N-2"), date="2026-09-06")
    waiting = {"fields": {"number": "N-1", "place": "Station"}, "handovers": [], "who": "Priya"}

    def matched(*given: Entry) -> list[Any]:
        more(folder, *given)
        found = asked(folder, "SELECT run, line FROM ticket_handovers WHERE ticket LIKE 'N-%'")
        rows = asked(folder, "SELECT run, line FROM handovers WHERE tickets LIKE '%N-%'")
        assert sorted(rows) == sorted(found)
        return found

    def corrected(name: str, run: Entry, field: str, value: str, line: str = "") -> Entry:
        return made(name, "correct", {**correct, "run": run.id, "line": line, "field": field, "value": value})

    slip = made("waits", "ticket", waiting)
    assert matched(slip) == []
    assert matched(other) == []
    assert matched(corrected("c1", slip, "number", "N-2")) == [("2026-09-06-birch", "1")]
    assert matched(corrected("c2", PLAIN, "ticket", "n-2", "3")) == []
    assert matched(made("off other", "cancel", {"record": other.id, "why": "twice", "who": ""})) == [
        ("2026-09-04-birch", "3")
    ]
    assert matched(corrected("c3", slip, "place", "Yard")) == []
    assert matched(corrected("c4", PLAIN, "place", "Yard", "3")) == [("2026-09-04-birch", "3")]
    assert matched(corrected("c5", PLAIN, "ticket", "N-3", "3")) == []


def test_a_bib_of_two_rigs_is_the_use_of_none_while_both_are_there(folder: Path) -> None:
    """The other rig's night, its own use, its site, its cancelling: each changes what the first used."""
    looks = [line("reading", of="Quay bib", shows=f"{n} count") for n in (100, 140)]
    first = night("first", looks[0], line("stop", site="Quay"), looks[1], rig="Alder", used="not read")
    other = night("second", line("stop", site="quay"))
    correct = {"was": None, "reason": "keyed wrong", "why": "the sheet says so", "who": "Priya", "run": other.id}

    def used(*given: Entry) -> Any:
        more(folder, *given)
        with Book.open(folder) as book, Index.open(book) as index:
            state = gather(index.records(with_context(index, [first.id])))
        alone = amount("used", calculate(state).runs[first.id].used.figure)
        (found,) = asked(folder, "SELECT used, used_state FROM runs WHERE rig = 'Alder'")
        assert found == (alone["used"], alone["used_state"])
        return found

    own, shared = (4000, "stated"), (None, "not read")
    assert used(first) == own
    assert used(other) == shared
    assert used(made("c1", "correct", {**correct, "line": "", "field": "used", "value": "70 gal"})) == own
    assert used(made("c2", "correct", {**correct, "line": "", "field": "used", "value": "not read"})) == shared
    assert used(made("c3", "correct", {**correct, "line": "1", "field": "site", "value": "Hill"})) == own
    added = {"run": other.id, "after": "1", "add": line("stop", site="Quay"), "who": "Priya"}
    assert used(made("c4", "complete", added)) == shared
    assert used(made("c5", "cancel", {"record": id_of("c4"), "why": "twice", "who": "Priya"})) == own
    assert used(made("c6", "complete", {**added, "after": "1"})) == shared
    assert used(made("c7", "cancel", {"record": other.id, "why": "twice", "who": "Priya"})) == own


def test_two_hand_ins_of_one_outing_are_one_row(folder: Path) -> None:
    """The run stands under its first hand-in with the stops of both; the second is found by its own ref too."""
    joins = {"first": PLAIN.id, "second": id_of("unread"), "why": "two phones", "who": "Priya"}
    more(folder, made("joined", "same outing", joins))
    assert asked(folder, "SELECT record, run FROM runs") == [(PLAIN.id, "2026-09-04-birch")]
    assert asked(folder, "SELECT record, site FROM stops ORDER BY number") == [(PLAIN.id, "Quay"), (PLAIN.id, "Hill")]
    assert [hit["about"] for hit in derived_finding.find(folder, "hill")] == ["2026-09-04-birch"]
    with Book.open(folder) as book, Index.open(book) as index:
        named = index.run_named("2026-09-05-birch")
        assert named is not None and named.id == PLAIN.id


def test_old_rows_stand_apart(folder: Path) -> None:
    """What a spreadsheet from before the book says is stated, and no run."""
    fields = {"date": "2019-05-01", "client": "Quay", "site": "Slip", "used": "200 gal", "recovered": "not read"}
    place = {"file": "old.csv", "sha256": "0" * 64, "sheet": "2019", "row": 7, "mapping": "0" * 64, "method": ""}
    more(folder, made("row", "old row", {"fields": fields, "typed": {}, "who": "Priya", **place}))
    sql = "SELECT date, client, site, used, used_state, recovered_state, row FROM old_rows"
    assert asked(folder, sql) == [("2019-05-01", "Quay", "Slip", 20000, "stated", "not read", 7)]
    assert asked(folder, "SELECT count(*) FROM runs") == [(2,)]
    assert [hit["about"] for hit in derived_finding.find(folder, "slip quay")] == ["old.csv, 2019, row 7"]
    plain = {**place, "sheet": "", "row": 8}  # a text file has no sheets
    more(folder, made("line", "old row", {"fields": fields | {"site": "Wharf"}, "typed": {}, "who": "Priya", **plain}))
    assert [hit["about"] for hit in derived_finding.find(folder, "wharf")] == ["old.csv, row 8"]


@pytest.mark.parametrize(
    ("figure", "expected"),
    [
        (Volume(None, None), (None, None, "any amount")),
        (Volume(None, Decimal("12.5")), (None, None, "at most 12.50")),
        (Volume(Decimal(1), Decimal(2)), (None, None, "between 1.00 and 2.00")),
        (exact(Decimal(0)), (0, 0, "exact")),
        (stated(Decimal("0.014"), "line"), (1, None, "stated")),
        (with_limits(Decimal(100), {"cal:meter": Decimal(3).sqrt()}), (10000, 200, "measured")),
        (Unknown("nobody looked", "not read"), (None, None, "not read")),
    ],
)
def test_a_figure_becomes_three_columns(figure: Figure, expected: tuple[Any, ...]) -> None:
    """A number only for one figure, a ± only where one is known, and the state in any case."""
    assert tuple(amount("x", figure).values()) == expected


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        (NoRatio("no stop was worked"), (None, None, None, "none: no stop was worked")),
        (Ratio(Decimal("0.8628"), Decimal("0.8433"), Decimal("0.88276"), "measured"), (8628, 8433, 8828, "measured")),
        (Ratio(Decimal("0.93214"), None, Decimal("0.95"), "at most"), (None, None, 9500, "at most 0.9321")),
        (Ratio(None, Decimal("0.5"), Decimal("0.6"), "between"), (None, 5000, 6000, "between")),
    ],
)
def test_a_ratio_becomes_four_columns(found: Ratio | NoRatio, expected: tuple[Any, ...]) -> None:
    """The number only where it is one figure; a bound or a reason stands in the state."""
    row = ratio(found)
    assert tuple(row[name] for name in ("ratio", "ratio_low", "ratio_high", "ratio_state")) == expected


# ---- asked ---------------------------------------------------------------------------------------------------------


def test_a_query_gives_its_columns_even_without_rows(folder: Path) -> None:
    """An empty answer still says what was asked."""
    assert derived.query(folder, "SELECT run, used FROM runs WHERE rig = 'nobody'") == (["run", "used"], [])


def test_values_go_in_by_place_or_by_name(folder: Path) -> None:
    """Both ways of SQLite's parameters work."""
    assert asked(folder, "SELECT count(*) FROM runs WHERE date = ?", "2026-09-04") == [(1,)]
    by_name = derived.query(folder, "SELECT count(*) FROM runs WHERE date = :day", {"day": "2026-09-04"})
    assert by_name[1] == [(1,)]


@pytest.mark.parametrize(
    ("sql", "what", "step"),
    [
        ("SELECT usd FROM runs", "no such column: usd", "Did you mean 'used'?"),
        ("SELECT * FROM run", "no such table: run", "Did you mean 'runs'?"),
        ("SELECT place FROM runs", "no such column: place", "'place' is a column of: "),
        ("SELECT p.place FROM runs AS p", "no such column: p.place", "'place' is a column of: "),
        ("SELEC", "syntax error", "select * from help"),
        ("SELECT 1; SELECT 2", "one statement at a time", "select * from help"),
        ("SELECT run FROM runs WHERE rig = ?", "bindings", "select * from help"),
        ("DELETE FROM runs", "can be read, not changed", "SELECT"),
        ("DROP TABLE runs", "can be read, not changed", "SELECT"),
        ("PRAGMA query_only = OFF", "can be read, not changed", "SELECT"),
        ("ATTACH 'other.sqlite' AS other", "can be read, not changed", "SELECT"),
        ("VACUUM INTO 'other.sqlite'", "can be read, not changed", "SELECT"),
    ],
)
def test_a_query_that_cannot_be_answered_says_why(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, sql: str, what: str, step: str
) -> None:
    """In plain words, with what may have been meant; nothing is changed and no file is made."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ComplianceError) as error:
        derived.query(folder, sql)
    assert what in error.value.problems[0].what
    assert step in error.value.problems[0].next_step
    assert list(tmp_path.iterdir()) == []
    assert asked(folder, "SELECT count(*) FROM runs") == [(2,)]


def test_the_shape_of_the_tables_may_be_asked(folder: Path) -> None:
    """Tools look at it before they ask."""
    names = [row[1] for row in asked(folder, "PRAGMA table_info(tickets)")]
    assert names == [column.name for column in _table("tickets").columns]


def test_every_table_and_column_is_described(folder: Path) -> None:
    """The help table, the documentation and the file name the same columns, and each has a description."""
    derived_finding.find(folder, "brick")
    told = {(table, column) for table, column in asked(folder, "SELECT in_table, column FROM help WHERE about <> ''")}
    found = {
        (table.name, row[1])
        for table in derived.table_docs()
        for row in asked(folder, f"PRAGMA table_info({table.name})")
    }
    assert told == found | {(table.name, "") for table in derived.table_docs()}
    stated = {
        row[0] for name in ("runs", "stops", "loads") for row in asked(folder, f"SELECT used_again_state FROM {name}")
    }
    assert stated <= set(STATES)


# ---- searched ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("senal PINTADA", [("correct", "2"), ("stop", "2")]),
        ("desague", [("run", "")]),
        ("fug", [("run", "")]),
        ('"curb" side', [("run", "")]),
        ("R-20914", [("ticket", "3")]),
        ("mat leaked", [("complete", "")]),
        ("curb inlet", [("attach", "2")]),
        ("hydrant 12", [("complete", "")]),
        ("known difference", [("accept", "")]),
        ("P-7", [("issue", "")]),
        ("alderside owners", [("same-as", ""), ("register", ""), ("register", ""), ("register", "")]),
        ("old birch", [("same-as", "")]),
        ("bluebank", [("book", "")]),
        ("two phones", [("same-outing", "")]),
        ("crews say", [("order", "")]),
        ("late ticket", [("reopen", "")]),
        ("M-1", [("close", "")]),
        ("nothing like it", []),
        ("NOT OR ( NEAR", []),
    ],
)
def test_what_was_typed_is_found(folder: Path, words: str, found: list[tuple[str, str]]) -> None:
    """All words have to be there, a beginning is enough; case, accents and the search's own operators do not matter."""
    hits = [(hit["what"].replace(" ", "-"), hit["line"]) for hit in derived_finding.find(folder, words)]
    assert hits == found


def test_every_kind_of_record_that_holds_words_is_searched() -> None:
    """A new kind has to be thought of: all of them but the note of a backup hold something that people type."""
    with_fields = {kinds.RUN, kinds.BOOK, kinds.REGISTER, kinds.TICKET, kinds.CORRECT, kinds.COMPLETE, kinds.OLD_ROW}
    with_fields.add(kinds.INQUIRY)
    assert set(kinds.KINDS) == {*derived_words._OTHERS, *with_fields, kinds.BACKUP}


def test_a_find_names_what_it_is_about(folder: Path) -> None:
    """The run by its ref, a ticket by its number too, a register entry by its name."""
    assert derived_finding.find(folder, "desague")[0]["about"] == "2026-09-04-birch"
    assert derived_finding.find(folder, "orla")[0]["about"] == "2026-09-04-birch ticket R-20914"
    assert derived_finding.find(folder, "quay nights")[0]["about"] == "job Quay, two nights"
    assert derived_finding.find(folder, "desague")[0]["record"] == PLAIN.id


def test_new_words_are_found_without_working_out_figures(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A search takes in what came since, and no figure."""
    derived_finding.find(folder, "brick")
    monkeypatch.setattr(derived_making, "calculate", None)
    more(folder, night("third", line("remark", text="ladder left behind")))
    assert [hit["line"] for hit in derived_finding.find(folder, "ladder")] == ["1"]
    assert [hit["about"] for hit in derived_finding.find(folder, "ladder")] == ["2026-09-04-birch-2"]


def test_of_many_finds_the_newest_come_first(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The list is cut behind the newest."""
    monkeypatch.setattr(derived_finding, "MOST_FOUND", 2)
    for number in range(4):
        more(folder, night(f"n {number}", line("remark", text=f"gate {number}")))
    assert [hit["text"] for hit in derived_finding.find(folder, "gate")] == ["gate 3", "gate 2"]


def test_what_was_cancelled_is_found_too(folder: Path) -> None:
    """It was typed; why it was cancelled is found as well."""
    more(folder, made("off", "cancel", {"record": PLAIN.id, "why": "entered twice", "who": "Priya"}))
    assert [hit["what"] for hit in derived_finding.find(folder, "entered twice")] == ["cancel"]
    assert [hit["what"] for hit in derived_finding.find(folder, "desague")] == ["run"]


@pytest.mark.parametrize("words", ["", "  ", "- *"])
def test_a_search_for_no_word_is_refused(folder: Path, words: str) -> None:
    """Nothing but marks is no word."""
    with pytest.raises(ComplianceError, match="no word to search for"):
        derived_finding.find(folder, words)


@slow
@given(entries(), st.lists(st.integers(0, 20), max_size=4))
def test_words_taken_in_by_and_by_are_those_taken_at_once(given: list[Entry], cuts: list[int]) -> None:
    """The full text of a book that was searched between appends is that of one searched at its end."""
    with book_with(given, cuts) as (book, batches):
        for batch in batches:
            book.append(batch, receipt_time=NOW)
            derived_finding.find(book.folder, "birch")
        expected = [row for record in book.records() for row in words_of(record)]
        with closing(sqlite3.connect(book.folder / derived_files.QUERY)) as db:
            names = ", ".join(expected[0])
            rows = db.execute(f"SELECT {names} FROM words ORDER BY n").fetchall()
            assert rows == [tuple(row.values()) for row in expected]
            db.execute("INSERT INTO words_fts (words_fts) VALUES ('integrity-check')")


# ---- fresh, stale, torn --------------------------------------------------------------------------------------------


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


def test_words_of_another_program_are_taken_in_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each word is found once, whatever version of the program took it in before; not installed is a version too."""

    def missing(_: str) -> str:
        raise PackageNotFoundError

    derived_finding.find(folder, "desague")
    monkeypatch.setattr(derived_making.metadata, "version", missing)
    assert len(derived_finding.find(folder, "desague")) == 1
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


@pytest.mark.parametrize("name", [derived_files.QUERY, derived_files.INDEX])
def test_a_file_that_is_no_database_is_made_again(folder: Path, name: str) -> None:
    """Torn or overwritten, it is replaced without a question: it proves nothing."""
    derived_making.rebuild(folder)
    expected = in_file(folder)
    derived_files.remove(folder / name)
    (folder / name).write_bytes(b"this is not a database at all, and never was one" * 100)
    assert derived_making.refresh(folder) or name == derived_files.INDEX
    derived_making.rebuild(folder)
    assert in_file(folder) == expected


def test_tables_of_another_book_are_not_taken_for_this_one(folder: Path, tmp_path: Path) -> None:
    """Files copied in from elsewhere, or left by a book that was restored to an earlier state, start over."""
    other = tmp_path / "other"
    seeded_book.make(other, 30)
    derived_making.rebuild(other)
    derived_finding.find(other, "tomas")
    for name in (derived_files.QUERY, derived_files.INDEX):
        derived_files.remove(folder / name)
        (folder / name).write_bytes((other / name).read_bytes())
    assert not derived_making.fresh(folder)
    assert derived_finding.find(folder, "tomas") == []
    assert asked(folder, "SELECT count(*) FROM runs") == [(2,)]


def test_another_program_at_the_tables_is_waited_for_and_then_named(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the wait, a plain refusal; the records are not touched."""
    derived_making.rebuild(folder)
    more(folder, night("third"))
    monkeypatch.setattr(derived_files, "_WAIT", 50)
    with closing(sqlite3.connect(folder / derived_files.QUERY, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(ComplianceError, match="Another program is making the tables"):
            derived_making.rebuild(folder)


@pytest.mark.parametrize("name", [derived_files.QUERY, derived_files.INDEX])
def test_a_folder_that_takes_no_file_is_named(folder: Path, name: str) -> None:
    """What cannot be opened is said to be so, and is not deleted."""
    (folder / name).mkdir()
    with pytest.raises(ComplianceError, match="cannot be written"):
        derived_making.rebuild(folder)
    assert (folder / name).is_dir()


def test_a_mistake_of_ours_stays_a_mistake(folder: Path) -> None:
    """Misuse of a connection is not told to the user as trouble with the disk."""
    with pytest.raises(sqlite3.ProgrammingError), derived_files.plainly(folder):
        raise sqlite3.ProgrammingError("closed")


def test_a_file_that_answers_wrongly_is_to_be_deleted(folder: Path) -> None:
    """What is torn deeper down is found in use, and the way out is told."""
    with pytest.raises(ComplianceError) as error, derived_files.plainly(folder):
        raise sqlite3.OperationalError("no such table: runs")
    assert "Delete this file" in error.value.problems[0].next_step


# ---- how it is made ------------------------------------------------------------------------------------------------


def test_nothing_heavy_is_imported_before_it_is_needed() -> None:
    """Opening the room costs neither sqlite-utils nor pandas."""
    code = (
        "import sys, compliance.book.derived as d; print([m for m in ('sqlite_utils', 'pandas') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_tables_are_written_in_atomic_blocks_and_never_transformed() -> None:
    """`with db.conn:` does not roll sqlite-utils back, and `transform` drops triggers: neither stands in the room."""
    room = Path(derived.__file__).parent
    for file in room.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute):
                assert node.attr not in ("conn", "transform"), file.name
