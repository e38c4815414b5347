"""A correction or completion lands where it was meant, and nowhere when that is not there."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.records import kinds
from tests.records.writing import book, complete, correct, rid, run

DRAINS = [{"name": "NE inlet"}, {"name": "SW inlet", "on": "not read"}]


def test_an_entry_of_a_list_is_completed_by_its_path() -> None:
    """The first drain gets its time; the record of the night stays as it was handed in."""
    handed_in = run("a", lines=[("stop", {"drain_list": DRAINS})])
    state = book(handed_in, complete("c", "a", "1", "drain_list/1/on", "2026-09-14T20:00:00-06:00"))
    (view,) = state.runs
    assert view.lines[0].get("drain_list") == [
        {"name": "NE inlet", "on": "2026-09-14T20:00:00-06:00"}, {"name": "SW inlet", "on": "not read"},
    ]  # fmt: skip
    assert [(c.line, c.field, c.was) for c in view.changes] == [("1", "drain_list/1/on", None)]
    assert handed_in[2]["lines"][0]["fields"]["drain_list"] == [
        {"name": "NE inlet"},
        {"name": "SW inlet", "on": "not read"},
    ]


def test_a_reading_of_a_measure_is_corrected_by_its_path() -> None:
    """Both figures stay visible."""
    meter = {"method": "meter", "meter": "m", "start": "100", "end": "300"}
    (view,) = book(run("a", used=meter), correct("c", "a", "", "used/end", "330", "300")).runs
    assert view.get("used") == {**meter, "end": "330"}
    assert [(c.was, c.now) for c in view.changes] == [("300", "330")]


@pytest.mark.parametrize("path", ["drain_list/3/on", "drain_list/0/on", "drain_list/x/on", "drain_list/1/on/deep"])
def test_a_path_that_leads_nowhere_changes_nothing(path: str) -> None:
    """The list may have been corrected since."""
    (view,) = book(run("a", lines=[("stop", {"drain_list": DRAINS})]), complete("c", "a", "1", path, "x")).runs
    assert view.lines[0].get("drain_list") == DRAINS
    assert view.changes == ()


def test_a_line_that_is_not_there_is_not_made_up() -> None:
    """Neither an error nor a new line."""
    (view,) = book(run("a"), complete("c", "a", "7", "area", "5 ft2")).runs
    assert (view.lines, view.changes) == ((), ())


def test_complete_never_overwrites_an_answer_in_a_list() -> None:
    """'not read' is one."""
    entries: list[Any] = [
        run("a", lines=[("stop", {"drain_list": DRAINS})]),
        complete("c", "a", "1", "drain_list/2/on", "x"),
    ]
    assert book(*entries).runs[0].changes == ()


def test_a_ticket_is_completed_like_a_run() -> None:
    """What came later is filled in, what it said stays; a cancelled completion does not count."""
    ticket = ("t", kinds.TICKET, {"fields": {"number": "A-1"}, "handovers": [], "who": ""})
    said = [complete("c", "t", "", "accepted", "300 gal"), complete("d", "t", "", "number", "A-2")]
    assert book(ticket, *said).tickets[0].fields == {"number": "A-1", "accepted": "300 gal"}
    gone = ("x", kinds.CANCEL, {"record": rid("c"), "why": "w", "who": "w"})
    assert book(ticket, *said, gone).tickets[0].fields == {"number": "A-1"}
