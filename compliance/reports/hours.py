"""A night along the clock as a drawing: a bar for what lasted, a mark for what happened, dashes for a bound."""

from __future__ import annotations

from typing import Final

from compliance.reports import fonts
from compliance.reports.model import Cell, Column, Hours, Stretch, Table
from compliance.reports.picture import ACCENT, HAIR, INK, MUTED, PAPER, TINT, Drawing, Label, Line, Polygon, Rect, Shape

_SIZE: Final = 7.0
_LANE: Final = 17.0
_BAR: Final = 9.0
_MARK: Final = 3.2


def layout(hours: Hours, width: float) -> Drawing:
    """The picture in so many points of width; a row for each name, in the order in which they come."""
    if not hours.stretches or hours.length <= 0:
        return Drawing(width, 0, ())
    rows = list(dict.fromkeys(one.row for one in hours.stretches))
    names = [fonts.shortened(row, width * 0.32, _SIZE, 1)[0][0] for row in rows]
    left = max(fonts.width(name, _SIZE) for name in names) + 8
    room = width - left - 6
    bottom = len(rows) * _LANE + 4
    shapes: list[Shape] = []

    def x(minute: int) -> float:
        return left + room * minute / hours.length

    last = -1e9
    for tick in hours.ticks:
        at = x(tick.minute)
        shapes.append(Line(((at, 0), (at, bottom)), HAIR, 0.4))
        wide = fonts.width(tick.text, _SIZE)
        middle = min(at, width - wide / 2)  # the last hour is as good as the others
        if middle - wide / 2 > last + 4:
            shapes.append(Label(middle, bottom + 9, tick.text, _SIZE, "middle", colour=MUTED))
            last = middle + wide / 2
    for n, (row, name) in enumerate(zip(rows, names, strict=True)):
        middle = n * _LANE + _LANE / 2 + 2
        shapes.append(Label(left - 6, middle + 2.4, name, _SIZE, "end"))
        for one in hours.stretches:
            if one.row == row:
                shapes += _drawn(one, x(one.start), x(one.end), middle)
    shapes.append(Line(((left, bottom), (left + room, bottom)), INK, 0.8))
    notes = tuple(row for row, name in zip(rows, names, strict=True) if row != name)
    return Drawing(width, bottom + 14, tuple(shapes), notes)


def _drawn(one: Stretch, start: float, end: float, middle: float) -> list[Shape]:
    if one.start == one.end and not one.open:
        corners = ((start, middle - _MARK), (start + _MARK, middle), (start, middle + _MARK), (start - _MARK, middle))
        return [Polygon(corners, INK if one.strong else PAPER, INK, 0.9)]
    fill = TINT if one.open else (INK if one.strong else ACCENT)
    stroke = INK if one.strong else ACCENT
    return [Rect(start, middle - _BAR / 2, max(end - start, 1.2), _BAR, fill, stroke, 0.8, bool(one.open))]


def table(hours: Hours) -> Table:
    """What the picture shows, in words."""
    what, when = hours.columns
    rows = tuple((Cell(one.row), Cell(one.text, tone="strong" if one.strong else "plain")) for one in hours.stretches)
    return Table((Column(what, width=3), Column(when, width=7)), rows, caption=hours.title, note=hours.note)
