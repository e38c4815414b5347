"""Characters as they are shown, and CSV fields that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.reports import text
from compliance.reports.model import Cell, Column, Paragraph, Table
from compliance.reports.text import COVERED, csv_field, printable, printable_page, table_csv, without_controls

from . import sample_pages as samples

STARTS = ["=", "+", "-", "@", "\t", "\r", "\n", "\x00", "＝", "＋", "－", "＠"]


@pytest.mark.parametrize(
    ("given_text", "shown"),
    [
        ("Añil, Größe, Ελλάδα, Москва ≥ ± ≤ → µm", "Añil, Größe, Ελλάδα, Москва ≥ ± ≤ → µm"),
        ("中", "[U+4E2D]"),
        ("a\u202eb", "a[U+202E]b"),
        ("tank\x07", "tank[U+0007]"),
        ("zero\u200bwidth", "zero[U+200B]width"),
        ("soft\u00adhyphen", "soft[U+00AD]hyphen"),
        ("🚰", "[U+1F6B0]"),
        ("\ud800", "[U+D800]"),
        ("a\r\nb\rc\td", "a\nb\nc d"),
    ],
)
def test_a_character_outside_the_typeface_is_shown_as_its_code_point(given_text, shown):
    """Nothing vanishes and nothing turns the direction of reading."""
    assert printable(given_text) == shown


@given(st.text())
def test_what_prints_is_covered_and_printing_again_changes_nothing(value):
    """Every character of the result is in the typeface or a newline."""
    once = printable(value)
    assert all(one == "\n" or any(a <= ord(one) <= b for a, b in COVERED) for one in once)
    assert printable(once) == once


def test_a_page_says_whether_code_points_were_needed():
    """The note is for pages that need it; a typed '[U+4E2D]' or a tab does not call for it."""
    assert printable_page(samples.of(Paragraph("中")))[1] is True
    assert printable_page(samples.of(Paragraph("typed [U+4E2D]\tby hand")))[1] is False


@given(st.text())
def test_controls_are_shown_and_letters_of_any_script_stay(value):
    """For spreadsheets only what is invisible or harmful becomes a code point."""
    shown = without_controls(value)
    assert not any(ord(one) < 32 and one not in "\n\t" for one in shown)
    assert "中" in without_controls("中")


@pytest.mark.parametrize("start", STARTS)
def test_a_csv_field_that_starts_like_a_formula_is_quoted(start):
    """An apostrophe stands in front, behind blanks too, and the text after it is whole."""
    for lead in ("", " ", "  "):
        field = csv_field(f"{lead}{start}SUM(A1)")
        assert field.startswith("'")
        assert field.endswith("SUM(A1)")


@pytest.mark.parametrize("number", ["-5.2", "+7", "0", "12.50"])
def test_a_plain_number_keeps_its_sign_in_csv(number):
    """-5.2 is a number, not a formula."""
    assert csv_field(number) == number


def test_a_table_as_csv_gives_exact_numbers_and_their_half_widths():
    """Numbers are written whole, ± in a column of its own, words where there is no number."""
    table = Table(
        (Column("Water"), Column("Volume", numeric=True, unit="gal")),
        (
            (Cell("=Used"), Cell("1,180 ± 6", "1180", "gal", "6")),
            (Cell("Rest"), Cell("-5.2", "-5.2", "gal")),
            (Cell("Lawn"), Cell("not read")),
            (Cell("Ticket"), Cell("900 L", "900", "L")),
            (Cell("Long"), Cell("1,000", "1E+3", "gal")),
        ),
        totals=(Cell("All"), Cell("at least 1,175")),
    )
    rows = list(csv.reader(io.StringIO(table_csv(table), newline="")))
    assert rows == [
        ["Water", "Volume (gal)", "Volume (gal) ±"],
        ["'=Used", "1180", "6"],
        ["Rest", "-5.2", ""],
        ["Lawn", "not read", ""],
        ["Ticket", "900 L", ""],
        ["Long", "1000", ""],
        ["All", "at least 1,175", ""],
    ]


def test_a_csv_file_has_no_column_of_plus_minus_that_stays_empty():
    """Where each cell is the text that a reader sees, with unit and ±, no second column stands empty beside it."""
    table = Table((Column("Amount", "right"),), ((Cell("74.0 ± 1.5 gal", "74.00", "gal", "1.5"),),))
    assert table_csv(table) == "Amount\r\n74.0 ± 1.5 gal\r\n"


@given(st.lists(st.text(), min_size=1, max_size=4))
def test_no_field_of_a_csv_file_starts_a_formula(values):
    """Read back, each field begins harmlessly, whatever was typed."""
    table = Table(tuple(Column(one) for one in values), (tuple(Cell(one) for one in values),))
    for row in csv.reader(io.StringIO(table_csv(table), newline="")):
        for field in row:
            assert field.lstrip(" ")[:1] not in STARTS or text._PLAIN_NUMBER.fullmatch(field)


def test_the_renderers_words_stand_in_both_languages():
    """Each word has an English and a Spanish form, with the same places to fill."""
    for forms in text._WORDS.values():
        assert set(forms) == {"en", "es"}
        assert ("{n}" in forms["en"]) == ("{n}" in forms["es"])
