"""The bundled typeface: registering it, measuring text and breaking it into lines.

All text on a page is set from plain strings; no markup language is ever parsed, so nothing in a person's words can
be taken for a command, a picture or an address.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from importlib import resources
from io import BytesIO

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "DejaVuSans"
BOLD = "DejaVuSans-Bold"

_PIECE = re.compile(" +|[^ ]+ *")


@cache
def register() -> None:
    """Make both weights known to the PDF writer; cheap to call again."""
    folder = resources.files("compliance.reports") / "fonts"
    for name in (REGULAR, BOLD):
        pdfmetrics.registerFont(TTFont(name, BytesIO((folder / f"{name}.ttf").read_bytes())))


def face(bold: bool) -> str:
    """The registered name of a weight."""
    return BOLD if bold else REGULAR


@lru_cache(maxsize=100_000)
def _per_point(text: str, bold: bool) -> float:
    register()
    return float(pdfmetrics.stringWidth(text, face(bold), 1000)) / 1000


def width(text: str, size: float, bold: bool = False) -> float:
    """How wide one line of text is at a size, both in points."""
    return _per_point(text, bold) * size


def wrap(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """Break text into lines no wider than room points, at blanks where there are any; a newline breaks too.

    A word wider than the room is broken between characters, so that nothing is ever lost; one character is the least
    that a line holds. Blanks at a break are dropped, all others stay.
    """
    room += 0.001  # a column as wide as its text must hold it, whatever the last binary digit says
    lines: list[str] = []
    for paragraph in text.split("\n"):
        if width(paragraph, size, bold) <= room:
            lines.append(paragraph)
            continue
        line, used = "", 0.0
        for piece in _PIECE.findall(paragraph):
            wide, inked = width(piece, size, bold), width(piece.rstrip(" "), size, bold)
            if used + inked <= room:
                line, used = line + piece, used + wide
                continue
            if line.strip(" "):
                lines.append(line.rstrip(" "))
            *whole, line = _broken(piece, room, size, bold)
            lines += whole
            used = width(line, size, bold)
        lines.append(line.rstrip(" "))
    return lines


def _broken(word: str, room: float, size: float, bold: bool) -> list[str]:
    """A word as pieces that fit; the last piece keeps the blanks that follow the word."""
    if width(word.rstrip(" "), size, bold) <= room:
        return [word]
    pieces: list[str] = []
    piece, used = "", 0.0
    for letter in word.rstrip(" "):
        wide = width(letter, size, bold)
        if piece and used + wide > room:
            pieces.append(piece)
            piece, used = "", 0.0
        piece, used = piece + letter, used + wide
    return [*pieces, piece + word[len(word.rstrip(" ")) :]]


def shortened(text: str, room: float, size: float, most: int, bold: bool = False) -> tuple[list[str], bool]:
    """The text in at most so many lines, and whether it had to end in '…' for that."""
    lines = wrap(text, room, size, bold)
    if len(lines) <= most:
        return lines, False
    last = lines[most - 1]
    while last and width(f"{last}…", size, bold) > room:
        last = last[:-1]
    return [*lines[: most - 1], f"{last.rstrip()}…"], True
