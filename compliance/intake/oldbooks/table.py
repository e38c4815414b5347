"""A spreadsheet as it was read: sheets, rows and cells, before anybody asks what they mean."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Final, NamedTuple

from compliance.records.quick import dataclass


class Cell(NamedTuple):
    """One cell. text: what it shows. number, day: where the file itself says that it is one.

    fault: why it cannot be taken, '' when it can: what is broken in the file is no matter of a mapping.
    """

    text: str = ""
    number: Decimal | None = None
    day: date | None = None
    fault: str = ""

    @property
    def blank(self) -> bool:
        """Nothing was written here, and nothing is wrong."""
        return not self.text and not self.fault


BLANK: Final = Cell()
_MOST_NAMED: Final = 8
"""Rows that are named each; more of them are counted."""


@dataclass(frozen=True)
class Row:
    """One row with something in it. number: as a spreadsheet numbers it, from 1."""

    number: int
    cells: tuple[Cell, ...]

    def cell(self, index: int) -> Cell:
        """The cell in a column, from 0; blank beyond the last."""
        return self.cells[index] if index < len(self.cells) else BLANK

    @property
    def text(self) -> str:
        """The row's own text, cell by cell, with nothing in it that a terminal would obey.

        A blank cell keeps its place between two others: of two columns of figures one is told from the other by it.
        """
        filled = [place for place, cell in enumerate(self.cells) if not cell.blank]
        cells = self.cells[filled[0] : filled[-1] + 1] if filled else ()
        return " | ".join(visible(cell.text) or (f"({cell.fault})" if cell.fault else "") for cell in cells)


@dataclass(frozen=True)
class Sheet:
    """One sheet. rows: those with something in them; blank: rows without, between the first and the last of them."""

    name: str
    rows: tuple[Row, ...]
    blank: int = 0


@dataclass(frozen=True)
class OldBook:
    """A file from before the book. sha256: of its bytes; notes: how it was read, where that was not plain."""

    name: str
    sha256: str
    sheets: tuple[Sheet, ...]
    notes: tuple[str, ...] = ()


def visible(text: str) -> str:
    """A text on one line; what cannot be printed, or turns the direction of writing, is spelled out."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else " " if c in "\t\r\n\xa0" else f"<U+{ord(c):04X}>" for c in text)


def rows_named(rows: Sequence[int]) -> str:
    """'row 4', 'rows 4, 9, 12'; of many the first, and how many more."""
    if len(rows) == 1:
        return f"row {rows[0]}"
    more = f" and {len(rows) - _MOST_NAMED:,} more" if len(rows) > _MOST_NAMED else ""
    return f"rows {', '.join(map(str, rows[:_MOST_NAMED]))}{more}"


def letter(index: int) -> str:
    """The name of a column: 0 is A, 26 is AA."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(ord("A") + rest) + name
    return name
