"""The page model: what it refuses, and the table behind a chart."""

from __future__ import annotations

import pytest

from compliance.reports.model import (
    Cell,
    Chart,
    Column,
    Heading,
    Series,
    Table,
    WaterFlow,
    WaterNode,
    WaterPath,
    chart_table,
)

from . import sample_pages as samples


@pytest.mark.parametrize("number", ["", "NaN", "Infinity", "1,000", "12 gal", "0x10"])
def test_a_cell_counts_only_finite_decimals(number):
    """What cannot be counted may be text, never a number."""
    with pytest.raises(ValueError, match="decimal"):
        Cell("x", number)
    with pytest.raises(ValueError, match="decimal"):
        Cell("x", "1", plus_minus=number)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Heading("x", 1),
        lambda: Table((), ()),
        lambda: Table((Column("a"), Column("b")), ((Cell("1"),),)),
        lambda: Table((Column("a"),), (), totals=(Cell("1"), Cell("2"))),
        lambda: Chart("bars", "x", "gal", ("a", "b"), (Series("s", (Cell("1", "1"),)),)),
        lambda: Chart("stacked", "x", "gal", ("a",), (Series("s", (Cell("-1", "-1"),)),)),
        lambda: WaterPath("x", (WaterNode("a", "used", "A", Cell("1")),) * 2, ()),
        lambda: WaterPath("x", (WaterNode("a", "used", "A", Cell("1")),), (WaterFlow("a", "b", Cell("1")),)),
    ],
)
def test_blocks_that_do_not_hold_together_cannot_be_made(make):
    """Ragged rows, series of the wrong length, negative stacks and flows to nowhere are the builder's faults."""
    with pytest.raises(ValueError):
        make()


def test_the_table_behind_a_chart_holds_every_value():
    """One row a label, one column a series, cells as they were, 'not read' included."""
    chart = samples.stacked()
    table = chart_table(chart)
    assert [row[0].text for row in table.rows] == list(chart.labels)
    assert [row[3] for row in table.rows] == list(chart.series[2].values)
