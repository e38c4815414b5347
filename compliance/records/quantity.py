"""Numbers with units, kept as they were typed and converted exactly.

A quantity in a payload is a short text: ``450 gal``, ``~450 gal`` (the person said 'about'), ``>=500 gal`` and
``<=500 gal`` (a bound), ``400..500 gal`` (between). Unit factors are exact rationals; the US gallon is 231 cubic
inches, the inch 25.4 mm (internationally fixed definitions). Say 'US gallon' once and mean it everywhere: ``gal``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final

from compliance.records.problem import Problem
from compliance.records.quick import dataclass

INCH_MM: Final = Fraction(254, 10)
GALLON_L: Final = 231 * INCH_MM**3 / 1_000_000
FOOT3_L: Final = 1728 * INCH_MM**3 / 1_000_000
POUND_KG: Final = Fraction(45359237, 100_000_000)

VOLUME, LENGTH, AREA, MASS, TIME, FLOW = "volume", "length", "area", "mass", "time", "flow"
PERCENT, PH, OPENING, NUMBER = "percent", "pH", "opening", "number"

UNITS: Final[Mapping[str, tuple[str, Fraction]]] = {
    # name: (dimension, factor to the first unit of that dimension: L, mm, m2, kg, min, L/min, %, pH, um, 1)
    "L": (VOLUME, Fraction(1)),
    "gal": (VOLUME, GALLON_L),
    "m3": (VOLUME, Fraction(1000)),
    "ft3": (VOLUME, FOOT3_L),
    "qt": (VOLUME, GALLON_L / 4),
    "fl oz": (VOLUME, GALLON_L / 128),
    "mL": (VOLUME, Fraction(1, 1000)),
    "mm": (LENGTH, Fraction(1)),
    "cm": (LENGTH, Fraction(10)),
    "m": (LENGTH, Fraction(1000)),
    "in": (LENGTH, INCH_MM),
    "ft": (LENGTH, 12 * INCH_MM),
    "m2": (AREA, Fraction(1)),
    "ft2": (AREA, (12 * INCH_MM / 1000) ** 2),
    "kg": (MASS, Fraction(1)),
    "lb": (MASS, POUND_KG),
    "min": (TIME, Fraction(1)),
    "s": (TIME, Fraction(1, 60)),
    "h": (TIME, Fraction(60)),
    "days": (TIME, Fraction(1440)),
    "L/min": (FLOW, Fraction(1)),
    "gal/min": (FLOW, GALLON_L),
    "gal/h": (FLOW, GALLON_L / 60),
    "%": (PERCENT, Fraction(1)),
    "pH": (PH, Fraction(1)),
    "um": (OPENING, Fraction(1)),
    "count": (NUMBER, Fraction(1)),
}

SPELLINGS: Final[Mapping[str, str]] = {
    "gals": "gal", "gallon": "gal", "gallons": "gal", "us gal": "gal", "galón": "gal", "galones": "gal",
    "l": "L", "liter": "L", "liters": "L", "litre": "L", "litres": "L", "litro": "L", "litros": "L",
    "m³": "m3", "ft³": "ft3", "cu ft": "ft3", "cubic foot": "ft3", "cubic feet": "ft3", "cf": "ft3",
    '"': "in", "inch": "in", "inches": "in", "pulgadas": "in", "feet": "ft", "foot": "ft", "'": "ft",
    "sq ft": "ft2", "sqft": "ft2", "ft²": "ft2", "square feet": "ft2", "m²": "m2", "sq m": "m2",
    "lbs": "lb", "pounds": "lb", "minutes": "min", "minutos": "min", "hours": "h", "hr": "h", "hrs": "h",
    "horas": "h", "seconds": "s", "sec": "s", "day": "days", "gpm": "gal/min", "gph": "gal/h",
    "percent": "%", "ph": "pH", "µm": "um", "μm": "um", "micron": "um", "microns": "um", "ml": "mL",
    "times": "count", "veces": "count", "floz": "fl oz", "onzas": "fl oz", "pulgada": "in", "pulg": "in",
    "pie": "ft", "pies": "ft", "pies cuadrados": "ft2", "pie cuadrado": "ft2", "pies cúbicos": "ft3",
    "metros cúbicos": "m3", "metros cuadrados": "m2", "libras": "lb", "kilos": "kg", "minuto": "min", "hora": "h",
    "segundos": "s", "día": "days", "días": "days", "por ciento": "%", "micras": "um", "micrones": "um",
}  # fmt: skip

_SIGNS: Final[Mapping[str, str]] = {
    "≥": ">=", "at least": ">=", "al menos": ">=", "por lo menos": ">=",
    "≤": "<=", "at most": "<=", "como máximo": "<=", "a lo mucho": "<=",
    "about": "~", "unos": "~", "unas": "~", "como": "~",
}  # fmt: skip
"""What people say for 'at least', 'at most' and 'about'."""
_SHAPE = re.compile(
    r"^\s*(?P<sign>~|>=|<=|≥|≤|(?i:at least|at most|about"
    r"|al menos|por lo menos|como máximo|a lo mucho|unos|unas|como))?\s*"
    r"(?P<a>-?[0-9]+(?:[.,][0-9]+)*|-?\.[0-9]+)\s*"
    r"(?:(?:\.\.|to|–|a(?=\s))\s*(?P<b>[0-9]+(?:[.,][0-9]+)*))?\s*(?P<unit>[^0-9\s].*)?$"
)
_SEPARATED = re.compile(r"^-?[0-9]{1,3}(,[0-9]{3})*\.[0-9]+$")
_PLAIN = re.compile(r"^-?([0-9]+(\.[0-9]+)?|\.[0-9]+)$")
_THREE_AFTER_POINT = re.compile(r"^-?[1-9][0-9]{0,2}\.[0-9]{3}$")
LONGEST: Final = 15
_EXACT = Context(prec=40)


@dataclass(frozen=True)
class Quantity:
    """A number with its unit, as typed. low == high for an ordinary figure; None leaves that side open."""

    low: Decimal | None
    high: Decimal | None
    unit: str
    about: bool = False

    @property
    def dimension(self) -> str:
        return UNITS[self.unit][0]

    @property
    def point(self) -> Decimal | None:
        """The one number, or None when this is a bound."""
        return self.low if self.low == self.high else None

    def __str__(self) -> str:
        if self.low == self.high:
            return f"{'~' if self.about else ''}{self.low} {self.unit}"
        if self.high is None:
            return f">={self.low} {self.unit}"
        if self.low is None:
            return f"<={self.high} {self.unit}"
        return f"{self.low}..{self.high} {self.unit}"

    def in_unit(self, unit: str) -> Quantity:
        """The same amount in another unit of the same dimension, to 28 digits."""
        return Quantity(
            None if self.low is None else convert(self.low, self.unit, unit),
            None if self.high is None else convert(self.high, self.unit, unit),
            unit,
            self.about,
        )


def convert(number: Decimal, unit: str, to: str) -> Decimal:
    """`number` of `unit` as a number of `to`. Raises ValueError when the dimensions differ."""
    (dimension, factor), (other, to_factor) = UNITS[unit], UNITS[to]
    if dimension != other:
        raise ValueError(f"{unit} is a {dimension}, {to} is a {other}")
    if unit == to:
        return number
    exact = Fraction(number) * factor / to_factor
    return _EXACT.divide(Decimal(exact.numerator), Decimal(exact.denominator))


def unit_named(text: str) -> str | None:
    """The unit that a person means by `text`, or None."""
    text = text.strip().rstrip(".")
    if text in UNITS:
        return text
    return SPELLINGS.get(text.lower())


def parse(text: str, *, unit: str, where: str, least: Decimal | None = Decimal(0)) -> Quantity | Problem:
    """Read a quantity as a person writes it; `unit` is what a bare number means, and fixes the dimension.

    Ambiguous thousands ('1,250' or '1.250') are asked back, never guessed.
    """
    match = _SHAPE.match(text.strip())
    if match is None:
        return Problem(f"{text!r} is not a number with a unit", where, f"write it like {_example(unit)}")
    numbers: list[Decimal] = []
    for raw in (match["a"], match["b"]):
        if raw is None:
            continue
        if len(raw) > LONGEST:
            return Problem(f"{raw!r} has more than {LONGEST} digits", where, "check the figure")
        number = _number(raw, thousands=UNITS[unit][0] == VOLUME)
        if number is None:
            return Problem(
                f"{raw!r} can be read in two ways", where, "write it without a thousands mark, like 1250 or 1.25"
            )
        numbers.append(number)
    named = match["unit"]
    found = unit if named is None else unit_named(named)
    if found is None:
        return Problem(f"{named.strip()!r} is not a unit known here", where, f"use {_units_like(unit)}")
    if UNITS[found][0] != UNITS[unit][0]:
        return Problem(
            f"{text!r} is a {UNITS[found][0]}, a {UNITS[unit][0]} is asked for", where, f"use {_units_like(unit)}"
        )
    if least is not None and min(numbers) < least:
        return Problem(f"{text!r} is below {least}", where, "check the figure")
    sign = _SIGNS.get((match["sign"] or "").lower(), match["sign"])
    if len(numbers) == 2:
        low, high = numbers
        if sign or low > high:
            return Problem(f"{text!r} is not a range", where, f"write the smaller first, like '400..500 {unit}'")
        return Quantity(low, high, found)
    number = numbers[0]
    if sign == ">=":
        return Quantity(number, None, found)
    if sign == "<=":
        return Quantity(None, number, found)
    return Quantity(number, number, found, about=sign == "~")


def _number(raw: str, *, thousands: bool) -> Decimal | None:
    """The number written as `raw`, or None when it has two readings.

    Three digits after a point may be a thousand where `thousands` are usual; an eighth of an inch is not.
    """
    if _SEPARATED.match(raw):
        raw = raw.replace(",", "")
    if not _PLAIN.match(raw) or (thousands and _THREE_AFTER_POINT.match(raw)):
        return None
    return Decimal(raw)


def _example(unit: str) -> str:
    if unit == "count":
        return "'12'"
    return f"'450 {unit}'" if UNITS[unit][0] == VOLUME else f"'12 {unit}'"


def _units_like(unit: str) -> str:
    dimension = UNITS[unit][0]
    return ", ".join(name for name, (other, _) in UNITS.items() if other == dimension)


@lru_cache(maxsize=16_384)  # the same sizes, areas and answers come with every night
def stored(text: str) -> Quantity:
    """Read back a quantity from a payload. Raises ValueError on anything that `parse` would not have written."""
    match = _SHAPE.match(text)
    if match is None or match["unit"] not in UNITS:
        raise ValueError(f"not a stored quantity: {text!r}")
    first, unit = Decimal(match["a"]), match["unit"]
    if match["b"] is not None:
        return Quantity(first, Decimal(match["b"]), unit)
    if match["sign"] == ">=":
        return Quantity(first, None, unit)
    if match["sign"] == "<=":
        return Quantity(None, first, unit)
    return Quantity(first, first, unit, about=match["sign"] == "~")
