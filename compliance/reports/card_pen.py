"""The pen that lays a card out: boxes for ticks, lines to write on, words in two languages; all lengths in points.

Every box and every line remembers which answer it is for, so that a test can ask whether all are there, whether they
are big enough for a wet glove and whether anything lies on anything else.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from compliance.intake.card_lines import Ask
from compliance.reports import fonts
from compliance.reports.picture import INK, PAPER, Drawing, Label, Line, Rect, Shape

MM: Final = 72 / 25.4
SIDE: Final = 5 * MM
"""White around a card, which no printer reaches."""
BOX: Final = 15.6
"""Side of a box: 5.5 mm."""
SMALLEST: Final = 5.0
"""No word on a card is set smaller than this, in points."""
ES, EN = 6.3, 5.7
"""Usual sizes of the two languages: what the crew reads first is the larger."""
WRITTEN: Final = 9.0
"""Size of what is filled in by the printer instead of by hand."""

GRATE: Final = 8.4
"""Width of the picture of a storm drain."""

READ: Final = 5.8
"""A name that has to be set smaller than this is set in two lines instead."""
_LEADING: Final = 1.08

_GREY: Final = "#8a8a8a"


@dataclass(frozen=True)
class Place:
    """A box to tick or a line to write on. key: 'stop.3.drains=covered', 'night.rain=heavy', 'night.tank_now' ..."""

    key: str
    x: float
    y: float
    w: float
    h: float


@dataclass
class Pen:
    """Draws on one card. shapes, boxes and lines grow; cut: texts that had to be shortened to fit."""

    shapes: list[Shape] = field(default_factory=list)
    boxes: list[Place] = field(default_factory=list)
    lines: list[Place] = field(default_factory=list)
    cut: list[str] = field(default_factory=list)

    def drawing(self, width: float, height: float) -> Drawing:
        """What was drawn."""
        return Drawing(width, height, tuple(self.shapes))

    def text(self, x: float, y: float, text: str, size: float, *, room: float = 0, bold: bool = False) -> float:
        """One line of text from its baseline; shrunk, then shortened to the room if there is one. Its width."""
        if room:
            size = _fitting(text, room, size, bold)
            lines, was_cut = fonts.shortened(text, room, size, 1, bold)
            if was_cut:
                self.cut.append(text)
            text = lines[0]
        self.shapes.append(Label(x, y, text, size, bold=bold))
        return fonts.width(text, size, bold)

    def centred(self, x: float, y: float, text: str, size: float, *, room: float, bold: bool = False) -> float:
        """One line of text around x, shrunk to the room; its width."""
        size = _fitting(text, room, size, bold)
        self.shapes.append(Label(x, y, text, size, "middle", bold))
        return fonts.width(text, size, bold)

    def right(self, x: float, y: float, text: str, size: float) -> float:
        """One line of bold text that ends at x; its width."""
        self.shapes.append(Label(x, y, text, size, "end", True))
        return fonts.width(text, size, True)

    def pair(self, x: float, y: float, es: str, en: str, *, room: float, size: float = ES) -> None:
        """Spanish over English, from the upper line's baseline."""
        self.text(x, y, es, size, room=room, bold=True)
        self.text(x, y + size + 0.8, en, max(SMALLEST, size - (ES - EN)), room=room)

    def beside(self, x: float, y: float, es: str, en: str, *, room: float = 0, size: float = ES) -> float:
        """Spanish and English in one line; their width."""
        if room:
            size = min(size, _both(es, en, room, size))
        wide = self.text(x, y, es, size, bold=True)
        wide += fonts.width("  ", size)
        return wide + self.text(x + wide, y, en, max(SMALLEST, size - (ES - EN)))

    def box(self, key: str, x: float, y: float, *, wide: float = BOX) -> None:
        """A box to tick, from its upper left corner."""
        self.shapes.append(Rect(x, y, wide, BOX, PAPER, INK, 1.0))
        self.boxes.append(Place(key, x, y, wide, BOX))

    def tick(self, key: str, x: float, y: float, ask: Ask, value: str, *, room: float) -> None:
        """The box of one printed answer with its words to the right; room: for both."""
        self.box(key, x, y)
        es, en = capital(ask.answer(value, "es")), ask.answer(value, "en")
        self.pair(x + BOX + 2.5, y + 6.6, es, en, room=room - BOX - 5.5)

    @staticmethod
    def tick_width(ask: Ask, value: str) -> float:
        """How wide a box with its words is, and the white behind them."""
        es, en = fonts.width(capital(ask.answer(value, "es")), ES, True), fonts.width(ask.answer(value, "en"), EN)
        return BOX + 6 + max(es, en)

    def grate(self, x: float, y: float) -> None:
        """The picture of a storm drain's grate, which goes wherever the drain is named."""
        self.shapes.append(Rect(x, y, GRATE, 6.4, PAPER, INK, 0.8))
        for bar in range(1, 4):
            self.rule(x + bar * GRATE / 4, y + 1.2, x + bar * GRATE / 4, y + 5.2, 0.8)

    def line(self, key: str, x: float, y: float, wide: float, tall: float, given: str = "") -> None:
        """A line to write on; y is where it is drawn, tall the room above it. given: what the printer fills in."""
        self.rule(x, y, x + wide, y, 0.7)
        self.lines.append(Place(key, x, y - tall, wide, tall))
        if given:
            self._given(x + 2, y, given, wide - 4, tall)

    def _given(self, x: float, y: float, text: str, room: float, tall: float) -> None:
        """What the printer fills in: in one line if it can be read so, else in two, and only then cut at its end."""
        size = min(WRITTEN, tall * 0.62)
        if fonts.width(text, READ, True) <= room:
            self.text(x, y - 3.2, text, size, room=room, bold=True)
            return
        size = min(READ, (tall - 1.5) / 2 / _LEADING)
        while size > SMALLEST and len(fonts.wrap(text, room, size, True)) > 2:
            size = max(SMALLEST, size - 0.2)
        lines, was_cut = fonts.shortened(text, room, size, 2, True)
        if was_cut:
            self.cut.append(text)
        for k, line in enumerate(lines, start=1):
            self.shapes.append(Label(x, y - 1.8 - (len(lines) - k) * size * _LEADING, line, size, bold=True))

    def rule(self, x: float, y: float, to_x: float, to_y: float, weight: float, *, pale: bool = False) -> None:
        """A straight line that means nothing but order."""
        self.shapes.append(Line(((x, y), (to_x, to_y)), _GREY if pale else INK, weight))


def capital(text: str) -> str:
    """With a capital letter, as an answer or a label begins."""
    return text[:1].upper() + text[1:]


def _fitting(text: str, room: float, size: float, bold: bool) -> float:
    """The size at which a line fits its room, between `SMALLEST` and the one asked for."""
    wide = fonts.width(text, size, bold)
    return size if wide <= room else max(SMALLEST, size * room / wide)


def _both(es: str, en: str, room: float, size: float) -> float:
    """The size at which both languages fit one line."""
    wide = fonts.width(f"{es}  ", size, True) + fonts.width(en, size - (ES - EN))
    return max(SMALLEST + ES - EN, size * room / wide) if wide > room else size
