"""A list of tickets as a place sends it, or an office types it: comma-separated rows under headings.

Headings are the names or labels of the fields of a ticket in either language, or what a list calls them for short, and
'for', the handovers that a ticket is for, as a preview writes them. Any other column is passed over and told.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import field
from typing import Final

from compliance.intake.spots import find_field
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quick import dataclass

LARGEST: Final = 2_000_000
"""Bytes of one list: some years of a busy place."""
MOST: Final = 5_000
"""Tickets of one list."""
FOR: Final = "for"
"""The column that names the handovers of a ticket: 'RUN/LINE', several with semicolons."""
TOLD: Final = ("row", "outcome", "our volume", "difference", "days after", "because")
"""Columns that the preview adds; a list that was saved from it may be handed in again."""

SHORT: Final[Mapping[str, tuple[str, ...]]] = {
    "number": ("ticket", "ticket no", "no", "nr", "numero", "num", "n.º", "nº", "recibo", "boleto", "folio"),
    "date": ("day", "ticket date", "fecha", "día"),
    "place": ("station", "received at", "estación", "entregado en"),
    "accepted": ("amount", "accepted amount", "cantidad", "cantidad aceptada", "aceptada"),
    "received_by": ("receiver", "recibió", "recibe", "quien recibe"),
    "refused": ("rechazado", "rechazada"),
    "remark": ("note", "remarks", "nota", "observaciones"),
    FOR: ("para",),
}
"""Name of a field -> other headings that a list may give it. None names a unit: a bare figure is of the book's own."""

_SHORT: Final = {folded(heading).rstrip("."): name for name, all in SHORT.items() for heading in all}

_DELIMITERS: Final = (",", ";", "\t")


@dataclass(frozen=True)
class Slip:
    """One row of a list. row: as a spreadsheet numbers it, from 1; fields: name of a ticket's field -> text.

    named: the handovers that the row names itself, 'RUN/LINE'.
    """

    row: int
    fields: Mapping[str, str]
    named: tuple[str, ...] = ()


@dataclass(frozen=True)
class TicketFile:
    """A list that was read. passed_over: headings of columns that say nothing of a ticket."""

    slips: tuple[Slip, ...]
    passed_over: tuple[str, ...] = field(default=())


def read_tickets(data: bytes, where: str) -> TicketFile | Problem:
    """The tickets in the bytes of a file; what is wrong with a single value is left to the validator."""
    if len(data) > LARGEST:
        return Problem(f"the file is larger than {LARGEST // 1_000_000} MB", where, "split the list")
    if b"\0" in data:
        return Problem("the file is no text", where, "save the list as CSV")
    text = _text(data)
    head = text.lstrip("\r\n").partition("\n")[0]
    delimiter = max(_DELIMITERS, key=head.count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        return Problem(f"the file cannot be read as CSV: {error}", where, "look at the quotes")
    filled = [(n, [cell.strip() for cell in row]) for n, row in enumerate(rows, start=1) if any(c.strip() for c in row)]
    if not filled:
        return Problem("the file is empty", where, "write number,date,place,accepted,received_by and a row a ticket")
    if len(filled) > MOST + 1:
        return Problem(
            f"{len(filled) - 1:,} tickets are more than the {MOST:,} that are taken", where, "split the list"
        )
    at, headings = filled[0]
    columns, passed_over = _columns(headings)
    if "number" not in columns.values():
        fault = "no column is headed 'number'"
        return Problem(fault, f"{where}, row {at}", "write the headings number,date,place,accepted,received_by")
    twice = sorted({name for name in columns.values() if list(columns.values()).count(name) > 1})
    if twice:
        own = " and ".join(repr(headings[n]) for n, name in columns.items() if name == twice[0])
        return Problem(f"two columns hold {twice[0]!r}: {own}", f"{where}, row {at}", "keep one of the two")
    return TicketFile(tuple(_slip(n, row, columns) for n, row in filled[1:]), passed_over)


def _text(data: bytes) -> str:
    """UTF-8 with or without its mark; else the Western code page that old programs still write."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def _columns(headings: list[str]) -> tuple[dict[int, str], tuple[str, ...]]:
    """Column -> the field that it holds; and the headings that are no field."""
    columns: dict[int, str] = {}
    passed_over = []
    for at, heading in enumerate(headings):
        plain = " ".join(heading.replace("_", " ").split()).casefold()
        row = find_field("ticket", heading.casefold(), "")
        if isinstance(row, Problem):
            row = find_field("ticket", plain.replace(" ", "_"), "")
        name = _SHORT.get(folded(plain).rstrip(".")) if isinstance(row, Problem) else row.name
        if plain == FOR or name is not None:
            columns[at] = name or FOR
        elif heading and plain not in TOLD:
            passed_over.append(heading)
    return columns, tuple(passed_over)


def _slip(n: int, row: list[str], columns: Mapping[int, str]) -> Slip:
    cells = {name: row[at] for at, name in columns.items() if at < len(row) and row[at]}
    named = tuple(part.strip() for part in cells.pop(FOR, "").split(";") if part.strip())
    return Slip(n, cells, named)
