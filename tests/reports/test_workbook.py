"""The workbook: numbers are numbers, text is never a formula, nothing is cut, and the bytes repeat."""

from __future__ import annotations

import re
from decimal import Decimal
from io import BytesIO
from zipfile import ZipFile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from compliance.records.problem import ComplianceError
from compliance.reports import workbook
from compliance.reports.model import Cell, Chart, Column, Heading, Series, Table
from compliance.reports.sheets import Sheet, page_sheets
from compliance.reports.text import without_controls, word
from compliance.reports.workbook import LONGEST

from . import sample_pages as samples
from .reading import words_of

STARTS = ["=", "+", "-", "@", "\t", "\r", "\n", "\x00", "'", "＝"]


def _one(*texts: str) -> Table:
    return Table((Column("Text"),), tuple((Cell(one),) for one in texts))


def _open(data: bytes):
    return load_workbook(BytesIO(data))


def _pages():
    return [samples.proof(), samples.month("A4"), samples.everything()]


def _render(page) -> bytes:
    return workbook.render(page.title, page_sheets(page), language=page.language, paper=page.paper, issuer=page.issuer)


@pytest.mark.parametrize("page", _pages())
def test_the_same_sheets_are_the_same_bytes(page):
    """No time of day and no machine stands in the file."""
    assert _render(page) == _render(page)
    with ZipFile(BytesIO(_render(page))) as archive:
        assert {member.date_time for member in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert b"2000-01-01T00:00:00Z" in archive.read("docProps/core.xml")


@pytest.mark.parametrize("page", _pages())
def test_every_word_and_number_of_a_page_is_in_its_workbook(page):
    """Texts as texts; a cell with a number by that number, its ± beside it."""
    book = _open(_render(page))
    found = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    texts = "\n".join(str(one) for one in found)
    numbers = {Decimal(str(one)) for one in found if isinstance(one, int | float)}
    for block in page.blocks:
        if not isinstance(block, Table):
            continue
        for cell in (cell for row in (*block.rows, block.totals) for cell in row):
            if cell.number is None:
                assert cell.text in texts
            else:
                assert Decimal(cell.number) in numbers
                assert cell.plus_minus is None or Decimal(cell.plus_minus) in numbers
    for text in words_of((page.title, page.number, page.facts, page.footer)):
        assert text in texts


@pytest.mark.parametrize("page", _pages())
def test_there_is_no_formula_no_link_and_no_macro(page):
    """Nothing in the file computes, fetches or runs."""
    data = _render(page)
    assert not any(cell.data_type == "f" for sheet in _open(data) for row in sheet.iter_rows() for cell in row)
    with ZipFile(BytesIO(data)) as archive:
        names = archive.namelist()
        assert not any(re.search("externalLink|vba|connections|embeddings", name) for name in names)
        sheets = [archive.read(name) for name in names if name.startswith("xl/worksheets/sheet")]
        assert not any(b"<f>" in one or b"<f " in one or b"hyperlink" in one for one in sheets)
        relations = [archive.read(name) for name in names if name.endswith(".rels")]
        assert not any(b'TargetMode="External"' in one for one in relations)
    defined = [name for sheet in _open(data) for name in sheet.defined_names]
    assert set(defined) <= {"_xlnm.Print_Titles"}


@pytest.mark.parametrize("start", STARTS)
def test_text_that_starts_like_a_formula_stays_text(start):
    """Read again it is a string, whole, with the mark that keeps it one when it is edited."""
    typed = f"{start}SUM(A1:A9)"
    title = f"{start}cmd"
    table = Table(
        (Column(typed),),
        ((Cell(typed),), (Cell("x", tone="muted"),)),
        (Cell(typed),),
        caption=typed,
        note=typed,
    )
    chart = Chart("bars", typed, typed, (typed,), (Series(typed, (Cell("1", "1", typed),)),), typed, typed)
    sheet = _open(workbook.render(title, [Sheet(typed, table, (chart,))], issuer=typed)).worksheets[0]
    cells = [cell for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]
    same = [cell for cell in cells if cell.value == without_controls(typed)]
    assert len(same) >= 6
    assert {cell.data_type for cell in cells} <= {"s", "inlineStr"}
    shown = without_controls(start)
    if shown == start:
        assert all(cell.quotePrefix for cell in same)


def test_a_negative_number_stays_a_number():
    """-5.2 is counted, with the decimals that were stated, and its unit stands in the format."""
    table = Table(
        (Column("a", numeric=True, unit="gal"), Column("b", numeric=True)),
        ((Cell("-5.20 gal", "-5.20", "gal"), Cell("12 L", "12", "L")), (Cell("not read"), Cell("0", "0"))),
    )
    sheet = _open(workbook.render("t", [Sheet("s", table)])).worksheets[0]
    assert [(cell.value, cell.data_type, cell.number_format) for cell in sheet[2]] == [
        (-5.2, "n", "#,##0.00"),
        (12, "n", '#,##0 "L"'),
    ]
    assert (sheet["A3"].value, sheet["B3"].value) == ("not read", 0)


def test_a_number_with_more_digits_than_the_format_keeps_is_written_as_text():
    """Sixteen digits and more would be rounded without a word."""
    long = "1234567890123456789"
    sheet = _open(workbook.render("t", [Sheet("s", Table((Column("a"),), ((Cell(long, long),),)))])).worksheets[0]
    assert sheet["A2"].value == long


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_comes_back_from_its_cell(text):
    """Control characters as code points, all else as typed."""
    data = workbook.render("t", [Sheet("s", _one(f"<{text}>"))])
    shown = without_controls(f"<{text}>")
    assert _open(data).worksheets[0]["A2"].value.replace("_x005F_", "_") == shown


def test_text_that_looks_like_the_formats_own_escape_is_kept_apart_from_it():
    """'_x0041_' typed by a person must not come out as 'A'."""
    with ZipFile(BytesIO(workbook.render("t", [Sheet("s", _one("_x0041_"))]))) as archive:
        assert b"_x005F_x0041_" in archive.read("xl/worksheets/sheet1.xml")


@pytest.mark.parametrize("letter", ["a", "🚰"])
def test_text_longer_than_a_cell_goes_on_in_the_rows_below(letter):
    """Nothing is cut: the parts, put together, are the text, and each says that it goes on."""
    long = letter * (2 * LONGEST + 5)
    more = word("continues below", "en")
    data = workbook.render("t", [Sheet("s", Table((Column("a"), Column("b")), ((Cell(long), Cell("1")),), note=long))])
    sheet = _open(data).worksheets[0]
    values = [row[0].value for row in sheet.iter_rows(min_row=2)]
    assert "".join(value.removesuffix(more) for value in values) == long * 2
    assert all(len(value.encode("utf-16-le")) // 2 <= LONGEST for value in values)
    assert values[0].endswith(more)
    assert sheet["B2"].value == "1"


def test_text_of_exactly_the_longest_length_is_one_cell():
    """The bound itself fits."""
    sheet = _open(workbook.render("t", [Sheet("s", _one("a" * LONGEST))])).worksheets[0]
    assert sheet.max_row == 2


def test_a_heading_longer_than_a_cell_is_refused():
    """A column's name cannot go on below; the problem names the table and the column."""
    with pytest.raises(ComplianceError) as caught:
        workbook.render("t", [Sheet("s", Table((Column("a" * (LONGEST + 1)),), (), caption="Stops"))])
    assert "Stops" in caught.value.problems[0].where


def test_unknown_values_are_empty_in_the_figures_of_a_chart_with_their_words_beside():
    """A spreadsheet would draw text as zero."""
    sheet = _open(workbook.render("t", [Sheet("s", None, (samples.bars(),))])).worksheets[0]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    assert ["Ferry Terminal, lot C", None, None, "Captured: not read"] in rows
    assert ["Gull Point Market Hall", 4210, 40, None] in rows
    chart = sheet._charts[0]
    assert chart.display_blanks == "gap"


@pytest.mark.parametrize("make", [samples.bars, samples.stacked, samples.line, samples.points])
def test_each_chart_is_a_native_one_that_reads_its_own_figures(make):
    """One series a series, categories and values of the right length, error bars where ± is stated."""
    made = make()
    sheet = _open(workbook.render("t", [Sheet("it's a sheet", None, (made,))])).worksheets[0]
    (chart,) = sheet._charts
    assert len(chart.series) == len(made.series)
    for series, source in zip(chart.series, made.series, strict=True):
        first, last = re.findall(r"\$[A-Z]+\$(\d+)", series.val.numRef.f)
        assert int(last) - int(first) + 1 == len(made.labels)
        column = re.findall(r"\$([A-Z]+)\$", series.val.numRef.f)[0]
        read = [sheet[f"{column}{row}"].value for row in range(int(first), int(last) + 1)]
        assert read == [None if cell.number is None else float(cell.number) for cell in source.values]
        stated = [cell.plus_minus for cell in source.values]
        if any(stated):
            column = re.findall(r"\$([A-Z]+)\$", series.errBars.plus.numRef.f)[0]
            spread = [sheet[f"{column}{row}"].value for row in range(int(first), int(last) + 1)]
            assert spread == [None if one is None else float(one) for one in stated]
        else:
            assert series.errBars is None


def test_the_head_is_frozen_and_printed_again_and_the_sheet_is_one_page_wide():
    """Set up for the paper chosen, landscape where columns are many; then the first one stays in sight too."""
    wide = Table(tuple(Column(f"c{at}") for at in range(9)), ((Cell("1"),) * 9,), caption="Wide")
    for paper, code in (("letter", "1"), ("A4", "9")):
        book = _open(workbook.render("R & D", [Sheet("s", _one("a")), Sheet("w", wide)], paper=paper))
        narrow, broad = book.worksheets
        assert str(narrow.page_setup.paperSize) == code
        assert (narrow.freeze_panes, broad.freeze_panes) == ("A2", "B3")
        assert narrow.print_title_rows == "$1:$1"
        assert (narrow.page_setup.orientation, broad.page_setup.orientation) == ("portrait", "landscape")
        assert broad.sheet_properties.pageSetUpPr.fitToPage
        assert (broad.page_setup.fitToWidth, broad.page_setup.fitToHeight) == (1, 0)


def test_the_axis_of_small_figures_has_decimals():
    """Along an axis from 0 to 0.15, whole numbers are 0, 0 and 0; one of hundreds needs none."""
    forms = []
    for figure in ("0.12", "120"):
        chart = Chart("bars", "T", "gal", ("a",), (Series("S", (Cell(figure, figure, "gal"),)),))
        sheet = _open(workbook.render("t", [Sheet("s", None, (chart,))])).worksheets[0]
        forms.append(sheet._charts[0].y_axis.number_format.formatCode)
    assert forms == ["#,##0.00", "#,##0"]


def test_words_in_a_column_of_figures_stand_where_the_figures_stand():
    """'not read' and the heading are set to the right with the figures above and below."""
    column = Column("Used", "right")
    sheet = _open(workbook.render("t", [Sheet("s", Table((column,), ((Cell("not read"),),)))])).worksheets[0]
    assert [sheet[f"A{row}"].alignment.horizontal for row in (1, 2)] == ["right", "right"]


def test_a_long_heading_of_short_figures_breaks_in_two():
    """A column is as wide as half its heading, and the row of headings is as tall as it needs."""
    column = Column("Our volume, measured", numeric=True, unit="gal")
    table = Table((Column("Place"), column), ((Cell("a"), Cell("1", "1", "gal")),))
    sheet = _open(workbook.render("t", [Sheet("s", table)])).worksheets[0]
    assert sheet.column_dimensions["B"].width < len("Our volume, measured (gal)") - 5
    assert sheet.row_dimensions[1].height == 30


def test_sheet_names_are_made_to_fit():
    """Forbidden characters go, twins are numbered, long names end early, none is empty or reserved."""
    wished = ["a/b:c", "A B C", "x" * 40, "x" * 40, "", "'quoted'", "History", "🚰" * 20]
    book = _open(workbook.render("t", [Sheet(name, _one("a")) for name in wished]))
    names = book.sheetnames
    assert names[:2] == ["a b c", "A B C (2)"]
    assert len({name.casefold() for name in names}) == len(wished)
    assert all(0 < len(name.encode("utf-16-le")) // 2 <= 31 for name in names)
    assert not any(name.startswith("'") or name.endswith("'") or name == "History" for name in names)


def test_no_sheets_at_all_still_make_a_file_that_opens():
    """An empty report is an empty sheet."""
    assert _open(workbook.render("Month", [])).sheetnames == ["Month"]


def test_an_empty_table_says_so():
    """Silence is never a sheet with a head alone."""
    sheet = _open(workbook.render("t", [Sheet("s", Table((Column("a"),), ()))], language="es")).worksheets[0]
    assert sheet["A2"].value == word("no entries", "es")


def test_a_client_workbook_holds_nothing_but_what_it_was_given():
    """No sheet, name, property or string of an earlier file is left in a later one."""
    workbook.render("Other client", [Sheet("Other client", _one("their secret"))], issuer="Other")
    with ZipFile(BytesIO(workbook.render("t", [Sheet("s", _one("ours"))]))) as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist())
    assert b"ther client" not in everything
    assert b"secret" not in everything


def test_charts_print_whole_and_notes_within_their_table() -> None:
    """Charts have a sheet of their own, a new sheet of paper where the present one is full; a note is wrapped."""
    labels = tuple(f"run {n}" for n in range(30))
    values = tuple(samples.gal("5") for _ in labels)
    chart = Chart("bars", "T", "gal", labels, (Series("S", values),), note="a long note " * 30)
    page = samples.of(Heading("One"), Table((Column("a"),), ((Cell("b"),),)), chart, chart, Heading("Empty"))
    names = [sheet.name for sheet in page_sheets(page)]
    assert names == ["This page", "One", "T"]
    book = _open(workbook.render("t", page_sheets(page)))
    drawn = book["T"]
    assert [len(drawn._charts), len(drawn.row_breaks.brk)] == [2, 1]
    assert all(merged.max_col == 3 for merged in drawn.merged_cells.ranges) and len(drawn.merged_cells.ranges) == 2
    note = next(row[0] for row in drawn.iter_rows() if str(row[0].value).startswith("a long note"))
    assert note.alignment.wrap_text and drawn.row_dimensions[note.row].height > 60
    assert not book["One"]._charts
    assert not any(cell.value == "One" for row in book["This page"].iter_rows() for cell in row)
