"""The two kinds of file: their letters, their separators, their cells."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from decimal import Decimal
from typing import Any

import openpyxl
import pytest

from compliance.intake.oldbooks.headings import known_headings
from compliance.intake.oldbooks.opening import open_book
from compliance.intake.oldbooks.table import BLANK, Cell, OldBook, Row, letter, visible
from compliance.intake.oldbooks.workbook import NO_VALUE
from tests.intake.oldbooks.looking import look, refused_or, states, with_parts, work, workbook


def opened(data: bytes, name: str = "a.csv") -> OldBook:
    found = open_book(data, name, headings=known_headings)
    assert isinstance(found, OldBook), found
    return found


def cells(data: bytes, name: str = "a.csv") -> list[list[str]]:
    return [[cell.text for cell in row.cells] for row in opened(data, name).sheets[0].rows]


# ---- text files --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("codec", "told"),
    [("utf-8", ()), ("utf-8-sig", ()), ("latin-1", ("letters are read as Windows-1252",)),
     ("utf-16", ("letters are read as UTF-16",))],
)  # fmt: skip
def test_letters_are_read_in_the_encodings_that_spreadsheets_write(codec: str, told: tuple[str, ...]) -> None:
    """Which one it was is told, where it is not the usual one."""
    text = "Fecha;Camión;Galones usados\n2021-09-03;El Ñandú;450\n"
    book = opened(text.encode(codec))
    assert [cell.text for cell in book.sheets[0].rows[1].cells] == ["2021-09-03", "El Ñandú", "450"]
    assert book.notes == ("fields are separated by a semicolon", *told)


def test_bytes_that_are_no_letter_anywhere_are_refused_with_their_row() -> None:
    """Every byte is some letter of Latin-1; those that no page can print stay out."""
    found = look(b"Date,Client,Used\n2021-09-03,Caf\x81,450\n2021-09-04,Caf\xe9,450\n")
    assert states(found) == ["refused", "new"]
    assert work(found)[1].fields["client"] == "Café"


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_that_under_which_the_headings_are_known(separator: str) -> None:
    """Even where decimals hold more commas than there are separators."""
    lines = [
        ["Notes, and more", "x", "", ""],
        ["Date", "Client", "Used", "Recovered"],
        ["2021-09-03", "Alder, Foods, and Co", "1.450,5", "1.430,5"],
        ["2021-09-04", "B", "1.451,5", "1.431,5"],
    ]
    text = "\n".join(separator.join(f'"{c}"' if separator in c else c for c in line) for line in lines)
    found = look(text)
    assert [line.fields["used"] for line in work(found)] == ["1450.5 gal", "1451.5 gal"]


def test_without_headings_the_separator_is_the_one_that_cuts_evenly() -> None:
    """And the mapping may say it."""
    assert cells(b"a;b,c;d\na;b;d\na;b;d\n") == [["a", "b,c", "d"], ["a", "b", "d"], ["a", "b", "d"]]
    found = look("Date,Used\n2021-09-03;450\n", said='separator = "semicolon"')
    assert "fields are separated by a semicolon" in found.told
    assert cells(b"alone\n") == [["alone"]]


def test_a_line_that_names_the_separator_is_obeyed_and_not_counted() -> None:
    """Spreadsheets write and hide it; a line that only looks like one is a line."""
    assert cells(b"sep=;\r\na;b,c\r\n") == [["a", "b,c"]]
    assert opened(b"sep=;\na;b\n").sheets[0].rows[0].number == 1
    assert cells(b'"sep=|"\na|b\n') == [["a", "b"]]
    assert cells(b"sep=x\na,b\n") == [["sep=x"], ["a", "b"]]


def test_line_breaks_in_quotes_and_blank_lines_keep_the_numbers_of_the_rows() -> None:
    """As a spreadsheet numbers them."""
    book = opened(b'Date,Notes\n\n2021-09-03,"one\r\ntwo\rthree"\n,,,\n2021-09-04,x\n')
    rows = book.sheets[0].rows
    assert [row.number for row in rows] == [1, 3, 5]
    assert rows[1].cells[1].text == "one\ntwo\nthree"
    assert book.sheets[0].blank == 2


def test_a_file_of_blank_fields_has_no_row() -> None:
    """Nothing is read, and nothing is wrong."""
    found = look(",,,\n,,,\n")
    assert found.lines == () and found.questions == ()


# ---- workbooks ---------------------------------------------------------------------------------------------------


def typed(*values: Any, formats: dict[int, str] | None = None) -> list[Cell]:
    """The cells of one row of a workbook."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(list(values))
    for column, number_format in (formats or {}).items():
        sheet.cell(1, column).number_format = number_format
    held = io.BytesIO()
    book.save(held)
    (row,) = opened(held.getvalue(), "a.xlsx").sheets[0].rows
    return list(row.cells)


moment = dt.datetime.fromisoformat


def test_cells_keep_what_the_file_says_they_are() -> None:
    """Numbers with the digits that a spreadsheet shows, days without their time, texts."""
    found = typed(
        450, 450.5, 0.1 + 0.2, True, False, moment("2021-09-03"), moment("2021-09-03 21:30"),
        dt.date(2021, 9, 3), dt.time(21, 30), "  text ", "   ", None, "x",
    )  # fmt: skip
    assert [cell.text for cell in found] == [
        "450", "450.5", "0.3", "TRUE", "FALSE", "2021-09-03", "2021-09-03 21:30", "2021-09-03", "21:30:00", "text",
        "", "", "x",
    ]  # fmt: skip
    assert [cell.number for cell in found[:3]] == [Decimal(450), Decimal("450.5"), Decimal("0.3")]
    assert [cell.day for cell in found[5:8]] == [dt.date(2021, 9, 3)] * 3
    assert found[3].number is None and found[10] is BLANK


@pytest.mark.parametrize(
    ("value", "number_format", "text", "is_number"),
    [
        (457, "00000", "00457", True), (457.5, "00000", "457.5", True), (457, "0", "457", True),
        (450, '0 "gal"', "450 gal", False), (1200, '#,##0" L"', "1200 L", False),
        (450, '0.0" gal";-0.0" gal"', "450 gal", False), (450, '"$"0.00', "$450", False), (450, "General", "450", True),
        (0.955, "0.0%", "95.5%", False), (450, '"gal"', "450", True), (450, "[$$-409]#,##0", "$450", False),
        (450, "[$-409]#,##0", "450", True), (1, "0%", "100%", False),
    ],
)  # fmt: skip
def test_the_number_format_says_ids_and_units(value: float, number_format: str, text: str, is_number: bool) -> None:
    """Leading zeros belong to an id, and a unit behind the number is seen by whoever reads it."""
    (cell,) = typed(value, formats={1: number_format})
    assert (cell.text, cell.number is not None) == (text, is_number)


def test_a_unit_in_the_number_format_goes_before_that_of_the_heading() -> None:
    """It is what people saw."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Date", "Used (gal)"])
    sheet.append(["2021-09-03", 1700])
    sheet.cell(2, 2).number_format = '0 "L"'
    held = io.BytesIO()
    book.save(held)
    (line,) = work(look(held.getvalue(), "a.xlsx"))
    assert line.fields["used"] == "1700 L"


def test_a_formula_gives_its_last_value_or_none() -> None:
    """And is counted; where the file has no last value, the cell is refused and not blank."""
    data = workbook({"Log": [("Date", "Used", "Notes"), ("2021-09-03", "=400+50", "x"), ("2021-09-04", 450, "=A1")]})
    found = look(data, "a.xlsx")
    assert states(found) == ["refused", "refused"]
    assert work(found)[0].reasons == [f"used: {NO_VALUE}"]
    assert "2 cells hold a formula: its last value is taken where the file has one, nothing is worked out" in found.told
    import zipfile

    part = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        xml = archive.read(part)
    valued = xml.replace(b"<f>400+50</f><v></v>", b"<f>400+50</f><v>450</v>").replace(
        b"<f>400+50</f><v />", b"<f>400+50</f><v>450</v>"
    )
    assert valued != xml
    found = look(with_parts(data, {part: valued}), "a.xlsx")
    assert states(found)[0] == "new" and work(found)[0].fields["used"] == "450 gal"
    unplaced = valued
    for place in (b' r="A3"', b' r="B3"', b' r="C3"', b' r="3"'):
        unplaced = unplaced.replace(place, b"")  # some programs leave the places out
    found = look(with_parts(data, {part: unplaced}), "a.xlsx")
    assert states(found) == ["new", "refused"]


def test_a_number_that_is_none_is_asked_about() -> None:
    """A number beyond all numbers, a day beyond all days: both are texts of the file."""
    import zipfile

    data = workbook({"Log": [("Date", "Used"), ("2021-09-03", 450), (dt.date(2021, 9, 4), 460)]})
    part = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        xml = archive.read(part)
    found = look(with_parts(data, {part: xml.replace(b"<v>450</v>", b"<v>1E999</v>").replace(
        b"<v>44443</v>", b"<v>99999999</v>")}), "a.xlsx")  # fmt: skip
    assert states(found) == ["questioned", "questioned"]
    assert work(found)[1].text.startswith("#VALUE!")


def test_hidden_sheets_are_read_and_named() -> None:
    """Work may have been hidden, and so may a list of names."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "2020"
    hidden = book.create_sheet("2021")
    for one in (sheet, hidden):
        one.append(["Date", "Used"])
        one.append(["Jan 3", 450])
    hidden.sheet_state = "hidden"
    held = io.BytesIO()
    book.save(held)
    found = look(held.getvalue(), "a.xlsx")
    assert states(found) == ["new", "new"]
    assert "sheet '2021' is hidden; it is read like the others" in found.told


def test_hidden_rows_are_read_and_named() -> None:
    """A filter that somebody left on is no reason to lose a night, nor to bring one in unseen."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "2020"
    for row in [("Date", "Used"), *((f"2020-01-{day:02}", "=400+50" if day == 9 else 450) for day in range(1, 13))]:
        sheet.append(row)
    for number in (3, 20):  # nothing stands in row 20
        sheet.row_dimensions[number].hidden = True
    one = io.BytesIO()
    book.save(one)
    found = look(one.getvalue(), "a.xlsx")
    assert states(found).count("new") == 11
    assert found.told[:3] == (
        "row 3 of sheet '2020' is hidden; it is read like the others",
        "1 cell holds a formula: its last value is taken where the file has one, nothing is worked out",
        "1 of them has no value in the file: open it in a spreadsheet and save it, and they will",
    )
    for number in range(2, 12):
        sheet.row_dimensions[number].hidden = True
    many = io.BytesIO()
    book.save(many)
    told = "rows 2, 3, 4, 5, 6, 7, 8, 9 and 2 more of sheet '2020' are hidden; they are read like the others"
    assert told in look(many.getvalue(), "a.xlsx").told


def test_hidden_rows_are_named_as_other_programs_write_them_too() -> None:
    """'true' for 1, other quotes, blanks: no formula on the sheet is needed for it to be seen."""
    part, data = "xl/worksheets/sheet1.xml", workbook({"Log": [("Date", "Used"), ("2021-09-03", 450)]})
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        rows = archive.read(part)
    assert rows.count(b'<row r="2"') == 1
    for written in (b"hidden='1'", b'hidden = "true"'):
        found = look(with_parts(data, {part: rows.replace(b'<row r="2"', b'<row r="2" ' + written)}), "a.xlsx")
        assert "row 2 of sheet 'Log' is hidden; it is read like the others" in found.told


def test_a_blank_cell_keeps_its_place_in_the_text_of_a_row() -> None:
    """450 may be what was used, or what was recovered."""
    found = look("Date,Client,Used,Recovered\n2021-09-03,A,,450\n,B,300,\n")
    assert [line.text for line in found.lines[1:]] == ["2021-09-03 | A |  | 450", "B | 300"]


def test_a_workbook_with_macros_is_read_without_them() -> None:
    """By its content; its name does not matter."""
    data = with_parts(workbook({"Log": [("Date", "Used"), ("2021-09-03", 450)]}), {"xl/vbaProject.bin": b"\0macro"})
    assert states(look(data, "a.xlsm")) == ["new"]
    assert states(look(data, "a.csv")) == ["new"]


def test_a_workbook_of_nothing_has_no_rows() -> None:
    """Nothing is read, and nothing is wrong."""
    found = refused_or(workbook({"Log": []}), "a.xlsx")
    assert getattr(found, "lines", None) == ()


# ---- words for rows and columns ----------------------------------------------------------------------------------


def test_columns_are_named_as_spreadsheets_name_them() -> None:
    """A to Z, then AA."""
    assert [letter(n) for n in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


def test_a_row_shows_its_own_text_on_one_line() -> None:
    """What a terminal would obey is spelled out; a broken cell says why."""
    row = Row(3, (Cell("a\nb"), BLANK, Cell("c\x1b[31m"), Cell(fault="broken")))
    assert row.text == "a b |  | c<U+001B>[31m | (broken)"
    assert row.cell(7) is BLANK
    assert visible("a\u200eb\xa0c") == "a<U+200E>b c"
