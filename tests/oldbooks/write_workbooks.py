"""Writes the workbooks of this folder, with nothing but openpyxl: the program under test has no part in it.

    python tests/oldbooks/write_workbooks.py

The last values of formulas, which openpyxl does not write, are put into the XML afterwards, as a spreadsheet leaves
them there. Times are fixed, so that the same version of openpyxl writes the same bytes.
"""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl

HERE = Path(__file__).parent
MADE = datetime(2024, 1, 2, 3, 4, 5)  # noqa: DTZ001  (openpyxl takes times without a zone)
FRACTION = "12 1/2"
YARD = "North Yard station"


def book(*sheets: str) -> openpyxl.Workbook:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name in sheets:
        made.create_sheet(name)
    made.properties.creator = "the office"
    made.properties.created = made.properties.modified = MADE
    return made


def save(made: openpyxl.Workbook, name: str, values: dict[tuple[str, str], object] | None = None) -> None:
    """Save a workbook with the last values of its formulas: (sheet, cell) -> value."""
    held = io.BytesIO()
    made.save(held)
    parts = {f"xl/worksheets/sheet{n}.xml": sheet.title for n, sheet in enumerate(made.worksheets, start=1)}
    with zipfile.ZipFile(held) as source, zipfile.ZipFile(HERE / name, "w") as target:
        for member in source.infolist():
            data = source.read(member)
            if member.filename in parts:
                data = with_values(data, parts[member.filename], values or {})
            if member.filename == "docProps/core.xml":
                data = re.sub(rb"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2024-01-02T03:04:05Z", data)
            plain = zipfile.ZipInfo(member.filename, (2024, 1, 2, 3, 4, 4))
            target.writestr(plain, data, zipfile.ZIP_DEFLATED)


def with_values(data: bytes, sheet: str, values: dict[tuple[str, str], object]) -> bytes:
    for (of, cell), value in values.items():
        if of == sheet:
            begin, end = f'<c r="{cell}"'.encode(), b"</c>"
            start = data.index(begin)
            stop = data.index(end, start)
            formula = data[start : data.index(b"</f>", start) + len(b"</f>")]
            data = data[:start] + formula + f"<v>{value}</v>".encode() + data[stop:]
    return data


def rows(sheet: Any, first: int, *lines: tuple[Any, ...]) -> None:
    for number, line in enumerate(lines, start=first):
        for column, value in enumerate(line, start=1):
            if value is not None:
                sheet.cell(number, column, value)


def years() -> None:
    """03: one sheet a year, dates without years, a subtotal a month."""
    made = book("2019", "2020", "2021")
    heads = ("Date", "Rig", "Site", "Used", "Recovered", "Where dumped")
    sheet = made["2019"]
    sheet["A1"] = "Wash nights"
    sheet.merge_cells("A1:F1")
    rows(
        sheet, 3, heads,
        ("Jan 7", "Big Blue", "Fernwood Plaza", 450, 431, YARD),
        ("Jan 21", "Big Blue", "Dock Street Market", 500, 466, YARD),
        ("Subtotal January", None, None, "=SUM(D4:D5)", "=SUM(E4:E5)"),
        ("Feb 4", "Little Heron", "Fernwood Plaza", 300, 270, YARD),
        ("Feb 11", "Big Blue", "Harbor Lane", 515, 480, YARD),
        ("Subtotal February", None, None, "=SUM(D7:D8)", "=SUM(E7:E8)"),
        ("Total 2019", None, None, "=D6+D9", "=E6+E9"),
    )  # fmt: skip
    rows(
        made["2020"], 1, heads,
        ("Mar 2", "Big Blue", "Fernwood Plaza", 480, 455, YARD),
        ("Mar 9", "Big Blue", "Fernwood Plaza", 470, 440, YARD),
        ("Subtotal March", None, None, 950, 905),  # typed in, and ten gallons too many
        ("Apr 6", "Big Blue", "Harbor Lane", 430, 400, YARD),
        ("Subtotal April", None, None, 430, 400),
        ("Total", None, None, 1380, 1305),
    )  # fmt: skip
    rows(
        made["2021"], 1, heads,
        ("Sept 3", "Big Blue", "Fernwood Plaza", 440, 415, YARD),
        ("September 17", "Big Blue", "Fernwood Plaza", 455, "n/a", YARD),
        ("12/29", "Little Heron", "Dock Street Market", 460, 430, YARD),
        ("Total", None, None, "=SUM(D2:D4)", "=SUM(E2:E4)"),
    )  # fmt: skip
    save(made, "03-years.xlsx", {
        ("2019", "D6"): 950, ("2019", "E6"): 897, ("2019", "D9"): 815, ("2019", "E9"): 750,
        ("2019", "D10"): 1765, ("2019", "E10"): 1647, ("2021", "D5"): 1355, ("2021", "E5"): 845,
    })  # fmt: skip


def clients() -> None:
    """04: one sheet a client, two rows of headings with merged cells, a meter that rolls over and one that is new."""
    made = book("Alder Foods", "Ridge Road Motors", "Harbor Lane Diner")
    for sheet in made.worksheets:
        rows(
            sheet, 1,
            ("Date", "Meter", None, "Water recovered (gal)", "Ticket", "Notes"),
            (None, "Start", "End"),
        )  # fmt: skip
        sheet.merge_cells("B1:C1")
        for column in "ADEF":
            sheet.merge_cells(f"{column}1:{column}2")
    rows(
        made["Alder Foods"], 3,
        (date(2021, 5, 4), 98850, 99290, 415, "A-101"),
        (date(2021, 5, 18), 99290, 99741, 428, "A-102"),
        (date(2021, 6, 1), 99741, 186, 420, "A-103", "meter went round"),
        (date(2021, 6, 15), 186, 640, 431, "A-104"),
    )  # fmt: skip
    rows(
        made["Ridge Road Motors"], 3,
        (date(2021, 5, 11), 12, 1130, 1060, "R-7"),
        (date(2021, 5, 25), 1130, 2260, 1075, "R-8"),
        (date(2021, 6, 8), 4, 1110, 1049, "R-9", "new meter"),
    )  # fmt: skip
    rows(made["Harbor Lane Diner"], 3, (date(2021, 5, 20), 0, 210, 188))
    save(made, "04-clients.xlsx")


def inches() -> None:
    """05: days as bare counts, tank inches with fractions, ids and units that stand in the number format."""
    made = book("Sheet1")
    sheet = made["Sheet1"]
    rows(
        sheet, 1,
        ("Date", "Truck", "Job no.", "Tank before (in)", "Tank after (in)", "Recovered", "Ticket", "Received (gal)"),
        (43894, "Big Blue", "0007", 0, FRACTION, 410, 457, 402),
        (43901, "Big Blue", "0008", "3/4", "13 1/4", 405, 461, 398),
        (43908, "Big Blue", "0009", "empty", 12.125, 399, 470, 391),
        (43915, "Little Heron", "0010", 0, "9½", 288, 471, 280),
        ("Total", None, None, None, None, "=SUM(F2:F5)"),  # never opened in a spreadsheet: no last value
    )  # fmt: skip
    for number in range(2, 6):
        sheet.cell(number, 6).number_format = '0 "gal"'
        sheet.cell(number, 7).number_format = "00000"
    save(made, "05-tank-inches.xlsx")


def rigs() -> None:
    """08: one sheet a rig, in Spanish, with two rows of headings under a title."""
    made = book("Big Blue", "Little Heron", "Notas")
    for name in ("Big Blue", "Little Heron"):
        rows(
            made[name], 1,
            ("Registro de agua 2023",),
            ("Fecha", "Agua (galones)", None, "Tanque (pulg.)", None, "Destino", "Recibo"),
            (None, "Utilizada", "Recuperada", "Antes", "Después"),
        )  # fmt: skip
        made[name].merge_cells("B2:C2")
        made[name].merge_cells("D2:E2")
    rows(
        made["Big Blue"], 4,
        ("3 de enero", 450, 425, 0, 12.5, "Estación Norte", "0101"),
        ("viernes 6 de enero", 460, 431, 0, "13 1/4", "Estación Norte", "0102"),
        ("lunes 10 de enero", 455, 428, 0, 13, "Estación Norte", "0103"),
        ("Total", 1365, 1284),
    )  # fmt: skip
    rows(
        made["Little Heron"], 4,
        ("4 de enero", 280, 255, 0, 8, "Estación Norte", "0104"),
        ("11 de enero", 275, "lo mismo", 0, 8, "Estación Norte", "0105"),
        ("Suma", "=SUM(B4:B5)", "=SUM(C4:C5)"),
    )  # fmt: skip
    rows(made["Notas"], 1, ("comprar mangueras",), ("llamar a la estación",))
    save(made, "08-camiones.xlsx", {("Little Heron", "B6"): 555, ("Little Heron", "C6"): 255})


def torn() -> None:
    """12: a book that went through many hands: turned dates, broken cells, figures that are sums, a hidden sheet."""
    made = book("Log 2018", "Lists")
    sheet = made["Log 2018"]
    rows(
        sheet, 1,
        ("Wash log", None, None, None, None, "printed 3/4/2024"),
        ("Date", "Rig", "Client", "Used", "Recovered", "Notes"),
        ("23/09/2018", "Big Blue", "Alder Foods", 450, 430, "ok"),
        (date(2018, 4, 10), "Big Blue", "Alder Foods", 400, 380),
        (date(2018, 3, 11), "Big Blue", "Harbor Lane Diner", 410, 392),
        ("30/09/2018", "Big Blue", "Alder Foods", "450+300", 700),
        ("29/09/2018", "Big Blue", "Alder \u202eslooF", 450, 430),
        ("28/09/2018", "Big Blue", "Alder Foods", 440, 421, "x" * 25_000),
        ("27/09/2018", "Big Blue", "Alder Foods", "=E9+20", 415),
        ("26/09/2018", "Big Blue", "Alder Foods", "#REF!", 310),
        (None, "Big Blue", "Harbor Lane Diner", 300, 280),
        ("25/09/2018", "Big Blue", "Alder Foods", -20, 10),
        ("24/09/2031", "Big Blue", "Alder Foods", 450, 430),
        ("31/09/2018", "Big Blue", "Alder Foods", 450, 430),
    )  # fmt: skip
    sheet["D10"].data_type = "e"
    rows(made["Lists"], 1, ("Alder Foods",), ("Harbor Lane Diner",))
    made["Lists"].sheet_state = "hidden"
    save(made, "12-torn.xlsx")


if __name__ == "__main__":
    for write in (years, clients, inches, rigs, torn):
        write()
