"""Correct, complete, cancel: found by the names people use, with what stood there filled in."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.amend import check_cancel, check_complete, check_correct, line_as_added
from compliance.intake.spots import find_field, find_line, find_run
from compliance.records.problem import Problem
from compliance.records.state import State

from .making import NIGHT, NOW, Pages, pages

REF = "2026-09-14-big-blue"
BASE = {"run": REF, "who": "Tom Adlow"}


def made(**more: Any) -> Pages:
    return pages({**NIGHT, **more})


def state(book: Pages | None = None) -> State:
    found = (book or made()).state
    assert found is not None
    return found


def correct(book: Pages | None = None, **raw: Any) -> Any:
    return check_correct({**BASE, "reason": "keyed wrong", **raw}, state=state(book), where="cmd", now=NOW)


def complete(book: Pages | None = None, **raw: Any) -> Any:
    return check_complete({**BASE, **raw}, state=state(book), where="cmd", now=NOW)


def test_a_correction_says_what_stood_there() -> None:
    """The value in its stored form, what it replaces, how it came to be wrong, and who says so."""
    raw = {"line": "4", "field": "Our volume", "value": "401 gallons", "why": "read the paper again"}
    found = correct(**raw, reason="mal capturado")
    run = state().runs[0].record
    assert found.payload == {
        "run": run, "line": "4", "field": "amount", "value": "401 gal", "was": "410 gal", "reason": "keyed wrong",
        "why": "read the paper again", "who": "Tom Adlow", "typed": {"value": "401 gallons"},
    }  # fmt: skip
    assert found.event_time == "2026-10-01"


def test_a_correction_takes_its_place_in_the_book() -> None:
    """Folded, the line says the new value."""
    book = made()
    book.take("correct", {**BASE, "line": "s1", "field": "area", "value": "4300", "reason": "read wrong"})
    line = state(book).runs[0].line("2")
    assert line is not None
    assert line.get("area") == "4300 ft2"


def test_a_time_is_corrected_within_its_night() -> None:
    """After midnight as in the entry itself: by the start, or else by the first time of its lines."""
    assert correct(line="4", field="at", value="04:50").payload["value"] == "2026-09-15T04:50:00-06:00"
    without = {key: value for key, value in NIGHT.items() if key != "start"}
    found = correct(pages(without), line="4", field="at", value="04:50")
    assert found.payload["value"] == "2026-09-15T04:50:00-06:00"
    bare = {**without, "line": [{"line": "stop", "site": "Dock Street Market"}]}
    found = check_complete({**BASE, "line": "1", "field": "left", "value": "04:50"}, state=state(pages(bare)), where="",
                           now=NOW)  # fmt: skip
    assert found.payload is not None
    assert found.payload["value"] == "2026-09-14T04:50:00-06:00"


def test_the_same_correction_twice_has_nothing_new() -> None:
    """The value stands there already."""
    found = correct(line="4", field="amount", value="410 gal", was="999 gal")
    assert (found.payload, found.problems) == (None, ())
    assert found.notes == ("cmd: the book says so already",)


def test_was_is_a_check_on_the_right_place() -> None:
    """It may be written as it was typed then; another value is refused."""
    assert correct(line="4", field="amount", value="401", was="410 gallons").problems == ()
    wrong = correct(line="4", field="amount", value="401", was="some")
    assert [problem.where for problem in wrong.problems] == ["cmd, was, Our volume (amount)"]
    book = made(used={"method": "meter", "meter": "Blue supply meter", "start": "1", "end": "9"})
    other = correct(book, field="used", value="401", was="8 gal")
    assert other.problems[0].what.endswith(
        "does not say '8 gal' but method meter, meter Blue supply meter, start 1, end 9"
    )


def test_what_is_needed_stays_needed() -> None:
    """A correction cannot empty a rig."""
    assert correct(field="rig", value="not read").problems[0].what == "'Rig' cannot be 'not read'"


def test_a_whole_list_is_corrected_as_one_value() -> None:
    """The drains of a stop, with what stood there."""
    lines = [{"line": "stop", "site": "Fernwood Plaza", "drain_list": [{"name": "NE inlet"}]}]
    book = made(line=lines)
    found = correct(book, line="1", field="drain_list", value=[{"name": "NE inlet", "method": "mat"}])
    assert found.payload["was"] == [{"name": "NE inlet"}]
    refused = complete(book, line="1", field="drain_list", value=[{"name": "SW inlet"}])
    assert refused.problems[0].what == f"Drain by drain of {REF} says a list of 1 already"


def test_complete_fills_what_is_not_recorded_yet() -> None:
    """With no reason; one may be given."""
    found = complete(field="rain", value="no llovió", why="asked the crew")
    assert found.payload["value"] == "none"
    assert found.payload["why"] == "asked the crew"
    assert "was" not in found.payload
    assert complete(field="lead", value="Rosa Iglesias").payload is None


def test_not_read_is_an_answer_that_complete_does_not_touch() -> None:
    """Somebody was asked; what they said is corrected, not completed."""
    book = made(recovered="not read")
    assert (
        complete(book, field="recovered", value="400").problems[0].what == f"Recovered of {REF} says 'not read' already"
    )


def test_a_forgotten_line_goes_behind_the_one_before_it() -> None:
    """By number or by stop; its fields pass the same checks; the book numbers it."""
    book = made()
    raw = {"add_after": "s2", "line_values": {"line": "Escape", "what": "hose came off", "amount": "~5", "at": "01:10"},
           "why": "found on the paper"}  # fmt: skip
    found = complete(book, **raw)
    assert found.payload["after"] == "3"
    assert found.payload["add"]["fields"]["at"] == "2026-09-15T01:10:00-06:00"
    assert found.payload["why"] == "found on the paper"
    book.take("complete", {**BASE, **raw})
    assert [line.n for line in state(book).runs[0].lines] == ["1", "2", "3", "3.1", "4"]
    assert complete(book, **raw).payload is None
    again = complete(book, **{**raw, "add_after": "0"})
    assert again.payload["after"] == ""


def test_a_forgotten_line_says_all_that_is_wrong_with_it() -> None:
    """No run, no kind, a field that is none."""
    found = complete(run="nothing", add_after="3", line_values="escape", field="x")
    assert [problem.what for problem in found.problems] == [
        "'field' does not go with add_after", "no run is called 'nothing'",
        "it is not said what kind of line is added",
    ]  # fmt: skip
    found = complete(add_after="3", line_values={"line": "escape", "wat": "x"}, run="nothing")
    assert [problem.what for problem in found.problems][1:] == [
        "'wat' is not a field of 'escape'",
        "'What happened' is missing",
    ]


def test_a_cancelled_run_stays_and_says_why() -> None:
    """By its ref; a second time there is nothing new."""
    book = made()
    raw = {"run": REF, "why": "entered twice", "who": "Tom Adlow"}
    found = check_cancel(raw, state=state(book), where="cmd", now=NOW)
    assert found.payload == {"record": state(book).runs[0].record, "why": "entered twice", "who": "Tom Adlow"}
    book.take("cancel", raw)
    assert check_cancel(raw, state=state(book), where="cmd", now=NOW).payload is None


def test_any_record_is_cancelled_by_the_beginning_of_its_id() -> None:
    """A correction, a ticket; six digits that only one record begins with."""
    book = made()
    change = book.take("correct", {**BASE, "line": "4", "field": "amount", "value": "401", "reason": "read wrong",
                                   "id": "a slip"})[0]  # fmt: skip
    raw = {"record": change.id[:8], "why": "was right", "who": "Tom Adlow"}
    found = check_cancel(raw, state=state(book), where="cmd", now=NOW)
    assert found.payload is not None
    assert found.payload["record"] == change.id
    book.take("cancel", raw)
    line = state(book).runs[0].line("4")
    assert line is not None
    assert line.get("amount") == "410 gal"
    assert check_cancel({**raw, "record": "abc"}, state=state(book), where="", now=NOW).problems[0].what == (
        "no record is called 'abc'"
    )


@pytest.mark.parametrize(
    ("name", "found"),
    [("amount", "amount"), ("AMOUNT", "amount"), ("Our volume", "amount"), ("Nuestra cantidad", "amount")],
)
def test_a_field_is_found_by_name_or_label(name: str, found: str) -> None:
    """In either language."""
    row = find_field("hand over", name, "")
    assert not isinstance(row, Problem)
    assert row.name == found


@pytest.mark.parametrize(
    ("name", "near"), [("ammount", "'amount'"), ("Our volum", "'amount'"), ("xyz", "docs/fields.md")]
)
def test_a_field_that_is_none_leads_to_the_nearest(name: str, near: str) -> None:
    """By label it leads to the name that the file needs."""
    refused = find_field("hand over", name, "")
    assert isinstance(refused, Problem)
    assert near in refused.next_step


def test_a_line_is_found_by_number_or_stop() -> None:
    """'s2' is the second stop, wherever its line stands; nothing means the run itself."""
    run = state().runs[0]
    for n, expected in (("2", "2"), ("s2", "3"), ("S1", "2"), (4, "4")):
        line = find_line(run, n, "")
        assert line is not None
        assert not isinstance(line, Problem)
        assert line.n == expected
    assert find_line(run, "", "") is None
    empty = state(made(cancelled="storm", line=[])).runs[0]
    refused = find_line(empty, "2", "")
    assert isinstance(refused, Problem)
    assert refused.next_step == "its lines: none"


def test_a_run_is_found_by_the_beginning_of_its_id() -> None:
    """Or its ref; anything else leads to the nearest ref."""
    there = state(made(id="one night"))
    record = there.runs[0].record
    assert find_run(record[:7], there, "") is there.runs[0]
    refused = find_run("2026-09-14-bigblue", there, "")
    assert isinstance(refused, Problem)
    assert refused.next_step == f"did you mean '{REF}'?"


def test_an_amendment_made_before_changes_nothing_after_others_followed() -> None:
    """The same file twice is one amendment, by its id or by its words; other words make another."""
    for own in ({}, {"id": "slip 7"}):
        book = made()
        first = {
            **BASE,
            **own,
            "line": "4",
            "field": "amount",
            "value": "401",
            "reason": "keyed wrong",
            "was": "410 gal",
        }
        rain = {**BASE, **own, "field": "rain", "value": "some"}
        if own:
            rain["id"] = "slip 8"
        book.take("correct", first)
        book.take("correct", {**first, "value": "405", "was": "", "id": ""})
        book.take("complete", rain)
        book.take("correct", {**BASE, "field": "rain", "value": "heavy", "reason": "read wrong"})
        assert check_correct(first, state=state(book), where="cmd", now=NOW).payload is None
        assert check_complete(rain, state=state(book), where="cmd", now=NOW).payload is None
        other = check_correct({**first, "id": "slip 9", "was": ""}, state=state(book), where="cmd", now=NOW)
        assert other.payload is not None
        assert other.payload["was"] == "405 gal"


def test_a_forgotten_line_is_known_after_it_was_amended() -> None:
    """By what it said when it was added."""
    book = made()
    raw = {**BASE, "add_after": "2", "line_values": {"line": "escape", "what": "hose came off"}}
    book.take("complete", raw)
    book.take("correct", {**BASE, "line": "2.1", "field": "what", "value": "coupling burst", "reason": "read wrong"})
    book.take("complete", {**BASE, "line": "2.1", "field": "reached", "value": "soil"})
    assert check_complete(raw, state=state(book), where="cmd", now=NOW).payload is None
    assert line_as_added(state(book).runs[0], "9") is None


def test_of_two_tickets_with_one_number_the_id_is_asked_for() -> None:
    """Each with what it says was accepted; by its id one of them is corrected."""
    book = made()
    for amount in ({"accepted": "1 gal"}, {}):
        book.take("ticket", {"number": "DF-1", "place": "North Yard station", "handovers": [], **amount})
    raw = {"run": "ticket DF-1", "field": "accepted", "value": "330 gal", "why": "an old 3", "who": "Tom",
           "reason": "keyed wrong"}  # fmt: skip
    (problem,) = check_correct(raw, state=state(book), where="cmd", now=NOW).problems
    one, other = (ticket.record for ticket in state(book).tickets)
    assert problem.what == "2 tickets are called 'ticket DF-1'"
    assert f"{one[:8]} (1 gal), {other[:8]} (no amount)" in problem.next_step
    assert check_correct({**raw, "run": one}, state=state(book), where="cmd", now=NOW).problems == ()


def test_a_ticket_is_corrected_by_its_number() -> None:
    """What it said before is taken over; the same again changes nothing, whatever has been corrected since."""
    book = made()
    book.take("ticket", {"number": "DF-1", "place": "North Yard station", "accepted": "380 gal", "who": "Ruth Okafor",
                         "handovers": [{"run": "2026-09-14-big-blue", "line": "4"}]})  # fmt: skip
    first = {"run": "ticket DF-1", "field": "accepted", "value": "330 gal", "why": "an old 3", "who": "Tom Adlow",
             "reason": "keyed wrong"}  # fmt: skip
    book.take("correct", first)
    book.take("correct", {**first, "value": "380 gal", "why": "no, an 8"})
    (ticket,) = state(book).tickets
    assert [(change.was, change.now) for change in ticket.changes] == [("380 gal", "330 gal"), ("330 gal", "380 gal")]
    again = check_correct(first, state=state(book), where="cmd", now=NOW)
    assert (again.payload, again.problems) == (None, ())
    lined = check_correct({**first, "line": "4", "value": "1 gal"}, state=state(book), where="cmd", now=NOW)
    assert [problem.what for problem in lined.problems] == ["a ticket has no lines"]
