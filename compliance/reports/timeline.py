"""Days and times as a page says them: the month in letters, the clock of the place, its distance from UTC."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from compliance.reports.words import Words


def day(text: str, words: Words) -> str:
    """'Sep 14, 2026' or '14 sep 2026', from an ISO date or moment; any other text as it was typed."""
    found = as_date(text)
    return text if found is None else words("day.short", **_parts(found, words))


def short_day(text: str, words: Words) -> str:
    """'Sep 14' or '14 sep', where the year is plain."""
    found = as_date(text)
    return text if found is None else words("week.day", **_parts(found, words))


def long_day(text: str, words: Words) -> str:
    """'September 14, 2026' or '14 de septiembre de 2026'."""
    found = as_date(text)
    return text if found is None else words("day.long", **_parts(found, words))


def clock(text: str, words: Words) -> str:
    """'9:30 pm' or '9:30 p. m.'; '' for a date without a time."""
    found = as_moment(text)
    if found is None:
        return ""
    half = words("clock.am" if found.hour < 12 else "clock.pm")
    return f"{found.hour % 12 or 12}:{found.minute:02d}\u00a0{half}"


def moment(text: str, words: Words) -> str:
    """Day and time, 'Sep 14, 2026, 9:30 pm'."""
    at = clock(text, words)
    return f"{day(text, words)}, {at}" if at else day(text, words)


def there(text: str, zone: str) -> str:
    """A moment as the clock of a zone shows it; any other text as it is."""
    found = as_moment(text)
    return text if found is None or found.tzinfo is None else found.astimezone(ZoneInfo(zone)).isoformat()


def near(text: str, day_of: str, words: Words) -> str:
    """The clock alone for a moment of the day that the reader knows already, else day and clock."""
    at = clock(text, words)
    return at if at and as_date(text) == as_date(day_of) else moment(text, words)


def span(start: str, end: str, words: Words) -> str:
    """From one moment to another; the day is not said twice. Over a change of the clock each has its distance from UTC:
    the hour that comes twice would make 70 minutes look like ten.
    """
    if not end:
        return words("span.from", start=moment(start, words))
    if not start:
        return words("span.to", end=moment(end, words))
    first, last, at = as_date(start), as_date(end), clock(end, words)
    begun, over = offset(start), offset(end)
    changed = begun and over and begun != over
    after_start, after_end = (f" {begun}", f" {over}") if changed else ("", "")
    if first and last and at and (last - first).days in (0, 1):
        key = "span" if first == last else "span.next_day"
        return words(key, start=moment(start, words) + after_start, end=at + after_end)
    return words("span", start=moment(start, words) + after_start, end=moment(end, words) + after_end)


def days(first: str, last: str, words: Words) -> str:
    """A span of whole days."""
    return day(first, words) if first == last else words("span", start=day(first, words), end=day(last, words))


def offset(text: str) -> str:
    """'UTC−06:00', or '' when the text has no time in it."""
    found = as_moment(text)
    if found is None or found.utcoffset() is None:
        return ""
    minutes = round((found.utcoffset() or timedelta()).total_seconds() / 60)
    sign = "−" if minutes < 0 else "+"
    return f"UTC{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def zone(moments: Sequence[str], name: str) -> str:
    """The zone in which times stand: its name, and every distance from UTC that occurs in them."""
    seen = dict.fromkeys(one for one in map(offset, moments) if one)
    return ", ".join(part for part in (name, " / ".join(seen)) if part)


def as_date(text: str) -> date | None:
    """The calendar day of an ISO date or moment, where it happened; None for any other text."""
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None


def as_moment(text: str) -> datetime | None:
    """An RFC 3339 moment; None for a plain date and for any other text."""
    if "T" not in text:
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def weeks(first: str, last: str) -> list[tuple[str, str]]:
    """The Monday-to-Sunday weeks of a span, the first and the last cut to it."""
    start, end = date.fromisoformat(first), date.fromisoformat(last)
    found = []
    while start <= end:
        sunday = min(end, start + timedelta(days=6 - start.weekday()))
        found.append((start.isoformat(), sunday.isoformat()))
        start = sunday + timedelta(days=1)
    return found


def week_label(first: str, last: str, words: Words) -> str:
    """'Sep 7–13', or 'Sep 28–Oct 4' where two months meet."""
    a, b = date.fromisoformat(first), date.fromisoformat(last)
    start, end = _parts(a, words), _parts(b, words)
    if a == b:
        return words("week.day", **start)
    key = "week" if a.month == b.month else "week.two"
    return words(key, **start, to_day=end["day"], to_month=end["month"])


def _parts(found: date, words: Words) -> dict[str, object]:
    return {
        "day": found.day,
        "year": found.year,
        "month": words(f"month.{found.month}"),
        "month_long": words(f"month_long.{found.month}"),
    }
