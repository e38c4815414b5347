"""Totals in a file, held against the rows above them: what the file adds up is not believed, and not repaired."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from compliance.intake.oldbooks.lines import Line, TotalSaid
from compliance.records.quantity import Quantity
from compliance.records.state import folded

_TOTAL: Final = re.compile(
    r"(?:(?:grand|sub|gran|month|week|year|day)[ -]*)?(?:totals?|totales)\b.*"
    r"|.*\b(?:sub[ -]?totals?|subtotales|totals?|totales)"
    r"|(?:suma|sumas|sum)\b.*"
)
_BARE_TOTAL: Final = re.compile(r"(?:(?:grand|sub|gran|month|week|year|day)[ -]*)?(?:totals?|totales)|suma|sum")
_WHOLE: Final = re.compile(r"\b(grand|gran|general|year|yearly|annual|anual|ano|overall|ytd)\b|\b(19|20)[0-9]{2}\b")
_PART: Final = re.compile(r"\bsub[ -]?total")
_LONGEST: Final = 40
_MOST_NAMED: Final = 8
"""Rows that are named each; more of them are counted."""


def is_total(texts: Iterable[str]) -> str:
    """The text that says that a row is a total, '' when none does."""
    for text in texts:
        plain = folded(text).strip(" .:-=")
        if 0 < len(plain) <= _LONGEST and ("tot" in plain or "sum" in plain) and _TOTAL.fullmatch(plain):
            return text
    return ""


def is_bare_total(texts: Iterable[str]) -> bool:
    """Whether one of the texts says 'total' and nothing else, as no client is called."""
    return any(len(text) <= _LONGEST and _BARE_TOTAL.fullmatch(folded(text).strip(" .:-=")) for text in texts)


@dataclass
class _Sum:
    """One column since a row: all figures, those that a spreadsheet counts, and rows whose figure cannot be added."""

    all: Decimal = Decimal(0)
    counted: Decimal = Decimal(0)
    texts: list[int] = field(default_factory=list)
    unread: list[int] = field(default_factory=list)
    first: int = 0
    last: int = 0


class Sums:
    """Adds up the columns of one sheet as its rows come by, since its beginning and since the last total."""

    def __init__(self, sheet: str, units: Mapping[str, str]) -> None:
        self.sheet = sheet
        self.units = units
        self._whole = {column: _Sum() for column in units}
        self._part = {column: _Sum() for column in units}
        self._totals = 0

    def add(self, line: Line, unread: Sequence[str]) -> None:
        """A row of work. unread: columns whose figure cannot be read."""
        for column, unit in self.units.items():
            quantity = line.quantities.get(column)
            for one in (self._whole[column], self._part[column]):
                one.first = one.first or line.number
                one.last = line.number
                if column in unread or (quantity is not None and quantity.point is None):
                    one.unread.append(line.number)
                elif quantity is not None:
                    amount = _in_unit(quantity, unit)
                    one.all += amount
                    if column in line.counted:
                        one.counted += amount
                    else:
                        one.texts.append(line.number)

    def fits(self, figures: Mapping[str, Quantity]) -> bool:
        """Whether figures without a name are what the rows above add up to, all of them."""
        return (
            bool(figures)
            and figures.keys() <= self.units.keys()
            and any(
                all(_agrees(figures[column], sums[column].all, self.units[column]) for column in figures)
                for sums in (self._part, self._whole)
                if all(sums[column].last > sums[column].first for column in figures)
            )
        )

    def total(self, row: int, label: str, figures: Mapping[str, Quantity | None]) -> list[TotalSaid]:
        """A total: held against the rows since the last one, or all of them. None: its figure cannot be read."""
        found = [
            self._said(row, label, column, quantity) for column, quantity in figures.items() if column in self.units
        ]
        self._part = {column: _Sum() for column in self.units}
        self._totals += 1
        return [one for one in found if one is not None]

    def _said(self, row: int, label: str, column: str, quantity: Quantity | None) -> TotalSaid | None:
        unit = self.units[column]
        part, whole = self._part[column], self._whole[column]
        if whole.last == 0:
            return None
        both = [part, whole] if part.last else [whole]
        if self._meant_whole(label):
            both.reverse()
        likely = both[0]
        if quantity is None or quantity.point is None:
            return TotalSaid(self.sheet, row, column, unit, None, likely.all, likely.first, likely.last, False, "")
        fits = next((one for one in both if _agrees(quantity, one.all, unit)), None)
        one = fits or next((one for one in both if _agrees(quantity, one.counted, unit)), likely)
        says = _in_unit(quantity, unit)
        agrees = fits is not None
        return TotalSaid(
            self.sheet, row, column, unit, says, one.all, one.first, one.last, agrees, _why(quantity, one, unit, agrees)
        )

    def _meant_whole(self, label: str) -> bool:
        """Whether a total is of the whole sheet: it says so, or parts were added up before."""
        plain = folded(label)
        return not _PART.search(plain) and (self._totals > 0 or _WHOLE.search(plain) is not None)


def _why(quantity: Quantity, one: _Sum, unit: str, agrees: bool) -> str:
    told = []
    if not agrees and one.texts and _agrees(quantity, one.counted, unit):
        told.append(f"it leaves out what stands as a text in {_named(one.texts)}, as a spreadsheet's own sum does")
    if one.unread:
        told.append(f"without {_named(one.unread)}, whose figure cannot be read or added")
    return "; ".join(told)


def _named(rows: Sequence[int]) -> str:
    if len(rows) == 1:
        return f"row {rows[0]}"
    more = f" and {len(rows) - _MOST_NAMED} more" if len(rows) > _MOST_NAMED else ""
    return f"rows {', '.join(map(str, rows[:_MOST_NAMED]))}{more}"


def _agrees(quantity: Quantity, total: Decimal, unit: str) -> bool:
    """Equal, as far as the figure was written: 1,240 stands for 1,239.6 too."""
    point = quantity.point
    if point is None:
        return False
    exponent = point.as_tuple().exponent
    assert isinstance(exponent, int)
    last_place = Decimal(1).scaleb(min(exponent, 0))
    step = _in_unit(Quantity(last_place, last_place, quantity.unit), unit)
    return abs(_in_unit(quantity, unit) - total) <= step / 2


def _in_unit(quantity: Quantity, unit: str) -> Decimal:
    point = quantity.in_unit(unit).point
    assert point is not None
    return point
