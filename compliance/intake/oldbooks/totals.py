"""Totals in a file, held against the rows above them: what the file adds up is not believed, and not repaired."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from compliance.intake.oldbooks import days
from compliance.intake.oldbooks.lines import Line, TotalSaid
from compliance.intake.oldbooks.table import rows_named
from compliance.records.names import folded
from compliance.records.quantity import Quantity

_TOTAL: Final = re.compile(
    r"(?:(?:grand|sub|gran|month|week|year|day)[ -]*)?(?:totals?|totales)\b.*"
    r"|.*\b(?:sub[ -]?totals?|subtotales|totals?|totales)"
    r"|(?:suma|sumas|sum)\b.*"
)
_WORDS: Final = re.compile(r"[^\W_]+")
_SUM_WORDS: Final = frozenset((
    "total", "totals", "totales", "tot", "tots", "ttl", "ttls", "subtotal", "subtotals", "subtotales", "subtot",
    "subtots", "subttl", "subt", "suma", "sumas", "sum", "sums", "acumulado", "acum", "ytd", "mtd",
))  # fmt: skip
"""What a total is called, short and long; alone, or among words that only say of what it is the total."""
_OF_WHAT: Final = frozenset((
    "grand", "gran", "general", "sub", "the", "of", "for", "this", "to", "date", "el", "la", "del", "de", "al", "este",
    "esta", "day", "daily", "dia", "week", "weekly", "wk", "semana", "sem", "semanal", "quincena", "month", "monthly",
    "mes", "mensual", "quarter", "trimestre", "year", "yearly", "annual", "ano", "anual", "page", "pg", "pagina", "pag",
    "hoja", "sheet", "no", "gal", "gals", "gallons", "galones", "litros", "litres", "liters",
))  # fmt: skip
_AVERAGES: Final = frozenset((
    "avg", "ave", "average", "averages", "mean", "median", "promedio", "promedios", "prom", "max", "maximum", "maximo",
    "min", "minimum", "minimo", "highest", "lowest", "percent", "porcentaje",
))  # fmt: skip
_OF_FIGURES: Final = frozenset((
    "used", "recovered", "recovery", "rate", "per", "night", "job", "stop", "por", "noche", "trabajo", "usado",
    "recuperado",
))  # fmt: skip
_CARRIED: Final = frozenset((
    "carried forward", "carry forward", "carried over", "brought forward", "balance forward", "c f", "b f", "c fwd",
    "b fwd", "suma y sigue", "suma anterior", "suma siguiente",
))  # fmt: skip
"""What stands at the foot of one page and at the head of the next."""
_MAY_BE: Final = re.compile(r"t(?:ot|tl)|s[uú]|acu|[ym]td|fwd|for|over|f\W*$", re.IGNORECASE)
"""In every text that names a sum; every cell of every row is looked at, and hardly one has it."""
_PERIOD: Final = re.compile(
    r"(?:[0-9]{1,2}(?:st|nd|rd|th|a|ra|da)? )?"
    r"(?:week|wk|semana|sem|quincena|month|mes|quarter|trimestre|page|pg|pagina|pag|hoja)"
    r"(?:\.? ?(?:#|no\.?|num\.?)? ?[0-9].*|\.? (?:ending|ended|of|del|de la|al)\b.*)?"
)
_WHOLE: Final = re.compile(r"\b(grand|gran|general|year|yearly|annual|anual|ano|overall|ytd)\b|\b(19|20)[0-9]{2}\b")
_PART: Final = re.compile(r"\bsub[ -]?t|\b(week|weekly|wk|semana|sem|semanal|quincena|page|pg|pagina|pag|hoja)[0-9]*\b")
_LONGEST: Final = 40
_LONG_PART: Final = re.compile(r"\s*sub[ -]?total", re.IGNORECASE)
_LONGEST_PART: Final = 100
"""Characters of a label that begins as no sentence does."""


def is_total(texts: Iterable[str]) -> str:
    """The text that says that a row is a total, '' when none does."""
    for text in texts:
        plain = _label(text)
        if plain and (_TOTAL.fullmatch(plain) or _names_a_sum(plain)):
            return text
    return ""


def is_bare_total(texts: Iterable[str]) -> bool:
    """Whether one of the texts says 'total' and of what, and nothing else, as no client is called."""
    return any(_MAY_BE.search(text) is not None and _names_a_sum(_label(text)) for text in texts)


def is_period(text: str) -> bool:
    """Whether a text names a week, a month or a page by its number: 'Week 2', 'Semana del 3 al 9'.

    Some write so beside a total; others write so beside the work of that week.
    """
    return _PERIOD.fullmatch(_label(text)) is not None


def is_month_alone(text: str) -> bool:
    """Whether a text is the name of a month and nothing else but a year: beside figures it may be what they are of."""
    words = _WORDS.findall(_label(text))
    return (
        len(words) in (1, 2) and days.is_month(words[0]) and (len(words) == 1 or days.year_named(words[1]) is not None)
    )


def is_average(text: str) -> bool:
    """Whether a text says that its row is an average, a largest or a smallest figure: no work and no sum."""
    words = _WORDS.findall(_label(text))
    return any(word in _AVERAGES for word in words) and all(
        word in _AVERAGES or word in _OF_WHAT or word in _OF_FIGURES or word.isdigit() or days.is_month(word)
        for word in words
    )


def _label(text: str) -> str:
    longest = _LONGEST_PART if _LONG_PART.match(text) else _LONGEST
    return folded(text).strip(" .:-=*#") if len(text) <= longest else ""


def _names_a_sum(plain: str) -> bool:
    words = _WORDS.findall(plain)
    if " ".join(words) in _CARRIED:
        return True
    if words[:2] == ["sub", "t"]:
        words[:2] = ["subt"]
    return any(word in _SUM_WORDS for word in words) and all(
        word in _SUM_WORDS or word in _OF_WHAT or word.isdigit() or days.is_month(word) for word in words
    )


@dataclass
class _Amounts:
    """Figures of some rows: all, those that a spreadsheet counts, rows whose figure is a text or cannot be added."""

    all: Decimal = Decimal(0)
    counted: Decimal = Decimal(0)
    texts: list[int] = field(default_factory=list)
    unread: list[int] = field(default_factory=list)

    def __add__(self, other: _Amounts) -> _Amounts:
        return _Amounts(
            self.all + other.all,
            self.counted + other.counted,
            sorted(self.texts + other.texts),
            sorted(self.unread + other.unread),
        )


@dataclass
class _Sum:
    """One column since a row. dated: its rows of work; undated: rows of which nobody knows yet whether they are any."""

    dated: _Amounts = field(default_factory=_Amounts)
    undated: _Amounts = field(default_factory=_Amounts)
    without_date: list[int] = field(default_factory=list)
    first: int = 0
    last: int = 0

    def readings(self) -> list[_Amounts]:
        """What the rows may add up to: those with a date, then, where some have none, all of them."""
        return [self.dated, self.dated + self.undated] if self.without_date else [self.dated]


class Sums:
    """Adds up the columns of one sheet as its rows come by, since its beginning and since the last total."""

    def __init__(self, sheet: str, units: Mapping[str, str]) -> None:
        self.sheet = sheet
        self.units = units
        self._whole = {column: _Sum() for column in units}
        self._part = {column: _Sum() for column in units}
        self._before = self._part  # the part that the last total was of
        self._totals = 0

    def add(self, line: Line, unread: Sequence[str], *, undated: bool = False) -> None:
        """A row of work. unread: columns whose figure cannot be read. undated: it names no day, and may be no work."""
        for column, unit in self.units.items():
            quantity = line.quantities.get(column)
            amount = None if quantity is None or quantity.point is None else _in_unit(quantity, unit)
            for one in (self._whole[column], self._part[column]):
                one.first = one.first or line.number
                one.last = line.number
                amounts = one.undated if undated else one.dated
                if undated and (column in unread or quantity is not None):
                    one.without_date.append(line.number)
                if column in unread or (quantity is not None and amount is None):
                    amounts.unread.append(line.number)
                elif amount is not None:
                    amounts.all += amount
                    if column in line.counted:
                        amounts.counted += amount
                    else:
                        amounts.texts.append(line.number)

    def fits(self, figures: Mapping[str, Quantity]) -> bool:
        """Whether figures without a name are what the rows above add up to, all of them."""
        return (
            bool(figures)
            and figures.keys() <= self.units.keys()
            and any(
                all(_agrees(figures[column], sums[column].dated.all, self.units[column]) for column in figures)
                for sums in (self._part, self._whole)
                if all(sums[column].last > sums[column].first for column in figures)
            )
        )

    def total(self, row: int, label: str, figures: Mapping[str, Quantity | None]) -> list[TotalSaid]:
        """A total: held against the rows since the last one, or all of them. None: its figure cannot be read."""
        found = [
            self._said(row, label, column, quantity) for column, quantity in figures.items() if column in self.units
        ]
        if any(part.last for part in self._part.values()):
            self._before, self._part = self._part, {column: _Sum() for column in self.units}
        self._totals += 1
        return [one for one in found if one is not None]

    def _said(self, row: int, label: str, column: str, quantity: Quantity | None) -> TotalSaid | None:
        unit = self.units[column]
        part, whole = self._part[column], self._whole[column]
        if whole.last == 0:
            return None
        meant_whole = self._meant_whole(label)
        if not part.last and not meant_whole:
            part = self._before[column]  # 'Sub-total' and, below it, 'Week 2'
        both = [part, whole] if part.last else [whole]
        if meant_whole:
            both.reverse()
        likely = both[0]
        if quantity is None or quantity.point is None:
            adds_up = likely.dated.all
            return TotalSaid(self.sheet, row, column, unit, None, adds_up, likely.first, likely.last, False, "")
        choices = [(one, amounts) for one in both for amounts in one.readings()]
        fits = next((one for one in choices if _agrees(quantity, one[1].all, unit)), None)
        as_sheet = next((one for one in choices if _agrees(quantity, one[1].counted, unit)), None)
        nearest = min(both, key=lambda one: abs(_in_unit(quantity, unit) - one.dated.all))  # a tie: the likelier
        sums, amounts = fits or as_sheet or (nearest, nearest.dated)
        told = []
        if fits is None and as_sheet is not None and amounts.texts:
            told.append(
                f"it leaves out what stands as a text in {rows_named(amounts.texts)}, as a spreadsheet's own sum does"
            )
        if amounts.unread:
            told.append(f"without {rows_named(amounts.unread)}, whose figure cannot be read or added")
        if sums.without_date:
            how = "without" if amounts is sums.dated else "with"
            verb = "has" if len(sums.without_date) == 1 else "have"
            told.append(f"{how} {rows_named(sums.without_date)}, which {verb} no date")
        says, why = _in_unit(quantity, unit), "; ".join(told)
        return TotalSaid(self.sheet, row, column, unit, says, amounts.all, sums.first, sums.last, fits is not None, why)

    def _meant_whole(self, label: str) -> bool:
        """Whether a total is of the whole sheet: it says so, or parts were added up before."""
        plain = folded(label)
        if _PART.search(plain) or any(days.is_month(word) for word in _WORDS.findall(plain)):
            return False
        return self._totals > 0 or _WHOLE.search(plain) is not None


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
