"""Pieces of a PDF page: lines of text that can be broken over sheets of paper, and drawings.

They are drawn from plain strings, so that no user's text passes through a markup parser. Tables are in `grid`.
Lengths are in points, y grows upwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.utils import ImageReader
from reportlab.platypus.flowables import Flowable

from compliance.reports import fonts
from compliance.reports.picture import ACCENT, HAIR, INK, MUTED, Drawing, Label, Line, Polygon, Rect

_COLOUR = {name: HexColor(name) for name in (ACCENT, HAIR, INK, MUTED)}


def colour(name: str) -> Any:
    """A colour of ours as the PDF writer wants it."""
    if name not in _COLOUR:
        _COLOUR[name] = HexColor(name)
    return _COLOUR[name]


@dataclass(frozen=True)
class Type:
    """How a run of text is set. size, leading: points. before, after: space around it."""

    size: float = 8.4
    leading: float = 11.2
    bold: bool = False
    colour: str = INK
    before: float = 0
    after: float = 4


class Lines(Flowable):  # type: ignore[misc]
    """Text in lines, breakable between any two of them. sign stands before the first line; entry makes a bookmark."""

    def __init__(
        self,
        text: str | Sequence[str],
        type_: Type,
        indent: float = 0,
        sign: str = "",
        entry: tuple[str, int] | None = None,
    ) -> None:
        super().__init__()
        self.text, self.type, self.indent, self.sign, self.entry = text, type_, indent, sign, entry
        self.lines: list[str] = []

    def getSpaceBefore(self) -> float:
        return self.type.before

    def getSpaceAfter(self) -> float:
        return self.type.after

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        if isinstance(self.text, str):
            self.lines = fonts.wrap(self.text, wide - self.indent, self.type.size, self.type.bold)
        else:
            self.lines = list(self.text)
        self.width, self.height = wide, len(self.lines) * self.type.leading
        return wide, self.height

    def split(self, wide: float, high: float) -> list[Flowable]:
        fit = int(high // self.type.leading)
        if fit < 1 or fit >= len(self.lines):
            return []
        rest = Lines(self.lines[fit:], self.type, self.indent)
        return [Lines(self.lines[:fit], self.type, self.indent, self.sign, self.entry), rest]

    def draw(self) -> None:
        canvas, kind = self.canv, self.type
        if self.entry:
            bookmark(canvas, *self.entry, self.height)
        canvas.setFillColor(colour(kind.colour))
        canvas.setFont(fonts.face(kind.bold), kind.size)
        y = self.height - kind.size * 0.95
        if self.sign:
            canvas.drawRightString(self.indent - 4, y, self.sign)
        for line in self.lines:
            canvas.drawString(self.indent, y, line)
            y -= kind.leading


def bookmark(canvas: Any, text: str, level: int, height: float) -> None:
    """An entry in the outline that leads here."""
    canvas.entries = getattr(canvas, "entries", 0) + 1
    key = f"part-{canvas.entries}"
    canvas.bookmarkHorizontal(key, 0, height)
    canvas.addOutlineEntry(text.replace("\n", " "), key, level)


class PhotoRow(Flowable):  # type: ignore[misc]
    """Photos beside each other, each over its own words; a row is not broken over sheets.

    photos: JPEG file or None, lines of the caption, lines of the note. A photo that nobody has is an empty frame.
    """

    GAP, CAPTION, NOTE = 14.0, Type(7.4, 9.6), Type(5.2, 6.8, colour=MUTED)
    TALLEST = 200.0

    def __init__(self, photos: Sequence[tuple[bytes | None, str, str]], wide: float) -> None:
        super().__init__()
        self.each = (wide - self.GAP) / 2
        self.photos = [self._set(*one) for one in photos]
        self.wide = wide
        self.tall = max(high + lines for _, (_, high), _, _, lines in self.photos) + 10

    def _set(self, data: bytes | None, caption: str, note: str) -> tuple[Any, tuple[float, float], Any, Any, float]:
        image = None if data is None else ImageReader(BytesIO(data))
        size = (self.each, 24.0)
        if image is not None:
            wide, high = image.getSize()
            scale = min(self.each / wide, self.TALLEST / high)
            size = (wide * scale, high * scale)
        above, _ = fonts.shortened(caption, self.each, self.CAPTION.size, 6)  # the list of files says it in full
        below = fonts.wrap(note, self.each, self.NOTE.size, False)
        lines = 4 + len(above) * self.CAPTION.leading + len(below) * self.NOTE.leading
        return image, size, above, below, lines

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        return self.wide, self.tall

    def draw(self) -> None:
        canvas, x = self.canv, 0.0
        for image, (wide, high), caption, note, _ in self.photos:
            y = self.tall - high
            if image is None:
                canvas.setStrokeColor(colour(MUTED))
                canvas.setDash([3, 2])
                canvas.rect(x, y, wide, high, stroke=1, fill=0)
                canvas.setDash([])
            else:
                canvas.drawImage(image, x, y, wide, high)
            y -= 4
            for text, kind in ((caption, self.CAPTION), (note, self.NOTE)):
                canvas.setFillColor(colour(kind.colour))
                canvas.setFont(fonts.face(kind.bold), kind.size)
                for line in text:
                    canvas.drawString(x, y - kind.size, line)
                    y -= kind.leading
            x += self.each + self.GAP


class Scaled(Flowable):  # type: ignore[misc]
    """Pieces as one, drawn smaller; they are not broken over sheets. wide: the room on the sheet, in points."""

    def __init__(self, pieces: Sequence[Flowable], scale: float, wide: float) -> None:
        super().__init__()
        self.scale, self.width = scale, wide
        self.placed: list[tuple[float, Flowable]] = []
        tall = after = 0.0
        for piece in pieces:
            _, high = piece.wrap(wide / scale, 0)
            tall += max(after, piece.getSpaceBefore()) if self.placed else 0
            self.placed.append((tall + high, piece))
            tall += high
            after = piece.getSpaceAfter()
        self.tall = tall
        self.height = tall * scale

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        self.canv.saveState()
        self.canv.scale(self.scale, self.scale)
        for down, piece in self.placed:
            piece.drawOn(self.canv, 0, self.tall - down)
        self.canv.restoreState()


class Picture(Flowable):  # type: ignore[misc]
    """A drawing; it shrinks where the sheet is too small for it, as it cannot be broken."""

    def __init__(self, drawing: Drawing, tallest: float) -> None:
        super().__init__()
        self.drawing = drawing
        self.scale = min(1.0, tallest / drawing.height) if drawing.height else 1.0

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        return self.drawing.width * self.scale, self.drawing.height * self.scale

    def draw(self) -> None:
        canvas, high = self.canv, self.drawing.height
        canvas.saveState()
        canvas.scale(self.scale, self.scale)
        for shape in self.drawing.shapes:
            _DRAW[type(shape)](canvas, shape, high)
        canvas.restoreState()


def _pen(canvas: Any, stroke: str, weight: float, dash: Sequence[float] = ()) -> None:
    if stroke:
        canvas.setStrokeColor(colour(stroke))
        canvas.setLineWidth(weight)
        canvas.setDash(list(dash))


def _draw_rect(canvas: Any, shape: Rect, high: float) -> None:
    _pen(canvas, shape.stroke, shape.weight, (3, 2) if shape.dashed else ())
    if shape.fill:
        canvas.setFillColor(colour(shape.fill))
    y = high - shape.y - shape.h
    canvas.rect(shape.x, y, shape.w, shape.h, stroke=bool(shape.stroke), fill=bool(shape.fill))


def _path(canvas: Any, points: Sequence[tuple[float, float]], high: float) -> Any:
    path = canvas.beginPath()
    path.moveTo(points[0][0], high - points[0][1])
    for x, y in points[1:]:
        path.lineTo(x, high - y)
    return path


def _draw_line(canvas: Any, shape: Line, high: float) -> None:
    _pen(canvas, shape.colour, shape.weight, shape.dash)
    canvas.drawPath(_path(canvas, shape.points, high), stroke=1, fill=0)


def _draw_polygon(canvas: Any, shape: Polygon, high: float) -> None:
    _pen(canvas, shape.stroke, shape.weight)
    if shape.fill:
        canvas.setFillColor(colour(shape.fill))
    path = _path(canvas, shape.points, high)
    path.close()
    canvas.drawPath(path, stroke=bool(shape.stroke), fill=bool(shape.fill))


def _draw_label(canvas: Any, shape: Label, high: float) -> None:
    canvas.setFillColor(colour(shape.colour))
    canvas.setFont(fonts.face(shape.bold), shape.size)
    place(canvas, shape.x, high - shape.y, shape.text, shape.anchor)


_DRAW: dict[type, Any] = {Rect: _draw_rect, Line: _draw_line, Polygon: _draw_polygon, Label: _draw_label}


def place(canvas: Any, x: float, y: float, text: str, anchor: str) -> None:
    if anchor in ("end", "right"):
        canvas.drawRightString(x, y, text)
    elif anchor in ("middle", "centre"):
        canvas.drawCentredString(x, y, text)
    else:
        canvas.drawString(x, y, text)
