"""Versions: a figure as it was when a page first printed it, or when its month was closed.

Nothing is stored twice. Version n is what `gather` and `calculate` say of the records that were there then, so that
whatever arrives later it comes out the same; only the digests of divisions are kept, to tell that there is another.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.quick import dataclass
from compliance.records.state import State, gather
from compliance.water.fold import calculate
from compliance.water.results import Night


@dataclass(frozen=True)
class Frozen:
    """One version of a load's division. by: the number of the page that printed it, or the month that was closed.

    size: how many records the book held; digest: of the division as it was then.
    """

    by: str
    size: int
    digest: str


def stood(records: Iterable[Record], size: int, page: str = "") -> Iterator[Record]:
    """The first `size` records, and the closing that goes with the summary numbered `page`, if one does."""
    for record in records:
        if record.seq <= size or (page and record.kind == kinds.CLOSE and record.payload["page"] == page):
            yield record


def at(records: Iterable[Record], size: int, page: str = "") -> tuple[State, Night]:
    """What the records said when the book held so many, and where the water went by them."""
    state = gather(stood(records, size, page))
    return state, calculate(state)


def division_versions(state: State, load: str) -> Sequence[Frozen]:
    """The versions of a load's division, first to last: each that a page printed or a closing froze."""
    frozen = [(one.seq, Frozen(one.number, one.size, one.figures[load])) for one in state.issued if load in one.figures]
    frozen += [
        (one.seq, Frozen(one.month, one.size, one.figures[load])) for one in state.closings if load in one.figures
    ]
    found: dict[str, Frozen] = {}
    for _, one in sorted(frozen, key=lambda pair: pair[0]):
        found.setdefault(one.digest, one)
    return tuple(found.values())


def division_version(state: State, load: str, digest: str) -> int:
    """Which version of a load's division this one is, counted from 1: 1 until another was printed or frozen."""
    seen = [one.digest for one in division_versions(state, load)]
    return seen.index(digest) + 1 if digest in seen else len(seen) + 1
