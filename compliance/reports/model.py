"""The page model: what a page says, before anything knows how it will look. Pure.

A `Page` is frozen data that can be kept as JSON. Every renderer (PDF, HTML, workbook) prints the same page,
so what a reader is told never depends on the file that was opened. The words of a page come from its builder,
in the page's language; the few words that renderers add themselves ('page n of m') live in `reports.text`.

Exact numbers travel as decimal strings. A cell without a number is an answer too ('not read'), never a zero.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Final, Literal

Language = Literal["en", "es"]
Paper = Literal["letter", "A4"]
Align = Literal["left", "right", "centre"]
Tone = Literal["plain", "strong", "muted"]
ChartKind = Literal["bars", "stacked", "line", "points"]
NodeKind = Literal["supply", "used", "captured", "place", "aboard", "away", "unexplained"]


def _exact(what: str, value: str | None) -> None:
    if value is None:
        return
    try:
        number = Decimal(value)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise ValueError(f"{what} is not a finite decimal number: {value!r}")


@dataclass(frozen=True)
class Cell:
    """One value as it is read, and as it is counted.

    text: what a reader sees, unit and ± included where the place calls for it. number: the exact value, a
    decimal string, or None where there is none to count ('not read', 'at least 500'). unit: of number and
    plus_minus. plus_minus: half width of the stated interval, a decimal string, or None where none is stated.
    Spreadsheets write number and plus_minus and drop text, so text may say no more than those three do. low, high:
    ends of an interval that is not even, or of a bound without a number, for a drawing; plus_minus is the longer side.
    """

    text: str
    number: str | None = None
    unit: str = ""
    plus_minus: str | None = None
    tone: Tone = "plain"
    low: str | None = None
    high: str | None = None

    def __post_init__(self) -> None:
        _exact("a cell's number", self.number)
        _exact("a cell's plus_minus", self.plus_minus)
        _exact("a cell's low end", self.low)
        _exact("a cell's high end", self.high)


NO_ANSWER: Final = Cell("–", tone="muted")
"""Where a column's question does not arise."""


@dataclass(frozen=True)
class Fact:
    """A label and its value."""

    label: str
    value: str


@dataclass(frozen=True)
class Heading:
    """A heading of level 2 or 3; level 1 is the page's title."""

    text: str
    level: int = 2

    def __post_init__(self) -> None:
        if self.level not in (2, 3):
            raise ValueError(f"a heading has level 2 or 3, not {self.level}")


@dataclass(frozen=True)
class Paragraph:
    """Running text; a newline is a new line."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Facts:
    """Label and value pairs, in reading order."""

    pairs: tuple[Fact, ...]


@dataclass(frozen=True)
class Column:
    """A column's heading. width: relative weight, 0 = by its contents. unit: of its numbers, if all share it."""

    label: str
    align: Align = "left"
    width: int = 0
    numeric: bool = False
    unit: str = ""


@dataclass(frozen=True)
class Table:
    """Rows under headings. Each row, and totals where given, has one cell a column. note stands underneath."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    totals: tuple[Cell, ...] = ()
    caption: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if not self.columns:
            raise ValueError("a table needs a column")
        wide = len(self.columns)
        for row in self.rows:
            if len(row) != wide:
                raise ValueError(f"a row of {len(row)} cells under {wide} columns in table {self.caption!r}")
        if self.totals and len(self.totals) != wide:
            raise ValueError(f"a totals row of {len(self.totals)} cells under {wide} columns")


@dataclass(frozen=True)
class Bullets:
    """A list of sentences."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class OpenItems:
    """What is still awaited. none: the sentence that stands there when nothing is."""

    title: str
    items: tuple[str, ...]
    none: str = ""


@dataclass(frozen=True)
class Statement:
    """A sentence that a named person stands behind. An empty name, role or date is a line to fill in."""

    sentence: str
    name: str = ""
    role: str = ""
    date: str = ""


@dataclass(frozen=True)
class WaterNode:
    """A place on the water's way. kind decides where it stands: supply, used, captured, then all ends."""

    id: str
    kind: NodeKind
    label: str
    amount: Cell


@dataclass(frozen=True)
class WaterFlow:
    """Water that moved from one node to another; an amount without a number is drawn as a dashed arrow."""

    source: str
    target: str
    amount: Cell


@dataclass(frozen=True)
class WaterPath:
    """The picture of the water's way. Every end is drawn, 'not explained' included."""

    title: str
    nodes: tuple[WaterNode, ...]
    flows: tuple[WaterFlow, ...]
    note: str = ""

    def __post_init__(self) -> None:
        known = [n.id for n in self.nodes]
        if len(set(known)) != len(known):
            raise ValueError("two nodes of a water path share an id")
        for flow in self.flows:
            if flow.source not in known or flow.target not in known:
                raise ValueError(f"a flow from {flow.source!r} to {flow.target!r} leaves the picture")


@dataclass(frozen=True)
class Series:
    """One set of values, one a label; a cell without a number is a gap that prints its text."""

    name: str
    values: tuple[Cell, ...]


@dataclass(frozen=True)
class Chart:
    """A chart and, in the same object, the table behind it.

    kind: 'bars' side by side, 'stacked' (values >= 0), 'line', or 'points' with plus_minus as error bars.
    labels name the places along the axis, label_title what they are ('Day'); unit is that of every value.
    """

    kind: ChartKind
    title: str
    unit: str
    labels: tuple[str, ...]
    series: tuple[Series, ...]
    label_title: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        for one in self.series:
            if len(one.values) != len(self.labels):
                raise ValueError(f"series {one.name!r} has {len(one.values)} values for {len(self.labels)} labels")
            if self.kind == "stacked" and any(c.number and Decimal(c.number) < 0 for c in one.values):
                raise ValueError(f"series {one.name!r} holds a negative value, which cannot be stacked")


@dataclass(frozen=True)
class Tick:
    """A mark on the clock: minutes after the start of the picture."""

    minute: int
    text: str


@dataclass(frozen=True)
class Stretch:
    """Something of a night that lasted from one minute to another, counted from the start of its picture.

    open: 'start', 'end' or 'both' where that end is only a bound, since no time was written down; '' where both are
    stated. An event has start = end. text: what it was and when, in words.
    """

    row: str
    start: int
    end: int
    text: str
    open: str = ""
    strong: bool = False


@dataclass(frozen=True)
class Hours:
    """A night, or a part of one, drawn along the clock. length: minutes; ticks: (minute, text along the axis)."""

    title: str
    length: int
    ticks: tuple[Tick, ...]
    stretches: tuple[Stretch, ...]
    columns: tuple[str, str] = ("", "")
    note: str = ""

    def __post_init__(self) -> None:
        for one in self.stretches:
            if not 0 <= one.start <= one.end <= self.length:
                raise ValueError(f"{one.text!r} leaves the picture")


@dataclass(frozen=True)
class Photo:
    """A photo as it is printed. shown: SHA-256 of the JPEG file; note: small, under the caption."""

    caption: str
    shown: str
    note: str = ""


@dataclass(frozen=True)
class Photos:
    """Photos, two beside each other. A page names its photos; their bytes come from whoever renders it."""

    photos: tuple[Photo, ...]


@dataclass(frozen=True)
class PageBreak:
    """What follows starts on a new sheet of paper, unless the present one has barely begun."""


@dataclass(frozen=True)
class Small:
    """Small print, a line each; the record code is printed this way."""

    lines: tuple[str, ...]


Block = (
    Heading
    | Paragraph
    | Facts
    | Table
    | Bullets
    | OpenItems
    | Statement
    | WaterPath
    | Chart
    | Hours
    | Photos
    | PageBreak
    | Small
)

Pictures = Callable[[str], bytes | None]
"""SHA-256 of a printed photo -> the bytes of its JPEG file, None where nobody has them."""


def no_pictures(sha256: str) -> bytes | None:
    """For a page that is rendered away from its book: each photo is told to be missing."""
    return None


@dataclass(frozen=True)
class Footer:
    """sentence: fixed, at the foot of every sheet. code: the record code, small and last on the page."""

    sentence: str
    code: tuple[str, ...] = ()


@dataclass(frozen=True)
class Page:
    """A whole document.

    kind: 'proof', 'month' and so on, as the builder names it. number: the report's number. issuer: the
    business whose records these are. status: one line beside the title ('complete', '2 items awaited').
    facts: the head of the first sheet.
    """

    kind: str
    title: str
    number: str
    language: Language
    paper: Paper
    facts: tuple[Fact, ...]
    blocks: tuple[Block, ...]
    footer: Footer
    issuer: str = ""
    status: str = ""


def chart_table(chart: Chart) -> Table:
    """The table behind a chart: one row a label, one column a series."""
    first = Column(chart.label_title)
    rest = tuple(Column(one.name, "right", numeric=True, unit=chart.unit) for one in chart.series)
    rows = tuple((Cell(label), *(one.values[at] for one in chart.series)) for at, label in enumerate(chart.labels))
    return Table((first, *rest), rows, caption=chart.title, note=chart.note)
