"""Charts of a spreadsheet file: native ones, each with the block of figures that it reads.

A value that is not known is an empty cell of that block with its words beside it, because spreadsheets draw text as
zero.
"""

from __future__ import annotations

from typing import Any

from openpyxl.chart import BarChart, LineChart, Reference
from openpyxl.chart import Series as Drawn
from openpyxl.chart.data_source import NumDataSource, NumRef
from openpyxl.chart.error_bar import ErrorBars
from openpyxl.utils import get_column_letter, quote_sheetname

from compliance.reports.charts import FILLS, scale_of
from compliance.reports.model import Cell, Chart, Column, Language, Series, Table
from compliance.reports.text import without_controls, word


def drawn(chart: Chart, sheet: Any, head: int) -> Any:
    """The chart over the figures that stand on the sheet. head: the row of their headings."""
    last = head + len(chart.labels)
    made = _CHARTS[chart.kind]()
    made.height, made.width = 8.2, 17.5
    made.display_blanks = "gap"
    for axis in (made.x_axis, made.y_axis):
        axis.delete = False
    made.x_axis.tickLblPos = "low"  # clear of bars and points below zero
    made.y_axis.title = without_controls(chart.unit) or None
    made.y_axis.number_format = _axis_format(chart)
    made.legend.position = "b"
    if chart.kind == "points":  # as on paper, so that no error bar is cut off at the axis
        scale = scale_of(chart)
        made.y_axis.scaling.min, made.y_axis.scaling.max = float(scale[0]), float(scale[-1])
    if chart.kind == "stacked":
        made.grouping, made.overlap = "stacked", 100
    name = quote_sheetname(sheet.title)
    for at, one in enumerate(chart.series):
        place = 2 + at
        series = Drawn(Reference(sheet, place, head, place, last), title_from_data=True)
        _paint(series, chart.kind, at)
        if _spread(one):
            letter = get_column_letter(2 + len(chart.series) + sum(map(_spread, chart.series[:at])))
            range_ = NumDataSource(NumRef(f=f"{name}!${letter}${head + 1}:${letter}${last}"))
            series.errBars = ErrorBars("y", "both", "cust", plus=range_, minus=range_)
        made.series.append(series)
    made.set_categories(Reference(sheet, 1, head + 1, 1, last))
    return made


def _axis_format(chart: Chart) -> str:
    """As many decimals as the axis needs: along one from 0 to 0.2, whole numbers are 0, 0 and 0."""
    places = max(-int(at.normalize().as_tuple().exponent) for at in scale_of(chart))
    return "#,##0" + (f".{'0' * places}" if places > 0 else "")


_CHARTS: dict[str, Any] = {"bars": BarChart, "stacked": BarChart, "line": LineChart, "points": LineChart}
_MARKS = ("square", "triangle", "diamond", "circle")


def _paint(series: Any, kind: str, at: int) -> None:
    colour = FILLS[at % len(FILLS)][1:]
    if kind in ("bars", "stacked"):
        series.graphicalProperties.solidFill = colour
        return
    series.smooth = False
    series.marker.symbol = _MARKS[at % len(_MARKS)]
    series.marker.graphicalProperties.solidFill = colour
    series.marker.graphicalProperties.line.solidFill = colour
    if kind == "line":
        series.graphicalProperties.line.solidFill = colour
    else:
        series.graphicalProperties.line.noFill = True


def _spread(series: Series) -> bool:
    return any(cell.plus_minus is not None for cell in series.values)


def figures(chart: Chart, language: Language) -> Table:
    """What a chart is drawn from: label, a column a series, their ±, and in words what has no figure."""
    unit = chart.unit
    columns = [Column(chart.label_title)]
    columns += [Column(one.name, numeric=True, unit=unit) for one in chart.series]
    stated = [one for one in chart.series if _spread(one)]
    columns += [Column(f"{one.name} ±", numeric=True, unit=unit) for one in stated]
    columns += [Column(word("no figure", language))]
    rows = []
    for at, label in enumerate(chart.labels):
        cells = [one.values[at] for one in chart.series]
        values = [Cell(cell.text if cell.number else "", cell.number, unit) for cell in cells]
        halves = [one.values[at].plus_minus for one in stated]
        spreads = [Cell(half or "", half, unit) for half in halves]
        silent = [
            f"{one.name}: {cell.text}" for one, cell in zip(chart.series, cells, strict=True) if cell.number is None
        ]
        rows.append((Cell(label), *values, *spreads, Cell("; ".join(silent))))
    return Table(tuple(columns), tuple(rows), note=chart.note)
