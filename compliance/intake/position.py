"""Where something is, as people write it: latitude and longitude, and a distance around them."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from compliance.intake.text import shown
from compliance.records.problem import Problem
from compliance.records.quantity import LENGTH, Quantity, parse

FARTHEST: Final = Decimal(52_800)
"""The largest radius that can be meant, in feet: ten miles. Practice, no source."""

_PAIR = re.compile(r"\s*(?P<lat>[+-]?\d{1,2}(?:\.\d{1,9})?)\s*[,; ]\s*(?P<lon>[+-]?\d{1,3}(?:\.\d{1,9})?)\s*")
COORDINATES: Final = f"^{re.sub('[?]P<l(at|on)>', '?:', _PAIR.pattern)}$".replace("\\s", "[ \\t]").replace(
    "\\d", "[0-9]"
)
"""The same for JSON Schema, whose patterns are those of ECMA-262."""


def read_position(text: str, where: str) -> str | Problem:
    """Coordinates as stored, 'latitude, longitude' in degrees (WGS 84), with the digits that were typed."""
    found = _PAIR.fullmatch(text)
    if found is None:
        step = "write latitude and longitude in degrees, like 40.5123, -105.1 (south and west below zero)"
        return Problem(f"{shown(text)} are not coordinates", where, step)
    lat, lon = Decimal(found["lat"]), Decimal(found["lon"])
    if abs(lat) > 90 or abs(lon) > 180:
        return Problem(f"{shown(text)} is nowhere", where, "latitude comes first (to 90), then longitude (to 180)")
    return f"{lat}, {lon}"


def read_radius(text: str, where: str) -> str | Problem:
    """A distance as stored; a bare number means feet."""
    read = parse(text, unit="ft", where=where)
    if isinstance(read, Problem):
        return read
    feet = _feet(read)
    if feet is None:
        return Problem(f"{shown(text)} is no distance to look around", where, "write it like 300 ft or 100 m")
    if not 0 < feet <= FARTHEST:
        return Problem(f"{shown(text)} cannot be meant", where, f"write a distance above zero, at most {FARTHEST} ft")
    return str(read)


def _feet(read: Quantity) -> Decimal | None:
    return read.in_unit("ft").point if read.dimension == LENGTH else None
