"""A night along the clock: what lasted, what happened, what is only bounded."""

from __future__ import annotations

import io
from itertools import pairwise

import pytest
from pypdf import PdfReader

from compliance.reports import fonts, html, pdf
from compliance.reports.hours import layout, table
from compliance.reports.model import Footer, Hours, Page, Stretch, Tick
from compliance.reports.page_json import from_json, to_json
from compliance.reports.picture import Label, Polygon, Rect
from compliance.reports.sheets import page_sheets

HOURS = Hours(
    "The night", 600, (Tick(0, "8 pm"), Tick(120, "10 pm"), Tick(123, "10:03"),
                       Tick(600, "6 am, the end")),
    (
        Stretch("Big Blue", 50, 95, "stop, 8:50 pm to 9:35 pm"),
        Stretch("Big Blue", 70, 70, "escape, 9:10 pm", strong=True),
        Stretch("Little Heron, the trailer that stands in for all others when they are in the shop for repairs", 0, 600,
                "stop, no time written down", open="both"),
    ),
    ("Rig", "What, when"),
)  # fmt: skip


def page(hours: Hours = HOURS) -> Page:
    return Page("pack", "Timeline", "", "en", "letter", (), (hours,), Footer("The local permit governs."))


def test_what_lasted_is_a_bar_and_what_happened_a_mark() -> None:
    """A bar as long as its minutes; dashes where no time was written down."""
    shapes = layout(HOURS, 500).shapes
    bars = [shape for shape in shapes if isinstance(shape, Rect)]
    assert [bar.dashed for bar in bars] == [False, True]
    assert round(bars[1].w / bars[0].w, 3) == round(600 / 45, 3)
    assert len([shape for shape in shapes if isinstance(shape, Polygon)]) == 1


def test_marks_of_the_clock_do_not_run_into_each_other() -> None:
    """Nor out of the picture, where the last one stands at its edge; a name that was cut stands in the notes."""
    drawing = layout(HOURS, 300)
    ticks = [shape for shape in drawing.shapes if isinstance(shape, Label) and shape.anchor == "middle"]
    assert [tick.text for tick in ticks] == ["8 pm", "10 pm", "6 am, the end"]
    ends = [
        (tick.x - fonts.width(tick.text, tick.size) / 2, tick.x + fonts.width(tick.text, tick.size) / 2)
        for tick in ticks
    ]
    assert all(before[1] < after[0] for before, after in pairwise(ends))
    assert ends[-1][1] <= 300
    assert drawing.notes == (HOURS.stretches[2].row,)


def test_a_night_of_nothing_draws_nothing() -> None:
    """No stretch, or no length."""
    assert layout(Hours("x", 0, (), ()), 300).shapes == ()


def test_what_leaves_the_picture_is_refused() -> None:
    """Before it can be drawn somewhere else."""
    with pytest.raises(ValueError, match="leaves the picture"):
        Hours("x", 10, (), (Stretch("a", 0, 11, "t"),))


def test_the_picture_is_on_every_form_of_the_page() -> None:
    """With the table behind it in HTML and workbook; JSON gives the same page back."""
    assert from_json(to_json(page())) == page()
    said = "".join(one.extract_text() for one in PdfReader(io.BytesIO(pdf.render(page()))).pages)
    assert "Big Blue" in said
    assert "stop, 8:50 pm to 9:35 pm" in html.render(page())
    assert table(HOURS) in [sheet.table for sheet in page_sheets(page())]
