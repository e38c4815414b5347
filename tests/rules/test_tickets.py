"""Tickets: late, different, refused."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from compliance.water.volume import exact
from tests.rules.samples import base, found, outcome, scene, with_load, with_state

RUN = "2026-09-14-big-blue"
LOAD = f"{RUN}.l1"


def ticket(accepted: str | None, *lines: str, number: str = "T-100", run: str = RUN, **fields: Any) -> dict[str, Any]:
    made = {"number": number, "handovers": [{"run": run, "line": line} for line in lines], **fields}
    return made if accepted is None else {**made, "accepted": accepted}


def later(today: str) -> dict[str, Any]:
    return {"line": {"4": {"ticket": " Later"}}, "today": today}


# ---- ticket-1 ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("today", "result"),
    [
        ("2026-10-06", "silent: the ticket is to come"),
        ("2026-10-07", "found: handed over to 'North Plant', a treatment plant; ticket: 'later', 22 days"),
    ],
)
def test_later_has_its_time(today: str, result: str) -> None:
    """'Later' stands for 21 days from the handover and not one more."""
    assert outcome(scene(later(today)), "ticket-1").startswith(result)


def test_a_ticket_record_clears_it() -> None:
    """Once the ticket is in, the word on the line no longer matters."""
    cleared = scene(later("2026-11-20"), {"tickets": [ticket("371 gal", "4")]})
    assert outcome(cleared, "ticket-1") == "silent"


@pytest.mark.parametrize("answer", ["not applicable", "not read", "R-20"])
def test_an_answer_is_an_answer(answer: str) -> None:
    """'Not applicable' is never missing."""
    assert outcome(scene({"line": {"4": {"ticket": answer}}}), "ticket-1") == "silent"


def test_the_run_may_name_the_ticket() -> None:
    """The ticket of a three-number night stands on the run."""
    night = {"lines": base()["lines"][:3], "night": {"where": "North Plant", "ticket": "T-7"}}
    assert outcome(scene(night), "ticket-1") == "silent"
    night["night"].pop("ticket")
    assert outcome(scene(night), "ticket-1").startswith("found: handed over to 'North Plant'")


def test_places_without_tickets_are_not_asked() -> None:
    """A client's cleanout writes none, and neither does a lawn."""
    assert outcome(scene({"line": {"4": {"place": "Mall cleanout"}}}), "ticket-1") == "does not apply"


# ---- ticket-2 ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("accepted", "result"),
    [
        ("365.6 gal", "silent"),
        ("365.4 gal", "found: accepted: 365.4 gal; 6.03 gal less than ours, 1.6 %"),
        ("377.3 gal", "silent"),
        ("377.5 gal", "found: accepted: 377.5 gal; 6.07 gal more than ours, 1.6 %"),
        (">=378 gal", "found: accepted: at least 378 gal"),
        (">=370 gal", "silent"),
        ("<=300 gal", "found: accepted: at most 300 gal"),
        ("not read", "does not apply"),
    ],
)
def test_our_own_interval_decides(accepted: str, result: str) -> None:
    """371.43 ± 5.95 gal (two times the root of 2.14² + 2.06²): the difference counts beyond the ±, on either side."""
    assert outcome(scene({"line": {"4": {"accepted": accepted}}}), "ticket-2") == result


@pytest.mark.parametrize(
    ("accepted", "result"), [("440 gal", "silent"), ("441 gal", "found"), ("360 gal", "silent"), ("359 gal", "found")]
)
def test_without_an_interval_the_house_figure_decides(accepted: str, result: str) -> None:
    """A stated 400 gal has no ±: ten percent of it is the house's own figure, and the finding says so."""
    stated = [base()["lines"][1], {**base()["lines"][3], "amount": "400 gal", "accepted": accepted}]
    made = scene({"lines": stated, "night": {"recovered": "400 gal"}})
    assert outcome(made, "ticket-2").startswith(result)
    if result == "found":
        assert found(made, "ticket-2")[0].compared_with == "our own volume: 400 gal, no ± stated, within 10 %"


@pytest.mark.parametrize(
    ("ours", "accepted", "result"),
    [(">=300 gal", "200 gal", "found"), (">=300 gal", "900 gal", "silent"), ("<=300 gal", "400 gal", "found")],
)
def test_a_bound_is_compared_as_a_bound(ours: str, accepted: str, result: str) -> None:
    """'At least 300' says nothing against 900."""
    lines = [base()["lines"][1], {**base()["lines"][3], "amount": ours, "accepted": accepted}]
    assert outcome(scene({"lines": lines, "night": {"recovered": "not read"}}), "ticket-2").startswith(result)


def test_one_ticket_for_two_handovers_is_compared_once() -> None:
    """The sum of both is compared with the ticket, at the first of them."""
    lines = base()["lines"]
    second = {**lines[3], "at": "02:00"}
    first = {**lines[3], "tank_after": "13 in"}
    night = {"lines": [*lines[:3], first, second], "tickets": [ticket("371 gal", "4", "5")]}
    assert outcome(scene(night), "ticket-2") == "silent"
    night["tickets"] = [ticket("300 gal", "4", "5")]
    (finding,) = found(scene(night), "ticket-2")
    assert finding.about == f"{RUN}/4" and [one.line for one in finding.lines] == ["4", "5"]
    assert "on ticket T-100" in finding.seen


def test_two_tickets_for_one_handover_are_added() -> None:
    """A load weighed in two parts has two tickets."""
    both = [ticket("200 gal", "4"), ticket("171 gal", "4", number="T-101")]
    assert outcome(scene({"tickets": both}), "ticket-2") == "silent"
    one_says = [ticket("200 gal", "4"), ticket(None, "4", number="T-101")]
    assert outcome(scene({"tickets": one_says}), "ticket-2") == "does not apply"


def test_a_second_ticket_is_added_to_the_one_of_the_night() -> None:
    """The number and amount on the line are a ticket of their own; the same number is the same ticket."""
    line = {"4": {"ticket": "R-7", "accepted": "171 gal"}}
    assert outcome(scene({"line": line, "tickets": [ticket("200 gal", "4")]}), "ticket-2") == "silent"
    more = outcome(scene({"line": line, "tickets": [ticket("300 gal", "4")]}), "ticket-2")
    assert more.startswith("found: accepted: 471 gal on ticket R-7, T-100")
    same = outcome(scene({"line": line, "tickets": [ticket("300 gal", "4", number="r-7")]}), "ticket-2")
    assert same.startswith("found: accepted: 300 gal on ticket r-7")


def test_a_number_of_the_night_is_waited_for_beside_another_ticket() -> None:
    """What came is less than all that was accepted: it may be too much already, and never too little."""
    line = {"4": {"ticket": "R-7"}}
    assert outcome(scene({"line": line, "tickets": [ticket("200 gal", "4")]}), "ticket-2") == "does not apply"
    more = outcome(scene({"line": line, "tickets": [ticket("471 gal", "4")]}), "ticket-2")
    assert more.startswith("found: accepted: at least 471 gal on ticket R-7, T-100")


def test_a_ticket_without_an_amount_leaves_the_line_to_say() -> None:
    """What the crew saw on the day stands until the ticket says more."""
    night = {"tickets": [ticket(None, "4")], "line": {"4": {"accepted": "300 gal"}}}
    assert outcome(scene(night), "ticket-2").startswith("found")


def test_our_own_volume_must_be_our_own() -> None:
    """A figure taken from the ticket is not compared with the ticket."""
    amount = {"method": "ticket", "ticket": "T-100", "amount": "300 gal"}
    night = {"lines": [base()["lines"][1], {**base()["lines"][3], "amount": amount, "accepted": "300 gal"}]}
    assert outcome(scene(night), "ticket-2") == "does not apply"


def test_an_unread_volume_cannot_be_compared() -> None:
    """Not having read ours, nobody can say whether theirs differs; so with a handover of no known tank."""
    line = {**base()["lines"][3], "amount": "not read", "accepted": "300 gal"}
    night = {"lines": [base()["lines"][1], line], "night": {"recovered": "not read"}}
    assert outcome(scene(night), "ticket-2").startswith("cannot tell: our own volume is not read")
    accepted = scene({"line": {"4": {"accepted": "300 gal"}}})
    assert outcome(with_load(accepted, LOAD, draws=()), "ticket-2").startswith("cannot tell")


def test_a_ticket_for_a_run_that_is_not_there_is_passed_over() -> None:
    """Its other handover may belong to a run that was cancelled or is not in the span."""
    made = scene({"tickets": [ticket("371 gal", "4")]})
    strange = made.state.tickets[0]
    linked = type(strange)(strange.record, strange.received, strange.fields, (*strange.handovers, ("gone", "1")))
    assert outcome(with_state(made, tickets=(linked,)), "ticket-2") == "silent"


def test_nothing_of_ours_against_something_of_theirs() -> None:
    """A difference from zero has no percentage."""
    accepted = scene({"line": {"4": {"accepted": "30 gal"}}})
    (draw,) = accepted.night.loads[LOAD].draws
    empty = replace(draw, known=replace(draw.known, figure=exact(Decimal(0))))
    assert outcome(with_load(accepted, LOAD, draws=(empty,)), "ticket-2") == (
        "found: accepted: 30 gal; 30 gal more than ours"
    )


# ---- ticket-3 ------------------------------------------------------------------------------------------------

REFUSED = {**base()["lines"][3], "refused": "solids"}


def test_another_handover_of_the_same_night_settles_it() -> None:
    """The load went elsewhere an hour later."""
    night = {"lines": [*base()["lines"][:3], REFUSED, {**base()["lines"][3], "at": "02:00"}]}
    assert outcome(scene(night), "ticket-3").startswith("silent: the load went on to 'North Plant'")


def test_a_handover_of_a_later_night_settles_it() -> None:
    """So does one on the next run of the rig; until then it stays."""
    night = {"lines": [*base()["lines"][:3], REFUSED], "night": {"where": "aboard"}}
    assert outcome(scene(night), "ticket-3").startswith("found: 'North Plant' did not take the load: solids")
    next_night = {"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00", "lines": base()["lines"][3:]}
    next_night["lines"] = [base()["lines"][1], *next_night["lines"]]
    assert outcome(scene(night, {"nights": [next_night]}), "ticket-3").startswith("silent")


def test_a_second_refusal_or_another_tank_settles_nothing() -> None:
    """What is refused again, led away, or taken of another tank leaves the load where it is."""
    lines = base()["lines"][:3]
    holding = {"tank": [{"name": "holding", "rig": "Big Blue", "role": "holding", "capacity": "500 gal"}]}
    one = {**REFUSED, "tank": "Big Blue recovery"}
    other = {**base()["lines"][3], "tank": "holding", "at": "02:00"}
    led = {"line": "led away", "place": "Mall cleanout"}
    night = {**holding, "lines": [*lines, one, {**one, "at": "01:45"}, led, other]}
    findings = found(scene(night), "ticket-3")
    assert [finding.about for finding in findings] == [f"{RUN}/4", f"{RUN}/5"]
    same = {**other, "tank": "BIG BLUE recovery"}
    assert found(scene({**night, "lines": [*lines, one, same]}), "ticket-3") == ()


def test_a_ticket_may_refuse_later() -> None:
    """The place looked at the load after the truck had gone; the run named only the place."""
    night = {"lines": base()["lines"][:3], "night": {"where": "North Plant"}}
    refusing = {"tickets": [ticket(None, "", refused="oil")]}
    assert outcome(scene(night, refusing), "ticket-3") == "found: 'North Plant' did not take the load: oil"


def test_another_load_handed_over_later_does_not_clear_a_refusal() -> None:
    """A ticket says afterwards that the load was refused; what the next night brings is other water."""
    refused = {"number": "T-100", "place": "North Plant", "refused": "foam", "who": "Ruth Okafor",
               "handovers": [{"run": "2026-09-14-big-blue", "line": "4"}]}  # fmt: skip
    after = {"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00",
             "used": {"method": "meter", "meter": "supply meter", "start": "1400", "end": "1810"},
             "recovered": {"method": "meter", "meter": "recovery meter", "start": "370", "end": "740"}}  # fmt: skip
    assert len(found(scene({"tickets": [refused]}), "ticket-3")) == 1
    assert len(found(scene({"tickets": [refused], "nights": [after]}), "ticket-3")) == 1


# ---- ticket-4 ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "tickets", "result"),
    [
        ({}, [(None, "T-100")], "does not apply"),
        ({}, [("371 gal", "T-100")], "silent"),
        ({}, [("371 gal", "T-100"), ("300 gal", "T-101")], "silent"),
        ({}, [("371 gal", "T-100"), (None, "T-100")], "silent"),
        ({}, [("371 gal", "T-100"), ("371.00 gal", "t-100")], "silent"),
        ({"accepted": "371 gal"}, [("371 gal", "T-100")], "silent"),
        ({"accepted": "371 gal", "ticket": "later"}, [("300 gal", "T-100")], "silent"),
        ({"accepted": "371 gal"}, [("300 gal", "t-100")], "found: ticket T-100 says 371 gal and 300 gal"),
        ({}, [("371 gal", "T-100"), (">=300 gal", "T-100")], "found: ticket T-100 says 371 gal and at least 300 gal"),
    ],
)
def test_one_number_says_one_amount(line: dict[str, Any], tickets: list[tuple[str | None, str]], result: str) -> None:
    """On the line, on a ticket, in any spelling; a ticket that says no amount contradicts none."""
    said = [ticket(accepted, "4", number=number) for accepted, number in tickets]
    assert outcome(scene({"line": {"4": line}, "tickets": said}), "ticket-4") == result


def test_what_counts_of_two_amounts_is_told() -> None:
    """The ticket that came goes before the line, and of two tickets the first in the book."""
    two = [ticket("371 gal", "4"), ticket("300 gal", "4")]
    (finding,) = found(scene({"tickets": two}), "ticket-4")
    assert finding.compared_with == "a ticket says one amount; counted here: 371 gal"
    (finding,) = found(scene({"line": {"4": {"accepted": "300 gal"}}, "tickets": two[:1]}), "ticket-4")
    assert finding.compared_with.endswith("counted here: 371 gal")
