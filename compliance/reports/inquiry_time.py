"""When something was asked about, and when a stop was worked, as far as the records tell."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Any, Final

from compliance.records.answer import without_value
from compliance.records.fields import GROUPS, MOMENT, WEEKDAYS
from compliance.records.views import LineView, RunView

LONGEST_WINDOW: Final = timedelta(hours=36)
"""A span up to here is one night; a longer one is looked at day by day, each with an answer of its own."""
MOST_DAYS: Final = 400
LONGEST_NIGHT: Final = timedelta(hours=44)
"""From the midnight with which a run's day begins: the evening of the next day is no longer that night."""

YES, MAY, NO = "yes", "may", "no"

_MOMENTS: Final[Mapping[str, tuple[str, ...]]] = {
    group: tuple(row.name for row in rows if row.type == MOMENT) for group, rows in GROUPS.items()
}


@dataclass(frozen=True)
class Window:
    """A span of time that was asked about; end is not in it."""

    start: datetime
    end: datetime


@dataclass(frozen=True)
class Times:
    """When something was done. start, end: as stated, '' where nobody said; else it was between low and high.

    low, high: the nearest readings and times on either side, or the bounds of the run's night.
    """

    start: str
    end: str
    low: datetime
    high: datetime

    def within(self, window: Window) -> str:
        """Whether it fell into a window: `YES`, `NO`, or `MAY` where a time that would settle it was not recorded."""
        if self.high < window.start or self.low >= window.end or self.low < self.high == window.start:
            return NO
        if self.start and self.end:
            return YES
        known = [datetime.fromisoformat(one) for one in (self.start, self.end) if one]
        return YES if any(window.start <= one < window.end for one in known) else MAY


def windows(first: str, until: str, weekday: str | None, zone: tzinfo) -> Sequence[Window]:
    """The spans that were asked about, in order. weekday: only these days, None for all. At most `MOST_DAYS`."""
    start, end = datetime.fromisoformat(first), datetime.fromisoformat(until)
    if weekday is None and end - start <= LONGEST_WINDOW:
        return [Window(start, end)]
    return list(_days(start, end, weekday, zone))


def _days(start: datetime, end: datetime, weekday: str | None, zone: tzinfo) -> Iterator[Window]:
    wanted = None if weekday is None else [choice.value for choice in WEEKDAYS].index(weekday)
    day = start.astimezone(zone).date()
    for _ in range(MOST_DAYS):
        begins, ends = _midnight(day, zone), _midnight(day + timedelta(days=1), zone)
        if begins >= end:
            return
        if wanted in (None, day.weekday()):
            yield Window(max(start, begins), min(end, ends))
        day += timedelta(days=1)


def _midnight(day: date, zone: tzinfo) -> datetime:
    return datetime.combine(day, time(), zone)


def run_times(run: RunView, zone: tzinfo) -> Times:
    """When a run was out: from its start to its end, else as far as its day and its readings tell."""
    start, end = _stated(run.fields, "start"), _stated(run.fields, "end")
    floor = _midnight(date.fromisoformat(run.day), zone)
    low = datetime.fromisoformat(start) if start else floor
    high = datetime.fromisoformat(end) if end else max([floor + LONGEST_NIGHT, *_moments(run.lines)])
    return Times(start, end, low, high)


def line_times(run: RunView, line: LineView, zone: tzinfo) -> Times:
    """When a line of a run happened; between the times of the lines around it where it has none of its own."""
    whole = run_times(run, zone)
    at = next(n for n, one in enumerate(run.lines) if one.n == line.n)
    start = _stated(line.fields, "arrived") or _stated(line.fields, "at")
    end = _stated(line.fields, "left") or _stated(line.fields, "at")
    low = datetime.fromisoformat(start) if start else max([whole.low, *_moments(run.lines[:at])])
    high = datetime.fromisoformat(end) if end else min([whole.high, *_moments(run.lines[at + 1 :])])
    if high < low:  # times that contradict each other settle nothing
        low, high = min(low, whole.low), max(high, whole.high)
    return Times(start, end, low, high)


def moments(run: RunView) -> Iterator[datetime]:
    """Every time that is written down of a run."""
    yield from (datetime.fromisoformat(text) for name in ("start", "end") if (text := _stated(run.fields, name)))
    yield from _moments(run.lines)


def _stated(fields: Mapping[str, Any], name: str) -> str:
    value = fields.get(name)
    return str(value) if without_value(value) is None else ""


def _moments(lines: Sequence[LineView]) -> Iterator[datetime]:
    for line in lines:
        for name in _MOMENTS[line.kind]:
            if text := _stated(line.fields, name):
                yield datetime.fromisoformat(text)
