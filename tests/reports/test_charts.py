"""Charts as drawings: honest axes, no bar for what is not known, nothing outside the frame."""

from __future__ import annotations

import itertools
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.reports import charts, fonts
from compliance.reports.model import Cell, Chart, Series
from compliance.reports.picture import PAPER, Label, Line, Polygon, Rect
from compliance.reports.text import word

from . import sample_pages as samples

ALL = [samples.bars, samples.stacked, samples.line, samples.points]
numbers = st.decimals(-(10**7), 10**7, places=2)


def _chart(kind: str, values: list[str | None], unit: str = "gal") -> Chart:
    cells = tuple(Cell("not read") if one is None else Cell(f"{one} gal", one, unit) for one in values)
    return Chart(kind, "T", unit, tuple(f"L{at}" for at in range(len(values))), (Series("S", cells),))  # type: ignore[arg-type]


@given(numbers, numbers)
def test_an_axis_holds_its_values_in_few_round_steps(a, b):
    """Ticks reach past both ends, are evenly spaced by 1, 2 or 5 times a power of ten, and are few."""
    low, high = min(a, b), max(a, b)
    found = charts.ticks(low, high)
    assert found[0] <= low
    assert high <= found[-1]
    assert 2 <= len(found) <= 7
    steps = {y - x for x, y in itertools.pairwise(found)}
    assert len(steps) == 1
    assert Decimal(steps.pop()).normalize().as_tuple().digits in ((1,), (2,), (5,))


def _plain_bars() -> Chart:
    labels = ("Gull Point Market Hall, dock", "Alder Street Garage, ramps", "Ferry Terminal, lot C")
    cells = tuple(Cell(one, one) for one in ("99999.99", "-99999.99", "0.5"))
    return Chart("bars", "T", "", labels, (Series("S", cells),))


@pytest.mark.parametrize("make", [*ALL, _plain_bars])
@pytest.mark.parametrize("width", [236, 340, 500, 520])
def test_a_chart_stays_inside_its_frame(make, width):
    """At phone and paper widths no shape and no word crosses the edge."""
    drawing = charts.layout(make(), width, "en")
    assert drawing.width == width
    for shape in drawing.shapes:
        if isinstance(shape, Rect):
            assert shape.x >= -0.1
            assert shape.x + shape.w <= width + 0.1
            assert shape.y + shape.h <= drawing.height + 0.1
        elif isinstance(shape, Label):
            wide = fonts.width(shape.text, shape.size, shape.bold)
            start = shape.x - {"start": 0, "middle": wide / 2, "end": wide}[shape.anchor]
            assert start >= -0.5
            assert start + wide <= width + 0.5
            assert 0 <= shape.y <= drawing.height
        else:
            assert all(-2 <= x <= width + 2 and -2 <= y <= drawing.height + 2 for x, y in shape.points)


@pytest.mark.parametrize("kind", ["bars", "stacked", "line", "points"])
def test_a_value_that_is_not_known_is_a_hollow_mark_and_never_a_zero(kind):
    """One hollow diamond and the words for it; no bar, no point and no line stands in for it."""
    known = charts.layout(_chart(kind, ["5", "0", "7"]), 500, "en")
    unknown = charts.layout(_chart(kind, ["5", None, "7"]), 500, "en")

    def hollow(drawing: object) -> int:
        return sum(isinstance(s, Polygon) and s.fill == PAPER for s in drawing.shapes)  # type: ignore[attr-defined]

    assert hollow(known) == 0
    assert hollow(unknown) == 2  # one in the legend, one on the axis
    assert any(isinstance(s, Label) and s.text == word("no figure", "en") for s in unknown.shapes)
    count = {"bars": Rect, "stacked": Rect, "line": Polygon, "points": Polygon}[kind]
    filled = [s for s in unknown.shapes if isinstance(s, count) and s.fill != PAPER]
    assert len(filled) == 3  # the legend's and two values


def test_a_line_breaks_where_a_value_is_missing():
    """Two values, a gap, two values: two strokes, not one."""
    drawing = charts.layout(_chart("line", ["1", "2", None, "4", "5"]), 500, "en")
    strokes = [s for s in drawing.shapes if isinstance(s, Line) and s.colour == charts.FILLS[0]]
    assert [len(s.points) for s in strokes] == [2, 2, 2]  # the legend's and two


def test_bars_start_at_zero_and_keep_their_proportions():
    """Twice the gallons, twice the bar, wherever the smallest value lies."""
    drawing = charts.layout(_chart("bars", ["900", "1800"]), 500, "en")
    bars = [s for s in drawing.shapes if isinstance(s, Rect)][-2:]
    assert bars[1].h == pytest.approx(2 * bars[0].h)
    assert bars[0].y + bars[0].h == pytest.approx(bars[1].y + bars[1].h)


def test_a_bar_below_zero_hangs_from_the_axis():
    """A negative 'not explained' is drawn as what it is."""
    drawing = charts.layout(_chart("bars", ["-50", "50"]), 500, "en")
    below, above = [s for s in drawing.shapes if isinstance(s, Rect)][-2:]
    assert below.y == pytest.approx(above.y + above.h)
    assert below.h == pytest.approx(above.h)


def test_stacked_parts_stand_on_one_another():
    """Each part begins where the one below ends, zero parts take no room."""
    drawing = charts.layout(samples.stacked(), 500, "en")
    bars = [s for s in drawing.shapes if isinstance(s, Rect)][3:]
    first, second, third = bars[:3]
    assert first.y == pytest.approx(second.y + second.h)
    assert second.h == pytest.approx(0)
    assert third.y + third.h == pytest.approx(second.y)


def test_error_bars_span_the_stated_interval():
    """The whisker of 215 ± 16 reaches as far from its mark as the scale says."""
    drawing = charts.layout(samples.points(), 500, "en")
    upright = [s for s in drawing.shapes if isinstance(s, Line) and s.points[0][0] == s.points[1][0]]
    lengths = [abs(s.points[0][1] - s.points[1][1]) for s in upright]
    assert lengths[0] / lengths[3] == pytest.approx(16 / 52)


def test_long_names_lay_the_bars_down():
    """Where names do not fit side by side, bars run to the right and each name is beside its bar."""
    drawing = charts.layout(samples.bars(), 236, "en")
    bars = [s for s in drawing.shapes if isinstance(s, Rect)][1:]
    assert len({bar.h for bar in bars}) == 1
    assert len({bar.w for bar in bars}) == 3


@pytest.mark.parametrize("make", ALL)
def test_the_figures_in_words_hold_every_value(make):
    """Each label with its cell's text, a line a series."""
    chart = make()
    for one, words in zip(chart.series, charts.figures(chart), strict=True):
        for label, cell in zip(chart.labels, one.values, strict=True):
            drawn = chart.kind != "stacked" or cell.number is None or Decimal(cell.number) != 0
            assert (f"{label} {cell.text}" in words) is drawn


@pytest.mark.parametrize("kind", ["bars", "stacked", "line", "points"])
def test_charts_of_nothing_or_of_nothing_known_can_be_drawn(kind):
    """No label, no series, one label, all unknown, all zero."""
    assert charts.layout(Chart(kind, "T", "gal", (), ()), 500, "en").shapes == ()
    for values in (
        ["0"],
        [None],
        [None, None],
        ["0", "0"],
        ["0.01"],
        *([["-9", "-5"]] if kind != "stacked" else []),
    ):
        assert charts.layout(_chart(kind, values), 500, "es").height > 0
        assert charts.layout(_chart(kind, values, unit=""), 500, "es").height > 0


def test_many_labels_are_thinned_and_more_than_six_series_can_still_be_told_apart():
    """365 days keep a readable axis; letters go on where the shades begin again."""
    days = charts.layout(_chart("line", [str(d) for d in range(365)]), 500, "en")
    names = [s for s in days.shapes if isinstance(s, Label) and s.text.startswith("L")]
    assert 2 < len(names) < 40
    series = tuple(Series(f"Place {at}", (Cell("9", "9"), Cell("9", "9"))) for at in range(9))
    many = charts.layout(Chart("stacked", "T", "gal", ("a", "b"), series), 500, "en")
    assert sum(isinstance(s, Label) and s.text == "h" for s in many.shapes) == 2


def test_an_interval_that_is_not_even_is_drawn_to_both_its_ends():
    """92.7 between 86.5 and 99.5: the whisker is longer above than below."""
    cell = Cell("92.7 %", "92.7", "%", "6.8", low="86.5", high="99.5")
    chart = Chart("points", "T", "%", ("a",), (Series("S", (cell,)),))
    upright = [s for s in charts.layout(chart, 500, "en").shapes if isinstance(s, Line) and s.colour != charts.HAIR]
    (whisker,) = [s for s in upright if s.points[0][0] == s.points[1][0]]
    mark = next(s for s in reversed(charts.layout(chart, 500, "en").shapes) if isinstance(s, Polygon))
    middle = sum(y for _, y in mark.points) / 4
    low, high = max(y for _, y in whisker.points), min(y for _, y in whisker.points)
    assert (low - middle) / (middle - high) == pytest.approx(6.2 / 6.8)


@pytest.mark.parametrize(("bound", "down"), [({"high": "92.9"}, True), ({"low": "40"}, False)])
def test_a_bound_is_an_arrow_and_no_figure_and_no_gap(bound, down):
    """'At most 92.9 %' points down from 92.9, on the scale; no hollow mark stands for it."""
    cells = (Cell("80 %", "80", "%"), Cell("a bound", unit="%", **bound))
    drawing = charts.layout(Chart("points", "T", "%", ("a", "b"), (Series("S", cells),)), 500, "en")
    assert not any(isinstance(s, Polygon) and s.fill == PAPER for s in drawing.shapes)
    (arrow,) = [s for s in drawing.shapes if isinstance(s, Polygon) and len(s.points) == 3]
    (base,) = {y for _, y in arrow.points[:2]}
    assert (arrow.points[2][1] > base) is down


def test_points_that_lie_close_together_far_from_zero_have_a_scale_of_their_own():
    """Points need no zero; bars do."""
    near = ["86.6", "91.7"]
    assert charts.scale_of(_chart("points", near, unit="%"))[0] > 80
    assert charts.scale_of(_chart("points", ["10", "91.7"], unit="%"))[0] == 0
    assert charts.scale_of(_chart("bars", near, unit="%"))[0] == 0


def test_counts_have_no_halves_on_their_axis():
    """Two findings are 0, 1, 2; amounts may be 0, 0.5, 1."""
    assert [str(tick) for tick in charts.scale_of(_chart("stacked", ["2", "1"], unit=""))] == ["0", "1", "2"]
    assert len(charts.scale_of(_chart("bars", ["2", "1"]))) > 3


def test_what_is_not_known_stands_under_the_axis():
    """On the line of zero it would read as zero."""
    drawing = charts.layout(_chart("points", ["5", None]), 500, "en")
    axis = max(s.points[0][1] for s in drawing.shapes if isinstance(s, Line) and s.colour == charts.HAIR)
    hollow = [s for s in drawing.shapes if isinstance(s, Polygon) and s.fill == PAPER][-1]
    assert min(y for _, y in hollow.points) > axis
