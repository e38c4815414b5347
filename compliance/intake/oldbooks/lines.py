"""What a file says, line by line, once it was read: rows of work, and rows that are something else."""

from __future__ import annotations

from dataclasses import field
from decimal import Decimal
from typing import Final

from compliance.intake.oldbooks.cells import Fault
from compliance.records.quantity import Quantity
from compliance.records.quick import dataclass

WORK, HEADING, TITLE, TOTAL, NOTE, LEFT_OUT = "work", "headings", "title", "total", "note", "left out"
ASIDE: Final = (TITLE, HEADING, TOTAL, NOTE, LEFT_OUT)
"""Kinds of rows that are no work; each is counted and none becomes a record."""

NEW, DUPLICATE, REFUSED, QUESTIONED = "new", "duplicate", "refused", "questioned"
STATES: Final = (NEW, DUPLICATE, REFUSED, QUESTIONED)


@dataclass
class Line:
    """One row. fields, typed: stored forms and the texts they were read from; quantities: of its figures.

    counted: columns whose figure a spreadsheet counts. faults: why it is not taken; looks: what to look at again,
    although it is taken; same: why it is in the book, or in the file, already. difference: meter end - meter start.
    unread: the texts of its cells in columns that are not read, by the place of the column.
    """

    sheet: str
    number: int
    kind: str
    text: str
    fields: dict[str, str] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    quantities: dict[str, Quantity] = field(default_factory=dict)
    counted: set[str] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)
    looks: list[str] = field(default_factory=list)
    same: str = ""
    aside: str = ""
    difference: Decimal | None = None
    unread: dict[str, str] = field(default_factory=dict)

    @property
    def state(self) -> str:
        """One of `STATES` for a row of work, '' for any other."""
        if self.kind != WORK:
            return ""
        if any(fault.key == "" for fault in self.faults):
            return REFUSED
        if self.same:
            return DUPLICATE
        return QUESTIONED if self.faults else NEW

    @property
    def reasons(self) -> list[str]:
        """Why it is in that state, or what it is instead of work, in words."""
        told = [fault.why for fault in self.faults]
        if self.same and self.state == DUPLICATE:
            told = [self.same]
        return [*told, *self.looks, *([self.aside] if self.aside else [])]


@dataclass(frozen=True)
class TotalSaid:
    """A total in the file beside what the rows above it add up to. says, adds_up: in `unit`; says None: unreadable."""

    sheet: str
    row: int
    column: str
    unit: str
    says: Decimal | None
    adds_up: Decimal
    first: int
    last: int
    agrees: bool
    why: str

    @property
    def text(self) -> str:
        """Both figures, in words."""
        here = f"row {self.row}" + (f" of sheet {self.sheet!r}" if self.sheet else "")
        one = self.first == self.last
        rows = f"row {self.first}" if one else f"rows {self.first} to {self.last}"
        if self.says is None:
            told = "cannot be read"
        elif self.agrees:
            told = f"says {_plain(self.says)} {self.unit}, as {rows} {'does' if one else 'do'}"
        else:
            gap = self.says - self.adds_up
            how = "more" if gap > 0 else "less"
            told = (
                f"says {_plain(self.says)} {self.unit}; "
                f"{rows} {'adds' if one else 'add'} up to {_plain(self.adds_up)} {self.unit}: "
                f"the total says {_plain(abs(gap))} {self.unit} {how}"
            )
        return f"{here}, {self.column}: {told}" + (f" ({self.why})" if self.why else "")


def _plain(amount: Decimal) -> str:
    """An amount for people: as it was written, and in hundredths where a conversion made more digits than that."""
    exponent = amount.as_tuple().exponent
    return f"{amount:,f}" if isinstance(exponent, int) and exponent >= -2 else f"{amount:,.2f}"
