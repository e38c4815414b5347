"""The crew's card as a PDF: two to a sheet with a cut line, the fronts first and the cautions on the back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO
from typing import Any, Final, Literal

from reportlab.graphics.barcode.qrencoder import QR8bitByte, QRCode, QRErrorCorrectLevel
from reportlab.lib.pagesizes import A4, landscape, letter
from reportlab.pdfgen.canvas import Canvas

from compliance.reports import card_back, card_front, fonts
from compliance.reports.flow import Picture
from compliance.reports.picture import Drawing

CardPaper = Literal["letter", "A4"]
"""Two half-letter cards on a letter sheet, or two A5 cards on an A4 sheet."""

SHEETS: Final = {"letter": landscape(letter), "A4": landscape(A4)}


@dataclass(frozen=True)
class Card:
    """What is printed on one card before anybody writes on it; '' and () leave a line blank.

    serial: as `intake.serial` writes it. unit: of the book. tank, supply_meter, handover_meter: names of the rig's own.
    """

    serial: str
    business: str = ""
    rig: str = ""
    date: str = ""
    lead: str = ""
    stops: tuple[str, ...] = ()
    tank: str = ""
    supply_meter: str = ""
    handover_meter: str = ""
    unit: str = "gal"

    @cached_property
    def modules(self) -> Sequence[Sequence[bool]]:
        """The serial as a square code, row by row."""
        code = QRCode(1, QRErrorCorrectLevel.M)
        code.addData(QR8bitByte(self.serial))
        code.make()
        side = range(code.moduleCount)
        return [[bool(code.isDark(row, column)) for column in side] for row in side]


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
