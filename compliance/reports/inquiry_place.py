"""How near two places are: by coordinates on the ellipsoid, or by addresses as they were typed.

An address is no position. Two that are alike say only that somebody wrote them alike, and the answer says so.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from compliance.records.quantity import INCH_MM
from compliance.records.state import folded

NUMBERS_NEAR: Final = 100
"""House numbers on one street that are taken as near: one block. Common practice, no source."""

SAME, ALONG, FAR_ALONG, OTHER, UNKNOWN = "same address", "same street", "same street, far", "other street", "unknown"

_TYPES: Final = {
    "st": "street", "str": "street", "street": "street", "calle": "street", "c": "street",
    "ave": "avenue", "av": "avenue", "avenue": "avenue", "avenida": "avenue", "avda": "avenue",
    "rd": "road", "road": "road", "carretera": "road", "camino": "road", "ln": "lane", "lane": "lane",
    "blvd": "boulevard", "boulevard": "boulevard", "bulevar": "boulevard", "dr": "drive", "drive": "drive",
    "ct": "court", "court": "court", "pl": "place", "place": "place", "sq": "square", "square": "square",
    "plaza": "square", "hwy": "highway", "highway": "highway", "pkwy": "parkway", "parkway": "parkway",
    "ter": "terrace", "terrace": "terrace", "row": "row", "way": "way", "wy": "way", "aly": "alley", "alley": "alley",
    "callejon": "alley",
}  # fmt: skip
_WAYS: Final = {
    "n": "north", "s": "south", "e": "east", "w": "west", "ne": "northeast", "nw": "northwest", "se": "southeast",
    "sw": "southwest", "norte": "north", "sur": "south", "este": "east", "oeste": "west",
}  # fmt: skip
_ORDINALS: Final = {
    "1st": "first", "2nd": "second", "3rd": "third", "4th": "fourth", "5th": "fifth", "6th": "sixth", "7th": "seventh",
    "8th": "eighth", "9th": "ninth", "10th": "tenth", "mt": "mount", "ft": "fort",
}  # fmt: skip
_SMALL: Final = frozenset(("the", "de", "del", "la", "el", "los", "las", "no", "num", "numero", "of"))
_LEADING = re.compile(r"#?(\d{1,6})[a-z]?")
_WORD = re.compile(r"[^\W_]+")


@dataclass(frozen=True)
class Address:
    """An address as it can be compared. number: of the house, None when none was written.

    core: the words that tell streets apart; type: 'street', 'avenue' ..., '' when none was written.
    """

    number: int | None
    core: str
    type: str


def address_of(text: str) -> Address | None:
    """The first part of an address, up to its first comma that leaves a street; None where no street is in it."""
    for part in text.split(","):
        found = _address(folded(part))
        if found is not None:
            return found
    return None


def _address(text: str) -> Address | None:
    tokens = _WORD.findall(text.replace(".", "").replace("'", ""))
    number: int | None = None
    leading = _LEADING.fullmatch(tokens[0]) if tokens else None
    trailing = _LEADING.fullmatch(tokens[-1]) if len(tokens) > 1 else None
    if leading is not None:
        number, tokens = int(leading[1]), tokens[1:]
    elif trailing is not None:
        number, tokens = int(trailing[1]), tokens[:-1]
    if "and" in tokens:
        tokens = tokens[: tokens.index("and")]  # a corner: the street that was named first
    tokens = [_ORDINALS.get(token, token) for token in tokens if token not in _SMALL]
    kind = ""
    if len(tokens) > 1 and tokens[-1] in _TYPES:
        kind, tokens = _TYPES[tokens[-1]], tokens[:-1]
    elif len(tokens) > 1 and tokens[0] in _TYPES and tokens[0] != "st":  # 'St' in front is a saint
        kind, tokens = _TYPES[tokens[0]], tokens[1:]
    core = " ".join(_WAYS.get(token, token) for token in tokens)
    return Address(number, core, kind) if core and (kind or number is not None) else None


def alike(one: Address | None, other: Address | None) -> str:
    """How near two addresses are, as far as their letters tell: `SAME`, `ALONG`, `FAR_ALONG`, `OTHER` or `UNKNOWN`.

    A slip of the pen is forgiven, one letter in five and two in nine: whoever searches would sooner look at one stop
    too many.
    """
    if one is None or other is None:
        return UNKNOWN
    if not _same_street(one, other):
        return OTHER
    if one.number is None or other.number is None:
        return ALONG
    if one.number == other.number:
        return SAME
    return ALONG if abs(one.number - other.number) <= NUMBERS_NEAR else FAR_ALONG


def _same_street(one: Address, other: Address) -> bool:
    from rapidfuzz.distance import OSA

    length = min(len(one.core), len(other.core))
    forgiven = 2 if length >= 9 else 1 if length >= 5 else 0
    return bool(OSA.distance(one.core, other.core, score_cutoff=forgiven) <= forgiven)


def named_in(text: str, name: str) -> bool:
    """Whether a place that was described in words names this one: every telling word of the name stands in it."""
    from rapidfuzz.distance import OSA

    said = _WORD.findall(folded(text))
    wanted = [word for word in _WORD.findall(folded(name)) if word not in _SMALL and word not in _TYPES]
    return bool(wanted) and all(
        any(OSA.distance(word, other, score_cutoff=1) <= (len(word) >= 5) for other in said) for word in wanted
    )


def feet_between(one: str, other: str) -> Decimal:
    """The distance between two stored positions in feet, along the shortest way on the WGS 84 ellipsoid.

    Source: C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013), as the geographiclib package has them.
    """
    from geographiclib.geodesic import Geodesic

    ends = [float(part) for text in (one, other) for part in text.split(",")]
    metres = Decimal(repr(Geodesic.WGS84.Inverse(*ends, Geodesic.DISTANCE)["s12"]))
    foot = 12 * INCH_MM / 1000
    return (metres * foot.denominator / foot.numerator).quantize(Decimal("0.1"))
