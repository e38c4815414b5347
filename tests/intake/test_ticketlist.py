"""Tickets in bulk: matched where the records leave one answer, told where they do not, and never guessed."""

from __future__ import annotations

from datetime import date
from typing import Any

from compliance.intake.awaited import awaiting
from compliance.intake.ticket_amounts import beside, difference
from compliance.intake.ticketfile import Slip
from compliance.intake.ticketlist import Match, match
from compliance.records import kinds
from compliance.records.state import State
from compliance.rules.scene import Scene
from compliance.water.fold import calculate
from compliance.water.volume import Unknown, exact

from .making import NOW, Pages, pages

STATION = "North Yard station"


def night(day: str, *lines: dict[str, Any], rig: str = "Big Blue", **fields: Any) -> dict[str, Any]:
    stop = {"line": "stop", "site": "Fernwood Plaza"}
    base = {"rig": rig, "lead": "Rosa Iglesias", "date": day, "where": "see lines"}
    return {**base, **fields, "line": [stop, *lines]}


def dump(amount: str | None, at: str | None = None, place: str = STATION, **fields: Any) -> dict[str, Any]:
    made = {"line": "hand over", "place": place, "amount": amount, "at": at, **fields}
    return {key: value for key, value in made.items() if value is not None}


def book(*nights: dict[str, Any]) -> Pages:
    return pages(*nights)


def state(made: Pages) -> State:
    found = made.state
    assert found is not None
    return found


def scene(made: Pages) -> Scene:
    there = state(made)
    return Scene(there, calculate(there), date(2026, 10, 1))


def slip(row: int, number: str, day: str = "2026-09-14", accepted: str = "", place: str = STATION, *named: str) -> Slip:
    fields = {"number": number, "date": day, "accepted": accepted, "place": place}
    return Slip(row, {key: value for key, value in fields.items() if value}, named)


def matched(made: Pages, *slips: Slip) -> list[Match]:
    return match(slips, scene(made), where="list.csv", now=NOW, who="Ruth Okafor")


def told(found: list[Match]) -> list[tuple[str, tuple[str, ...]]]:
    return [(one.outcome, one.refs) for one in found]


ONE = night("2026-09-14", dump("410 gal", "23:10"))
A, B = "2026-09-14-big-blue/2", "2026-09-14-big-blue/3"


def test_a_ticket_is_matched_by_place_and_date() -> None:
    """Whatever it says they accepted: the difference stands beside our own volume, which stays."""
    (one,) = matched(book(ONE), slip(2, "NY-1", accepted="369 gal"))
    assert told([one]) == [("matched", (A,))]
    assert (one.because, one.days, one.ours, one.difference) == (
        "by place and date", 0, "410 gal, no ± stated", "41 gal less, 10.0 %",
    )  # fmt: skip
    payload = one.made[0].payload
    assert payload is not None and payload["fields"]["accepted"] == "369 gal"
    assert payload["who"] == "Ruth Okafor" and [h["line"] for h in payload["handovers"]] == ["2"]


def test_a_late_ticket_says_how_late() -> None:
    """By the date on it, where it names its handover itself."""
    (one,) = matched(book(ONE), slip(2, "NY-1", "2026-10-02", "410 gal", STATION, A))
    assert (one.outcome, one.because, one.days, one.difference) == ("matched", "named in the list", 18, "the same")


def test_where_only_the_night_is_known_the_ticket_may_bear_either_of_its_days() -> None:
    """With a time on the line it is that day alone."""
    unread = book(night("2026-09-14", dump("410 gal")))
    days = ("2026-09-13", "2026-09-14", "2026-09-15", "2026-09-16")
    assert [matched(unread, slip(2, "1", day))[0].outcome for day in days] == [
        "no handover", "matched", "matched", "ambiguous",
    ]  # fmt: skip
    late = book(night("2026-09-14", dump("410 gal", "01:10"), start="21:00"))
    assert [told(matched(late, slip(2, "1", day)))[0][0] for day in ("2026-09-14", "2026-09-15")] == [
        "no handover", "matched",
    ]  # fmt: skip


def test_a_ticket_that_was_written_weeks_later_is_matched_by_its_amount_and_by_nothing_else() -> None:
    """Within two months; one ticket for two handovers too. Without an amount that fits it is asked about."""
    made = book(ONE, night("2026-09-16", dump("300 gal", "22:10")))
    (one,) = matched(made, slip(2, "NY-1", "2026-09-30", "405 gal"))
    assert (told([one]), one.because, one.days) == ([("matched", (A,))], "by place and amount, late", 16)
    (both,) = matched(made, slip(2, "NY-1", "2026-09-30", "700 gal"))
    assert (both.refs, both.because) == (
        (A, "2026-09-16-big-blue/2"),
        "by place, late; the amount is that of all together",
    )
    alone = book(ONE)
    for accepted in ("", "300 gal"):
        (one,) = matched(alone, slip(2, "NY-1", "2026-09-30", accepted))
        assert (one.outcome, one.because) == ("ambiguous", f"may be for {A}: name it in the column 'for'")
    assert matched(alone, slip(2, "NY-1", "2026-11-16", "410 gal"))[0].outcome == "no handover"
    assert matched(alone, slip(2, "NY-1", "2026-09-13", "410 gal"))[0].outcome == "no handover"
    assert matched(alone, slip(2, "NY-1", "2026-09-30", "410 gal", ""))[0].outcome == "no handover"


def test_a_run_that_only_names_the_place_is_matched_too() -> None:
    """The three numbers of a night are a handover."""
    made = book(night("2026-09-14", where=STATION, recovered="300 gal"))
    (one,) = matched(made, slip(2, "NY-1", accepted="290 gal"))
    assert told([one]) == [("matched", ("2026-09-14-big-blue",))]
    assert one.made[0].payload is not None and one.made[0].payload["handovers"][0]["line"] == ""


TWO = night("2026-09-14", dump("410 gal", "22:10"), dump("300 gal", "23:40"))


def test_of_two_handovers_the_amount_tells() -> None:
    """Within the ± of ours, or a tenth where there is none."""
    (one,) = matched(book(TWO), slip(2, "NY-1", accepted="310 gal"))
    assert (told([one]), one.because) == ([("matched", (B,))], "by place, date and amount")


def test_one_ticket_for_two_handovers() -> None:
    """Where the amount is that of both together."""
    (one,) = matched(book(TWO), slip(2, "NY-1", accepted="700 gal"))
    assert told([one]) == [("matched", (A, B))]
    assert one.because == "by place and date; the amount is that of all together"
    assert (one.ours, one.difference) == ("710 gal, no ± stated", "10 gal less, 1.4 %")


def test_one_handover_with_two_tickets() -> None:
    """Where their amounts together are its own; the difference is that of both."""
    found = matched(book(ONE), slip(2, "NY-1", accepted="200 gal"), slip(3, "NY-2", accepted="205 gal"))
    assert told(found) == [("matched", (A,)), ("matched", (A,))]
    assert {one.difference for one in found} == {"5 gal less, 1.2 %"}


def test_two_tickets_and_two_handovers_find_each_other() -> None:
    """By their amounts; what is left is the only one left."""
    found = matched(book(TWO), slip(2, "NY-1", accepted="295 gal"), slip(3, "NY-2"))
    assert told(found) == [("matched", (B,)), ("matched", (A,))]
    assert found[1].because == "by place and date, the only one left"


def test_what_the_records_do_not_settle_is_ambiguous_and_says_between_what() -> None:
    """No amount, an amount that fits neither or both, two tickets that do not add up to one handover."""
    for accepted in ("", "999 gal", "355 gal"):
        (one,) = matched(book(TWO), slip(2, "NY-1", accepted=accepted))
        assert (one.outcome, one.refs, one.made) == ("ambiguous", (), ())
        assert one.because == f"may be for {A}, {B}: name it in the column 'for'"
    found = matched(book(ONE), slip(2, "NY-1", accepted="20 gal"), slip(3, "NY-2"))
    assert [one.outcome for one in found] == ["ambiguous", "ambiguous"]
    same = night("2026-09-14", dump("300 gal", "22:10"), dump("300 gal", "23:40"))
    assert matched(book(same), slip(2, "NY-1", accepted="300 gal"))[0].outcome == "ambiguous"
    over = matched(book(ONE), slip(2, "NY-1", accepted="400 gal"), slip(3, "NY-2", accepted="400 gal"))
    assert [one.outcome for one in over] == ["ambiguous", "ambiguous"]


def test_the_number_on_the_handover_goes_before_date_and_amount() -> None:
    """The crew wrote it down; at another place it is another ticket."""
    made = book(night("2026-09-14", dump("410 gal", "22:10", ticket="ny-7"), dump("300 gal", "23:40")))
    (one,) = matched(made, slip(2, "NY-7", "2026-09-30", "1 gal", ""))
    assert (told([one]), one.because) == ([("matched", (A,))], "the handover names its number")
    assert matched(made, slip(2, "NY-7", "2026-09-30", "1 gal", "Fernwood cleanout"))[0].outcome == "no handover"


def test_a_handover_with_number_and_amount_awaits_only_that_number() -> None:
    """What was written down on the night is a ticket: one of another number goes to a night that has none."""
    made = book(
        night("2026-09-13", dump("410 gal", ticket="NY-3", accepted="410 gal")), night("2026-09-14", dump("400 gal"))
    )
    assert [one.ref for one in awaiting(scene(made))] == [A]
    other, own = matched(made, slip(2, "NY-9", accepted="410 gal"), slip(3, "ny-3", "2026-09-13", "405 gal"))
    assert told([other, own]) == [("matched", (A,)), ("matched", ("2026-09-13-big-blue/2",))]
    assert (own.because, own.difference) == ("the handover names its number", "5 gal less, 1.2 %")
    assert matched(made, slip(2, "NY-9", "2026-09-13", "410 gal"))[0].outcome == "no handover"


def test_what_was_noted_of_a_ticket_may_leave_room_for_a_second() -> None:
    """By place, date and amount: the two together are what was handed over."""
    made = book(night("2026-09-14", dump("410 gal", "23:10", ticket="NY-3", accepted="200 gal")))
    (one,) = matched(made, slip(2, "NY-4", accepted="210 gal"))
    assert (told([one]), one.difference) == ([("matched", (A,))], "the same")


def test_a_row_may_name_its_handovers_itself() -> None:
    """Several too; one that is not there is told."""
    made = book(TWO)
    (one,) = matched(made, slip(2, "NY-1", "2026-09-14", "", STATION, A, B))
    assert told([one]) == [("matched", (A, B))]
    (wrong,) = matched(made, slip(2, "NY-1", "2026-09-14", "", STATION, A, "2026-09-14-big-blue/9"))
    assert (wrong.outcome, wrong.because) == ("ambiguous", "no handover is called '2026-09-14-big-blue/9'")


def test_without_place_or_date_less_is_known_and_still_enough_where_one_is_left() -> None:
    """A place alone, a date alone; neither is nothing."""
    made = book(ONE)
    assert matched(made, slip(2, "NY-1", ""))[0].outcome == "matched"
    (only_day,) = matched(made, slip(2, "NY-1", place=""))
    assert only_day.outcome == "matched" and only_day.days == 0
    (neither,) = matched(made, slip(2, "NY-1", "", "", ""))
    assert (neither.outcome, neither.because) == ("no handover", "neither place nor date is given")
    assert matched(made, slip(2, "NY-1", ""))[0].days is None


def test_handovers_that_await_nothing_are_left_alone() -> None:
    """Refused, led away, 'not applicable', to a place that writes no tickets."""
    made = book(night(
        "2026-09-14", dump("1 gal", "22:00", refused="solids"), dump("2 gal", "22:10", ticket="not applicable"),
        dump("3 gal", "22:20", "Fernwood cleanout"), {"line": "led away", "place": STATION},
        dump("4 gal", "22:30", "Fernwood cleanout", ticket="later"), dump("5 gal", "22:40", "somewhere"),
    ))  # fmt: skip
    assert [one.n for one in awaiting(scene(made))] == ["6", "7"]
    (one,) = matched(made, slip(2, "NY-1"))
    assert (one.outcome, one.because) == ("no handover", "no handover of that place and day awaits a ticket")


def test_a_ticket_that_is_in_the_book_is_known() -> None:
    """The same number at the same place; twice in one list too. What it says otherwise is told and left alone."""
    made = book(ONE)
    made.take("ticket", {"number": "NY-1", "accepted": "400 gal", "handovers": [{"run": "2026-09-14-big-blue"}]})
    found = matched(made, slip(2, "ny-1", accepted="400"), slip(3, "NY-1", accepted="390 gal"))
    assert told(found) == [("known", (A,)), ("known", ())]
    assert [one.because for one in found] == ["the book has it", "it stands in row 2 already"]
    assert (found[0].difference, found[0].made) == ("10 gal less, 2.4 %", ())
    (other,) = matched(made, slip(2, "NY-1", accepted="390 gal"))
    assert other.because == "accepted: the book says '400 gal', the list '390 gal'"


def test_what_the_book_does_not_have_yet_is_completed() -> None:
    """The amount and the receiver of a ticket whose number was entered at once."""
    made = book(ONE)
    (ticket,) = made.take("ticket", {"number": "NY-1", "handovers": [{"run": "2026-09-14-big-blue"}]})
    row = Slip(2, {"number": "NY-1", "accepted": "390 gal", "received_by": "Ana Lind"})
    (one,) = matched(made, row)
    assert (one.outcome, one.because, one.difference) == (
        "completes", "adds accepted and received_by", "20 gal less, 4.9 %",
    )  # fmt: skip
    assert [(c.kind, c.payload and c.payload["run"]) for c in one.made] == [(kinds.COMPLETE, ticket.id)] * 2
    (nobody,) = match([row], scene(made), where="list.csv", now=NOW)
    assert (nobody.outcome, nobody.because) == ("refused", "it is not said who says so; it is not said who says so")


def test_the_same_number_at_two_places_is_two_tickets() -> None:
    """Each place counts for itself."""
    made = book(night("2026-09-14", dump("410 gal", "22:10"), dump("300 gal", "23:40", "other station")))
    made.take("ticket", {"number": "1", "place": STATION, "handovers": [{"run": "2026-09-14-big-blue", "line": "2"}]})
    (one,) = matched(made, slip(2, "1", place="other station"))
    assert told([one]) == [("matched", (B,))]


def test_a_second_ticket_comes_to_a_handover_that_has_one() -> None:
    """Where the amounts of both together are its own, and not otherwise."""
    made = book(ONE)
    made.take("ticket", {"number": "NY-1", "accepted": "200 gal", "handovers": [{"run": "2026-09-14-big-blue"}]})
    (one,) = matched(made, slip(2, "NY-2", accepted="205 gal"))
    assert (told([one]), one.difference) == ([("matched", (A,))], "5 gal less, 1.2 %")
    for row in (slip(2, "NY-2", accepted="400 gal"), slip(2, "NY-2"), slip(2, "NY-2", "", "205 gal")):
        assert matched(made, row)[0].outcome == "no handover"
    unsaid = book(ONE)
    unsaid.take("ticket", {"number": "NY-1", "handovers": [{"run": "2026-09-14-big-blue"}]})
    assert matched(unsaid, slip(2, "NY-2", accepted="205 gal"))[0].outcome == "no handover"


def test_a_value_that_cannot_be_taken_refuses_its_row_alone() -> None:
    """With the validator's own words; the others stand."""
    found = matched(book(ONE), slip(2, "NY-0", "09/14/2026"), slip(3, "NY-1"))
    assert [one.outcome for one in found] == ["refused", "matched"]
    assert "not written as dates are here" in found[0].because


def test_a_ticket_for_handovers_of_a_cancelled_run_is_still_known() -> None:
    """It has nothing beside it."""
    made = book(ONE)
    made.take("ticket", {"number": "NY-1", "handovers": [{"run": "2026-09-14-big-blue"}]})
    made.take("cancel", {"run": "2026-09-14-big-blue", "why": "twice"})
    (one,) = matched(made, slip(2, "NY-1"))
    assert (one.outcome, one.refs, one.ours) == ("known", (), "")


def test_a_name_that_no_page_can_print_refuses_the_list() -> None:
    """Who enters it is looked at with the rest."""
    (one,) = match([slip(2, "NY-1")], scene(book(ONE)), where="list.csv", now=NOW, who="Ruth\x07")
    assert (one.outcome, one.refs) == ("refused", (A,))
    assert "cannot be printed" in one.because


def test_a_long_list_is_matched_in_little_time() -> None:
    """A hundred tickets without a date at one place: each finds its own amount."""
    nights = [
        night(f"2026-09-{day:02}", *(dump(f"{day * 100 + n * 20} gal") for n in range(5))) for day in range(1, 21)
    ]
    slips = [slip(row, f"N-{row}", "", f"{100 + row} gal") for row in range(100)]
    found = matched(book(*nights), *slips)
    assert len(found) == 100


def test_our_own_volume_stands_beside_a_ticket_that_is_in_the_book() -> None:
    """With the difference of all tickets of its handovers; nothing for one that is not there."""
    made = book(ONE)
    for number, accepted in (("NY-1", "200 gal"), ("NY-2", "190 gal")):
        made.take("ticket", {"number": number, "accepted": accepted, "handovers": [{"run": "2026-09-14-big-blue"}]})
    ticket = state(made).tickets[0].record
    assert beside(ticket, scene(made)) == ("410 gal, no ± stated", "20 gal less, 4.9 %")
    assert beside("nothing", scene(made)) == ("", "")


def test_a_difference_needs_both_figures() -> None:
    """More, less, the same; nothing where one of them is a range or not known."""
    assert difference(["110 gal"], exact(100), "gal") == "10 gal more, 10.0 %"  # type: ignore[arg-type]
    assert difference(["5 gal"], exact(0), "gal") == "5 gal more"  # type: ignore[arg-type]
    assert difference([], exact(1), "gal") == ""  # type: ignore[arg-type]
    assert difference([None], exact(1), "gal") == ""  # type: ignore[arg-type]
    assert difference(["5 gal"], Unknown("", "not read"), "gal") == ""
    assert difference([">=5 gal"], exact(1), "gal") == ""  # type: ignore[arg-type]


def test_a_second_ticket_of_a_handover_that_a_row_names_is_asked_about_unless_both_amounts_are_its_own() -> None:
    """By our own volume and its ±, or the house's 10 %; two that would each fit are both asked about."""
    made = book(night("2026-09-14", dump("410 gal", "23:10", ticket="R-1")))
    first = slip(2, "R-1", accepted="200 gal")
    (_, fits) = matched(made, first, slip(3, "T-77", accepted="205 gal"))
    assert (told([fits]), fits.because) == ([("matched", (A,))], "by place and date; the amounts together are its own")
    question = f"may be for {A}, but another row names {A}: name it in the column 'for'"
    for accepted in ("419 gal", ""):
        (named, asked) = matched(made, first, slip(3, "T-77", accepted=accepted))
        assert told([named, asked]) == [("matched", (A,)), ("ambiguous", ())] and asked.because == question
    several = matched(made, first, slip(3, "T-77", accepted="205 gal"), slip(4, "T-78", accepted="210 gal"))
    assert [one.outcome for one in several] == ["matched", "ambiguous", "ambiguous"]
    (_, late) = matched(made, first, slip(3, "T-77", "2026-09-30", "405 gal"))
    assert (late.outcome, late.because) == ("ambiguous", question)


def test_a_row_whose_amount_is_that_of_another_handover_is_not_held_up_by_one_that_is_named() -> None:
    """Two dumps of one day: the one that is named is left out; an amount that fits neither is asked about."""
    made = book(night("2026-09-14", dump("410 gal", "22:10", ticket="R-1"), dump("300 gal", "23:10")))
    named = slip(2, "R-1", accepted="405 gal")
    assert told(matched(made, named, slip(3, "T-77", accepted="301 gal"))) == [("matched", (A,)), ("matched", (B,))]
    assert told(matched(made, named, slip(3, "T-77", accepted="90 gal")))[1] == ("ambiguous", ())
