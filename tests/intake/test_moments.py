"""Dates and times: nights that cross midnight, and the two hours a year in which clocks are changed."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.intake.moments import Night, check_date, check_moment, check_zone, clock_of, clock_time, zone_named
from compliance.records.problem import Problem

DENVER = ZoneInfo("America/Denver")
EVENING = Night(date(2026, 9, 14), time(21, 0), DENVER)


@pytest.mark.parametrize(
    ("raw", "stored"),
    [
        ("21:30", "2026-09-14T21:30:00-06:00"),
        ("2130", "2026-09-14T21:30:00-06:00"),
        ("9:30 pm", "2026-09-14T21:30:00-06:00"),
        ("9:30 p. m.", "2026-09-14T21:30:00-06:00"),
        ("10 PM", "2026-09-14T22:00:00-06:00"),
        ("12:05 am", "2026-09-15T00:05:00-06:00"),
        ("21:00", "2026-09-14T21:00:00-06:00"),
        ("05:10", "2026-09-15T05:10:00-06:00"),
        ("16:59", "2026-09-15T16:59:00-06:00"),
        (time(5, 10), "2026-09-15T05:10:00-06:00"),
        ("2026-09-14T20:50", "2026-09-14T20:50:00-06:00"),
        ("2026-09-14 20:50:30", "2026-09-14T20:50:30-06:00"),
        ("2026-09-14T20:50-05:00", "2026-09-14T20:50:00-05:00"),
        ("2026-09-14T20:50Z", "2026-09-14T20:50:00+00:00"),
        (datetime(2026, 9, 14, 20, 50), "2026-09-14T20:50:00-06:00"),  # noqa: DTZ001 - as a file gives it
        (datetime(2026, 9, 14, 20, 50, tzinfo=UTC), "2026-09-14T20:50:00+00:00"),
        ("2026-11-01T01:30-07:00", "2026-11-01T01:30:00-07:00"),
    ],
)
def test_a_time_gets_its_date_and_offset(raw: Any, stored: str) -> None:
    """Earlier on the clock than the first time of the run is after midnight; an explicit offset is kept."""
    assert check_moment(raw, EVENING, "here") == stored


@pytest.mark.parametrize("raw", ["9", "24:00", "13 pm", "21:60", "late", "", True, ["21:30"], "2026-13-01T21:00"])
def test_what_is_no_time_is_said(raw: Any) -> None:
    """'9' alone may be nine in the morning or in the evening."""
    found = check_moment(raw, EVENING, "here")
    assert isinstance(found, Problem)
    assert found.where == "here"


def test_the_first_time_is_on_the_day_of_the_run() -> None:
    """Nothing is earlier than itself."""
    night = Night(date(2026, 9, 14), None, DENVER)
    assert check_moment("05:10", night, "") == "2026-09-14T05:10:00-06:00"


def test_without_a_date_a_bare_time_is_left_out_and_no_second_fault() -> None:
    """The missing date of the run is a problem of its own, said once."""
    night = Night(None, None, DENVER)
    assert check_moment("21:30", night, "") is None
    assert check_moment("2026-09-14T21:30", night, "") == "2026-09-14T21:30:00-06:00"


@given(st.times(), st.times())
def test_no_time_of_a_night_is_before_its_first(first: time, clock: time) -> None:
    """Every time lands at or after the first one, at most 20 hours on, or is asked back."""
    first, clock = first.replace(microsecond=0, second=0), clock.replace(microsecond=0, second=0)
    night = Night(date(2026, 6, 10), first, timezone(timedelta(hours=-6)))
    found = check_moment(f"{clock:%H:%M}", night, "")
    start = datetime.combine(date(2026, 6, 10), first, night.zone)
    if isinstance(found, Problem):
        assert "would be the next day" in found.what
    else:
        assert found is not None
        assert timedelta(0) <= datetime.fromisoformat(found) - start <= timedelta(hours=20)


@pytest.mark.parametrize("hour", range(24))
@pytest.mark.parametrize("day", [date(2026, 3, 8), date(2026, 11, 1)])
def test_only_the_changed_hour_is_asked_back(day: date, hour: int) -> None:
    """On the day that clocks change, one hour is missing or doubled, and no other is touched."""
    found = check_moment(f"{hour:02}:30", Night(day, None, DENVER), "")
    if (day.month, hour) in ((3, 2), (11, 1)):
        assert isinstance(found, Problem)
        assert "clocks were set" in found.what
    else:
        assert isinstance(found, str)
        assert datetime.fromisoformat(found).astimezone(DENVER).hour == hour


def test_both_readings_of_a_doubled_hour_can_be_written() -> None:
    """What the message proposes is taken."""
    found = check_moment("01:30", Night(date(2026, 11, 1), None, DENVER), "")
    assert isinstance(found, Problem)
    for proposed in ("2026-11-01T01:30-06:00", "2026-11-01T01:30-07:00"):
        assert proposed in found.next_step
        assert isinstance(check_moment(proposed, EVENING, ""), str)


@pytest.mark.parametrize(
    ("raw", "found"),
    [
        ("21:30", (None, time(21, 30))),
        (time(21, 30), (None, time(21, 30))),
        ("2026-09-14T21:30", (date(2026, 9, 14), time(21, 30))),
        (datetime(2026, 9, 14, 21, 30, tzinfo=UTC), (date(2026, 9, 14), time(21, 30))),
        ("2026-13-14T21:30", None),
        ("late", None),
        (None, None),
    ],
)
def test_the_clock_of_a_moment_is_read_as_it_stands(raw: Any, found: Any) -> None:
    """Date and time as somebody wrote them, before any zone."""
    assert clock_of(raw) == found


@pytest.mark.parametrize(
    ("text", "clock"), [("9.30 am", time(9, 30)), ("12 pm", time(12)), ("0 pm", None), ("x", None)]
)
def test_a_clock_time_is_read_in_common_forms(text: str, clock: time | None) -> None:
    """Noon and midnight included."""
    assert clock_time(text) == clock


@pytest.mark.parametrize("raw", [date(2026, 9, 14), "2026-09-14", " 2026-09-14 "])
def test_a_date_is_year_month_day(raw: Any) -> None:
    """As a text or as a file reader's date."""
    assert check_date(raw, "") == "2026-09-14"


@pytest.mark.parametrize(
    "raw", ["03/05/2026", "2026-9-4", "tonight", None, 20260914, datetime(2026, 9, 14, tzinfo=UTC)]
)
def test_a_date_with_two_readings_is_asked_back(raw: Any) -> None:
    """03/05 is the third of May to most readers of Spanish."""
    assert isinstance(check_date(raw, ""), Problem)


@pytest.mark.parametrize("name", ["America/Denver", "UTC"])
def test_a_zone_is_known_by_its_name(name: str) -> None:
    """The names of the IANA data base."""
    assert check_zone(name, "") == name


@pytest.mark.parametrize("name", ["Mountain", "../etc", "", None, "America/Denver\x00", "."])
def test_a_zone_that_is_none_is_no_path(name: Any) -> None:
    """Nothing outside the data base is ever opened."""
    assert isinstance(check_zone(name, ""), Problem)
    assert zone_named(str(name)) is None
