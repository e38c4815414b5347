"""The crew's card as a PDF: two to a sheet with a cut line, the fronts first and the cautions on the back."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any, Final, Literal

from reportlab.lib.pagesizes import A4, landscape, letter
from reportlab.pdfgen.canvas import Canvas

from compliance.reports import card_back, card_front, fonts
from compliance.reports.card_blank import Card
from compliance.reports.flow import Picture
from compliance.reports.picture import Drawing

CardPaper = Literal["letter", "A4"]
"""Two half-letter cards on a letter sheet, or two A5 cards on an A4 sheet."""

SHEETS: Final = {"letter": landscape(letter), "A4": landscape(A4)}


def render(cards: Sequence[Card], paper: CardPaper = "letter") -> bytes:
    """The cards as the bytes of a PDF file: for each two cards a sheet of fronts and a sheet of backs.

    Printed on both sides, turned on either edge, each card has its cautions on its back. The same cards are the same
    bytes.
    """
    fonts.register()
    sheet = SHEETS[paper]
    wide, high = sheet[0] / 2, sheet[1]
    out = BytesIO()
    canvas = Canvas(out, pagesize=sheet, invariant=1)
    canvas.setTitle(", ".join(card.serial for card in cards))
    for i in range(0, len(cards), 2):
        pair = cards[i : i + 2]
        fronts = [card_front.draw(card, wide, high) for card in pair]
        back = card_back.draw(wide, high)
        _sheet(canvas, [pen.drawing(wide, high) for pen in fronts], wide, high)
        _sheet(canvas, [back.drawing(wide, high)] * 2, wide, high)
    canvas.save()
    return out.getvalue()


def _sheet(canvas: Any, halves: Sequence[Drawing], wide: float, high: float) -> None:
    for k, drawing in enumerate(halves):
        canvas.saveState()
        canvas.translate(k * wide, 0)
        picture = Picture(drawing, high)
        picture.canv = canvas
        picture.draw()
        canvas.restoreState()
    canvas.setDash([2, 3])
    canvas.setLineWidth(0.5)
    canvas.line(wide, 0, wide, high)
    canvas.showPage()


def cut_texts(card: Card, paper: CardPaper = "letter") -> list[str]:
    """The texts that are too long for their place on the card and end in '…' there."""
    sheet = SHEETS[paper]
    return card_front.draw(card, sheet[0] / 2, sheet[1]).cut
