"""That a month was closed, or opened again: what the book keeps of it, in the order in which it happened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

from compliance.records.envelope import Record
from compliance.records.quick import dataclass


@dataclass(frozen=True)
class Closing:
    """A month ('2026-10') that was closed, or opened again. day: that of the business, when it was done.

    page: the number of the summary that goes with a closing; size, root: how the book stood before it; figures: load
    -> digest of its division as it was then. why: the reason of a reopening.
    """

    record: str
    seq: int
    month: str
    closes: bool
    day: str
    who: str
    why: str = ""
    page: str = ""
    size: int = 0
    root: str = ""
    figures: Mapping[str, str] = field(default_factory=dict)


def closed(record: Record) -> Closing:
    """What a record of the kind 'close' says."""
    p = record.payload
    return Closing(
        record.id, record.seq, p["month"], True, record.event_time[:10], p["who"],
        page=p["page"], size=p["size"], root=p["root"], figures=p["figures"],
    )  # fmt: skip


def reopened(record: Record) -> Closing:
    """What a record of the kind 'reopen' says."""
    p = record.payload
    return Closing(record.id, record.seq, p["month"], False, record.event_time[:10], p["who"], p["why"])


def in_force(closings: Sequence[Closing], month: str) -> Closing | None:
    """The closing of a month that holds now; None while the month is open: never closed, or opened again since."""
    last = next((one for one in reversed(closings) if one.month == month), None)
    return last if last is not None and last.closes else None
