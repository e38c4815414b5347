"""Words and characters on a page: which characters print, the renderers' own few words, and fields of a CSV file.

Pure. What a person typed is never changed in the book; here it is only decided how it is shown.
"""

from __future__ import annotations

import csv
import io
import re
from decimal import Decimal
from typing import Final

from compliance.reports.model import Cell, Language, Page, Table
from compliance.reports.page_json import map_text

_RANGES: Final = """
    0020-007E 00A0-00AC 00AE-02E9 02EC-02EE 02F3 02F7 0300-034E 0351-0353 0357-0358 035A 035C-0362 0370-0377
    037A-037F 0384-038A 038C 038E-03A1 03A3-0525 1E00-1EFB 1F00-1F15 1F18-1F1D 1F20-1F45 1F48-1F4D 1F50-1F57
    1F59 1F5B 1F5D 1F5F-1F7D 1F80-1FB4 1FB6-1FC4 1FC6-1FD3 1FD6-1FDB 1FDD-1FEF 1FF2-1FF4 1FF6-1FFE 2000-200A
    2010-2027 202F-205F 2070-2071 2074-208E 2090-209C 20A0-20B5 20B8-20BA 20BD 2100-2109 210B-2149 214B 214E
    2150-2185 2189 2190-22FF 25A0-25FF 2610-2612 26A0 2713-2718
"""

COVERED: Final[tuple[tuple[int, int], ...]] = tuple((int(one[:4], 16), int(one[-4:], 16)) for one in _RANGES.split())
"""The code points that the bundled typeface prints, as closed ranges; what is invisible by nature is left out."""

_LETTERS = "".join(f"{re.escape(chr(a))}-{re.escape(chr(b))}" for a, b in COVERED)
_NOT_PRINTED = re.compile(f"[^\n{_LETTERS}]")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
_NEW_LINE = re.compile("\r\n?")

_WORDS: Final[dict[str, dict[Language, str]]] = {
    "page": {"en": "page {n} of ", "es": "página {n} de "},
    "continued": {"en": "continued", "es": "continúa"},
    "signature": {"en": "Signature", "es": "Firma"},
    "name": {"en": "Name", "es": "Nombre"},
    "role": {"en": "Role", "es": "Cargo"},
    "date": {"en": "Date", "es": "Fecha"},
    "figures": {"en": "Figures", "es": "Cifras"},
    "no figure": {"en": "no figure", "es": "sin cifra"},
    "no entries": {"en": "no entries", "es": "sin anotaciones"},
    "photo lost": {
        "en": "The book does not hold this photo any more, or it is damaged.",
        "es": "El libro ya no tiene esta foto, o está dañada.",
    },
    "amount unknown": {"en": "dashed: amount not known", "es": "línea punteada: no se sabe la cantidad"},
    "in full": {"en": "In full", "es": "Completo"},
    "continues below": {"en": " [continues in the row below]", "es": " [sigue en la fila de abajo]"},
    "this page": {"en": "This page", "es": "Esta hoja"},
    "number": {"en": "Number", "es": "Número"},
    "status": {"en": "State", "es": "Estado"},
    "from": {"en": "From", "es": "De"},
    "to": {"en": "To", "es": "A"},
    "amount": {"en": "Amount", "es": "Cantidad"},
    "code points": {
        "en": "[U+...] stands for a character that this page does not print; it is the character's Unicode number.",
        "es": "[U+...] está en lugar de un carácter que esta hoja no imprime; es su número en Unicode.",
    },
}


def word(key: str, language: Language) -> str:
    """One of the renderers' own words; every other word on a page comes from its builder."""
    return _WORDS[key][language]


def printable(text: str) -> str:
    """The text as a page prints it: any character outside the typeface as its code point, `[U+4E2D]`.

    That includes control characters and marks that turn the direction of reading. Line ends become newlines and a
    tab becomes a space, as paper has neither.
    """
    return _NOT_PRINTED.sub(_code_point, _on_paper(text))


def _on_paper(text: str) -> str:
    return _NEW_LINE.sub("\n", text).replace("\t", " ")


def without_controls(text: str) -> str:
    """The text with control characters, and marks that turn the direction of reading, as code points.

    For spreadsheets, which have typefaces of their own: letters of any script stay, newlines and tabs too.
    """
    return _CONTROL.sub(_code_point, _NEW_LINE.sub("\n", text))


def _code_point(match: re.Match[str]) -> str:
    return f"[U+{ord(match[0]):04X}]"


def printable_page(page: Page) -> tuple[Page, bool]:
    """The page with every string printable, and whether any character had to be shown as its code point."""
    shown = False

    def show(text: str) -> str:
        nonlocal shown
        if not _NOT_PRINTED.search(text):
            return text
        shown = shown or _NOT_PRINTED.search(_on_paper(text)) is not None
        return printable(text)

    return map_text(page, show), shown


# ---- CSV ----------------------------------------------------------------------------------------------------

_PLAIN_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
_FORMULA_START = re.compile(r"[\s\x00]*[=+\-@\t\r\n\x00＝＋－＠]")


def csv_field(text: str) -> str:
    """Text for a CSV file that no spreadsheet takes for a formula.

    A field that starts like one, also behind blanks, gets an apostrophe in front; a plain number keeps its sign.
    NUL and other control characters are shown as code points.
    """
    if _PLAIN_NUMBER.fullmatch(text):
        return text
    shown = without_controls(text)
    return f"'{shown}" if _FORMULA_START.match(text) else shown


def table_csv(table: Table) -> str:
    """A table as CSV (RFC 4180, CRLF): exact numbers, with ± in a column of its own where any number has one.

    A number whose unit is not its column's is written as the text that a reader sees, unit included.
    """
    split = [
        any(row[at].plus_minus is not None and row[at].unit == column.unit for row in _all(table))
        for at, column in enumerate(table.columns)
    ]
    out = io.StringIO()
    writer = csv.writer(out)
    heads: list[str] = []
    for column, both in zip(table.columns, split, strict=True):
        head = f"{column.label} ({column.unit})" if column.unit else column.label
        heads += [csv_field(head), csv_field(f"{head} ±")] if both else [csv_field(head)]
    writer.writerow(heads)
    for row in _all(table):
        fields: list[str] = []
        for cell, column, both in zip(row, table.columns, split, strict=True):
            same = cell.number is not None and cell.unit == column.unit
            fields.append(plain_number(cell.number or "") if same else csv_field(cell.text))
            if both:
                fields.append(plain_number(cell.plus_minus) if same and cell.plus_minus is not None else "")
        writer.writerow(fields)
    return out.getvalue()


def _all(table: Table) -> tuple[tuple[Cell, ...], ...]:
    return (*table.rows, table.totals) if table.totals else table.rows


def plain_number(number: str) -> str:
    """A decimal string without an exponent: '1E+3' as '1000', the stated zeros kept."""
    return format(Decimal(number), "f")
