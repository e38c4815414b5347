"""Days and times are said so that nobody takes March for May, or one morning for another."""

from __future__ import annotations

import pytest

from compliance.reports import timeline
from compliance.reports.words import Words

EN, ES = Words("en"), Words("es")


def plain(text: str) -> str:
    """Without no-break spaces."""
    return text.replace("\u00a0", " ")


def test_the_month_stands_in_letters() -> None:
    """A date has no order of figures to mistake, in either language."""
    assert (timeline.day("2026-03-05", EN), timeline.day("2026-03-05", ES)) == ("Mar 5, 2026", "5 mar 2026")
    assert timeline.long_day("2026-03-05", EN) == "March 5, 2026"
    assert timeline.long_day("2026-03-05", ES) == "5 de marzo de 2026"
    assert timeline.short_day("2026-03-05T21:30-07:00", EN) == "Mar 5"


def test_what_is_no_date_stays_as_typed() -> None:
    """A text that is no date is shown as it is."""
    for say in (timeline.day, timeline.long_day, timeline.short_day, timeline.moment):
        assert say("some time in May", EN) == "some time in May"
    assert timeline.moment("2026-03-05Tnoon", EN) == "Mar 5, 2026"
    assert timeline.clock("2026-03-05", EN) == ""


@pytest.mark.parametrize(
    ("text", "english", "spanish"),
    [
        ("2026-09-14T21:30:00-06:00", "9:30 pm", "9:30 p. m."),
        ("2026-09-14T00:05:00-06:00", "12:05 am", "12:05 a. m."),
        ("2026-09-14T12:00:00-06:00", "12:00 pm", "12:00 p. m."),
    ],
)
def test_the_clock_is_that_of_the_place(text: str, english: str, spanish: str) -> None:
    """Twelve-hour clock, midnight and noon told apart."""
    assert plain(timeline.clock(text, EN)) == english
    assert plain(timeline.clock(text, ES)) == spanish


def test_a_span_says_the_next_day() -> None:
    """A night over midnight is not two dates apart, a longer span is; an open end says so."""
    start, end = "2026-09-14T21:30:00-06:00", "2026-09-15T01:10:00-06:00"
    assert plain(timeline.span(start, end, EN)) == "Sep 14, 2026, 9:30 pm to 1:10 am next day"
    assert plain(timeline.span(start, end, ES)) == "14 sep 2026, 9:30 p. m. a 1:10 a. m. del día siguiente"
    assert plain(timeline.span(start, start, EN)) == "Sep 14, 2026, 9:30 pm to 9:30 pm"
    assert plain(timeline.span(start, "2026-09-17T01:10:00-06:00", EN)).endswith("to Sep 17, 2026, 1:10 am")
    assert plain(timeline.span(start, "", EN)) == "from Sep 14, 2026, 9:30 pm"
    assert plain(timeline.span("", end, EN)) == "until Sep 15, 2026, 1:10 am"


def test_a_span_over_a_change_of_the_clock_says_both_distances() -> None:
    """1:10 in summer time to 1:20 in winter time are 70 minutes, and do not look like ten."""
    found = plain(timeline.span("2026-11-01T01:10:00-06:00", "2026-11-01T01:20:00-07:00", EN))
    assert found == "Nov 1, 2026, 1:10 am UTC−06:00 to 1:20 am UTC−07:00"


def test_a_stamp_of_a_computer_elsewhere_is_told_by_the_clock_of_the_place() -> None:
    """A clock that is set to UTC stamped a November evening in Denver with the next day."""
    stamped = timeline.there("2026-11-26T02:21:00+00:00", "America/Denver")
    assert stamped == "2026-11-25T19:21:00-07:00"
    assert timeline.there("2026-11-26", "America/Denver") == "2026-11-26"


def test_a_moment_of_the_known_day_is_its_clock() -> None:
    """Beside a day that stands above, only another day is said."""
    assert plain(timeline.near("2026-09-14T21:30:00-06:00", "2026-09-14", EN)) == "9:30 pm"
    assert plain(timeline.near("2026-09-15T01:30:00-06:00", "2026-09-14", EN)) == "Sep 15, 2026, 1:30 am"


def test_the_zone_is_named_with_its_distance() -> None:
    """Both offsets of a night on which the clock changes are said."""
    summer, winter = "2026-10-31T21:00:00-06:00", "2026-11-01T03:00:00-07:00"
    assert timeline.zone([summer], "America/Denver") == "America/Denver, UTC−06:00"
    assert timeline.zone([summer, winter, "", "2026-11-01"], "") == "UTC−06:00 / UTC−07:00"
    assert timeline.offset("2026-09-14T21:30:00+05:30") == "UTC+05:30"
    assert timeline.offset("2026-09-14T21:30:00") == ""


def test_weeks_run_from_monday_and_are_cut_to_the_span() -> None:
    """A month's weeks, the first and the last shorter; no day is in two or in none."""
    weeks = timeline.weeks("2026-09-01", "2026-09-30")
    assert weeks[0] == ("2026-09-01", "2026-09-06")
    assert weeks[1] == ("2026-09-07", "2026-09-13")
    assert weeks[-1] == ("2026-09-28", "2026-09-30")
    days = sum((int(end[8:]) - int(start[8:]) + 1) for start, end in weeks)
    assert days == 30


def test_weeks_have_short_labels() -> None:
    """Within a month, over its end, and of one day."""
    assert timeline.week_label("2026-09-07", "2026-09-13", EN) == "Sep 7–13"
    assert timeline.week_label("2026-09-07", "2026-09-13", ES) == "7–13 sep"
    assert timeline.week_label("2026-09-28", "2026-10-04", EN) == "Sep 28–Oct 4"
    assert timeline.week_label("2026-09-30", "2026-09-30", EN) == "Sep 30"
    assert timeline.days("2026-09-30", "2026-09-30", EN) == "Sep 30, 2026"
