"""The heads that the book has written down about itself: with pages, closed months, backups and searches.

Each says how many records there were, and their root. Against somebody who does not think of them they do what a
head kept elsewhere does, and they tell where to look.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from operator import attrgetter
from typing import Any, Final

from compliance.book.tree import Head
from compliance.records import kinds
from compliance.records.envelope import SCHEMA
from compliance.records.quick import dataclass

_KINDS: Final = (kinds.ISSUE, kinds.CLOSE, kinds.BACKUP, kinds.INQUIRY_STEP)


@dataclass(frozen=True)
class OwnHead:
    """What the record `seq` says of the records before it; None where it ought to say it and nobody can read it."""

    seq: int
    head: Head | None


@dataclass(frozen=True)
class Unlike:
    """The records whose heads do not fit what stands before them.

    first: the smallest size that does not fit; fits: the largest below it that does, 0 for none. Both are 0 where
    the heads cannot be read.
    """

    seqs: tuple[int, ...]
    fits: int
    first: int


def read(db: sqlite3.Connection) -> tuple[OwnHead, ...]:
    """All that stand in the book, in the order of its records; what a newer program wrote is left out.

    Few records have one, and they are found by their kind: no other payload is read. They are put in order here,
    not by SQLite, which would sort the payloads too. A number that is none is damage of another kind.
    """
    sql = (
        "SELECT seq, kind, payload FROM records WHERE kind IN (?, ?, ?, ?) AND schema <= ? AND typeof(seq) = 'integer'"
    )
    found: list[OwnHead] = []
    for seq, kind, payload in db.execute(sql, (*_KINDS, SCHEMA)):
        try:
            found += [OwnHead(seq, Head.parse(said)) for said in _said(kind, json.loads(payload))]
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
            found.append(OwnHead(seq, None))
    return tuple(sorted(found, key=attrgetter("seq")))


def compare(own: Sequence[OwnHead], roots: Mapping[int, str]) -> Unlike | None:
    """Which heads do not fit, None when all do.

    roots: size -> root in hex of the tree built again, at each size that a head names and the book has had.
    """
    fit = [one.head.size for one in own if one.head is not None and roots.get(one.head.size) == one.head.root_hex]
    bad = [one for one in own if one.head is None or roots.get(one.head.size) != one.head.root_hex]
    if not bad:
        return None
    first = min((one.head.size for one in bad if one.head is not None), default=0)
    return Unlike(tuple(one.seq for one in bad), max((size for size in fit if size < first), default=0), first)


def _said(kind: str, payload: Any) -> list[str]:
    """The heads in a payload as `Head.parse` reads them: one, or none in a step that was no search."""
    if kind == kinds.BACKUP:
        return [payload["head"]]
    if kind == kinds.INQUIRY_STEP and payload["step"] != "searched":
        return []
    place = payload["made_from"] if kind == kinds.ISSUE else payload
    return [f"{place['size']}:{place['root']}"]
