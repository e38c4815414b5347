"""The habits of a whole file: which of two readings its dates and its decimals have, and what shows it.

One row cannot say what 03/04/2021 means; a file that also holds 03/23/2021 can. Where nothing in the file tells, or
rows tell against each other, nobody guesses: the mapping is asked, once for the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import field
from typing import Final

from compliance.intake.oldbooks import amounts, days
from compliance.intake.oldbooks.filemap import FileMap
from compliance.intake.oldbooks.headings import BY_NAME, DAY, LEVEL, REGISTER, VOLUME_OF
from compliance.intake.oldbooks.layout import Layout
from compliance.records.quick import dataclass

_FIGURES: Final = (VOLUME_OF, REGISTER, LEVEL)


@dataclass(frozen=True)
class Habits:
    """dates: one of days.ORDERS, '' when it is not known; decimal: one of amounts.DECIMALS, or ''.

    turned: the date cells look as if a spreadsheet had turned day and month, since it left as texts those dates that
    it could not turn. day_count: see `days.counted`.
    told: what was found in the file, in words.
    """

    dates: str = ""
    decimal: str = ""
    turned: bool = False
    day_count: str = days.DAY_COUNTS[0]
    told: tuple[str, ...] = ()


@dataclass
class _Seen:
    """For each reading, where it was seen first, and how often either reading would do."""

    first: dict[str, str] = field(default_factory=dict)
    either: int = 0

    def only(self) -> str:
        """The one reading that was seen; '' for none, or for both."""
        return next(iter(self.first)) if len(self.first) == 1 else ""


def habits_of(layouts: Sequence[Layout], said: FileMap) -> Habits:
    """What the mapping says, and for what it does not say, what all rows of the file show together."""
    dates, decimal = _Seen(), _Seen()
    typed_days: list[int] = []
    for layout in layouts:
        for name, index in layout.columns.items():
            cells = [(row.number, row.cell(index)) for row in layout.body]
            if BY_NAME[name].reads == DAY:
                typed_days += [cell.day.day for _, cell in cells if cell.day is not None]
                texts = ((n, said.meaning(name, c.text) or c.text) for n, c in cells if c.day is None and c.text)
                _look_at_dates(texts, layout, dates)
            elif BY_NAME[name].reads in _FIGURES:
                texts = ((n, said.meaning(name, c.text) or c.text) for n, c in cells if c.number is None and c.text)
                _look_at_figures(texts, layout, decimal)
    told = []
    if dates.either and not said.choice("dates") and dates.only():
        told.append(f"dates are read {dates.only()}, as {dates.first[dates.only()]} can only be")
    if decimal.either and not said.choice("decimal") and decimal.only():
        told.append(f"decimals stand behind a {decimal.only()}, as in {decimal.first[decimal.only()]}")
    turned = bool(typed_days) and max(typed_days) <= 12 and bool(dates.first)
    return Habits(
        said.choice("dates") or dates.only(),
        said.choice("decimal") or decimal.only(),
        turned,
        said.choice("day_count") or days.DAY_COUNTS[0],
        tuple(told),
    )


def _look_at_dates(texts: Iterable[tuple[int, str]], layout: Layout, seen: _Seen) -> None:
    for number, text in texts:
        said = days.said(text)
        if said is None:
            continue
        order = said.order or said.order_by_weekday
        if order:
            seen.first.setdefault(order, f"{text!r} {_where(layout, number)}")
        seen.either += said.ambiguous


def _look_at_figures(texts: Iterable[tuple[int, str]], layout: Layout, seen: _Seen) -> None:
    for number, text in texts:
        allowed = amounts.marks(text)
        if len(allowed) == 1:
            seen.first.setdefault(next(iter(allowed)), f"{text!r} {_where(layout, number)}")
        seen.either += amounts.two_readings(text)


def _where(layout: Layout, number: int) -> str:
    return f"in row {number} of sheet {layout.sheet.name!r}" if layout.sheet.name else f"in row {number}"
