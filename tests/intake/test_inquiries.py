"""What the office writes down of a question from outside."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.inquiries import check_inquiry, check_step
from compliance.records import kinds
from compliance.records.state import State

from .making import NIGHT, NOW, Pages, pages

ASKED = {
    "asked_by": "Lena Ostrow", "behalf": "Tamarack County stormwater office", "case": "TC-9",
    "asked": "2026-09-24T16:10", "how": "by telephone", "address": "214 Canal St", "position": "40.5, -105.1",
    "radius": "300", "first": "2026-09-14T18:00", "until": "2026-09-15", "weekday": "jueves",
    "alleged": "foam in the gutter", "due": "2026-09-25",
}  # fmt: skip
RUN = "2026-09-14-big-blue"


def state(book: Pages) -> State:
    found = book.state
    assert found is not None
    return found


def opened(*more: dict[str, Any]) -> Pages:
    book = pages(NIGHT)
    for raw in (ASKED, *more):
        book.take(kinds.INQUIRY, raw)
    return book


def inquiry(book: Pages, **raw: Any) -> Any:
    return check_inquiry(raw, state=state(book), where="here", now=NOW, who="Ruth Okafor")


def step(book: Pages, **raw: Any) -> Any:
    return check_step({"inquiry": "inquiry-1", **raw}, state=state(book), where="here", now=NOW, who="Ruth Okafor")


def what(checked: Any) -> list[str]:
    return [problem.what for problem in checked.problems]


def test_an_inquiry_is_kept_with_the_zone_of_its_times() -> None:
    """A bare time is that of the business; a date alone ends with the day, and stays a date where no time was said."""
    fields = state(opened()).inquiries[0].fields
    assert fields["first"] == "2026-09-14T18:00:00-06:00"
    assert fields["until"] == "2026-09-16T00:00:00-06:00"
    assert (fields["due"], fields["asked"]) == ("2026-09-25", "2026-09-24T16:10:00-06:00")
    assert (fields["weekday"], fields["radius"]) == ("Thursday", "300 ft")


@pytest.mark.parametrize("name", list(ASKED))
def test_each_part_may_be_unknown(name: str) -> None:
    """One thing alone is enough, and 'not applicable' or 'not read' is an answer."""
    book = pages(NIGHT)
    assert inquiry(book, **{name: ASKED[name]}).problems == ()
    if name not in ("radius", "position"):
        assert inquiry(book, **{name: "not applicable"}).payload["fields"] == {name: "not applicable"}


def test_all_problems_are_told_at_once() -> None:
    """Of the fields, of the times, of who says so."""
    checked = check_inquiry(
        {"asked": "21:30", "position": "x", "until": "2026-13-01", "colour": "red", "why": "so",
         "follows": "inquiry-7"},
        state=state(pages(NIGHT)), where="here", now=NOW,
    )  # fmt: skip
    assert checked.payload is None
    assert what(checked) == [
        "'colour' is not a field of 'inquiry'", "'x' are not coordinates", "'21:30' has no date",
        "there is no day 2026-13-01", "no inquiry is called 'inquiry-7'", "it is not said who says so",
        "'why' is of a change",
    ]  # fmt: skip


@pytest.mark.parametrize("said", ["9/3/2026", "2026-9-3", "tomorrow", "Sep 3"])
def test_what_is_meant_as_a_date_is_told_how_dates_are_written(said: str) -> None:
    """A bare time, which the advice was, is refused here."""
    (problem,) = inquiry(pages(NIGHT), until=said).problems
    assert "the year first" in problem.what
    assert problem.next_step == "write year, month, day with hyphens, like 2026-09-14"


def test_an_inquiry_of_nothing_and_one_that_ends_before_it_begins_are_refused() -> None:
    """The second also where only one end is changed."""
    assert what(inquiry(pages(NIGHT))) == ["nothing is said of what was asked"]
    said = "it ends (2026-09-13T00:00:00-06:00) before it begins (2026-09-14T18:00:00-06:00)"
    assert what(inquiry(opened(), inquiry="TC-9", until="2026-09-12", why="so")) == [said]


def test_the_same_inquiry_twice_changes_nothing() -> None:
    """With an id of its own it is another; a change of nothing is none."""
    book = opened()
    assert inquiry(book, **ASKED).payload is None
    assert inquiry(book, **ASKED, id="second call").payload is not None
    assert inquiry(book, inquiry="inquiry-1", case="TC-9", why="so").payload is None


def test_a_change_names_what_is_new_and_why() -> None:
    """And cannot be put behind another inquiry."""
    book = opened({"asked_by": "Lena Ostrow", "follows": "inquiry-1"})
    assert state(book).inquiries[1].follows == state(book).inquiries[0].record
    payload = inquiry(book, inquiry="inquiry-1", case="TC-10", due="2026-09-25", why="misheard").payload
    assert payload["fields"] == {"case": "TC-10"}
    assert what(inquiry(book, inquiry="inquiry-2", follows="inquiry-1")) == [
        "what it follows is said when it is opened", "it is not said why it is changed",
    ]  # fmt: skip


def test_a_cancelled_inquiry_is_not_gone_on_with() -> None:
    """It stands in the book and says so."""
    book = opened()
    book.take(kinds.CANCEL, {"record": state(book).inquiries[0].record, "why": "a double"})
    assert what(step(book, step="closed", why="answered")) == ["inquiry-1 is cancelled"]


def test_steps_are_written_down_and_hold_what_they_name() -> None:
    """A run by its name; the same said twice changes nothing."""
    book = opened()
    book.take(kinds.INQUIRY_STEP, {"inquiry": "TC-9", "step": "held", "holds": [RUN, RUN], "why": "asked for"})
    run = state(book).runs[0].record
    assert state(book).inquiries[0].held == {run}
    again = {"step": "held", "holds": [RUN], "why": "asked for", "who": "the office"}
    assert step(book, **again).payload is None
    search = {"size": 3, "found": {}}
    assert step(book, step="searched", search=search, holds=[RUN]).payload["size"] == 3


def test_what_was_sent_is_kept_by_the_hash_of_its_bytes() -> None:
    """To whom and how; without a hash it is not taken."""
    book = opened()
    file = {"name": "letter.pdf", "sha256": "a" * 64, "size": "12"}
    payload = step(book, step="sent", to="Lena Ostrow", how="by mail", files=[file]).payload
    assert (payload["to"], payload["files"]) == ("Lena Ostrow", [{**file, "size": 12}])
    assert what(step(book, step="sent", files=[{**file, "sha256": "a"}])) == [
        "'to' is missing", "'letter.pdf' comes without its SHA-256 or its size",
    ]  # fmt: skip
    assert what(step(book, step="sent", to="a\nb")) == [
        "'a\\nb' is more than one line", "it is not said which files were sent",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("raw", "faults"),
    [
        ({"inquiry": "", "step": ""}, ["it is not said which inquiry", "it is not said what was done"]),
        ({"inquiry": "TC-8", "step": "lost"}, ["no inquiry is called 'TC-8'", "'lost' is not a step"]),
        ({"step": "closed"}, ["it is not said why"]),
        ({"step": "opened again", "why": "so"}, ["inquiry-1 is open already"]),
        ({"step": "searched"}, ["a search is written down by the search"]),
        ({"step": "held", "why": "so"}, ["it is not said what to keep on hold"]),
        ({"step": "held", "why": "so", "holds": []}, ["it is not said what to keep on hold"]),
        ({"step": "held", "why": "so", "holds": "x"}, ["'holds' is 'x', not a list of records"]),
        ({"step": "held", "why": "so", "holds": ["nowhere"]}, ["no record is called 'nowhere'"]),
        ({"step": "closed", "why": "so", "holds": ["nowhere"]}, ["no record is called 'nowhere'"]),
    ],
)  # fmt: skip
def test_a_step_that_says_too_little_is_told_all_that_is_missing(raw: dict[str, Any], faults: list[str]) -> None:
    """Which inquiry, what was done, why."""
    assert what(step(opened(), **raw)) == faults


def test_a_step_of_a_book_without_inquiries_says_how_to_open_one() -> None:
    """The next step is a command."""
    (problem, *_) = step(pages(NIGHT), inquiry="", step="closed", why="so").problems
    assert problem.next_step == "open it first, with `washwater inquiry open`"
    assert inquiry(pages(NIGHT), inquiry="x", case="1", why="so").problems[0].what == "no inquiry is called 'x'"
