"""Drawings made of a few plain shapes, and the picture of the water's way.

A `Drawing` is laid out once and then drawn by the PDF and the HTML renderer alike; y grows downwards, lengths are
in points. A label too long for its box ends in '…' and stands in full among the drawing's notes, so that a picture
shortens nothing for good.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from compliance.reports import fonts
from compliance.reports.model import Cell, Column, Language, Table, WaterFlow, WaterNode, WaterPath
from compliance.reports.text import word

INK: Final = "#1a1a1a"
MUTED: Final = "#595959"
HAIR: Final = "#c9c9c9"
ACCENT: Final = "#1f5a73"
TINT: Final = "#edf3f5"
PAPER: Final = "#ffffff"

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


@dataclass(frozen=True)
class Rect:
    """A box; fill and stroke are colours, '' for none."""

    x: float
    y: float
    w: float
    h: float
    fill: str = ""
    stroke: str = ""
    weight: float = 0.8
    dashed: bool = False


@dataclass(frozen=True)
class Line:
    """A line through points; dash: lengths of stroke and gap, () for a solid line."""

    points: tuple[Point, ...]
    colour: str = INK
    weight: float = 0.8
    dash: tuple[float, ...] = ()


@dataclass(frozen=True)
class Polygon:
    """A closed shape; fill and stroke as for Rect."""

    points: tuple[Point, ...]
    fill: str = ""
    stroke: str = ""
    weight: float = 0.8


@dataclass(frozen=True)
class Label:
    """One line of text; (x, y) is on its baseline, at the start, middle or end of it."""

    x: float
    y: float
    text: str
    size: float
    anchor: Anchor = "start"
    bold: bool = False
    colour: str = INK


Shape = Rect | Line | Polygon | Label


@dataclass(frozen=True)
class Drawing:
    """Shapes in the order in which they are drawn. notes: lines of small text that belong underneath."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    notes: tuple[str, ...] = ()


# ---- the water's way ----------------------------------------------------------------------------------------

_SMALL = 7.0
_BIG = 8.5
_PAD = 4.0
_ROW_GAP = 7.0
_MARGIN = 3.0
_DASH = (3.0, 2.0)
_FRAMED = {"used", "captured", "place"}


@dataclass(frozen=True)
class _Box:
    """A node with its lines broken and its place found."""

    node: WaterNode
    label: tuple[str, ...]
    amount: tuple[str, ...]
    x: float
    y: float
    w: float
    h: float

    @property
    def middle(self) -> float:
        return self.y + self.h / 2

    def shapes(self) -> list[Shape]:
        kind = self.node.kind
        fill = TINT if kind == "captured" else PAPER
        stroke = ACCENT if kind in _FRAMED else MUTED
        out: list[Shape] = [
            Rect(
                self.x,
                self.y,
                self.w,
                self.h,
                fill,
                stroke,
                1.1 if kind == "captured" else 0.8,
                kind == "unexplained",
            )
        ]
        y = self.y + _PAD
        for line in self.label:
            y += _SMALL * 1.2
            out.append(Label(self.x + _PAD, y - 1.6, line, _SMALL, colour=INK))
        for line in self.amount:
            y += _BIG * 1.25
            out.append(Label(self.x + _PAD, y - 1.6, line, _BIG, bold=True))
        return out


def water_path(path: WaterPath, width: float, language: Language) -> Drawing:
    """The picture in so many points of width: left to right where there is room for it, else top to bottom."""
    if not path.nodes:
        return Drawing(width, 0, ())
    notes: list[str] = []
    boxes, flows = _across(path, width, notes) if width >= 440 else _down(path, width, notes)
    if any(flow.amount.number is None for flow in path.flows):
        notes.append(word("amount unknown", language))
    if path.note:
        notes.append(path.note)
    shapes = [*flows, *(shape for box in boxes.values() for shape in box.shapes())]
    ends = [y for shape in flows if isinstance(shape, Line) for _, y in shape.points]
    height = max(*(box.y + box.h for box in boxes.values()), *ends, 0.0) + _MARGIN
    return Drawing(width, height, tuple(shapes), tuple(notes))


def path_table(path: WaterPath, language: Language) -> Table:
    """The picture in words: each arrow as a row, and a row for each place that no arrow touches."""
    names = {node.id: node.label for node in path.nodes}
    columns = (
        Column(word("from", language)),
        Column(word("to", language)),
        Column(word("amount", language), numeric=True),
    )
    rows = [(Cell(names[f.source]), Cell(names[f.target]), f.amount) for f in path.flows]
    touched = {end for f in path.flows for end in (f.source, f.target)}
    rows += [(Cell(n.label), Cell(""), n.amount) for n in path.nodes if n.id not in touched]
    return Table(columns, tuple(rows), caption=path.title)


def _sized(node: WaterNode, w: float, notes: list[str]) -> _Box:
    room = w - 2 * _PAD
    label, cut = fonts.shortened(node.label, room, _SMALL, 3)
    amount, cut_too = fonts.shortened(node.amount.text, room, _BIG, 2, bold=True)
    if cut or cut_too:
        notes.append(f"{node.label}: {node.amount.text}")
    h = 2 * _PAD + len(label) * _SMALL * 1.2 + len(amount) * _BIG * 1.25
    return _Box(node, tuple(label), tuple(amount), 0, 0, w, h)


def _columns(path: WaterPath) -> dict[str, int]:
    """Where each node stands: supply, used, captured, ends; water that is first met in a tank starts beside it."""
    kinds = {node.id: node.kind for node in path.nodes}
    at = {"supply": 0, "used": 1, "captured": 2}
    columns = {node.id: at.get(node.kind, 3) for node in path.nodes}
    for flow in path.flows:
        if kinds[flow.source] == "supply":
            columns[flow.source] = max(0, columns[flow.target] - 1)
    used = sorted(set(columns.values()))
    return {node: used.index(column) for node, column in columns.items()}


def _across(path: WaterPath, width: float, notes: list[str]) -> tuple[dict[str, _Box], list[Shape]]:
    columns = _columns(path)
    count = max(columns.values()) + 1
    gap = 40.0 if count > 1 else 0.0
    w = min((width - 2 * _MARGIN - gap * (count - 1)) / count, 190.0)
    boxes = {node.id: _sized(node, w, notes) for node in path.nodes}
    for node, box in boxes.items():  # tall enough for each arrow to arrive with its own amount
        coming = sum(flow.target == node for flow in path.flows)
        boxes[node] = replace(box, h=max(box.h, 8.0 * (coming + 1)))
    rank = _ranks(path, columns)
    for column in range(count - 1, -1, -1):
        members = sorted((n for n in columns if columns[n] == column), key=rank.__getitem__)
        floor, wishes = _MARGIN, []
        for node in members:
            near = [boxes[f.target].middle for f in path.flows if f.source == node and columns[f.target] == column + 1]
            box = boxes[node]
            wish = sum(near) / len(near) - box.h / 2 if near else floor
            y = max(floor, wish)
            wishes.append(wish - y)
            boxes[node] = replace(box, x=_MARGIN + column * (w + gap), y=y)
            floor = y + box.h + _ROW_GAP
        # nodes that wish for one height share it evenly, as far as the top edge allows
        shift = max(sum(wishes) / len(wishes), _MARGIN - boxes[members[0]].y)
        for node in members:
            boxes[node] = replace(boxes[node], y=boxes[node].y + shift)
    boxes |= _out_of_the_way(path, boxes, columns)
    flows: list[Shape] = []
    for target in columns:
        for flow, arrival in _arrivals(path, boxes, target):
            flows += _arrow_across(flow, boxes, columns, arrival)
    return boxes, flows


def _arrivals(path: WaterPath, boxes: dict[str, _Box], target: str) -> list[tuple[WaterFlow, float]]:
    """The arrows into a box, each with the height at which it comes in."""
    into = sorted((f for f in path.flows if f.target == target), key=lambda f: boxes[f.source].middle)
    box = boxes[target]
    return [(flow, box.y + box.h * at / (len(into) + 1)) for at, flow in enumerate(into, 1)]


def _out_of_the_way(path: WaterPath, boxes: dict[str, _Box], columns: dict[str, int]) -> dict[str, _Box]:
    """Boxes moved down so that an arrow past a box does not run through it, as where nothing left the tank."""
    moved = dict(boxes)
    floors: dict[int, float] = {}
    for node in sorted(columns, key=lambda one: boxes[one].y):
        column = columns[node]
        moved[node] = replace(boxes[node], y=max(boxes[node].y, floors.get(column, 0.0)))
        while hit := [
            other
            for flow, y in _arrivals(path, moved, node)
            for name, other in moved.items()
            if columns[flow.source] < columns[name] < column and other.y - 2 < y < other.y + other.h + 2
        ]:
            moved[node] = replace(moved[node], y=max(other.y + other.h for other in hit) + _ROW_GAP)
        floors[column] = moved[node].y + moved[node].h + _ROW_GAP
    return moved


def _ranks(path: WaterPath, columns: dict[str, int]) -> dict[str, tuple[int, int, int]]:
    """The order of the nodes within their columns, from the top.

    One rig's nodes stand together. Ends fed from the tank stand above ends fed from the gun, and what feeds such an
    end stands lowest in its own column, so that arrows past the tank cross nothing.
    """
    rigs = _rigs(path)
    ranks = {}
    for at, node in enumerate(path.nodes):
        nearest = max((columns[f.source] for f in path.flows if f.target == node.id), default=0)
        passing = any(f.source == node.id and columns[f.target] > columns[node.id] + 1 for f in path.flows)
        ranks[node.id] = (rigs[node.id], int(passing) - nearest, at)
    return ranks


def _rigs(path: WaterPath) -> dict[str, int]:
    """A number for each node, the same for nodes whose water ever met."""
    rig = {node.id: at for at, node in enumerate(path.nodes)}
    for flow in path.flows:
        one, other = rig[flow.source], rig[flow.target]
        rig = {node: min(one, other) if at in (one, other) else at for node, at in rig.items()}
    return rig


def _arrow_across(flow: WaterFlow, boxes: dict[str, _Box], columns: dict[str, int], y1: float) -> list[Shape]:
    a, b = boxes[flow.source], boxes[flow.target]
    start, end = a.x + a.w, b.x
    if end <= start:  # used again: back to a column already passed, through the gap underneath
        low = max(a.y + a.h, b.y + b.h) + _ROW_GAP / 2 + 1
        points = [
            (a.x + a.w / 2, a.y + a.h),
            (a.x + a.w / 2, low),
            (b.x + b.w / 2, low),
            (b.x + b.w / 2, b.y + b.h),
        ]
        return [_track(points, flow), _head(points[-1], (0, -1))]
    bypass = columns[flow.target] - columns[flow.source] > 1
    y0 = a.middle + (a.h * 0.3 if bypass else 0)
    if not bypass and a.y + 4 <= y1 <= a.y + a.h - 4:
        y0 = y1
    turn = start + 12 if bypass else end - 16
    points = [(start, y0), (turn, y0), (turn, y1), (end - 4, y1)]
    shapes: list[Shape] = [_track(points, flow), _head((end, y1), (1, 0))]
    text = flow.amount.text
    if text not in (a.node.amount.text, b.node.amount.text):
        shapes.append(Label(end - 6, y1 - 2.5, text, 6.2, "end", colour=MUTED))
    return shapes


def _track(points: list[Point], flow: WaterFlow) -> Line:
    known = flow.amount.number is not None
    return Line(tuple(points), ACCENT if known else MUTED, 1.1, () if known else _DASH)


def _head(tip: Point, towards: Point) -> Polygon:
    (x, y), (dx, dy) = tip, towards
    back_x, back_y = x - 5 * dx, y - 5 * dy
    side = ((back_x - 2.6 * dy, back_y + 2.6 * dx), (back_x + 2.6 * dy, back_y - 2.6 * dx))
    return Polygon((tip, *side), fill=ACCENT)


def _down(path: WaterPath, width: float, notes: list[str]) -> tuple[dict[str, _Box], list[Shape]]:
    """One node a line, each indented under the node that its water came from."""
    columns = _columns(path)
    step, lane = 22.0, 12.0
    back = any(columns[f.target] <= columns[f.source] for f in path.flows)
    right = width - _MARGIN - (lane if back else 0)
    rank = _ranks(path, columns)
    boxes: dict[str, _Box] = {}
    lanes: dict[str, float] = {}
    y = _MARGIN
    for node in sorted(path.nodes, key=lambda one: (columns[one.id], rank[one.id])):
        x = _MARGIN + columns[node.id] * step
        beside = sum(columns[other] == columns[node.id] for other in lanes)
        lanes[node.id] = x + (8 if beside % 2 else 14)  # two sources in one column keep their own lines
        box = replace(_sized(node, right - x, notes), x=x, y=y)
        boxes[node.id] = box
        y += box.h + _ROW_GAP
    flows: list[Shape] = []
    for flow in path.flows:
        a, b = boxes[flow.source], boxes[flow.target]
        if columns[flow.target] <= columns[flow.source]:  # used again: back up along the right-hand side
            edge = right + lane - 2
            points = [(right, a.middle), (edge, a.middle), (edge, b.middle), (right + 4, b.middle)]
            flows += [_track(points, flow), _head((right, b.middle), (-1, 0))]
            continue
        x = lanes[flow.source]
        points = [(x, a.y + a.h), (x, b.middle), (b.x - 4, b.middle)]
        flows += [_track(points, flow), _head((b.x, b.middle), (1, 0))]
    return boxes, flows
