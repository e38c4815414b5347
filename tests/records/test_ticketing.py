"""A ticket that names no handover is for the one that has its number at its place, whichever came first."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest

from compliance.records import kinds
from compliance.records.state import State
from compliance.records.ticketing import ANOTHER, NO_HANDOVER, NO_PLACE, SEVERAL, numbered, papers, ticket_number
from compliance.records.views import TicketView

from .writing import book, correct, register, rid, run, same

PLANT = register("place", "North Plant")


def handover(number: Any = None, place: str = "North Plant") -> tuple[str, dict[str, Any]]:
    return "hand over", {"place": place, **({} if number is None else {"ticket": number})}


def ticket(name: str, number: str, *handovers: tuple[str, str], **fields: Any) -> tuple[str, str, Any]:
    spots = [{"run": rid(of), "line": line} for of, line in handovers]
    return name, kinds.TICKET, {"fields": {"number": number, **fields}, "handovers": spots, "who": ""}


def cancel(record: str) -> tuple[str, str, Any]:
    return f"off{record}", kinds.CANCEL, {"record": rid(record), "why": "twice", "who": ""}


def found(state: State) -> dict[str, Any]:
    """Record -> its handovers, or why it waits."""
    return {one.record: one.waits or list(one.handovers) for one in state.tickets}


EARLY = ticket("t", "R-7", place="north plant")


def test_any_order_of_entry_finds_the_handover() -> None:
    """The ticket, the night, the number that came later, the second spelling of the place."""
    night = run("a", lines=[handover(place="The plant"), handover("R-8")])
    entries = [PLANT, EARLY, night, correct("c", "a", "1", "ticket", "r-7"), same("place", "The plant", "North Plant")]
    for order in permutations(entries):
        state = book(*order)
        assert found(state) == {rid("t"): [(rid("a"), "1")]}
        assert state.tickets[0].by_number
        assert state.tickets_of(rid("a"), "1") == [state.tickets[0]]


@pytest.mark.parametrize(
    ("night", "why"),
    [
        (run("a", lines=[handover("R-8")]), NO_HANDOVER),
        (run("a", lines=[handover("later")]), NO_HANDOVER),
        (run("a", lines=[handover("R-7", "South Plant")]), NO_HANDOVER),
        (run("a", lines=[("hand over", {"ticket": "R-7"})]), NO_HANDOVER),
        (run("a", lines=[("led away", {"place": "North Plant"})], ticket="R-7"), NO_HANDOVER),
        (run("a", lines=[handover("R-7"), handover("R-7")]), SEVERAL),
        (run("a", lines=[handover(), handover()], ticket="R-7"), SEVERAL),
    ],
)
def test_what_cannot_be_told_is_left_to_the_office(night: Any, why: str) -> None:
    """Another number, another place, two handovers with one number: no day and no amount decides."""
    assert found(book(PLANT, EARLY, night)) == {rid("t"): why}


def test_a_cancelled_night_has_no_handovers() -> None:
    """Neither for a ticket that waits nor as a second candidate."""
    nights = [run("a", lines=[handover("R-7")]), run("b", lines=[handover("R-7")])]
    assert found(book(PLANT, EARLY, *nights)) == {rid("t"): SEVERAL}
    assert found(book(PLANT, EARLY, *nights, cancel("a"))) == {rid("t"): [(rid("b"), "1")]}
    assert found(book(PLANT, EARLY, *nights, cancel("a"), cancel("b"))) == {rid("t"): NO_HANDOVER}


def test_what_the_office_matched_goes_before() -> None:
    """A ticket of the same number that names its handover leaves none to the other, even where it says no place."""
    night = run("a", lines=[handover("R-7"), handover("R-7")])
    for said in ({"place": "North Plant"}, {}):
        state = book(PLANT, EARLY, night, ticket("u", "R-7", ("a", "2"), **said))
        assert found(state) == {rid("t"): ANOTHER, rid("u"): [(rid("a"), "2")]}
        assert not any(one.by_number for one in state.tickets)


def test_two_tickets_of_one_number_are_matched_to_nothing() -> None:
    """One of them was entered twice: their amounts must not be added."""
    night = run("a", lines=[handover("R-7")])
    state = book(PLANT, EARLY, ticket("u", "R-7", place="North Plant", accepted="90 gal"), night)
    assert found(state) == {rid("t"): ANOTHER, rid("u"): ANOTHER}
    elsewhere = ticket("u", "R-7", place="South Plant")
    assert found(book(PLANT, EARLY, elsewhere, night)) == {rid("t"): [(rid("a"), "1")], rid("u"): NO_HANDOVER}


@pytest.mark.parametrize(
    ("number", "said"),
    [("R-7", {}), ("R-7", {"place": "not read"}), ("not read", {"place": "North Plant"})],
)
def test_a_ticket_without_place_or_number_is_matched_to_nothing(number: str, said: dict[str, str]) -> None:
    """Numbers are a place's own."""
    assert found(book(ticket("t", number, **said), run("a", lines=[handover("R-7")]))) == {rid("t"): NO_PLACE}


def test_a_run_that_names_its_place_alone_has_a_handover_too() -> None:
    """With the run's ticket; 'see lines' without a line is none."""
    assert found(book(PLANT, EARLY, run("a", where="North Plant", ticket="R-7"))) == {rid("t"): [(rid("a"), "")]}
    assert found(book(PLANT, EARLY, run("a", where="not read", ticket="R-7"))) == {rid("t"): NO_HANDOVER}
    assert list(numbered(book(run("a", where="see lines", ticket="R-7")).runs[0])) == []


@pytest.mark.parametrize("value", [None, "not read", "not applicable", "later", "Later", " ", 7])
def test_no_number_is_looked_up_where_none_was_written(value: Any) -> None:
    """An answer without a value, and 'later'."""
    assert ticket_number(value) is None


def test_a_number_is_found_in_any_spelling_of_its_letters() -> None:
    """Case and doubled spaces tell no two tickets apart."""
    assert ticket_number("R  7") == ticket_number("r 7") == "r 7"


PAPERS = {
    "nothing came": ("R-1", "406 gal", [], [("", "R-1", "406 gal")]),
    "another number came": ("R-1", "406 gal", [("W-9", "200 gal")], [("", "R-1", "406 gal"), ("t0", "W-9", "200 gal")]),
    "its own number came": ("R-1", "406 gal", [("r-1", "400 gal")], [("t0", "r-1", "400 gal")]),
    "its own number came and says nothing": ("R-1", "406 gal", [("r-1", None)], [("", "R-1", "406 gal")]),
    "one came twice": (None, None, [("W-9", None), ("w-9", "200 gal")], [("t1", "w-9", "200 gal")]),
    "one came twice and says two amounts": (
        None, None, [("W-9", "200 gal"), ("W-9", "90 gal")], [("t0", "W-9", "200 gal")],
    ),
    "two came": (None, None, [("A", "1 gal"), ("B", "1 gal")], [("t0", "A", "1 gal"), ("t1", "B", "1 gal")]),
    "later, and it came": ("later", "406 gal", [("W-9", "400 gal")], [("t0", "W-9", "400 gal")]),
    "later, and it came without an amount": ("later", "406 gal", [("W-9", "not read")], [("", "later", "406 gal")]),
    "no amount was noted": ("R-1", None, [("r-1", "400 gal")], [("t0", "r-1", "400 gal")]),
    "no amount was noted and another number came": (
        "R-1", None, [("W-9", "400 gal")], [("", "R-1", None), ("t0", "W-9", "400 gal")],
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", PAPERS)
def test_each_ticket_of_a_handover_counts_once(case: str) -> None:
    """The one that was written down on the night counts beside one of another number."""
    number, accepted, came, expected = PAPERS[case]
    tickets = [
        TicketView(f"t{n}", "", {"number": said, **({} if gave is None else {"accepted": gave})}, (("a", "1"),))
        for n, (said, gave) in enumerate(came)
    ]
    assert [(one.record, one.number, one.accepted) for one in papers(number, accepted, tickets)] == expected
