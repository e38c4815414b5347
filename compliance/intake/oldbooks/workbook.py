"""A workbook (.xlsx, .xlsm) as sheets of plain cells: nothing is worked out, no macro is run, no claim is believed."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Container, Iterable, Iterator, Mapping
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, Final
from zipfile import ZipFile

import openpyxl
from defusedxml.ElementTree import DefusedXMLParser  # type: ignore[import-untyped]
from openpyxl.utils.cell import coordinate_to_tuple

from compliance.intake.oldbooks import limits
from compliance.intake.oldbooks.archive import Archive, broken, looked_through
from compliance.intake.oldbooks.table import BLANK, Cell, Row, Sheet, visible
from compliance.intake.oldbooks.telling import Say, told, unsaid
from compliance.intake.oldbooks.texts import text_cell
from compliance.records.problem import Problem
from compliance.records.quick import dataclass

NO_VALUE: Final = "a formula whose last value is not in the file"
_CHUNK: Final = 1 << 16
_DIGITS: Final = ".15g"
"""A spreadsheet keeps 15 digits of a number and shows no more; the binary number behind them has noise."""
_LOCALE: Final = re.compile(r"\[\$-[0-9A-Fa-f]+\]")
"""A language in a number format; a sign of money stands before the stroke."""
_WITHOUT_PARTS: Final = frozenset("#,.0?_ ()-;[]$@*")


@dataclass(frozen=True)
class Opened:
    """A workbook that was read. hidden: names of sheets; hidden_rows: by the name of their sheet.

    formulas: cells that hold a formula, of which the last value was taken; unvalued: those of which the file has none.
    """

    sheets: tuple[Sheet, ...]
    hidden: tuple[str, ...]
    hidden_rows: Mapping[str, tuple[int, ...]]
    formulas: int
    unvalued: int


class _TooLarge(Exception):
    """Raised while reading, when a count goes beyond its limit."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.what)
        self.problem = problem


def read_workbook(data: bytes, where: str, say: Say = unsaid) -> Opened | Problem:
    """All sheets of a workbook, or the one thing that is wrong with it. say: is told how far it is."""
    if not openpyxl.DEFUSEDXML:
        return Problem(
            "workbooks are not opened here: the library that refuses harmful ones is missing",
            where,
            "install defusedxml, or save the sheets as .csv",
        )
    archive = looked_through(data, where)
    if isinstance(archive, Problem):
        return archive
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about what is left aside: validation lists, dates that are none
            return _opened(archive, where, say)
    except _TooLarge as error:
        return error.problem
    except Exception as error:  # of a library that was written for sound files; nothing was written, nothing is lost
        return broken(error, where)


def _opened(archive: Archive, where: str, say: Say) -> Opened:
    book = openpyxl.load_workbook(io.BytesIO(archive.data), read_only=True, data_only=True, keep_links=False)
    count = _Count(where)
    sheets: list[Sheet] = []
    hidden_rows: dict[str, tuple[int, ...]] = {}
    formulas = 0
    try:
        for sheet in book.worksheets:
            sheet.reset_dimensions()
            part = sheet._worksheet_path  # the one name under which the library keeps it
            found = _seen(archive.data, part) if part in archive.formulas | archive.hidden else _Seen()
            formulas += len(found.formulas)
            read = _sheet(visible(sheet.title), _rows(sheet, found.formulas, count, say))
            sheets.append(read)
            if unseen := tuple(row.number for row in read.rows if row.number in found.hidden):
                hidden_rows[read.name] = unseen
        hidden = tuple(visible(sheet.title) for sheet in book.worksheets if sheet.sheet_state != "visible")
    finally:
        book.close()
    if len({sheet.name for sheet in sheets}) < len(sheets):
        raise ValueError("two sheets have the same name")
    unvalued = sum(cell.fault == NO_VALUE for sheet in sheets for row in sheet.rows for cell in row.cells)
    return Opened(tuple(sheets), hidden, hidden_rows, formulas, unvalued)


class _Count:
    """What was read so far, over all sheets."""

    def __init__(self, where: str) -> None:
        self.where = where
        self.rows = 0
        self.places = 0

    def passed_over(self, places: int) -> None:
        self.places += places
        if self.places > limits.PLACES:
            raise _TooLarge(limits.far_out(self.where))

    def row(self, width: int) -> None:
        self.rows += 1
        if self.rows > limits.ROWS:
            raise _TooLarge(limits.too_many_rows(self.where))
        if width > limits.COLUMNS:
            raise _TooLarge(limits.too_many_columns(self.where))


def _sheet(name: str, rows: Iterable[Row]) -> Sheet:
    found = tuple(rows)
    blank = found[-1].number - found[0].number + 1 - len(found) if found else 0
    return Sheet(name, found, blank)


def _rows(sheet: Any, formulas: Container[tuple[int, int]], count: _Count, say: Say) -> Iterator[Row]:
    shapes: dict[str, _Shape] = {}
    for number, raw in enumerate(told(sheet.iter_rows(), say, "reading rows of the file"), start=1):
        if len(raw) > limits.COLUMNS or not raw:
            count.passed_over(len(raw) or 1)
        cells = [_cell(one, shapes) if one.value is not None else BLANK for one in raw]
        if formulas:
            for index, cell in enumerate(cells):
                if cell is BLANK and (number, index + 1) in formulas:
                    cells[index] = Cell(fault=NO_VALUE)
        while cells and cells[-1].blank:
            cells.pop()
        if cells:
            count.row(len(cells))
            yield Row(number, tuple(cells))


@dataclass(frozen=True)
class _Shape:
    """What a number format adds to the digits: leading zeros, words behind it, or that it is no plain number."""

    zeros: int = 0
    words: str = ""
    percent: bool = False
    money: bool = False


def _cell(raw: Any, shapes: dict[str, _Shape]) -> Cell:
    value = raw.value
    if isinstance(value, str):
        return text_cell(value)
    if isinstance(value, bool):
        return Cell("TRUE" if value else "FALSE")
    if isinstance(value, int | float):
        format_ = raw.number_format
        shape = shapes.get(format_)
        if shape is None:
            shape = shapes[format_] = _shape(format_)
        return _number(Decimal(format(value, _DIGITS)) if isinstance(value, float) else Decimal(value), shape)
    if isinstance(value, datetime):
        plain = value.time() == time(0)
        return Cell(value.date().isoformat() if plain else value.isoformat(" ", "minutes"), day=value.date())
    if isinstance(value, date):
        return Cell(value.isoformat(), day=value)
    return text_cell(str(value))  # a time of day, or a span


def _number(number: Decimal, shape: _Shape) -> Cell:
    if not number.is_finite():
        return Cell(str(number))
    if shape.percent:
        return Cell(f"{(number * 100).normalize():f}%")  # 95 % of something is no 0.95 gallons
    text = format(number, "f")
    if shape.money:
        return Cell(f"${text}")
    if shape.zeros and number == number.to_integral_value():
        text = format(number, f"0{shape.zeros}.0f")
    if shape.words:
        return Cell(f"{text} {shape.words}")  # '450 gal' as it is seen: the unit counts, so it is read as a text
    return Cell(text, number=number)


def _shape(format_: str) -> _Shape:
    """Leading zeros of an id ('00000') and a unit that stands in the format ('0 "gal"'); all else is only looks."""
    first = format_.partition(";")[0]
    if set(first) == {"0"} and len(first) > 1:
        return _Shape(zeros=len(first))
    words = "".join(first.split('"')[1::2]).strip()
    bare = "".join(first.split('"')[::2])
    if "%" in bare:
        return _Shape(percent=True)
    if any(sign in _LOCALE.sub("", first) for sign in "$€£"):
        return _Shape(money=True)
    if words and words[0].isalpha() and "0" in bare and set(bare) <= _WITHOUT_PARTS:
        return _Shape(words=words)
    return _Shape()


def _seen(data: bytes, part: str) -> _Seen:
    """What the library does not tell of the cells of a part."""
    target = _Seen()
    parser = DefusedXMLParser(target=target)
    with ZipFile(io.BytesIO(data)) as archive, archive.open(part) as source:
        while piece := source.read(_CHUNK):
            parser.feed(piece)
    parser.close()
    return target


class _Seen:
    """Listens to a parser; keeps places, and no text. formulas: (row, column) of cells; hidden: numbers of rows."""

    def __init__(self) -> None:
        self.formulas: set[tuple[int, int]] = set()
        self.hidden: set[int] = set()
        self._row = 0
        self._column = 0

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        name = tag.rpartition("}")[2]
        if name == "row":
            self._row = int(attributes.get("r", self._row + 1))
            self._column = 0
            if attributes.get("hidden") in ("1", "true"):
                self.hidden.add(self._row)
        elif name == "c":
            place = attributes.get("r")
            if place:
                self._row, self._column = coordinate_to_tuple(place)
            else:
                self._column += 1
        elif name == "f":
            self.formulas.add((self._row, self._column))

    def end(self, tag: str) -> None:
        """Nothing is kept."""

    def data(self, text: str) -> None:
        """Nothing is kept."""

    def close(self) -> None:
        """Nothing is left to do."""
