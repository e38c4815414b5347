"""How near two places are: by coordinates on the ellipsoid, or by addresses as they were typed.

An address is no position. Two that are alike say only that somebody wrote them alike, and the answer says so.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from compliance.records.names import folded
from compliance.records.quantity import INCH_MM

NUMBERS_NEAR: Final = 100
"""House numbers on one street that are taken as near: one block. Common practice, no source."""

SAME, ALONG, LIKE, FAR_ALONG, OTHER, UNKNOWN = (
    "same address", "same street", "like street", "same street, far", "other street", "unknown",
)  # fmt: skip
"""LIKE: written so much alike that it may be meant: another kind of street, a direction that only one of them has, a
slip of the pen. It is no match, and is never told as one.
"""

_TYPES: Final = {
    "st": "street", "str": "street", "street": "street", "calle": "street", "c": "street",
    "ave": "avenue", "av": "avenue", "avenue": "avenue", "avenida": "avenue", "avda": "avenue",
    "rd": "road", "road": "road", "carretera": "road", "camino": "road", "ln": "lane", "lane": "lane",
    "blvd": "boulevard", "boulevard": "boulevard", "bulevar": "boulevard", "dr": "drive", "drive": "drive",
    "ct": "court", "court": "court", "pl": "place", "place": "place", "sq": "square", "square": "square",
    "plaza": "square", "hwy": "highway", "highway": "highway", "pkwy": "parkway", "parkway": "parkway",
    "ter": "terrace", "terrace": "terrace", "row": "row", "way": "way", "wy": "way", "aly": "alley", "alley": "alley",
    "callejon": "alley", "cir": "circle", "circle": "circle", "trl": "trail", "trail": "trail", "route": "route",
    "rte": "route", "ruta": "route",
}  # fmt: skip
_WAYS: Final = {
    "n": "north", "s": "south", "e": "east", "w": "west", "ne": "northeast", "nw": "northwest", "se": "southeast",
    "sw": "southwest", "norte": "north", "sur": "south", "este": "east", "oeste": "west", "nte": "north",
    "ote": "east", "oriente": "east", "pte": "west", "poniente": "west",
}  # fmt: skip
_DIRECTIONS: Final = frozenset(_WAYS.values())
_ORDINALS: Final = {
    "1st": "first", "2nd": "second", "3rd": "third", "4th": "fourth", "5th": "fifth", "6th": "sixth", "7th": "seventh",
    "8th": "eighth", "9th": "ninth", "10th": "tenth", "mt": "mount", "ft": "fort",
}  # fmt: skip
_SAID_AS: Final = {
    "first": "1", "second": "2", "third": "3", "fourth": "4", "fifth": "5", "sixth": "6", "seventh": "7",
    "eighth": "8", "ninth": "9", "tenth": "10", "primera": "1", "segunda": "2", "tercera": "3", "cuarta": "4",
    "quinta": "5", "sexta": "6", "septima": "7", "octava": "8", "novena": "9", "decima": "10", "saint": "st",
    "doctor": "dr",
}  # fmt: skip
"""Words of a street's name that are written in two ways."""
_ORDINAL = re.compile(r"(\d+)(?:st|nd|rd|th|a|o|[rdtmvn][ao])")
_SMALL: Final = frozenset(("the", "de", "del", "la", "el", "los", "las", "no", "num", "numero", "of"))
_ROOMS: Final = frozenset(("apt", "apartment", "unit", "suite", "ste", "rm", "room", "floor", "fl", "bldg", "depto"))
"""Words after which a part of a house is named."""
_SPOTS: Final = frozenset((
    "bay", "berth", "bodega", "box", "dock", "exit", "gate", "hangar", "kilometro", "km", "local", "lot", "lote",
    "marker", "mile", "pier", "post", "puerta", "warehouse", "wharf",
))  # fmt: skip
"""Words behind which a number is none of a house, where no kind of street is said: 'Pier 9' tells of no street."""
_TOLD: Final = frozenset(("alley", "court", "place", "square", "row", "way", "circle", "terrace", "drive", "lane"))
_WHICHEVER: Final = frozenset((
    "access", "back", "bike", "bus", "cross", "dead", "end", "frontage", "main", "market", "narrow", "open", "parking",
    "private", "public", "rear", "service", "side", "town", "turn",
))  # fmt: skip
"""Without a house number, words that may describe a place and name no street: 'the back alley', 'a side street'."""
_LEADING = re.compile(r"#?(\d{1,6})[a-z]?")
_WORD = re.compile(r"[^\W_]+")
_PARTS = re.compile(
    r"[,;()]|\b(?:on|at|by|near|behind|outside|opposite|along|in front of|next to"
    r"|frente al?|detras de|junto a|cerca de|en)\b"
)
"""Where one part of a place that is told in words ends."""
_CORNER = re.compile(r"\s(?:and|y|esq(?:uina)?\.?(?: con)?|&|/|@)\s")
_RANGE = re.compile(r"^\s*(\d+)[a-z]?(?:\s*[-\u2013]\s*(?:\d+[a-z]?|[a-z])|\s+\d/\d)\s")
"""'123-125 Main', '123 1/2 Main', '123-B Main': the first number is kept."""
_FRACTION = re.compile("[\u00bc-\u00be]")
_MARKED = re.compile(r"#\s*(\d+)[a-z]?\b")
"""'Calle Canal #212', the house, and '212 Canal St #4', a room."""


@dataclass(frozen=True)
class Address:
    """An address as it can be compared. number: of the house, None when none was written.

    core: the words that tell streets apart; type: 'street', 'avenue' ...; way: 'north' ...; town: one that is known:
    each '' when none was written. cross: core of the other street at a corner.
    """

    number: int | None
    core: str
    type: str
    way: str = ""
    town: str = ""
    cross: str = ""


def address_of(text: str, towns: Collection[str] = ()) -> Address | None:
    """The first part of a text that has a street in it; None where none has.

    towns: names of towns, folded; one that stands in the text is kept with the address.
    """
    said = folded(_FRACTION.sub(" ", text))
    for part in _PARTS.split(said):
        found = _address(part)
        if found is not None:
            return replace(found, town=_town(said, towns))
    return None


def towns_of(addresses: Iterable[str]) -> frozenset[str]:
    """What stands behind the street in addresses with a comma, folded: as a rule the town."""
    found = set()
    for address in addresses:
        parts = [part.strip() for part in folded(address).split(",")]
        streets = [n for n, part in enumerate(parts) if _address(part) is not None]
        if streets and streets[0] + 1 < len(parts) and parts[streets[0] + 1]:
            found.add(parts[streets[0] + 1])
    return frozenset(found)


def _town(said: str, towns: Collection[str]) -> str:
    """The known town that stands in a text, the longest name where one is a part of another."""
    words = f" {' '.join(_WORD.findall(said))} "
    inside = [town for town in towns if f" {' '.join(_WORD.findall(town))} " in words]
    return max(inside, key=lambda town: (len(town), town), default="")


def _address(text: str) -> Address | None:
    text = _RANGE.sub(r"\1 ", text).removeprefix("corner of ").removeprefix("esquina de ").strip()
    first, *others = _CORNER.split(f" {text} ", maxsplit=1)
    found = _street(first)
    cross = _street(others[0]) if others else None
    if found is None and cross is not None and first.strip():  # 'Canal and Tern St': its kind stands once
        found = _street(f"{first} {cross.type}")
    return found if found is None or cross is None else replace(found, cross=cross.core)


def _street(text: str) -> Address | None:
    marked = _MARKED.search(text)
    if marked is not None:
        rest = f"{text[: marked.start()]} {text[marked.end() :]}".strip()
        of_a_room = rest[:1].isdigit() or rest.partition(" ")[0].strip(".") in _ROOMS
        text = rest if of_a_room else f"{marked[1]} {rest}"
    tokens = _WORD.findall(text.replace(".", "").replace("'", "").replace("\u2019", ""))
    tokens = [_ORDINALS.get(token, token) for token in tokens if token not in _SMALL]
    if tokens and tokens[0] in _ROOMS:  # 'Suite 4, 212 Canal St'
        tokens = tokens[2:]
    number: int | None = None
    leading = _LEADING.fullmatch(tokens[0]) if tokens else None
    if leading is not None and len(tokens) > 1:
        number, tokens = int(leading[1]), tokens[1:]
    tokens = list(_outdoors(tokens))
    if len(tokens) > 2 and _direction(tokens[-1]) and _LEADING.fullmatch(tokens[-2]):  # 'Calle Canal 212 Sur'
        tokens[-2:] = reversed(tokens[-2:])
    if number is None and len(tokens) > 1 and (trailing := _LEADING.fullmatch(tokens[-1])) is not None:
        named = any(token not in _TYPES and token not in _WAYS for token in tokens[:-1])
        if named and not any(token in _TYPES for token in tokens[1:-1]):  # 'Calle Canal 212', but not 'Highway 50'
            number, tokens = int(trailing[1]), tokens[:-1]
            if tokens[-1] in _SPOTS:
                return None
    kind, tokens, behind = _kind(tokens)
    way, tokens = _way(tokens)
    core = " ".join(tokens)
    return Address(number, core, kind, way or behind) if core and (kind or number is not None) else None


def _outdoors(tokens: Sequence[str]) -> Sequence[str]:
    """Without the part of a house that is named behind the street."""
    at = next((n for n, token in enumerate(tokens) if n > 1 and token in _ROOMS), len(tokens))
    return tokens[:at]


def _kind(tokens: Sequence[str]) -> tuple[str, list[str], str]:
    """The kind of street, the words without it, and a direction behind it. What else stands behind is no street."""
    in_front = len(tokens) > 1 and tokens[0] in _TYPES and tokens[0] != "st"  # 'St' in front is a saint
    if in_front and not _behind(tokens[-1]):
        return _TYPES[tokens[0]], list(tokens[1:]), ""
    for at in range(len(tokens) - 1, 0, -1):
        if _behind(tokens[at]):
            after = tokens[at + 1 : at + 2]
            if after and after[0].isdigit():  # 'County Road 12'
                return _TYPES[tokens[at]], [*tokens[:at], after[0]], ""
            way = _direction(after[0]) if after else ""
            return _TYPES[tokens[at]], list(tokens[:at]), way
    return "", list(tokens), ""


def _behind(word: str) -> bool:
    """Whether a word is a kind of street where it stands behind the name: 'Avenue C' is none of a 'calle'."""
    return word in _TYPES and word != "c"


def _way(tokens: list[str]) -> tuple[str, list[str]]:
    """A direction before or behind the name, where a name is left."""
    if len(tokens) > 1 and (way := _direction(tokens[0])):
        return way, tokens[1:]
    if len(tokens) > 1 and (way := _direction(tokens[-1])):
        return way, tokens[:-1]
    return "", tokens


def _direction(word: str) -> str:
    return word if word in _DIRECTIONS else _WAYS.get(word, "")


def alike(one: Address | None, other: Address | None) -> str:
    """How near two addresses are, as far as they are written: `SAME`, `ALONG`, `LIKE`, `FAR_ALONG`, `OTHER`, `UNKNOWN`.

    The same street has the same name, in the same kind and direction of street where both say them. What is only alike
    is told apart from it: whoever searches would sooner look at one stop too many, and is not told that it matched.
    """
    if one is None or other is None:
        return UNKNOWN
    streets = _streets(one, other)
    if streets == OTHER:
        return UNKNOWN if _described(one) or _described(other) else OTHER
    if one.number is not None and other.number is not None:
        if abs(one.number - other.number) > NUMBERS_NEAR:
            return FAR_ALONG
        if one.number == other.number and streets == SAME:
            return SAME
    return ALONG if streets == SAME else LIKE


def _described(one: Address) -> bool:
    """Whether it may be no street at all, so that it is no other one either."""
    return one.number is None and (one.type in _TOLD or any(word in _WHICHEVER for word in one.core.split()))


def _streets(one: Address, other: Address) -> str:
    """Whether two streets are the `SAME`, `LIKE` each other, or `OTHER` ones."""
    if (one.way and other.way and one.way != other.way) or (one.town and other.town and one.town != other.town):
        return OTHER
    mine, theirs = {one.core, one.cross} - {""}, {other.core, other.cross} - {""}
    if mine & theirs:
        at_corner = bool(one.cross or other.cross)
        same_kind = at_corner or not (one.type and other.type) or one.type == other.type
        return SAME if same_kind and one.way == other.way else LIKE
    if bool(one.type) != bool(other.type):  # a slip in the kind leaves it in the name: 'Canal Stret'
        mine.add(f"{one.core} {one.type}".strip())
        theirs.add(f"{other.core} {other.type}".strip())
    return LIKE if any(_slip(a, b) or _within(a, b) for a in mine for b in theirs) else OTHER


def _within(one: str, other: str) -> bool:
    """Whether all words of one name stand in the other, as they are spelled: 'Canal' in 'Canal nrth', 'us 50' and '50'.

    More was written of one of the two than could be read, so that they are not told apart by it.
    """
    fewer, more = sorted((_spelled(one), _spelled(other)), key=len)
    return all(any(word == such or _slip(word, such) for such in more) for word in fewer)


def _spelled(core: str) -> list[str]:
    words = (_SAID_AS.get(word, word) for word in core.split())
    return [_ORDINAL.sub(r"\1", word) if _ORDINAL.fullmatch(word) else word for word in words]


def _slip(one: str, other: str) -> bool:
    """Whether two names differ by a slip of the pen: one letter in five, two in nine. A figure is never a slip."""
    from rapidfuzz.distance import OSA

    if re.findall(r"\d+", one) != re.findall(r"\d+", other):
        return False
    length = min(len(one), len(other))
    forgiven = 2 if length >= 9 else 1 if length >= 5 else 0
    return bool(OSA.distance(one, other, score_cutoff=forgiven) <= forgiven)


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
