"""What the books from before say, summed apart: stated, counted, and nothing made up."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.state import State, gather
from compliance.water.fold import calculate
from compliance.water.oldrows import client_of, old_totals

DAY = "2026-09-01"


def book(*rows: dict[str, Any], unit: str = "gal") -> State:
    """A book that holds these old rows, two registered clients and a site of one of them."""
    entries: list[tuple[str, dict[str, Any]]] = [
        (kinds.BOOK, {"fields": {"name": "Bluebank", "unit": unit, "zone": "America/Denver"}, "who": ""}),
        (kinds.REGISTER, {"what": "client", "name": "Alder Foods", "fields": {}, "who": ""}),
        (kinds.REGISTER, {"what": "site", "name": "Fernwood Plaza", "fields": {"client": "Alder Foods"}, "who": ""}),
        (kinds.SAME_AS, {"what": "client", "name": "A. Foods", "is": "Alder Foods", "who": ""}),
    ]
    for n, fields in enumerate(rows):
        payload = {"fields": fields, "file": "a.csv", "sha256": "0", "sheet": "", "row": n, "mapping": "1"}
        entries.append((kinds.OLD_ROW, payload))
    return gather(
        Record(n, f"{n:032}", kind, 1, DAY, f"{DAY}T08:00:00Z", f"{DAY}T08:00:00Z", payload)
        for n, (kind, payload) in enumerate(entries, 1)
    )


def test_rows_are_summed_by_month_and_client() -> None:
    """Spellings that the registers join are one client; a site leads to its client."""
    state = book(
        {"date": "2021-09-30", "client": "alder foods", "used": "450 gal", "recovered": "400 gal"},
        {"date": "2021-10-01", "client": "A. Foods", "used": "~100.5 gal", "recovered": "90 gal"},
        {"date": "2021-10-02", "site": "Fernwood plaza", "used": "50 gal"},
        {"date": "2021-10-03", "site": "Nowhere", "used": "7 gal"},
    )
    found = old_totals(state, "2021-01-01", "2021-12-31")
    assert [(one.month, one.client, one.rows) for one in found] == [
        ("2021-09", "Alder Foods", 1), ("2021-10", "", 1), ("2021-10", "Alder Foods", 2),
    ]  # fmt: skip
    october = found[2]
    assert (october.used.sum.best, october.used.count, october.used.about) == (Decimal("150.50"), 2, 1)
    assert (october.recovered.sum.best, october.recovered.count) == (Decimal("90.00"), 1)
    assert october.recovered.unknown == {"not recorded": 1}


def test_a_sum_of_stated_figures_carries_no_plus_minus() -> None:
    """Nobody knows how they were read, so no accuracy can be printed."""
    (one,) = old_totals(book({"date": "2021-09-03", "used": "450 gal"}), "2021-09-03", "2021-09-03")
    assert one.used.sum.expanded() is None
    assert one.used.sum.unstated == {"stated in an old file, method unknown"}


def test_the_four_answers_without_a_value_are_counted_and_never_added() -> None:
    """Zero is an amount; 'not read', 'not applicable' and nothing at all are three other things."""
    rows: list[dict[str, Any]] = [
        {"date": "2021-09-03", "used": value} for value in ("0 gal", "not read", "not applicable", "20 gal")
    ]
    (one,) = old_totals(book(*rows, {"date": "2021-09-04"}), "2021-09-01", "2021-09-30")
    assert one.used.count == 2 and one.used.sum.best == 20
    assert one.used.unknown == {"not read": 1, "not applicable": 1, "not recorded": 1}
    assert one.recovered.count == 0 and one.recovered.sum.best == 0
    assert one.recovered.unknown == {"not recorded": 5}


def test_bounds_and_ranges_keep_their_open_sides() -> None:
    """'At least 500' and 40 make at least 540."""
    rows = [{"date": "2021-09-03", "used": text, "recovered": other} for text, other in
            ((">=500 gal", "100..120 gal"), ("40 gal", "<=30 gal"))]  # fmt: skip
    (one,) = old_totals(book(*rows), "2021-09-01", "2021-09-30")
    assert (one.used.sum.low, one.used.sum.high) == (Decimal(540), None)
    assert (one.recovered.sum.low, one.recovered.sum.high) == (None, Decimal(150))


def test_figures_in_another_unit_are_brought_into_that_of_the_book() -> None:
    """Litres in a book of gallons, kept in hundredths."""
    (one,) = old_totals(book({"date": "2021-09-03", "used": "100 L"}), "2021-09-01", "2021-09-30")
    assert one.used.sum.best == Decimal("26.42")
    (one,) = old_totals(book({"date": "2021-09-03", "used": "100 L"}, unit="L"), "2021-09-01", "2021-09-30")
    assert one.used.sum.best == 100


def test_the_span_and_the_client_can_be_chosen() -> None:
    """Both days count; '' asks for the rows that name nobody."""
    state = book(
        {"date": "2021-09-02", "client": "Alder Foods"}, {"date": "2021-09-03", "client": "Alder Foods"},
        {"date": "2021-09-04"}, {"date": "2021-09-05", "client": "Ridge Motors"},
    )  # fmt: skip
    assert [one.rows for one in old_totals(state, "2021-09-02", "2021-09-03")] == [2]
    assert [one.rows for one in old_totals(state, "2021-01-01", "2021-12-31", "A. FOODS")] == [2]
    assert [one.rows for one in old_totals(state, "2021-01-01", "2021-12-31", "")] == [1]
    assert old_totals(state, "2022-01-01", "2022-12-31") == ()


def test_an_answer_without_a_value_is_nobodys_name() -> None:
    """A client 'not applicable' is no client of that name."""
    state = book({"date": "2021-09-02", "client": "not applicable", "site": "Fernwood Plaza"})
    assert client_of(state, state.old_rows[0]) == "Alder Foods"


def test_old_rows_never_enter_the_balance() -> None:
    """The calculator gives the same night with and without them."""
    assert calculate(book({"date": "2021-09-02", "used": "450 gal"})) == calculate(book())
