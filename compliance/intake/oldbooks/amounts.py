"""Figures as people wrote them: with units, marks for 'about', thousands, decimal commas and fractions of an inch.

A figure like 1,200 or 1.200 has two readings until the file, or the mapping, says which mark stands before decimals.
Nothing is added up or multiplied: '450+300' is no figure.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache
from typing import Final

from compliance.intake.limits import too_large
from compliance.intake.text import shown
from compliance.records.answer import NOT_APPLICABLE, NOT_READ, SPOKEN
from compliance.records.names import folded
from compliance.records.quantity import LENGTH, LONGEST, UNITS, VOLUME, Quantity, unit_named
from compliance.records.quick import dataclass

POINT, COMMA = "point", "comma"
DECIMALS: Final = (POINT, COMMA)
_MARK: Final = {POINT: ".", COMMA: ","}

_ANSWERS: Final = {folded(spoken): written for spoken, written in SPOKEN.items()} | {
    "na": NOT_APPLICABLE, "n.a": NOT_APPLICABLE, "n.a.": NOT_APPLICABLE, "n / a": NOT_APPLICABLE,
    "didnt read": NOT_READ, "didn't read": NOT_READ, "no reading": NOT_READ, "unread": NOT_READ,
    "sin lectura": NOT_READ, "no leido": NOT_READ, "no leida": NOT_READ, "sin leer": NOT_READ,
}  # fmt: skip
"""What stands in old books for the answers without a value. A dash, a question mark and 'none' are asked about."""

DITTO: Final = frozenset(
    folded(text)
    for text in (
        '"', "''", "〃", "ditto", "do.", "same", "same as last", "same as above", "same as last time", "as above",
        "same as before", "same as last night", "same as yesterday", "same as previous", "same as prev.",
        "same as the last", "idem", "ídem", "id.", "lo mismo",
        "el mismo", "la misma", "igual", "igual que arriba", "igual que el anterior", "igual que la anterior",
        "igual al anterior", "lo mismo que arriba", "mismo",
    )
)  # fmt: skip
"""What stands in old books for 'as in the row above'."""

ERRORS: Final = frozenset(
    ("#REF!", "#VALUE!", "#N/A", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#SPILL!", "#CALC!", "######", "Err:502")
)
"""What a spreadsheet shows where a formula failed."""

_NUMBER: Final = r"(?:[0-9]{1,3}(?:[ ’'][0-9]{3})+(?:[.,][0-9]+)?|[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)"
_ABOUT: Final = (
    r"~|≈|about|approx(?:imately)?\.?|aprox(?:imadamente)?\.?|around|circa|ca\.?|est\.?|unos|unas|como|mas o menos"
)
_SHAPE: Final = re.compile(
    rf"(?P<sign>{_ABOUT}|>=|≥|<=|≤|at least|at most|al menos|por lo menos|como maximo|a lo mucho)?\s*"
    rf"(?P<minus>-)?(?P<a>{_NUMBER})(?:\s*(?:-|–|\.\.|to|a)\s*(?P<b>{_NUMBER}))?"
    rf"\s*(?P<after>{_ABOUT}|\((?:{_ABOUT})\))?\s*(?P<unit>[^0-9\s~≈+±].*?)?\s*"
    rf"(?P<last>{_ABOUT}|\((?:{_ABOUT})\)|\+/-|±)?",
)
_LONGEST: Final = 80
"""Characters of the longest figure; a longer text is not searched, which could take time without end."""
_AT_LEAST: Final = frozenset((">=", "≥", "at least", "al menos", "por lo menos"))
_AT_MOST: Final = frozenset(("<=", "≤", "at most", "como maximo", "a lo mucho"))
_VULGAR: Final = re.compile("[½¼¾⅛⅜⅝⅞]")
_FRACTION: Final = re.compile(
    r"(?:(?P<whole>[0-9]{1,3})(?:\s+|\s*-\s*|\s*&\s*))?(?P<over>[0-9]{1,2})/(?P<under>[0-9]{1,2})(?P<rest>\s*\D*)"
)
_UNIT_WORDS: Final = {"gls": "gal", "galon": "gal", "g": "gal", "lts": "L", "lt": "L", "ltrs": "L"}
_LEVEL_WORDS: Final = {
    "empty": "empty", "full": "full", "vacio": "empty", "vacia": "empty", "lleno": "full", "llena": "full",
}  # fmt: skip
_LONG_BEHIND_COMMA: Final = re.compile(r"[0-9]+,[0-9]{4,}")
_SPREADSHEET_NUMBER: Final = re.compile(r"-?[0-9.,]*[0-9]")


@dataclass(frozen=True)
class Figure:
    """A figure that can be read. text: as stored; quantity: the same to add up with, None for an answer without one."""

    text: str
    quantity: Quantity | None = None


@dataclass(frozen=True)
class Unread:
    """A figure that cannot be read. ask: a mapping can say what is meant; otherwise the file has to be mended.

    mark: it only waits for the mark before decimals.
    """

    why: str
    ask: bool = True
    mark: bool = False


def answer(text: str) -> str | None:
    """The answer without a value that a text stands for, or None."""
    return _ANSWERS.get(folded(text)) if len(text) < 40 else None


@lru_cache(maxsize=50_000)
def marks(text: str) -> frozenset[str]:
    """The marks before decimals that a text allows, by the form of its figures; both where it does not tell."""
    allowed = frozenset(DECIMALS)
    for raw in _figures_in(text):
        readings = _readings(raw)
        if len(readings) == 1 and not _slipped(raw):
            allowed &= readings.keys()
    return allowed


def two_readings(text: str) -> bool:
    """Whether a figure in a text is one number with a decimal point and another with a decimal comma."""
    return any(len(set(_readings(raw).values())) == 2 for raw in _figures_in(text))


def _figures_in(text: str) -> list[str]:
    match = _shape(text)
    return [] if match is None else [raw for raw in (match["a"], match["b"]) if raw]


def _slipped(raw: str) -> bool:
    """Whether four figures or more stand behind a lone comma: '1,2345' is likelier a slip among thousands."""
    return _LONG_BEHIND_COMMA.fullmatch(raw) is not None


def _readings(raw: str) -> dict[str, Decimal]:
    """mark before decimals -> number, for each mark under which the figure is well formed."""
    bare = re.sub(r"[ ’']", "", raw)
    found = {}
    for mark in DECIMALS:
        whole, _, part = bare.partition(_MARK[mark])
        first, *groups = whole.split(_MARK[COMMA if mark == POINT else POINT])
        if (part and not part.isdigit()) or any(len(group) != 3 for group in groups):
            continue
        if groups and not (0 < len(first) <= 3 and first[0] != "0"):
            continue
        found[mark] = Decimal(f"{first or '0'}{''.join(groups)}" + (f".{part}" if part else ""))
    return found


def _shape(text: str) -> re.Match[str] | None:
    return _SHAPE.fullmatch(_plain(text)) if len(text) <= _LONGEST else None


def _plain(text: str) -> str:
    """A text for comparing; a vulgar fraction stays apart from the figure before it."""
    return folded(_VULGAR.sub(lambda match: f" {match[0]}", text)).replace("⁄", "/")


@lru_cache(maxsize=50_000)
def volume(text: str, unit: str, decimal: str) -> Figure | Unread:
    """An amount of water. unit: of a bare number; decimal: POINT, COMMA or '' when nobody said and nothing tells."""
    return _sized(text, unit, decimal, VOLUME)


@lru_cache(maxsize=50_000)
def level(text: str, unit: str, decimal: str) -> Figure | Unread:
    """What a tank shows: inches with fractions, a volume, 'empty' or 'full'."""
    if len(text) > _LONGEST:
        return Unread(f"{shown(text)} is no tank level")
    plain = _plain(text).replace("''", '"')
    if plain in _LEVEL_WORDS:
        return Figure(_LEVEL_WORDS[plain])
    match = _FRACTION.fullmatch(plain)
    if match is not None:
        return _fraction(match, unit)
    shape = _shape(plain)
    named = _unit(shape["unit"]) if shape is not None and _says_unit(shape) else unit
    if named is not None and UNITS[named][0] == LENGTH:
        decimal = COMMA if "," in plain else POINT  # no tank is a thousand inches deep; an eighth has three decimals
    return _sized(text.replace("''", '"'), unit, decimal, LENGTH)


def _fraction(match: re.Match[str], unit: str) -> Figure | Unread:
    over, under = int(match["over"]), int(match["under"])
    named = match["rest"].strip()
    found = _unit(named) if named else unit
    if found is None or UNITS[found][0] != LENGTH or under not in (2, 4, 8, 16, 32) or over >= under:
        return Unread(f"{match[0]!r} is no length with a fraction of an inch")
    length = Decimal(match["whole"] or 0) + Decimal(over) / Decimal(under)
    quantity = Quantity(length, length, found)
    return Figure(str(quantity), quantity)


@lru_cache(maxsize=50_000)
def register(text: str, decimal: str) -> Figure | Unread:
    """What the register of a meter shows: one plain number; a unit behind it is left with the text of the cell."""
    match = _shape(text)
    if match is None or match["b"] or match["sign"] or match["after"] or match["last"]:
        return Unread(f"{shown(text)} is no figure of a register")
    if _says_unit(match) and _unit(match["unit"]) is None:
        return Unread(f"{shown(text)} is no figure of a register")
    number = _number(match["a"], decimal)
    if isinstance(number, Unread):
        return number
    if match["minus"]:
        return Unread(f"{text!r} is below zero", ask=False)
    quantity = Quantity(number, number, "count")
    return _not_too_large(Figure(format(number, "f"), quantity))


def _sized(text: str, unit: str, decimal: str, dimension: str) -> Figure | Unread:
    match = _shape(text)
    if match is None:
        return Unread(f"{shown(text)} is no figure")
    found = _unit(match["unit"]) if _says_unit(match) else unit
    if found is None:
        return Unread(f"{match['unit']!r} behind the figure is no unit that is known here")
    if UNITS[found][0] != dimension and not (dimension == LENGTH and UNITS[found][0] == VOLUME):
        return Unread(f"{text!r} is a {UNITS[found][0]}, a {dimension} is looked for")
    numbers = [_number(raw, decimal) for raw in (match["a"], match["b"]) if raw]
    for number in numbers:
        if isinstance(number, Unread):
            return number
    figures = [number for number in numbers if isinstance(number, Decimal)]
    if match["minus"]:
        return Unread(f"{text!r} is below zero", ask=False)
    sign = match["sign"] or ""
    about = any(match[name] for name in ("after", "last")) or (sign != "" and sign not in _AT_LEAST | _AT_MOST)
    return _quantity(text, figures, found, sign, about)


def _quantity(text: str, figures: list[Decimal], unit: str, sign: str, about: bool) -> Figure | Unread:
    low, high = figures[0], figures[-1]
    if len(figures) == 2 and (low > high or sign):
        return Unread(f"{text!r} is no range from a smaller to a larger figure")
    if sign in _AT_LEAST:
        quantity = Quantity(low, None, unit)
    elif sign in _AT_MOST:
        quantity = Quantity(None, high, unit)
    else:
        quantity = Quantity(low, high, unit, about and low == high)
    return _not_too_large(Figure(str(quantity), quantity))


def _not_too_large(figure: Figure) -> Figure | Unread:
    assert figure.quantity is not None
    problem = too_large(figure.quantity, "")
    return figure if problem is None else Unread(problem.what, ask=False)


def _number(raw: str, decimal: str) -> Decimal | Unread:
    """A figure without its marks; `decimal` decides where it has two readings."""
    if len(raw) > LONGEST:
        return Unread(f"{raw!r} has more than {LONGEST} digits", ask=False)
    readings = _readings(raw)
    if not readings:
        return Unread(f"{raw!r} is no number")
    if decimal:
        number = readings.get(decimal)
        return Unread(f"{raw!r} does not fit a decimal {decimal}") if number is None else number
    if len(set(readings.values())) == 2:
        return Unread(f"{raw!r} can be read in two ways", mark=True)
    if _slipped(raw):
        return Unread(f"{raw!r} has its comma neither before thousands nor, as far as the file tells, before decimals")
    return next(iter(readings.values()))


def _says_unit(match: re.Match[str]) -> bool:
    """Whether anything but a full stop stands behind the figure: '430.' is 430."""
    return match["unit"] not in (None, ".")


def _unit(text: str) -> str | None:
    plain = text.strip().rstrip(".").strip()
    return _UNIT_WORDS.get(plain) or unit_named(plain)


def plain(number: Decimal, unit: str) -> Figure | Unread:
    """A cell that is a number by itself. unit: 'count' for a register, whose figure is stored bare."""
    quantity = Quantity(number, number, unit)
    if number < 0:
        return Unread(f"{number:f} is below zero", ask=False)
    return _not_too_large(Figure(f"{number:f}" if unit == "count" else f"{number:f} {unit}", quantity))


def counts_in_a_spreadsheet(text: str) -> bool:
    """Whether a spreadsheet takes this text of a file for a number, so that its SUM counts it; in either notation."""
    return _SPREADSHEET_NUMBER.fullmatch(text) is not None
