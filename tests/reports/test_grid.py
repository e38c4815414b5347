"""Column widths and rows broken over sheets."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.reports import fonts
from compliance.reports.grid import column_widths, fact_rows, table_rows
from compliance.reports.model import Cell, Column, Table

cells = st.text(alphabet="abc 12", max_size=60)


@given(
    st.lists(st.lists(cells, min_size=3, max_size=3), min_size=1, max_size=5),
    st.lists(st.integers(0, 3), min_size=3, max_size=3),
)
def test_columns_fill_the_room_and_no_more(rows, hints):
    """Widths are positive and their sum is the room, hints or none."""
    texts = [tuple((one, "plain") for one in row) for row in rows]
    widths = column_widths(texts, hints, [False, True, False], 500, 8, 10)
    assert sum(widths) == pytest.approx(500)
    assert all(wide > 0 for wide in widths)


def test_a_hint_is_kept_to():
    """A column of weight 3 is three times as wide as one of weight 1."""
    widths = column_widths([(("a", "plain"), ("b", "plain"))], [3, 1], [False, False], 400, 8, 10)
    assert widths == pytest.approx((300, 100))


def test_a_hinted_column_lends_what_it_does_not_need():
    """A label is not broken beside a column that stands half empty; who lends keeps its longest line whole."""
    label, figure = "Used (fresh water drawn): Oct 22, 2026", "434.0 ± 7.6 gal"
    widths = column_widths([((label, "plain"), (figure, "plain"))], [1, 1], [False, True], 290, 7.6, 10)
    assert widths[0] >= fonts.width(label, 7.6) + 10 - 0.1
    assert widths[1] >= fonts.width(figure, 7.6) + 10 - 0.1
    assert sum(widths) == pytest.approx(290)


def test_what_is_lent_is_lent_where_it_saves_lines():
    """A date is made whole where a paragraph breaks all the same, not where it is the paragraph that counts."""
    date, paragraph = ("Oct 12, 2026", "plain"), ("words " * 40, "plain")
    dates = [(date, ("x", "plain"), ("a few words", "plain"))] * 5
    widths = column_widths([*dates, (("", "plain"), ("x", "plain"), paragraph)], [1, 8, 1], [False] * 3, 300, 7.6, 10)
    assert widths[0] >= fonts.width(date[0], 7.6) + 10 - 0.1
    lone = column_widths([(date, ("x", "plain"), paragraph)], [1, 8, 1], [False] * 3, 300, 7.6, 10)
    assert lone[2] > widths[2]
    assert sum(widths) == pytest.approx(300)
    assert sum(lone) == pytest.approx(300)


@pytest.mark.parametrize(("room_for", "after"), [(9, 3), (8, 3), (7, 3), (6, 4), (4, 6)])
def test_no_row_or_two_stand_alone_on_the_next_sheet(room_for, after):
    """What is left of a broken table is three rows at least."""
    whole = table_rows(Table((Column("a"),), tuple((Cell(f"row {at}"),) for at in range(10))), 300, 600, "more", "none")
    first, rest = whole.split(300, whole.top + room_for * whole.rows[0].height + 1)
    assert (len(first.rows), len(rest.rows)) == (10 - after, after)


def test_six_rows_are_broken_in_the_middle():
    """Three and three: no fewer stand together, and there are none to spare."""
    whole = table_rows(Table((Column("a"),), tuple((Cell(f"row {at}"),) for at in range(6))), 300, 600, "more", "none")
    first, rest = whole.split(300, whole.top + 5 * whole.rows[0].height + 1)
    assert (len(first.rows), len(rest.rows)) == (3, 3)


def test_one_long_remark_does_not_squeeze_the_short_columns():
    """Columns that ask for little get it; the remark takes the rest and wraps."""
    remark = "The sock was plugged. " * 40
    texts = [(("rubber mat, weighted", "plain"), ("none seen", "plain"), (remark, "plain"))]
    widths = column_widths(texts, [0, 0, 0], [False] * 3, 500, 8, 10)
    assert widths[0] >= fonts.width("rubber mat, weighted", 8) + 10
    assert widths[1] >= fonts.width("none seen", 8) + 10


def test_a_figure_with_its_unit_is_not_broken():
    """'940 ± 14 gal' keeps one line in a crowded table."""
    columns = (*(Column("A long name of a column") for _ in range(6)), Column("Ours", numeric=True))
    row = (*(Cell("some words that wrap here") for _ in range(6)), Cell("940 ± 14 gal", "940", "gal", "14"))
    rows = table_rows(Table(columns, (row,)), 520, 600, "continued", "none")
    assert rows.rows[0].lines[-1] == ["940 ± 14 gal"]


@given(st.integers(1, 40), st.floats(30, 600), st.integers(1, 400))
def test_a_table_broken_anywhere_keeps_every_line(count, high, words):
    """Whatever the room, the lines before and after the break are the lines of the whole, in order."""
    body = tuple((Cell(f"row {at}"), Cell("word " * (words if at == 2 else 1))) for at in range(count))
    whole = table_rows(Table((Column("a"), Column("b")), body), 300, 600, "continued", "none")
    whole.wrap(300, high)
    parts = whole.split(300, high)
    if not parts:
        return
    first, rest = parts
    assert first.wrap(300, high)[1] <= high + 0.01

    def lines(rows):
        return [line for row in rows for cell in row.lines for line in cell if line]

    assert sorted(lines(first.rows) + lines(rest.rows)) == sorted(lines(whole.rows))
    assert rest.started


def test_short_facts_stand_two_to_a_line_and_long_ones_alone():
    """The head of a page is compact where it can be."""
    short = [("Client", "Gull Point"), ("Site", "Dock"), ("Issued", "16 May 2031")]
    assert len(fact_rows(short, 500, 600).rows) == 2
    assert len(fact_rows([*short, ("Remark", "long " * 60)], 500, 600).rows) == 4
    assert fact_rows([], 500, 600).rows == []
