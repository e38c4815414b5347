"""Tables on paper: columns that share the room, rows that break over sheets under a head that stands again.

Drawn from plain strings like the rest of a page. A table of thousands of rows is broken in time that grows with its
rows, and a row taller than a sheet is broken between its lines. Lengths are in points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus.flowables import Flowable

from compliance.reports import fonts
from compliance.reports.flow import Type, colour, place
from compliance.reports.model import Align, Table, Tone
from compliance.reports.picture import HAIR, INK, MUTED

Texts = tuple[tuple[str, Tone], ...]
"""One row: a text and its tone for each column."""


@dataclass(frozen=True)
class Grid:
    """A table as it is set: column widths known, rules chosen. Lengths in points."""

    widths: tuple[float, ...]
    aligns: tuple[Align, ...]
    head: Texts
    size: float
    leading: float
    ruled: bool
    caption: str
    again: str
    gap: float = 5.0
    pad: float = 1.9

    def broken(self, row: Texts, bold: bool = False) -> list[list[str]]:
        """The lines of each cell of a row."""
        return [
            fonts.wrap(text, wide - self.gap, self.size, bold or tone == "strong")
            for (text, tone), wide in zip(row, self.widths, strict=True)
        ]


@dataclass(frozen=True)
class _Row:
    lines: list[list[str]]
    tones: tuple[Tone, ...]
    rule: str
    height: float


_RULES = {"hair": (HAIR, 0.4), "ink": (INK, 0.9), "none": (HAIR, 0.0)}
CAPTION = Type(8.4, 13, True)
_FEWEST = 3
"""Rows of a broken table that stand together on its last sheet, where it has as many to spare."""


class Rows(Flowable):  # type: ignore[misc]
    """A table, or what is left of it: rows under a head that stands again on every sheet."""

    def __init__(self, grid: Grid, rows: Sequence[_Row], tallest: float, started: bool = False) -> None:
        super().__init__()
        self.grid, self.rows, self.tallest, self.started = grid, rows, tallest, started
        self.head = _set(grid, grid.head, "ink", bold=True) if grid.head else None
        self.caption = fonts.wrap(grid.caption, sum(grid.widths), CAPTION.size, True) if grid.caption else []
        if started:
            self.caption, _ = fonts.shortened(
                f"{grid.caption} {grid.again}".strip(), sum(grid.widths), CAPTION.size, 1, True
            )

    def getSpaceBefore(self) -> float:
        return 3 if self.grid.ruled else 0

    def getSpaceAfter(self) -> float:
        return 7 if self.grid.ruled else 4

    @property
    def top(self) -> float:
        """Room taken by caption and head."""
        return len(self.caption) * CAPTION.leading + (self.head.height if self.head else 0)

    @property
    def least(self) -> float:
        """Room below which it is not worth starting: the head and two rows."""
        return min(self.tallest, self.top + sum(min(row.height, 60) for row in self.rows[:2]))

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        self.width = sum(self.grid.widths)
        self.height = self.top + sum(row.height for row in self.rows)
        return self.width, self.height

    def split(self, wide: float, high: float) -> list[Flowable]:
        room, fit = high - self.top, 0
        while fit < len(self.rows) and self.rows[fit].height <= room:
            room -= self.rows[fit].height
            fit += 1
        if len(self.rows) - _FEWEST >= _FEWEST:  # a row or two alone on a sheet are read as another table
            fit = min(fit, len(self.rows) - _FEWEST) if fit < len(self.rows) else fit
        first, rest = list(self.rows[:fit]), list(self.rows[fit:])
        if rest and rest[0].height > self.tallest * 0.4:
            lines = int((room - 2 * self.grid.pad) // self.grid.leading)
            if lines >= 3:
                above, below = _cut(self.grid, rest[0], lines)
                first.append(above)
                rest[0] = below
        if not first or not rest:
            return []
        return [
            Rows(self.grid, first, self.tallest, self.started),
            Rows(self.grid, rest, self.tallest, started=True),
        ]

    def draw(self) -> None:
        canvas, y = self.canv, self.height
        canvas.setFillColor(colour(INK))
        canvas.setFont(fonts.BOLD, CAPTION.size)
        for line in self.caption:
            canvas.drawString(0, y - 8.6, line)
            y -= CAPTION.leading
        canvas.setDash([])
        if self.head:
            y = self._draw_row(self.head, y, bold=True)
        for row in self.rows:
            y = self._draw_row(row, y, bold=False)

    def _draw_row(self, row: _Row, top: float, bold: bool) -> float:
        canvas, grid = self.canv, self.grid
        x = 0.0
        for lines, tone, wide, align in zip(row.lines, row.tones, grid.widths, grid.aligns, strict=True):
            canvas.setFont(fonts.face(bold or tone == "strong"), grid.size)
            canvas.setFillColor(colour(MUTED if tone == "muted" else INK))
            inner = wide - grid.gap
            start = {"left": x, "right": x + inner, "centre": x + inner / 2}[align]
            y = top - grid.pad - grid.size * 0.95
            for line in lines:
                place(canvas, start, y, line, align)
                y -= grid.leading
            x += wide
        bottom = top - row.height
        ink, weight = _RULES[row.rule]
        if weight:
            canvas.setStrokeColor(colour(ink))
            canvas.setLineWidth(weight)
            canvas.line(0, bottom, sum(grid.widths) - grid.gap, bottom)
        return bottom


def _set(grid: Grid, row: Texts, rule: str, bold: bool = False) -> _Row:
    lines = grid.broken(row, bold)
    height = max(len(one) for one in lines) * grid.leading + 2 * grid.pad
    return _Row(lines, tuple(tone for _, tone in row), rule, height)


def _cut(grid: Grid, row: _Row, lines: int) -> tuple[_Row, _Row]:
    above = [one[:lines] for one in row.lines]
    below = [one[lines:] for one in row.lines]
    used = max(len(one) for one in above) * grid.leading + grid.pad
    return _Row(above, row.tones, "none", used), _Row(below, row.tones, row.rule, row.height - used + grid.pad)


def column_widths(
    texts: Sequence[Texts],
    hints: Sequence[int],
    numeric: Sequence[bool],
    room: float,
    size: float,
    gap: float,
) -> tuple[float, ...]:
    """Share room among columns: hinted ones by weight, the others by what they hold; each holds its longest word.

    A hinted column that needs less than its weight gives it to those that need more, where that saves most lines.
    Only the first 200 rows are measured; what is longer below them wraps.
    """
    count = len(hints)
    whole, least = [0.0] * count, [0.0] * count
    lengths: list[list[list[float]]] = []
    for row in texts[:200]:
        lengths.append([])
        for at, (text, tone) in enumerate(row):
            bold = tone == "strong"
            lengths[-1].append([fonts.width(line, size, bold) for line in text[:400].split("\n")])
            whole[at] = max(whole[at], *lengths[-1][at])
            # figures are read as one word: '940 ± 14 gal' does not break
            parts = text[:400].split("\n" if numeric[at] and len(text) < 24 else None)
            longest = max(parts, key=len, default="")
            least[at] = max(least[at], fonts.width(longest, size, bold))
    most_word = max(room / count, room * 0.2)
    least = [min(one, most_word) + gap for one in least]
    whole = [max(low, min(one + gap, room)) for one, low in zip(whole, least, strict=True)]
    if any(hints):
        total = sum(hints) or 1
        free = room - sum(w for w, h in zip(whole, hints, strict=True) if not h)
        if free > sum(low for low, h in zip(least, hints, strict=True) if h):
            wished = [free * h / total if h else w for w, h in zip(whole, hints, strict=True)]
            lent = [_lent(wished, whole, least_first=first) for first in (False, True)]
            tried = [_at_least(one, least, room) for one in (*lent, wished)]
            return min(tried, key=lambda widths: _lines(lengths, widths, gap))
    if sum(whole) <= room:
        spare = room - sum(whole)
        takers = [w if not n else 0.0 for w, n in zip(whole, numeric, strict=True)]
        if not any(takers):
            takers = whole
        return tuple(w + spare * t / sum(takers) for w, t in zip(whole, takers, strict=True))
    if sum(least) >= room:
        return tuple(room * low / sum(least) for low in least)
    return _at_least(_fair(whole, room), least, room)


def _fair(whole: Sequence[float], room: float) -> list[float]:
    """Columns that ask for no more than an even share get it; the others share what is left by what they ask."""
    widths = [0.0] * len(whole)
    asking = list(range(len(whole)))
    left = room
    while True:
        modest = [at for at in asking if whole[at] <= left / len(asking)]
        if not modest:
            break
        for at in modest:
            widths[at] = whole[at]
            left -= whole[at]
            asking.remove(at)
    total = sum(whole[at] for at in asking)
    for at in asking:
        widths[at] = left * whole[at] / total
    return widths


def _lent(wished: Sequence[float], whole: Sequence[float], *, least_first: bool) -> list[float]:
    """What columns do not need for their longest line goes to those that would break theirs.

    least_first: who lacks least is whole before another gets anything; else each gets its part of what it lacks.
    """
    spare = [max(w - need, 0.0) for w, need in zip(wished, whole, strict=True)]
    lacking = [max(need - w, 0.0) for w, need in zip(wished, whole, strict=True)]
    given, left = [0.0] * len(wished), min(sum(spare), sum(lacking))
    if not left:
        return list(wished)
    taken = left / sum(spare)
    for at in sorted(range(len(lacking)), key=lambda at: lacking[at]):
        given[at] = min(lacking[at], left) if least_first else left * lacking[at] / sum(lacking)
        left -= given[at] if least_first else 0
    return [w + more - part * taken for w, more, part in zip(wished, given, spare, strict=True)]


def _lines(rows: Sequence[Sequence[Sequence[float]]], widths: Sequence[float], gap: float) -> float:
    """About how many lines the rows take at these widths. rows: of each cell, how long its lines are unbroken."""
    return sum(
        max(
            (
                sum(max(-(-line // max(wide - gap, 1)), 1) for line in cell)
                for cell, wide in zip(row, widths, strict=True)
            ),
            default=0,
        )
        for row in rows
    )


def _at_least(wished: Sequence[float], least: Sequence[float], room: float) -> tuple[float, ...]:
    widths = [max(w, low) for w, low in zip(wished, least, strict=True)]
    over = sum(widths) - room
    slack = [w - low for w, low in zip(widths, least, strict=True)]
    if over > 0 and sum(slack) > 0:
        widths = [w - over * s / sum(slack) for w, s in zip(widths, slack, strict=True)]
    return tuple(widths)


def table_rows(table: Table, room: float, tallest: float, again: str, empty: str) -> Rows:
    """A table block, ready to be placed.

    again: what stands behind the caption on the next sheets; empty: what stands where there is no row.
    """
    head: Texts = tuple((f"{c.label} ({c.unit})" if c.unit else c.label, "plain") for c in table.columns)
    body: list[Texts] = [tuple((cell.text, cell.tone) for cell in row) for row in table.rows]
    if not body:
        blank: Texts = tuple(("", "plain") for _ in table.columns[1:])
        body = [((empty, "muted"), *blank)]
    totals: list[Texts] = [tuple((cell.text, "strong") for cell in table.totals)] if table.totals else []
    size, gap = 7.6, 10.0
    bold_head: Texts = tuple((text, "strong") for text, _ in head)
    measured = [bold_head, *totals, *body]
    numeric = [c.numeric for c in table.columns]
    widths = column_widths(measured, [c.width for c in table.columns], numeric, room + gap, size, gap)
    aligns: tuple[Align, ...] = tuple("right" if c.numeric else c.align for c in table.columns)
    grid = Grid(widths, aligns, head, size, 9.8, True, table.caption, again, gap)
    if _set(grid, head, "ink", bold=True).height > tallest * 0.3:
        # a head as tall as this cannot stand again on every sheet; it becomes the first row
        grid = Grid(widths, aligns, (), size, 9.8, True, table.caption, again, gap)
        body.insert(0, bold_head)
    rows = [_set(grid, row, "hair") for row in body]
    if totals:
        rows[-1] = _Row(rows[-1].lines, rows[-1].tones, "ink", rows[-1].height)
        rows.append(_set(grid, totals[0], "none"))
    return Rows(grid, rows, tallest)


_MOST_LINES = 4
"""Of a value that stands beside another: three nights and the zone of their clock."""


def fact_rows(pairs: Sequence[tuple[str, str]], room: float, tallest: float, most: int = 2) -> Rows:
    """Label and value pairs without rules, up to so many pairs a line where the values are short enough for it."""
    size, gap = 8.0, 10.0
    for across in range(most, 0, -1):
        share = room / across
        labels = [
            min(max(fonts.width(label, size) for label, _ in pairs[at::across]) + gap, share * 0.45)
            for at in range(min(across, len(pairs)))
        ]
        fits = all(
            len(fonts.wrap(value, share - labels[at % across] - gap, size)) <= _MOST_LINES
            for at, (_, value) in enumerate(pairs)
        )
        if fits or across == 1:
            break
    widths = tuple(wide for label in labels for wide in (label, share - label))
    rows: list[Texts] = []
    for first in range(0, len(pairs), across):
        cells: list[tuple[str, Tone]] = []
        for label, value in pairs[first : first + across]:
            cells += [(label, "muted"), (value, "plain")]
        cells += [("", "plain")] * (len(widths) - len(cells))
        rows.append(tuple(cells))
    left: Align = "left"
    grid = Grid(widths, (left,) * len(widths), (), size, 10.4, False, "", "", gap, pad=0.9)
    return Rows(grid, [_set(grid, row, "none") for row in rows], tallest)
