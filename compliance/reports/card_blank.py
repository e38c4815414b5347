"""What a card says before anybody writes on it, and how that can be printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from reportlab.graphics.barcode.qrencoder import QR8bitByte, QRCode, QRErrorCorrectLevel

from compliance.reports.text import printable


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


_NAMES: Final = ("business", "rig", "date", "lead", "tank", "supply_meter", "handover_meter")


def printed(card: Card) -> tuple[Card, list[str]]:
    """The card as it can be printed, each text in one line; and the texts of which a character is a code point there.

    The same as `text.printable_page` does for a page: what the typeface lacks must not become an empty box.
    """
    coded = []

    def show(text: str) -> str:
        line = " ".join(text.split())
        shown = printable(line)
        if shown != line:
            coded.append(text)
        return shown

    names = {name: show(getattr(card, name)) for name in _NAMES}
    return replace(card, stops=tuple(map(show, card.stops)), **names), coded
