"""Dates and times as people write them, brought to ISO 8601 and RFC 3339 with the offset of the place.

A time without a date belongs to the night of its run: earlier on the clock than the run's start, it is after
midnight. The two hours a year in which clocks are changed are explained and asked back, never guessed.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Any, Final
from zoneinfo import ZoneInfo

from compliance.intake.near import did_you_mean
from compliance.intake.text import shown, words
from compliance.records.problem import Problem
from compliance.records.quick import dataclass

FIRST_YEAR: Final = 1990
LAST_YEAR: Final = 2099

LONGEST_NIGHT: Final = timedelta(hours=20)
"""A time that would end up further than this behind the start is asked back: more likely it was before the start."""

_CLOCK = re.compile(
    r"(?P<h>[0-9]{1,2})(?:[:.h](?P<m>[0-9]{2}))?(?::(?P<s>[0-9]{2}))?\s*(?P<half>[ap]\.?\s*m\.?)?", re.IGNORECASE
)
_FOUR = re.compile(r"(?P<h>[0-9]{2})(?P<m>[0-9]{2})")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_FULL = re.compile(r"(?P<day>[0-9]{4}-[0-9]{2}-[0-9]{2})[Tt ](?P<clock>[0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?)\s*"
                   r"(?P<offset>[Zz]|[+-][0-9]{2}:?[0-9]{2})?")  # fmt: skip


@dataclass(frozen=True)
class Night:
    """What a time without a date refers to: the day of the run, and the clock time from which it is counted.

    day is None when the date of the run is itself missing or wrong; times without a date are then left out without
    a problem of their own. first is None until the first time of the run is known.
    """

    day: date | None
    first: time | None
    zone: tzinfo


def check_date(raw: Any, where: str) -> str | Problem:
    """A date as stored, YYYY-MM-DD."""
    if isinstance(raw, datetime):
        return Problem(f"{shown(raw)} is a date with a time", where, "write the date alone, like 2026-09-14")
    text = (words(raw) or "").strip()
    if not _DATE.fullmatch(text):
        return Problem(
            f"{shown(raw)} is not written as dates are here, the year first",
            where,
            "write year, month, day with hyphens, like 2026-09-14",
        )
    try:
        found = date.fromisoformat(text)
    except ValueError:
        return Problem(f"there is no day {text}", where, "look at month and day")
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        return Problem(f"the year {found.year} cannot be meant", where, f"give a year from {FIRST_YEAR} to {LAST_YEAR}")
    return text


def check_moment(raw: Any, night: Night, where: str) -> str | Problem | None:
    """A moment as stored, RFC 3339 with offset; None when only the missing date of the run is in the way."""
    if isinstance(raw, datetime):
        return _placed(raw, night.zone, where)
    text = (words(raw) or "").strip()
    full = _FULL.fullmatch(text)
    if full is not None:
        return _full(full, night.zone, where)
    clock = raw if isinstance(raw, time) else clock_time(text)
    if clock is None:
        return Problem(f"{shown(raw)} is not a time", where, "write it like 21:30, or with its date: 2026-09-14T21:30")
    if night.day is None:
        return None
    first = night.first or clock
    after_midnight = clock < first
    moment = datetime.combine(night.day + timedelta(days=after_midnight), clock)
    apart = moment - datetime.combine(night.day, first)
    if apart > LONGEST_NIGHT:
        return Problem(
            f"{text} is earlier than {first:%H:%M}, from which this run is counted, so it would be the next day, "
            f"{apart.total_seconds() / 3600:.0f} hours on",
            where,
            f"if it was before, write its date too: {night.day.isoformat()}T{clock:%H:%M}",
        )
    return _placed(moment, night.zone, where)


def clock_of(raw: Any) -> tuple[date | None, time] | None:
    """The date, if there is one, and the clock time that a raw moment names as it stands on the clock there."""
    if isinstance(raw, datetime):
        return raw.date(), raw.time()
    if isinstance(raw, time):
        return None, raw
    text = (words(raw) or "").strip()
    full = _FULL.fullmatch(text)
    if full is None:
        clock = clock_time(text)
        return None if clock is None else (None, clock)
    try:
        return date.fromisoformat(full["day"]), time.fromisoformat(full["clock"])
    except ValueError:
        return None


def clock_time(text: str) -> time | None:
    """A time of day as people write it: 21:30, 2130, 9:30 pm, 9 p. m."""
    match = _FOUR.fullmatch(text) or _CLOCK.fullmatch(text)
    if match is None:
        return None
    parts = match.groupdict()
    hour, half = int(parts["h"]), (parts.get("half") or "").lower()
    if parts["m"] is None and not half:
        return None  # '9' alone may be nine in the morning or in the evening
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    try:
        return time(hour, int(parts["m"] or 0), int(parts.get("s") or 0))
    except ValueError:
        return None


def check_zone(raw: Any, where: str) -> str | Problem:
    """The name of a time zone, as the IANA data base spells it."""
    text = (words(raw) or "").strip()
    found = zone_named(text)
    if found is not None:
        return text
    from zoneinfo import available_timezones  # slow; only when something is wrong

    return Problem(
        f"{shown(raw)} is not the name of a time zone",
        where,
        did_you_mean(text, sorted(available_timezones()), "write it like America/Denver"),
    )


def zone_named(name: str) -> tzinfo | None:
    """The zone of that name, or None."""
    try:
        return ZoneInfo(name) if re.fullmatch(r"[A-Za-z0-9_+\-/]+", name) else None
    except (KeyError, ValueError, OSError):
        return None


def _full(match: re.Match[str], zone: tzinfo, where: str) -> str | Problem:
    offset = (match["offset"] or "").upper()
    try:
        moment = datetime.fromisoformat(f"{match['day']}T{match['clock']}{offset}")
    except ValueError:
        return Problem(f"there is no moment {match[0]}", where, "look at date, time and offset")
    return _placed(moment, zone, where)


def _placed(moment: datetime, zone: tzinfo, where: str) -> str | Problem:
    """RFC 3339 with the offset that was given, or that of the place at that time."""
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        return Problem(f"the year {moment.year} cannot be meant", where, "look at the date")
    if moment.tzinfo is not None:
        return moment.isoformat()
    early, late = moment.replace(tzinfo=zone, fold=0), moment.replace(tzinfo=zone, fold=1)
    if early.utcoffset() == late.utcoffset():
        return early.isoformat()
    written = f"{moment:%Y-%m-%dT%H:%M}"
    if _exists(moment, zone):
        return Problem(
            f"{moment:%H:%M} came twice on {moment:%Y-%m-%d}: clocks were set back",
            where,
            f"write the first as {written}{_offset(early)}, the second as {written}{_offset(late)}",
        )
    shown_then = early.astimezone(UTC).astimezone(zone)
    return Problem(
        f"{moment:%H:%M} did not exist on {moment:%Y-%m-%d}: clocks were set ahead",
        where,
        f"a clock that was set showed {shown_then:%H:%M} then; write what is meant",
    )


def _exists(moment: datetime, zone: tzinfo) -> bool:
    back = moment.replace(tzinfo=zone).astimezone(UTC).astimezone(zone)
    return back.replace(tzinfo=None) == moment


def _offset(moment: datetime) -> str:
    return moment.isoformat()[-6:]
