"""A balance as data: the same figures as its lines, each with its unit, its ± and its state."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from compliance.cli import balance_data
from compliance.water.ratio import NoRatio
from compliance.water.results import How, Known
from compliance.water.volume import (
    NOTHING,
    Figure,
    Unknown,
    Volume,
    at_least,
    at_most,
    between,
    exact,
    stated,
    with_limits,
)
from tests.cli.conftest import Desk

FIGURE = {"value", "low", "high", "plus_minus", "unit", "state", "text"}


def figures(data: Any) -> Iterator[dict[str, Any]]:
    """Every figure in a document."""
    if isinstance(data, dict):
        if set(data) >= FIGURE:
            yield data
        for value in data.values():
            yield from figures(value)
    if isinstance(data, list):
        for value in data:
            yield from figures(value)


@pytest.mark.parametrize(
    ("found", "value", "low", "high", "plus_minus", "state"),
    [
        (with_limits(Decimal("437"), {"cal:m": Decimal("6.59")}), "437.00", "437.00", "437.00", "7.61", "known"),
        (exact(Decimal("12.5")), "12.50", "12.50", "12.50", "0.00", "known"),
        (stated(Decimal(450), "the lead"), "450.00", "450.00", "450.00", None, "known"),
        (NOTHING, "0.00", "0.00", "0.00", "0.00", "known"),
        (at_least(Decimal(500)), None, "500.00", None, "0.00", "at least"),
        (at_most(Decimal(500), "a guess"), None, None, "500.00", None, "at most"),
        (between(Decimal(9), Decimal(4)), None, "4.00", "9.00", "0.00", "between"),
        (Volume(None, None), None, None, None, None, "any amount"),
        (Unknown("nobody looked", "not read"), None, None, None, None, "not read"),
    ],
)
def test_a_figure_says_what_is_known_of_it(
    found: Figure, value: str | None, low: str | None, high: str | None, plus_minus: str | None, state: str
) -> None:
    """Nought, a bound, a figure without ± and not knowing are four things."""
    data = balance_data.figure(found, "gal")
    assert (data["value"], data["low"], data["high"], data["plus_minus"]) == (value, low, high, plus_minus)
    assert (data["state"], data["unit"], data.get("reason")) == (
        state, "gal", "nobody looked" if state == "not read" else None,
    )  # fmt: skip


def test_a_share_is_worked_out_and_carries_no_plus_minus() -> None:
    """In hundredths or as a figure; one that nobody can work out is not known."""
    assert balance_data.figure(12345, "L") == {
        "value": "123.45", "low": "123.45", "high": "123.45", "plus_minus": None, "unit": "L", "state": "worked out",
        "text": "123.45 L",
    }  # fmt: skip
    share = balance_data.figure(with_limits(Decimal(50), {"cal:m": Decimal(1)}), "gal", divided=True)
    assert (share["value"], share["plus_minus"], share["state"]) == ("50.00", None, "worked out")
    assert balance_data.figure(None, "gal")["state"] == "not known"


def test_a_figure_says_how_it_was_come_by() -> None:
    """The method, the line to redo it by, who read it and when."""
    known = Known(exact(Decimal(372)), How("meter", "18,612 - 18,240 = 372 gal", "Marisol Vega", "2026-09-01"))
    data = balance_data.figure(known, "gal")
    assert (data["method"], data["formula"], data["reader"], data["at"]) == (
        "meter", "18,612 - 18,240 = 372 gal", "Marisol Vega", "2026-09-01",
    )  # fmt: skip


def test_where_there_is_no_ratio_it_is_said_why() -> None:
    """No number stands in for it."""
    data = balance_data.ratio(NoRatio("recovery was not planned"))
    assert (data["value"], data["state"], data["reason"]) == (None, "none", "recovery was not planned")


def test_the_data_of_a_run_a_load_a_job_hold_the_figures_of_their_lines(book: Desk) -> None:
    """Whatever the lines print is the text of some figure of the data, and the lines of a balance add up."""
    for case in ("01", "02", "03"):
        book.case(case)
    names = [
        "2026-09-01-big-blue", "2026-09-01-big-blue.l1", "Alder Oven dock, September", "2026-09-03-big-blue",
        "2026-09-03-big-blue.l1", "2026-09-03-big-blue.s4", "Harbor deck, three nights",
    ]  # fmt: skip
    for name in names:
        lines, data = book("balance", name).out, book("balance", name, "--json").json
        assert (data["unit"], data["coverage_factor"]) == ("gal", "2")
        assert data["tanks"][0]["name"] in lines
        found = list(figures(data))
        assert len(found) > 5
        texts = {one["text"] for one in found if one["state"] != "not known"}
        unsaid = {text for text in texts if text not in lines}
        assert unsaid <= {"0 gal"}, name  # of a stop, what was led away and what got away is told where there is some
    run = book("balance", "2026-09-01-big-blue", "--json").json
    parts = [Decimal(one["value"]) * one["sign"] for one in run["balance"] if one["sign"]]
    assert sum(parts) == Decimal(run["balance"][-1]["value"]) == Decimal(65)
    assert (run["kind"], run["recovery_ratio"]["value"]) == ("run", "0.866")
    route = book("balance", "2026-09-03-big-blue.l1", "--json").json
    assert {one["state"] for share in route["intervals"] for one in share["shares"] or ()} == {"worked out"}
    job = book("balance", "Alder Oven dock, September", "--json").json
    assert [one["way"] for one in job["where_it_went"]][-2:] == ["still aboard", "not explained, in the tank"]


def test_a_cancelled_run_has_no_figures(book: Desk) -> None:
    """It says that it is cancelled, and holds no water."""
    book.case("01")
    book("cancel", "2026-09-01-big-blue", "--why", "keyed twice", "--who", "Marisol Vega")
    data = book("balance", "2026-09-01-big-blue", "--json").json
    assert data["cancelled"] is True and list(figures(data)) == []


def test_a_stop_that_was_not_worked_says_why(book: Desk) -> None:
    """Instead of figures."""
    book.case("10")
    runs = [book("balance", row["run"], "--json").json for row in book("list", "runs", "--json").json]
    stops = [stop for run in runs for stop in run.get("stops", [])]
    assert {stop["worked"] for stop in stops} == {True, False}
    for stop in stops:
        assert stop["worked"] is (not stop["not_worked"])
        assert ("used" in stop) is stop["worked"]
