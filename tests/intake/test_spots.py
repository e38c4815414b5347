"""Where an amendment lands: in a list, in a ticket, in a line of the run."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.amend import check_complete, check_correct
from compliance.intake.spots import find_ticket
from compliance.records.state import State

from .making import NIGHT, NOW, Pages, pages

REF = "2026-09-14-big-blue"
DRAINS = [{"name": "NE inlet"}, {"name": "SW inlet", "on": "21:30"}]
WITH_DRAINS = {**NIGHT, "line": [NIGHT["line"][0], {**NIGHT["line"][1], "drain_list": DRAINS}, *NIGHT["line"][2:]]}


def state(book: Pages) -> State:
    found = book.state
    assert found is not None
    return found


def complete(book: Pages, **raw: Any) -> Any:
    base = {"run": REF, "line": "2", "who": "Ruth Okafor"}
    return check_complete({**base, **raw}, state=state(book), where="here", now=NOW)


@pytest.mark.parametrize("path", ["drain_list/1/on", "Drain by drain/1/Put on", "drain_list/01/on"])
def test_an_entry_of_a_list_is_found_by_its_number(path: str) -> None:
    """A time there is one of the night; the path is kept in one form."""
    book = pages(WITH_DRAINS)
    checked = complete(book, field=path, value="01:30")
    assert checked.problems == ()
    assert (checked.payload["field"], checked.payload["value"]) == ("drain_list/1/on", "2026-09-15T01:30:00-06:00")
    book.take("complete", {"run": REF, "line": "2", "field": path, "value": "01:30"})
    assert state(book).runs[0].lines[1].get("drain_list")[0]["on"] == "2026-09-15T01:30:00-06:00"
    assert complete(book, field=path, value="01:30").payload is None


def test_an_entry_that_says_something_is_corrected() -> None:
    """Like any other field; both values stay."""
    book = pages(WITH_DRAINS)
    (problem,) = complete(book, field="drain_list/2/on", value="21:40").problems
    assert problem.what == f"Put on of {REF} says '2026-09-14T21:30:00-06:00' already"
    raw = {"run": REF, "line": "2", "field": "drain_list/2/on", "value": "21:40", "was": "21:30", "who": "R"}
    checked = check_correct({**raw, "reason": "keyed wrong"}, state=state(book), where="here", now=NOW)
    assert checked.problems == () and checked.payload is not None
    assert checked.payload["was"] == "2026-09-14T21:30:00-06:00"


@pytest.mark.parametrize(
    ("path", "fault"),
    [
        ("drain_list/3/on", "Drain by drain of line 2 has no entry '3'"),
        ("drain_list/x/on", "Drain by drain of line 2 has no entry 'x'"),
        ("area/1/on", "Area of line 2 has no entries"),
        ("drain_list/1/colour", "'colour' is not a field of 'drain'"),
        ("drain_list/1", "'drain_list/1' is not a field of 'stop'"),
        ("drains_list/1/on/x", "'drains_list/1/on/x' is not a field of 'stop'"),
        ("nothing/1/on", "'nothing' is not a field of 'stop'"),
    ],
)
def test_a_path_that_leads_nowhere_is_told(path: str, fault: str) -> None:
    """With what is there instead."""
    (problem,) = complete(pages(WITH_DRAINS), field=path, value="21:00").problems
    assert problem.what == fault and problem.next_step


def test_the_run_itself_has_no_lists() -> None:
    """A path into a field of the run leads nowhere."""
    (problem,) = complete(pages(NIGHT), line="", field="crew/1/on", value="x").problems
    assert problem.what == f"Crew of {REF} has no entries"


def test_a_ticket_is_completed_by_its_number_or_id() -> None:
    """What it says already is not said again."""
    book = pages(NIGHT)
    (ticket,) = book.take("ticket", {"number": "NY-2231", "handovers": [{"run": REF, "line": "4"}]})
    for name in ("ticket ny-2231", ticket.id, ticket.id[:31]):
        checked = complete(book, run=name, line="", field="accepted", value="400")
        assert checked.problems == ()
        assert checked.payload == {
            "run": ticket.id, "line": "", "field": "accepted", "value": "400 gal", "who": "Ruth Okafor",
            "typed": {"value": "400"},
        }  # fmt: skip
    book.take("complete", {"run": "ticket NY-2231", "field": "accepted", "value": "400"})
    assert state(book).tickets[0].fields["accepted"] == "400 gal"
    assert complete(book, run="ticket NY-2231", line="", field="accepted", value="400").payload is None
    (problem,) = complete(book, run="ticket NY-2231", line="", field="accepted", value="410").problems
    assert problem.what == "Accepted of ticket NY-2231 says '400 gal' already"


def test_two_tickets_of_one_number_are_told_apart_by_id() -> None:
    """A name that means two means none."""
    book = pages(NIGHT)
    for accepted in ("1 gal", "2 gal"):
        book.take("ticket", {"number": "1", "accepted": accepted, "handovers": [{"run": REF, "line": "4"}]})
    assert find_ticket("ticket 1", state(book)) is None
    assert find_ticket(state(book).tickets[0].record, state(book)) == state(book).tickets[0]
    assert find_ticket(None, state(book)) is None
