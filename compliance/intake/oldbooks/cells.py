"""One cell of a known column: what is stored of it, or why it cannot be taken yet, or at all."""

from __future__ import annotations

from typing import Final

from compliance.intake.oldbooks import amounts
from compliance.intake.oldbooks.amounts import DITTO, ERRORS, Figure, Unread
from compliance.intake.oldbooks.filemap import FileMap
from compliance.intake.oldbooks.habits import Habits
from compliance.intake.oldbooks.headings import ID, LEVEL, NAME, REGISTER, REMARK, Column
from compliance.intake.oldbooks.table import Cell
from compliance.intake.text import LONGEST_NAME, shown
from compliance.records.answer import NOT_RECORDED, WRITTEN
from compliance.records.names import folded
from compliance.records.quantity import Quantity
from compliance.records.quick import dataclass

SAYS: Final = "says"
"""The key of a question that the table [says] of a mapping answers: what this text stands for."""
DECIMAL: Final = "decimal"
"""The key of the question which mark stands before decimals."""


_NO_NAMES: Final = frozenset((
    "none", "no", "nil", "tbd", "tba", "unknown", "not known", "pending", "lost", "missing", "no ticket", "no number",
    "x", "xx", "xxx", "s/n", "sn", "ninguno", "ninguna", "no hay", "sin numero", "sin boleta", "sin recibo",
    "desconocido", "desconocida", "no se sabe", "no se", "pendiente", "perdido", "perdida", "falta", "pend", "s/d",
    "sin dato", "sin datos", "extraviado", "extraviada", "se perdio",
))  # fmt: skip
"""What stands where a name or a number belongs and may be none: kept as one, a night would have the ticket 'lost'."""


@dataclass(frozen=True)
class Value:
    """What a cell says. stored: None where nothing is recorded. quantity: of a figure, to add up with.

    counts: a spreadsheet takes the cell for a number, so that its SUM counts it.
    """

    stored: str | None = None
    quantity: Quantity | None = None
    counts: bool = False


@dataclass(frozen=True)
class Fault:
    """Why a cell, or a row, is not taken. key: what in a mapping would answer it; '' when the file has to be mended.

    text, column: of the cell, where the question is about it.
    """

    why: str
    key: str = ""
    text: str = ""
    column: str = ""


BLANK_VALUE: Final = Value()


@dataclass(frozen=True)
class Meant:
    """How the cells of one column are read. unit: of a bare figure."""

    column: Column
    unit: str
    habits: Habits
    said: FileMap


def read_cell(cell: Cell, meant: Meant, above: Value | Fault | None) -> Value | Fault:
    """Read one cell. above: what the cell of this column in the row of work above says, None when there is no row."""
    if cell.fault:
        return _fault(cell, meant, cell.fault)
    if cell.text:
        meaning = meant.said.meaning(meant.column.name, cell.text)
        if meaning == NOT_RECORDED:
            return BLANK_VALUE
        if meaning is not None:
            cell = Cell(meaning)
    if not cell.text:
        return BLANK_VALUE
    if meant.column.reads == REMARK:
        return Value(cell.text)
    return _common(cell, meant, above) or _of_its_kind(cell, meant)


def _common(cell: Cell, meant: Meant, above: Value | Fault | None) -> Value | Fault | None:
    """What a cell of any column may hold instead of a value; None when it holds something of its own."""
    if cell.text in ERRORS:
        return _ask(cell, meant, "shows an error of the spreadsheet")
    if cell.day is not None:
        return _ask(cell, meant, "is a date, which a spreadsheet may have made of something else")
    if cell.number is not None:
        return None
    if folded(cell.text) in DITTO:
        if isinstance(above, Value) and above.stored is not None:
            return Value(above.stored, above.quantity)
        return _ask(cell, meant, "repeats the row above, where nothing is read")
    answer = amounts.answer(cell.text)
    return Value(answer) if answer in WRITTEN else None


def _of_its_kind(cell: Cell, meant: Meant) -> Value | Fault:
    if meant.column.reads in (NAME, ID):
        return _name(cell, meant)
    read = _figure(cell, meant)
    if isinstance(read, Figure):
        counts = cell.number is not None or amounts.counts_in_a_spreadsheet(cell.text)
        return Value(read.text, read.quantity, counts)
    if read.mark:
        return _fault(cell, meant, read.why, DECIMAL)
    return _fault(cell, meant, read.why, SAYS if read.ask else "")


def _name(cell: Cell, meant: Meant) -> Value | Fault:
    text = " ".join(cell.text.split())
    if len(text) > LONGEST_NAME:
        return _fault(cell, meant, f"{len(text):,} characters are no name, {LONGEST_NAME} are kept")
    if not any(c.isalnum() for c in text):
        return _ask(cell, meant, "is no name")
    if folded(text).strip(".") in _NO_NAMES and meant.said.meaning(meant.column.name, text) is None:
        return _ask(cell, meant, "may say that there is none, or that nobody knows")
    return Value(text)


def _figure(cell: Cell, meant: Meant) -> Figure | Unread:
    reads, decimal = meant.column.reads, meant.habits.decimal
    if cell.number is not None:
        return amounts.plain(cell.number, "count" if reads == REGISTER else meant.unit)
    if reads == REGISTER:
        return amounts.register(cell.text, decimal)
    if reads == LEVEL:
        return amounts.level(cell.text, meant.unit, decimal)
    return amounts.volume(cell.text, meant.unit, decimal)


def _ask(cell: Cell, meant: Meant, why: str) -> Fault:
    return _fault(cell, meant, f"{shown(cell.text)} {why}", SAYS)


def _fault(cell: Cell, meant: Meant, why: str, key: str = "") -> Fault:
    return Fault(f"{meant.column.name}: {why}", key, cell.text, meant.column.name)
