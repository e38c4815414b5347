"""The back of a card: what to mind for one's own sake, every caution of the table in both languages."""

from __future__ import annotations

from typing import Final

from compliance.intake.cautions import TABLE
from compliance.reports import card_words as words
from compliance.reports import fonts
from compliance.reports.card_pen import SIDE, Pen

_LARGEST: Final = 9.6
_STEP: Final = 0.2
_SMALLEST: Final = 6.0
_HEAD: Final = 40.0
_MARGIN: Final = 9.0
"""Room for the bar that stands beside each caution."""


def draw(width: float, height: float) -> Pen:
    """Everything on the back of a card of this size, in the largest type at which all of it fits."""
    pen = Pen()
    x, wide = SIDE, width - 2 * SIDE
    pen.beside(x, SIDE + 12, words.es("cautions"), words.en("cautions"), size=12)
    pen.text(x, SIDE + 23, words.es("cautions why"), 6.2, room=wide, bold=True)
    pen.text(x, SIDE + 31, words.en("cautions why"), 5.8, room=wide)
    room = height - 2 * SIDE - _HEAD - 12
    size = _LARGEST
    while size > _SMALLEST and _tall(size, wide) > room:
        size -= _STEP
    gap = min(8.0, (room - _tall(size, wide)) / len(TABLE))
    y = SIDE + _HEAD
    for caution in TABLE:
        top = y
        for text, own, bold in ((caution.es, size, True), (caution.en, size * _ENGLISH, False)):
            for line in fonts.wrap(text, wide - _MARGIN, own, bold):
                y += own * _LEADING
                pen.text(x + _MARGIN, y, line, own, bold=bold)
        pen.rule(x + 2, top + 2, x + 2, y + 1.5, 2.4)
        y += gap + size * _BETWEEN
    foot = height - SIDE - 2
    pen.beside(x, foot, words.es("left"), words.en("left"), room=wide, size=6.6)
    return pen


_ENGLISH: Final = 0.88
_LEADING: Final = 1.2
_BETWEEN: Final = 0.55


def _tall(size: float, wide: float) -> float:
    """The height of all cautions at a size of type."""
    lines = sum(
        len(fonts.wrap(c.es, wide - _MARGIN, size, True)) * size
        + len(fonts.wrap(c.en, wide - _MARGIN, size * _ENGLISH)) * size * _ENGLISH
        for c in TABLE
    )
    return lines * _LEADING + len(TABLE) * size * _BETWEEN
