"""Rows of the query tables: amounts with how they are known, and each thing that was handed in."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from compliance.book import derived_finding
from compliance.book.derived_context import with_context
from compliance.book.derived_lookup import Index
from compliance.book.derived_rows import amount, ratio
from compliance.book.store import Book
from compliance.records.envelope import Entry
from compliance.records.state import gather
from compliance.water.fold import calculate
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.volume import Figure, Unknown, Volume, exact, stated, with_limits

from .deriving import id_of, made
from .small_book import PLAIN, asked, line, more, night


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
