"""Charts as drawings: bars, stacked bars, lines, and points with error bars.

Each chart prints in black and white too: bars carry letters, lines have their own dashes and marks. A value that is
not known is a hollow diamond in a lane of its own under the axis, never a bar of no height; a bound is an arrow at the
end that it has. `figures` gives every value in words. Points, unlike bars, need no zero: an axis that begins elsewhere
says so by its numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Final

from compliance.reports import fonts
from compliance.reports.model import Cell, Chart, Language
from compliance.reports.picture import (
    ACCENT,
    HAIR,
    INK,
    MUTED,
    PAPER,
    Drawing,
    Label,
    Line,
    Point,
    Polygon,
    Rect,
    Shape,
)
from compliance.reports.text import plain_number, word

FILLS: Final = (ACCENT, "#a9c5d1", "#4a4a4a", "#cfcfcf", "#5f92a8", "#8a8a8a")
"""One muted hue and greys, dark and light in turn, so that neighbours differ in print."""

_DASHES: Final[tuple[tuple[float, ...], ...]] = ((), (5, 2), (1.5, 1.5), (7, 2, 1.5, 2))
_SIZE = 7.0
_TICK_ROOM = 4.0
_PLOT_HEIGHT = 128.0
_LANE = 13.0
_MOST_LYING = 32
_GAP_LANE = 11.0


def figures(chart: Chart) -> tuple[str, ...]:
    """Every value of a chart in words, a line a series: what the drawing shows, for readers and for search."""
    unit = f" ({chart.unit})" if chart.unit else ""
    return tuple(
        f"{one.name}{unit}: "
        + "; ".join(
            f"{label} {cell.text}"
            for label, cell in zip(chart.labels, one.values, strict=True)
            if chart.kind != "stacked" or _number(cell) != 0  # nothing is drawn of it either
        )
        for one in chart.series
    )


def ticks(low: Decimal, high: Decimal, most: int = 6, *, whole: bool = False) -> tuple[Decimal, ...]:
    """Round values from at or below low to at or above high, at most so many, steps of 1, 2 or 5 times ten^n.

    whole: of counts, which have no halves.
    """
    if high <= low:
        high = low + 1
    step = Decimal(1).scaleb(((high - low) / most).adjusted())
    if whole:
        step = max(step, Decimal(1))
    for factor in (1, 2, 5, 10, 20):
        size = (step * factor).normalize()
        first = (low / size).to_integral_value(ROUND_FLOOR)
        last = (high / size).to_integral_value(ROUND_CEILING)
        if last - first < most:
            break
    return tuple(size * at for at in range(int(first), int(last) + 1))


def scale_of(chart: Chart) -> tuple[Decimal, ...]:
    """The round values along the axis of a chart, from below its lowest figure to above its highest."""
    numbers = [number for one in chart.series for cell in one.values if (number := _number(cell)) is not None]
    return ticks(*_span(chart), whole=not chart.unit and all(number % 1 == 0 for number in numbers))


def layout(chart: Chart, width: float, language: Language) -> Drawing:
    """The chart in so many points of width. Bars lie down where their labels would not fit side by side."""
    if not chart.labels or not chart.series:
        return Drawing(width, 0, ())
    legend, top = _legend(chart, width, language)
    scale = scale_of(chart)
    slot = (width - 40) / len(chart.labels)
    widest = max(fonts.width(label, _SIZE) for label in chart.labels)
    crowded = widest > slot - 4 and len(chart.labels) <= _MOST_LYING
    lying = chart.kind in ("bars", "stacked") and crowded
    body, height = (_lying if lying else _upright)(chart, width, top, scale)
    return Drawing(width, height, (*legend, *body))


def _number(cell: Cell) -> Decimal | None:
    return None if cell.number is None else Decimal(cell.number)


def _reach(cell: Cell) -> tuple[Decimal, Decimal] | None:
    """From where to where a cell is drawn; a bound is drawn at its end."""
    value = _number(cell)
    ends = [None if end is None else Decimal(end) for end in (cell.low, cell.high)]
    if value is None:
        known = [end for end in ends if end is not None]
        return (min(known), max(known)) if known else None
    if ends[0] is not None and ends[1] is not None:
        return ends[0], ends[1]
    around = Decimal(cell.plus_minus or 0)
    return value - around, value + around


def _span(chart: Chart) -> tuple[Decimal, Decimal]:
    zero = Decimal(0)
    if chart.kind == "stacked":
        sums = [sum((_number(s.values[i]) or zero for s in chart.series), zero) for i in range(len(chart.labels))]
        return zero, max(sums)
    reaches = [reach for one in chart.series for cell in one.values if (reach := _reach(cell))]
    if not reaches:
        return zero, Decimal(1)
    low, high = min(r[0] for r in reaches), max(r[1] for r in reaches)
    close = chart.kind == "points" and 2 * low > high  # far from zero, and close together
    if chart.kind == "bars" or (low >= 0 and not close):  # a bar's length speaks only when it starts at zero
        return min(low, zero), max(high, zero)
    return low, high


def _is_gap(chart: Chart, cell: Cell) -> bool:
    """Whether nothing of a cell can be drawn on the scale."""
    return cell.number is None and not (chart.kind == "points" and _reach(cell))


def _has_gap(chart: Chart) -> bool:
    return any(_is_gap(chart, cell) for one in chart.series for cell in one.values)


def _letter(at: int) -> str:
    return chr(ord("a") + at % 26)


def _legend(chart: Chart, width: float, language: Language) -> tuple[list[Shape], float]:
    shapes: list[Shape] = []
    x, y = 0.0, 8.0
    gap = _has_gap(chart)
    names = [one.name for one in chart.series]
    if len(names) == 1 and not chart.unit and not gap:
        return shapes, 4.0
    lettered = len(names) > 1 and chart.kind in ("bars", "stacked")
    entries = [(at, f"{_letter(at)}  {name}" if lettered else name) for at, name in enumerate(names)]
    if gap:
        entries.append((-1, word("no figure", language)))
    for at, text in entries:
        lines, _ = fonts.shortened(text, width - 20, _SIZE, 1)
        wide = 13 + fonts.width(lines[0], _SIZE) + 14
        if x and x + wide > width:
            x, y = 0.0, y + 11
        if at < 0:
            shapes.append(_diamond((x + 4, y - 2.6)))
        elif chart.kind in ("bars", "stacked"):
            shapes.append(Rect(x, y - 6, 8, 7, FILLS[at % len(FILLS)]))
        else:
            shapes += _stroke(chart, at, [(x - 1, y - 2.6), (x + 9, y - 2.6)])
            shapes += _mark(at, (x + 4, y - 2.6))
        shapes.append(Label(x + 13, y, lines[0], _SIZE, colour=INK))
        x += wide
    if chart.unit:
        wide = fonts.width(chart.unit, _SIZE)
        if x + wide > width:
            y += 11
        shapes.append(Label(width, y, chart.unit, _SIZE, "end", colour=MUTED))
    return shapes, y + 10


def _stroke(chart: Chart, at: int, points: list[Point]) -> list[Shape]:
    if chart.kind != "line" or len(points) < 2:
        return []
    return [Line(tuple(points), FILLS[at % len(FILLS)], 1.2, _DASHES[at % len(_DASHES)])]


def _mark(at: int, centre: Point) -> list[Shape]:
    """A filled mark, its form its own for each of four series."""
    x, y = centre
    r = 2.3
    forms: tuple[tuple[Point, ...], ...] = (
        ((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)),
        ((x, y - r - 0.6), (x + r + 0.4, y + r), (x - r - 0.4, y + r)),
        ((x, y + r + 0.6), (x + r + 0.4, y - r), (x - r - 0.4, y - r)),
        ((x - r, y - 1), (x + r, y - 1), (x + r, y + 1), (x - r, y + 1)),
    )
    return [Polygon(forms[at % len(forms)], FILLS[at % len(FILLS)])]


def _diamond(centre: Point) -> Polygon:
    x, y = centre
    return Polygon(((x, y - 3), (x + 3, y), (x, y + 3), (x - 3, y)), PAPER, MUTED, 0.9)


def _tick_text(value: Decimal) -> str:
    return f"{Decimal(plain_number(str(value))):,f}"


@dataclass(frozen=True)
class _Axis:
    """From values to places along one direction."""

    low: Decimal
    high: Decimal
    start: float
    length: float

    def at(self, value: Decimal) -> float:
        return self.start + self.length * float((value - self.low) / (self.high - self.low))


def _upright(chart: Chart, width: float, top: float, scale: tuple[Decimal, ...]) -> tuple[list[Shape], float]:
    left = max(fonts.width(_tick_text(t), _SIZE) for t in scale) + _TICK_ROOM
    bottom = top + _PLOT_HEIGHT
    lane = _GAP_LANE if _has_gap(chart) else 0.0
    axis = _Axis(scale[0], scale[-1], bottom, -_PLOT_HEIGHT)
    shapes: list[Shape] = []
    for tick in scale:
        y = axis.at(tick)
        shapes.append(Line(((left, y), (width, y)), HAIR, 0.4))
        shapes.append(Label(left - _TICK_ROOM, y + 2.4, _tick_text(tick), _SIZE, "end", colour=MUTED))
    slot = (width - left) / len(chart.labels)
    middles = [left + slot * (at + 0.5) for at in range(len(chart.labels))]
    shapes += _names_below(chart.labels, middles, slot, bottom + lane + 9)
    if chart.kind in ("bars", "stacked"):
        for at, middle in enumerate(middles):
            room = min(slot * 0.76, 46.0)
            for start, thick, a, b, series, cell in _bars(chart, at, axis, room):
                box = Rect(
                    middle - room / 2 + start,
                    min(a, b),
                    thick,
                    abs(a - b),
                    FILLS[series % len(FILLS)],
                    PAPER,
                    0.5,
                )
                shapes += _bar(chart, box, series, cell, axis, upright=True)
    else:
        shapes += _points(chart, middles, axis)
    if scale[0] <= 0 <= scale[-1]:
        shapes.append(Line(((left, axis.at(Decimal(0))), (width, axis.at(Decimal(0)))), INK, 0.8))
    return shapes, bottom + lane + 14


def _lying(chart: Chart, width: float, top: float, scale: tuple[Decimal, ...]) -> tuple[list[Shape], float]:
    room = width * 0.4
    names = [fonts.shortened(label, room, _SIZE, 2) for label in chart.labels]
    left = max(fonts.width(line, _SIZE) for lines, _ in names for line in lines) + 6
    lanes = len(chart.series) if chart.kind == "bars" else 1
    slot = max(_LANE, lanes * 9.0 + 5, *(len(lines) * 8.4 + 4 for lines, _ in names))
    bottom = top + slot * len(chart.labels)
    values = [value for one in chart.series for cell in one.values if (value := _number(cell)) is not None]
    beside = max(fonts.width(_tick_text(value), 6.5) for value in (scale[-1], *values))
    right = width - beside - 6  # a bar's figure stands past its end
    axis = _Axis(scale[0], scale[-1], left, right - left)
    shapes: list[Shape] = []
    for tick in scale:
        x = axis.at(tick)
        shapes.append(Line(((x, top), (x, bottom)), HAIR, 0.4))
        shapes.append(Label(x, bottom + 9, _tick_text(tick), _SIZE, "middle", colour=MUTED))
    thick_room = lanes * 9.0
    for at, (lines, _) in enumerate(names):
        middle = top + slot * (at + 0.5)
        y = middle - len(lines) * 4.2 + 6.6
        for line in lines:
            shapes.append(Label(left - 6, y, line, _SIZE, "end"))
            y += 8.4
        for start, thick, a, b, series, cell in _bars(chart, at, axis, thick_room):
            box = Rect(
                min(a, b),
                middle - thick_room / 2 + start,
                abs(a - b),
                thick,
                FILLS[series % len(FILLS)],
                PAPER,
                0.5,
            )
            shapes += _bar(chart, box, series, cell, axis, upright=False)
    zero = axis.at(Decimal(0))  # bars always span it
    shapes.append(Line(((zero, top), (zero, bottom)), INK, 0.8))
    return shapes, bottom + 14


def _bars(chart: Chart, at: int, axis: _Axis, room: float) -> list[tuple[float, float, float, float, int, Cell]]:
    """Per series at one label: start and thickness across, both ends along the axis, series number, cell."""
    zero = max(axis.low, Decimal(0))
    out = []
    below = zero
    for series, one in enumerate(chart.series):
        cell = one.values[at]
        value = _number(cell)
        if chart.kind == "stacked":
            above = below + (value or 0)
            out.append((0.0, room, axis.at(below), axis.at(above), series, cell))
            below = above
        else:
            thick = room / len(chart.series)
            out.append((series * thick, thick, axis.at(zero), axis.at(value or zero), series, cell))
    return out


def _bar(chart: Chart, box: Rect, series: int, cell: Cell, axis: _Axis, upright: bool) -> list[Shape]:
    across = (box.x + box.w / 2) if upright else (box.y + box.h / 2)
    if cell.number is None:
        return [_diamond((across, axis.start + _GAP_LANE / 2) if upright else (box.x + 5, across))]
    shapes: list[Shape] = [box]
    if len(chart.series) > 1 and box.w >= 7 and box.h >= 8:
        dark = series % len(FILLS) in (0, 2, 4)
        place = (box.x + box.w / 2, box.y + (8 if upright and chart.kind == "bars" else box.h / 2 + 2.2))
        shapes.append(Label(*place, _letter(series), 6.2, "middle", colour=PAPER if dark else INK))
    reach = _reach(cell)
    if chart.kind == "bars" and cell.plus_minus is not None and reach:
        shapes += _whisker(across, axis.at(reach[0]), axis.at(reach[1]), upright)
    elif chart.kind == "bars" and len(chart.series) == 1:
        text = _tick_text(Decimal(cell.number))
        if not upright:
            shapes.append(Label(box.x + box.w + 3, across + 2.4, text, 6.5))
        elif fonts.width(text, 6.5) <= box.w / 0.76:
            shapes.append(Label(across, box.y - 2.5, text, 6.5, "middle"))
    return shapes


def _bound(x: float, axis: _Axis, cell: Cell, reach: tuple[Decimal, Decimal]) -> list[Shape]:
    """A bound: a bar at its end, and an arrow to where the value may lie."""
    down = cell.high is not None
    y = axis.at(reach[1] if down else reach[0])
    tip = y + (11 if down else -11)
    head = tip - (3.4 if down else -3.4)
    return [
        Line(((x - 3.4, y), (x + 3.4, y)), INK, 0.9),
        Line(((x, y), (x, head)), INK, 0.9),
        Polygon(((x - 2.2, head), (x + 2.2, head), (x, tip)), INK),
    ]


def _whisker(across: float, a: float, b: float, upright: bool) -> list[Shape]:
    def turned(along: float, side: float) -> Point:
        return (across + side, along) if upright else (along, across + side)

    return [
        Line((turned(a, 0), turned(b, 0)), INK, 0.9),
        *(Line((turned(end, -2.6), turned(end, 2.6)), INK, 0.9) for end in (a, b)),
    ]


def _points(chart: Chart, middles: list[float], axis: _Axis) -> list[Shape]:
    shapes: list[Shape] = []
    count = len(chart.series)
    spread = (
        0.0 if chart.kind == "line" else min(9.0, (middles[1] - middles[0]) / (count + 1) if len(middles) > 1 else 9.0)
    )
    for at, one in enumerate(chart.series):
        aside = (at - (count - 1) / 2) * spread
        run: list[Point] = []
        marks: list[Shape] = []
        for middle, cell in zip(middles, one.values, strict=True):
            x, value = middle + aside, _number(cell)
            if value is None:
                shapes += _stroke(chart, at, run)
                run = []
                reach = None if _is_gap(chart, cell) else _reach(cell)
                if reach is None:
                    marks.append(_diamond((x, axis.start + _GAP_LANE / 2)))
                else:
                    marks += _bound(x, axis, cell, reach)
                continue
            place = (x, axis.at(value))
            run.append(place)
            reach = _reach(cell)
            if cell.plus_minus is not None and reach:
                marks += _whisker(x, axis.at(reach[0]), axis.at(reach[1]), upright=True)
            marks += _mark(at, place)
        shapes += _stroke(chart, at, run)
        shapes += marks
    return shapes


def _names_below(labels: tuple[str, ...], middles: list[float], slot: float, y: float) -> list[Shape]:
    """Labels under the axis; where they are crowded, every second or third stands, the first always."""
    short = [fonts.shortened(label, max(slot - 3, 40.0), _SIZE, 1)[0][0] for label in labels]
    widest = max(fonts.width(one, _SIZE) for one in short) + 7
    every = max(1, -int(-widest // slot))
    shapes: list[Shape] = []
    edge = middles[-1] + slot / 2
    for text, middle in list(zip(short, middles, strict=True))[::every]:
        over = max(0.0, middle + fonts.width(text, _SIZE) / 2 - edge)
        shapes.append(Label(middle - over, y, text, _SIZE, "middle", colour=MUTED))
    return shapes
