"""Keying workbooks for the tests: the empty form of the program, filled in cell by cell as an office does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

from openpyxl import load_workbook

from compliance.records.registers import Registers
from compliance.reports import card_workbook
from compliance.reports.model import Language

CARD = "TVX7-67W2-6"
OTHER = "6RJ5-YF55-P"
SITES = (
    "Alder Oven, Canal Street", "Quillon Fish Counter", "Copperleaf Row north", "Copperleaf Row south",
    "Tern Street Laundry", "Old Depot Market", "Harbor deck", "Lantern Street Diner",
)  # fmt: skip

Cells = Mapping[str, Any]


def fill(
    path: Path,
    nights: Sequence[Cells],
    stops: Sequence[Cells],
    language: Language = "en",
    registers: Registers | None = None,
    unit: str = "gal",
) -> Path:
    """A filled-in workbook: each row is key of the column -> value, put under its heading."""
    book = load_workbook(BytesIO(card_workbook.render(language, "letter", registers, unit)))
    for name, rows in zip(book.sheetnames[:2], (nights, stops), strict=True):
        sheet = book[name]
        columns = {cell.value: cell.column for cell in sheet[1]}
        for n, row in enumerate(rows, start=3):
            for key, value in row.items():
                sheet.cell(n, columns[key]).value = value
    book.save(path)
    return path


def night(**more: Any) -> dict[str, Any]:
    """The row of a night with what is needed and no more."""
    return {"card": CARD, "date": "2026-09-03", "rig": "Big Blue", "lead": "Tomás Ibarra", "where": "aboard", **more}


def stop(**more: Any) -> dict[str, Any]:
    """The row of a stop that was reached."""
    return {"card": CARD, "site": SITES[0], "on_site": "x", **more}
