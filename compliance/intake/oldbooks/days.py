"""Dates as people wrote them: in figures, in words, in both languages, with and without a year.

A date in figures that can be read in two ways stays two dates here; what the rest of the file, or the mapping, says of
it is decided elsewhere, for the file as a whole.
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Final

from compliance.intake.moments import FIRST_YEAR, LAST_YEAR
from compliance.records.names import folded
from compliance.records.quick import dataclass

MONTH_FIRST, DAY_FIRST = "month first", "day first"
ORDERS: Final = (MONTH_FIRST, DAY_FIRST)

_MONTHS: Final = {
    name: number
    for number, names in enumerate(
        (
            "january jan enero ene", "february feb febrero", "march mar marzo", "april apr abril abr", "may mayo",
            "june jun junio", "july jul julio", "august aug agosto ago agto",
            "september sept sep septiembre setiembre set", "october oct octubre", "november nov noviembre",
            "december dec diciembre dic",
        ),
        start=1,
    )
    for name in names.split()
}  # fmt: skip
_WEEKDAYS: Final = {
    name: number
    for number, names in enumerate(
        (
            "monday mon lunes lun", "tuesday tues tue martes", "wednesday weds wed miercoles mierc mie", "thursday"
            " thurs thur thu jueves jue", "friday fri viernes vie", "saturday sat sabado sab", "sunday sun domingo dom",
        )
    )
    for name in names.split()
}  # fmt: skip
_SHORT_WEEKDAYS: Final = {
    name: number
    for number, names in enumerate(("mo lu", "tu ma mar", "we mi", "ju", "fr vi", "sa", "su do"))
    for name in names.split()
}
"""Weekdays only beside a date that names its month: 'mar 3' is the third of March."""
_MONTH: Final = "|".join(sorted(_MONTHS, key=len, reverse=True))
_WEEKDAY: Final = "|".join(sorted([*_WEEKDAYS, *_SHORT_WEEKDAYS], key=len, reverse=True))
_YEAR: Final = r"(?P<y>'?[0-9]{2}|[0-9]{4})"

_CLOCK: Final = re.compile(
    r"[t ,@]+([0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?\s*([ap]\.?\s?m\.?)?z?|[0-9]{1,2}\s?[ap]\.?\s?m\.?)$"
)
_NIGHT_OF: Final = re.compile(r"(?:the )?(?:night|evening) of |noche del? ")
_AT_NIGHT: Final = re.compile(r"[\s,(]+(?:nights?|nite|evening|overnight|am|pm|(?:por la |en la )?noche)\)?$")
_DAY_BEFORE: Final = re.compile(rf"\(?(?P<w>{_WEEKDAY})\b(?:\.? (?:night|noche))?[\s.,)–-]*(?P<rest>.+)")
_DAY_BEHIND: Final = re.compile(rf"(?P<rest>.*[0-9a-z])[\s.,(–-]+(?P<w>{_WEEKDAY})\.?\)?")
_ISO: Final = re.compile(r"(?P<y>[0-9]{4})[-/.](?P<m>[0-9]{1,2})[-/.](?P<d>[0-9]{1,2})")
_BASIC: Final = re.compile(r"(?P<y>(?:19|20)[0-9]{2})(?P<m>[0-9]{2})(?P<d>[0-9]{2})")
_FIGURES: Final = re.compile(rf"(?P<a>[0-9]{{1,2}})(?P<s>[-/.])(?P<b>[0-9]{{1,2}})(?:(?P=s){_YEAR})?")
_MONTH_DAY: Final = re.compile(
    rf"(?P<m>{_MONTH})\.?(?P<s>[\s/-]*)(?P<d>[0-9]{{1,2}})(?:st|nd|rd|th)?(?:(?:\s*,\s*|\s+|[-/.]){_YEAR})?"
)
_DAY_MONTH: Final = re.compile(
    rf"(?:el\s+)?(?P<d>[0-9]{{1,2}})(?:st|nd|rd|th|ro|o)?(?:\s*[-/.]\s*|\s+(?:de\s+|of\s+)?|\s*)(?P<m>{_MONTH})\.?"
    rf"(?:(?:\s*,\s*|\s*[-/.]\s*|\s+(?:de\s+|del\s+)?){_YEAR})?"
)
_LONGEST: Final = 60
"""Characters of the longest date; a longer text is not searched, which could take time without end."""
_UNSEEN: Final = dict.fromkeys([0x200B, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A), 0xFEFF])
"""Marks of the direction of writing, which come along when a date is copied from a screen."""
_SERIAL: Final = re.compile(r"[0-9]{5}(?:\.[0-9]+)?")
_EPOCHS: Final = {"1900": date(1899, 12, 30), "1904": date(1904, 1, 1)}
"""The day 0 of the two ways in which spreadsheets count days."""
DAY_COUNTS: Final = tuple(_EPOCHS)


@dataclass(frozen=True)
class Said:
    """What a cell says of a day. month_first, day_first: (year or None, month, day) in either reading; equal when
    there is only one. weekday: 0 for Monday, where one is written. serial: the days that a spreadsheet counted.
    """

    month_first: tuple[int | None, int, int] | None = None
    day_first: tuple[int | None, int, int] | None = None
    weekday: int | None = None
    serial: int | None = None

    @property
    def order(self) -> str:
        """The order in which alone it can be read, where it is in figures and one of them fails; else ''."""
        if (self.month_first is None) == (self.day_first is None):
            return ""
        return MONTH_FIRST if self.day_first is None else DAY_FIRST

    @property
    def order_by_weekday(self) -> str:
        """The one order in which the weekday beside an ambiguous date is that of its day; '' for none or both."""
        if not self.ambiguous or self.weekday is None:
            return ""
        fits = [order for order in ORDERS if self._on_weekday(self.read(order))]
        return fits[0] if len(fits) == 1 else ""

    def _on_weekday(self, parts: tuple[int | None, int, int] | None) -> bool:
        assert parts is not None
        year, month, day = parts
        return year is not None and (found := make(year, month, day)) is not None and found.weekday() == self.weekday

    @property
    def ambiguous(self) -> bool:
        """Both orders give a day, and not the same."""
        return self.month_first is not None and self.day_first is not None and self.month_first != self.day_first

    def read(self, order: str) -> tuple[int | None, int, int] | None:
        """(year, month, day) in this order; '' asks for the only one there is."""
        if order == "":
            return None if self.ambiguous else self.month_first or self.day_first
        return self.month_first if order == MONTH_FIRST else self.day_first


@lru_cache(maxsize=50_000)
def said(text: str) -> Said | None:
    """What a text says of a day, or None when it names none, or more than one."""
    if len(text) > _LONGEST:
        return None
    text = text.translate(_UNSEEN)
    plain = _NIGHT_OF.sub("", _AT_NIGHT.sub("", folded(text).strip(" .")), count=1)
    plain, weekday = _without_weekday(_CLOCK.sub("", plain))
    for pattern in (_ISO, _BASIC):
        match = pattern.fullmatch(plain)
        if match is not None:
            only = int(match["y"]), int(match["m"]), int(match["d"])
            return Said(only, only, weekday)
    match = _FIGURES.fullmatch(plain)
    if match is not None:
        return _in_figures(match, weekday)
    match = _MONTH_DAY.fullmatch(plain) or _DAY_MONTH.fullmatch(plain)
    if match is not None:
        if match["y"] is None and match.groupdict().get("s") in ("-", "/"):
            return None  # 'Sep-21', 'Sep/21' is a month of a year to some spreadsheets, a day to some people
        in_words = _year(match["y"]), _MONTHS[match["m"]], int(match["d"])
        return Said(in_words, in_words, weekday)
    if _SERIAL.fullmatch(plain):
        return Said(serial=int(Decimal(plain)))
    return None


def _without_weekday(plain: str) -> tuple[str, int | None]:
    """A date without the weekday that stands before or behind it, and that weekday."""
    for pattern in (_DAY_BEFORE, _DAY_BEHIND):
        named = pattern.fullmatch(plain)
        if named is None:
            continue
        rest = _CLOCK.sub("", _AT_NIGHT.sub("", named["rest"]))
        if named["w"] in _WEEKDAYS:
            return rest, _WEEKDAYS[named["w"]]
        if any(date_.fullmatch(rest) for date_ in (_FIGURES, _ISO, _MONTH_DAY, _DAY_MONTH)):
            return rest, _SHORT_WEEKDAYS[named["w"]]
    return plain, None


def _in_figures(match: re.Match[str], weekday: int | None) -> Said | None:
    a, b, year = int(match["a"]), int(match["b"]), _year(match["y"])
    month_first = (year, a, b) if _possible(year, a, b) else None
    day_first = (year, b, a) if _possible(year, b, a) else None
    if month_first is None and day_first is None:
        fails = (year, a, b)  # neither can be: 2/30 is told as a day that there is not
        return Said(fails, fails, weekday)
    return Said(month_first, day_first, weekday)


def _possible(year: int | None, month: int, day: int) -> bool:
    return make(2000 if year is None else year, month, day) is not None


def _year(text: str | None) -> int | None:
    """Two figures are of this century up to 89, the last year of which is far ahead of every book."""
    if text is None:
        return None
    short = text.removeprefix("'")
    if len(short) == 4:
        return int(short)
    return int(short) + (1900 if int(short) >= FIRST_YEAR - 1900 else 2000)


def make(year: int, month: int, day: int) -> date | None:
    """The day, or None when there is none."""
    try:
        return date(year, month, day)
    except ValueError:
        return None


def counted(days: int, count: str) -> date | None:
    """The day that a spreadsheet's count of days means, or None outside the years of any book."""
    found = _EPOCHS[count] + timedelta(days=days)
    return found if FIRST_YEAR <= found.year <= LAST_YEAR else None


_YEAR_ALONE: Final = re.compile(r"(?<![0-9])(?:19|20)[0-9]{2}(?![0-9])")


def year_named(text: str) -> int | None:
    """The one year that a title or the name of a sheet holds, or None when there is none or more than one."""
    found = {int(year) for year in _YEAR_ALONE.findall(text) if FIRST_YEAR <= int(year) <= LAST_YEAR}
    return found.pop() if len(found) == 1 else None


def year_between(month: int, day: int, above: date | None, below: date | None) -> int | None:
    """The year of a day that stands between two dated rows; None unless exactly one fits.

    With a dated row on one side only, a day of the same year on the right side of it fits.
    """
    near = [one for one in (above, below) if one is not None]
    years = range(min(one.year for one in near), max(one.year for one in near) + 1) if near else ()
    fits = [
        year
        for year in years
        if (found := make(year, month, day)) is not None
        and (above is None or above <= found)
        and (below is None or found <= below)
    ]
    return fits[0] if len(fits) == 1 else None


def is_month(word: str) -> bool:
    """Whether a word is the name of a month, in full or short."""
    return folded(word).strip(".,") in _MONTHS


def weekday_name(day: date) -> str:
    """The English name of its weekday, whatever the language of the machine."""
    return next(name for name, number in _WEEKDAYS.items() if number == day.weekday()).capitalize()
