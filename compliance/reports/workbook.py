"""Tables and charts as a spreadsheet file: numbers as numbers, text never as a formula, the same bytes each time.

There is no formula in such a file at all: a total that is not known cannot be summed into existence.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from io import BytesIO
from math import ceil
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.writer.excel import ExcelWriter

from compliance.records.problem import ComplianceError
from compliance.reports.model import (
    Cell,
    Chart,
    Language,
    Paper,
    Table,
)
from compliance.reports.picture import ACCENT, HAIR, INK, MUTED
from compliance.reports.sheets import Sheet
from compliance.reports.text import without_controls, word
from compliance.reports.workbook_charts import drawn, figures

LONGEST = 32_767
"""A cell of the format holds no more UTF-16 units than this; longer text goes on in the rows below, and says so."""

_PART = 16_000
_ALWAYS = datetime(2000, 1, 1)  # noqa: DTZ001 - the format's core properties know no zone
_LIKE_A_FORMULA = tuple("=+-@\t\n＝＋－＠'")
_ESCAPE_ALIKE = re.compile("_(?=x[0-9A-Fa-f]{4}_)")
_PAPERS = {"letter": "1", "A4": "9"}
_CHART_ROWS = 17
_ROWS_OF_A_PAGE = 44
"""Rows of the usual height on a sheet of paper, upright, with room to spare."""
_WIDEST, _WIDEST_OF_MANY = 44, 30
_WIDEST_NAME = 36
"""Of the first column, which says what a row is of."""
_MANY = 5
"""Columns that stand side by side upright on a sheet of paper."""
_SHORT = 12
"""Characters of a heading that is not broken in two."""
_MOST_DIGITS = 15


def render(
    title: str,
    sheets: Sequence[Sheet],
    *,
    language: Language = "en",
    paper: Paper = "letter",
    issuer: str = "",
) -> bytes:
    """The sheets as the bytes of an xlsx file, set to print on the paper named, one sheet wide."""
    book = Workbook()
    book.remove(book.active)
    names = _names([sheet.name for sheet in sheets] or [title])
    for name, sheet in zip(names, sheets or [Sheet(title, None)], strict=True):
        _Writer(book.create_sheet(name), language).write(sheet)
        _set_up_print(book[name], title, language, paper)
    return packed(book, title, issuer)


# ---- the file -----------------------------------------------------------------------------------------------


def packed(book: Any, title: str, issuer: str = "") -> bytes:
    """A workbook as the bytes of its file, with no clock and no machine in it: the same sheets are the same bytes."""
    book.properties.title = without_controls(title)
    book.properties.creator = without_controls(issuer)
    book.properties.created = book.properties.modified = _ALWAYS
    out = BytesIO()
    ExcelWriter(book, _FixedZip(out, "w", ZIP_DEFLATED)).save()
    return out.getvalue()


class _FixedZip(ZipFile):
    """A zip whose members carry no time, so that the same sheets are the same bytes."""

    def writestr(
        self,
        zinfo_or_arcname: str | ZipInfo,
        data: Any,
        compress_type: int | None = None,
        compresslevel: int | None = None,
    ) -> None:
        info = ZipInfo(str(zinfo_or_arcname), (1980, 1, 1, 0, 0, 0))
        info.compress_type = ZIP_DEFLATED
        info.create_system = 3
        super().writestr(info, data)

    def write(self, filename: Any, arcname: Any = None, *args: Any, **kwargs: Any) -> None:
        self.writestr(arcname, Path(filename).read_bytes())


def _names(wished: Sequence[str]) -> list[str]:
    """Sheet names as the format wants them: at most 31 characters, none of []:*?/\\, no two alike."""
    names: list[str] = []
    taken: set[str] = set()
    for wish in wished:
        plain = re.sub(r"[\[\]:*?/\\\s]+", " ", without_controls(wish)).strip(" '") or "-"
        at = 1
        while True:
            tail = "" if at == 1 else f" ({at})"
            name = plain
            while len(f"{name}{tail}".encode("utf-16-le")) // 2 > 31:
                name = name[:-1]
            name = f"{name.rstrip(chr(39) + ' ')}{tail}"
            if name.casefold() not in taken and name.casefold() != "history":
                break
            at += 1
        taken.add(name.casefold())
        names.append(name)
    return names


def _set_up_print(sheet: Any, title: str, language: Language, paper: Paper) -> None:
    sheet.page_setup.paperSize = _PAPERS[paper]
    sheet.page_setup.orientation = "landscape" if sheet.max_column > _MANY else "portrait"
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.oddFooter.left.text = without_controls(title).replace("&", "&&")[:120]
    sheet.oddFooter.right.text = word("page", language).format(n="&P") + "&N"
    sheet.print_options.gridLines = False
    for side in ("left", "right"):
        setattr(sheet.page_margins, side, 0.6)


# ---- cells --------------------------------------------------------------------------------------------------

_STRONG = Font("Calibri", 11, bold=True, color=INK[1:])
_CAPTION = Font("Calibri", 13, bold=True, color=ACCENT[1:])
_PALE = Font("Calibri", 11, italic=True, color=MUTED[1:])
_UNDER = Border(bottom=Side("medium", color=INK[1:]))
_OVER = Border(top=Side("medium", color=INK[1:]))
_FINE = Border(bottom=Side("thin", color=HAIR[1:]))
_KINDS = {
    "head": (_STRONG, _UNDER),
    "body": (None, _FINE),
    "muted": (_PALE, _FINE),
    "strong": (_STRONG, _FINE),
    "total": (_STRONG, _OVER),
    "caption": (_CAPTION, None),
    "note": (_PALE, None),
}


def put_text(cell: Any, text: str) -> None:
    """Text as text, whatever it begins with; to be called once the cell has its style."""
    shown = _ESCAPE_ALIKE.sub("_x005F_", without_controls(text))
    # set past the library's own guess, which takes '=...' for a formula and '#N/A' for an error
    if shown:
        cell._value, cell.data_type = shown, "s"
    if shown.startswith(_LIKE_A_FORMULA):
        cell.quotePrefix = True


class _Writer:
    """Fills one sheet from the top."""

    def __init__(self, sheet: Any, language: Language) -> None:
        self.sheet, self.language = sheet, language
        self.row = 1
        self.styles: dict[tuple[str, str, bool, bool, bool], Any] = {}
        self.widths: dict[int, int] = {}
        self.wrapped: list[tuple[int, int, str]] = []
        self.notes: list[tuple[int, int, str]] = []

    def write(self, sheet: Sheet) -> None:
        if sheet.table is not None:
            self._table(sheet.table, frozen=True)
        page = 1
        for chart in sheet.charts:
            self.row += 1 if self.row > 1 else 0
            end = self.row + _CHART_ROWS + len(chart.labels) + 3
            if self.row > 1 and end - page > _ROWS_OF_A_PAGE:  # else it would be cut in two on paper
                self.sheet.row_breaks.append(Break(id=self.row - 1))
                page = self.row
            self._chart(chart)
        widest = _WIDEST if len(self.widths) <= _MANY else _WIDEST_OF_MANY
        most = {1: max(widest, _WIDEST_NAME)}
        widths = {column: min(max(wide + 3, 9), most.get(column, widest)) for column, wide in self.widths.items()}
        for column, wide in widths.items():
            self.sheet.column_dimensions[get_column_letter(column)].width = wide
        for row, column, text in self.wrapped:
            lines = sum(max(1, ceil(len(line) * 1.05 / (widths[column] - 1))) for line in text.split("\n"))
            if lines > 1:  # not every program finds the height of a wrapped row by itself
                self._tall(row, lines)
        for row, columns, text in self.notes:
            room = sum(widths.get(column, 9) for column in range(1, columns + 1)) - 1
            self._tall(row, sum(max(1, ceil(len(line) * 1.05 / room)) for line in text.split("\n")))

    def _tall(self, row: int, lines: int) -> None:
        dimensions = self.sheet.row_dimensions[row]
        dimensions.height = min(max(dimensions.height or 0, lines * 15), 409)

    def _table(self, table: Table, frozen: bool) -> None:
        columns = tuple(_columns(table))
        if table.caption:
            self._loose(table.caption, "caption")
        for at, one in enumerate(columns, 1):
            if len(_parts(one.head, self.language)) > 1:
                raise ComplianceError.one(
                    f"a column's heading is longer than a cell holds, {LONGEST} characters",
                    f"table {table.caption[:60]!r}, column {at}",
                    "shorten the name that the column is called by",
                )
            self._text(at, one.head, "head", right=one.right)
        if frozen:  # of a wide table the first column too: it says what the row is of
            self.sheet.freeze_panes = f"{'B' if len(columns) > _MANY else 'A'}{self.row + 1}"
            self.sheet.print_title_rows = f"{self.row}:{self.row}"
        self.row += 1
        for row in table.rows:
            self._row(row, columns, "")
        if not table.rows:
            self._text(1, word("no entries", self.language), "muted")
            self.row += 1
        if table.totals:
            self._row(table.totals, columns, "total")
        if table.note:
            self._note(table.note, len(columns))

    def _row(self, row: tuple[Cell, ...], columns: Sequence[_Col], kind: str) -> None:
        rest: list[tuple[int, list[str], str]] = []
        for at, one in enumerate(columns, 1):
            cell = row[one.source]
            style = kind or (cell.tone if cell.tone != "plain" else "body")
            number = cell.plus_minus if one.is_half_width else cell.number
            if number is not None and len(Decimal(number).as_tuple().digits) <= _MOST_DIGITS:
                self._number(at, number, cell.unit if cell.unit != one.unit else "", style)
                continue
            shown = "" if one.is_half_width and number is None else number if one.is_half_width else cell.text
            first, *more = _parts(shown or "", self.language)
            self._text(at, first, style, right=one.right)
            if more:
                rest.append((at, more, style))
        self.row += 1
        while rest:
            for at, more, style in rest:
                self._text(at, more.pop(0), style)
            rest = [one for one in rest if one[1]]
            self.row += 1

    def _loose(self, text: str, kind: str) -> None:
        """Text that belongs to no column, in as many rows as it needs."""
        for part in _parts(text, self.language):
            self._text(1, part, kind, wrap=False)
            self.row += 1

    def _note(self, text: str, columns: int) -> None:
        """Text under a table, within its width: running on to the right it would shrink all of the sheet on paper."""
        for part in _parts(text, self.language):
            self._text(1, part, "note")
            if columns > 1:
                self.sheet.merge_cells(start_row=self.row, end_row=self.row, start_column=1, end_column=columns)
            self.notes.append((self.row, columns, part))
            self.row += 1

    def _number(self, column: int, number: str, unit: str, kind: str) -> None:
        cell = self.sheet.cell(self.row, column)
        value = Decimal(number)
        places = max(0, -int(value.as_tuple().exponent))
        digits = "#,##0" + (f".{'0' * places}" if places else "")
        name = without_controls(unit).replace('"', "")
        form = f'{digits} "{name}"' if name else digits
        cell.value = value
        self._dress(cell, kind, form, right=True, wrap=False)
        self._measure(column, f"{value:,f} {name}")

    def _text(self, column: int, text: str, kind: str, right: bool = False, wrap: bool = True) -> None:
        cell = self.sheet.cell(self.row, column)
        self._dress(cell, kind, "@" if kind in ("body", "muted", "strong") else "General", right, wrap)
        put_text(cell, text)
        if kind not in ("caption", "note"):
            self._measure(column, _in_two_lines(text) if kind == "head" else text)
            self.wrapped.append((self.row, column, text))

    def _dress(self, cell: Any, kind: str, form: str, right: bool, wrap: bool) -> None:
        key = (kind, form, right, wrap, cell.column > 1)
        if key not in self.styles:
            font, border = _KINDS[kind]
            if font:
                cell.font = font
            if border:
                cell.border = border
            cell.number_format = form
            side, indent = ("right", 0) if right else ("left", int(cell.column > 1))
            cell.alignment = Alignment(side, "top", wrap_text=wrap, indent=indent)
            self.styles[key] = copy(cell._style)
        cell._style = copy(self.styles[key])

    def _measure(self, column: int, text: str) -> None:
        longest = max(len(line) for line in text[:200].split("\n"))
        self.widths[column] = max(self.widths.get(column, 0), longest)

    # ---- charts

    def _chart(self, chart: Chart) -> None:
        self._loose(chart.title, "caption")
        anchor = f"A{self.row}"
        self.row += _CHART_ROWS
        head = self.row
        self._table(figures(chart, self.language), frozen=False)
        if chart.series and chart.labels:
            self.sheet.add_chart(drawn(chart, self.sheet, head), anchor)


@dataclass(frozen=True)
class _Col:
    """A column of the sheet. source: the table's column; is_half_width: it holds that column's ±."""

    head: str
    unit: str
    source: int
    right: bool
    is_half_width: bool = False


def _columns(table: Table) -> Iterator[_Col]:
    every = (*table.rows, table.totals) if table.totals else table.rows
    for at, column in enumerate(table.columns):
        head = f"{column.label} ({column.unit})" if column.unit else column.label
        yield _Col(head, column.unit, at, column.numeric or column.align == "right")
        if any(row[at].plus_minus is not None for row in every):
            yield _Col(f"{head} ±", column.unit, at, True, True)


def _in_two_lines(head: str) -> str:
    """A heading as it breaks best, to be measured: a column of short figures is not as wide as its name."""
    spaces = [at for at, letter in enumerate(head) if letter == " "]
    if len(head) <= _SHORT or not spaces:
        return head
    at = min(spaces, key=lambda at: abs(2 * at - len(head)))
    return f"{head[:at]}\n{head[at + 1 :]}"


def _parts(text: str, language: Language) -> list[str]:
    """Text in pieces that a cell can hold; all but the last say that they go on below."""
    shown = without_controls(text)
    if len(shown.encode("utf-16-le")) // 2 <= LONGEST:
        return [text]
    pieces = [shown[at : at + _PART] for at in range(0, len(shown), _PART)]
    more = word("continues below", language)
    return [*(f"{piece}{more}" for piece in pieces[:-1]), pieces[-1]]
