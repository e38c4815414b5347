"""The day of each row of a sheet: what its cell says, and where the year comes from when the cell says none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from compliance.intake.moments import FIRST_YEAR
from compliance.intake.oldbooks import days
from compliance.intake.oldbooks.amounts import DITTO
from compliance.intake.oldbooks.cells import SAYS, Fault
from compliance.intake.oldbooks.days import Said
from compliance.intake.oldbooks.filemap import SAME_AS_ABOVE, YES, FileMap
from compliance.intake.oldbooks.habits import Habits
from compliance.intake.oldbooks.table import Cell
from compliance.intake.text import shown
from compliance.records.answer import NOT_RECORDED
from compliance.records.names import folded

DATES, TURNED, BLANK_DATES, YEAR = "dates", "turned_dates", "blank_dates", "year"
"""Keys of questions about days, as the mapping answers them."""
_HALF_A_YEAR: Final = 182
ABOVE: Final = "above"
"""The key of a row that waits for the row above it."""


@dataclass
class Dated:
    """One row on its way to a day. year: the year of its part of the sheet, where one is named.

    partial: (month, day), which only lacks its year. above: it has the day of the row above. back: that it
    lies far before the row above, where its year is only that of the sheet.
    """

    cell: Cell
    year: int | None = None
    day: date | None = None
    fault: Fault | None = None
    partial: tuple[int, int] | None = None
    above: bool = False
    weekday: int | None = None
    serial: bool = False
    from_near: bool = False
    from_year: bool = False
    back: str = ""


def date_rows(rows: Sequence[Dated], habits: Habits, said: FileMap, today: date) -> None:
    """Give every row its day, or the fault that it has none. today: no old row is later."""
    for row in rows:
        _read(row, habits, said)
    _find_years(rows)
    last: Dated | None = None
    for row in rows:
        if row.above:
            _as_above(row, last)
        _check(row, today)
        _look_back(row, last)
        last = row


def reads_as_day(cell: Cell, said: FileMap) -> bool:
    """Whether a cell says anything of a day."""
    text = said.meaning("date", cell.text) or cell.text
    return cell.day is not None or days.said(text) is not None


def _read(row: Dated, habits: Habits, said: FileMap) -> None:
    cell = row.cell
    text = said.meaning("date", cell.text) or cell.text
    if cell.fault:
        row.fault = _fault(row, cell.fault)
    elif cell.blank or text == NOT_RECORDED:
        row.above = said.choice("blank_dates") == SAME_AS_ABOVE
        if not row.above:
            row.fault = Fault("there is no date", BLANK_DATES)
    elif cell.day is not None:
        _typed(row, cell.day, habits, said)
    elif folded(text) in DITTO:
        row.above = True
    else:
        found = days.said(text)
        if found is None:
            row.fault = _fault(row, f"{shown(cell.text)} names no single day", SAYS)
        else:
            _said(row, found, habits)


def _typed(row: Dated, day: date, habits: Habits, said: FileMap) -> None:
    row.day = day
    if not habits.turned:
        return
    turned = said.choice("turned_dates")
    if turned == YES:
        row.day = days.make(day.year, day.day, day.month)
    elif not turned and day.day != day.month:
        row.fault = _fault(row, f"the spreadsheet shows {day}, and may have turned day and month", TURNED)


def _said(row: Dated, found: Said, habits: Habits) -> None:
    row.weekday = found.weekday
    if found.serial is not None:
        row.day, row.serial = days.counted(found.serial, habits.day_count), True
        if row.day is None:
            row.fault = _fault(row, f"{row.cell.text!r} is a count of days that leads to no year of any book")
        return
    parts = found.read("") if not found.ambiguous else found.read(habits.dates) if habits.dates else None
    if found.ambiguous and parts is None:
        row.fault = _fault(row, f"{row.cell.text!r} can be read in two ways", DATES)
        return
    if habits.dates and found.order and found.order != habits.dates:
        row.fault = _fault(row, f"{row.cell.text!r} cannot be read {habits.dates}", SAYS)
        return
    assert parts is not None
    year, month, day = parts
    year = year or row.year
    if year is None:
        row.partial = (month, day)
        if days.make(2000, month, day) is None:
            row.fault = _fault(row, f"there is no day {row.cell.text!r}")
        return
    row.from_year = parts[0] is None
    row.day = days.make(year, month, day)
    if row.day is None:
        row.fault = _fault(row, f"there is no day {row.cell.text!r}" + (f" in {year}" if row.from_year else ""))


def _find_years(rows: Sequence[Dated]) -> None:
    """Years that stand nowhere: those that fit between the dated rows above and below."""
    below: list[date | None] = []
    near: date | None = None
    for row in reversed(rows):
        below.append(near)
        near = row.day if row.day is not None and row.fault is None else near
    near = None
    for row, after in zip(rows, reversed(below), strict=True):
        if row.partial is not None and row.fault is None:
            year = days.year_between(*row.partial, near, after)
            if year is None:
                row.fault = _fault(row, f"the year of {row.cell.text!r} stands nowhere", YEAR)
            else:
                row.day, row.from_near = days.make(year, *row.partial), True
        near = row.day if row.day is not None and row.fault is None else near


def _as_above(row: Dated, last: Dated | None) -> None:
    if last is None:
        row.fault = Fault("there is no date, and no row above it to take one from")
    elif last.day is None or last.fault is not None:
        row.fault = Fault("the date is that of the row above, which has none that can be read", ABOVE)
    else:
        row.day = last.day


def _check(row: Dated, today: date) -> None:
    if row.day is None or row.fault is not None:
        return
    if row.day > today:
        row.fault = _fault(row, f"{row.day} is still to come")
    elif row.day.year < FIRST_YEAR:
        row.fault = _fault(row, f"the year {row.day.year} cannot be meant")
    elif row.weekday is not None and row.weekday != row.day.weekday():
        row.fault = _fault(row, f"{row.cell.text!r} is {row.day}, a {days.weekday_name(row.day)}", SAYS)


def _look_back(row: Dated, last: Dated | None) -> None:
    """'12/30' and below it '1/2', on a sheet of one year: a new year may have begun that nobody wrote down."""
    if last is None or row.day is None or last.day is None or not row.from_year or row.fault or last.fault:
        return
    gap = (last.day - row.day).days
    if gap > _HALF_A_YEAR:
        row.back = f"{row.cell.text!r} is read as {row.day}, {gap} days before the row above: another year may be meant"


def _fault(row: Dated, why: str, key: str = "") -> Fault:
    return Fault(f"date: {why}", key, row.cell.text, "date")
