"""A question that came from outside: what was asked, what was looked for, found and sent, and what it holds.

An inquiry is opened by one record and changed by others; steps follow it. Nothing of it is overwritten: a changed
field keeps what it said before. While an inquiry is open, the records that it touches are on hold: whatever once
comes to destroy payloads has to ask `holds` first, and to refuse.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.names import folded
from compliance.records.quick import dataclass
from compliance.records.views import Change, Fields

SEARCHED, SENT, HELD, CLOSED, REOPENED = "searched", "sent", "held", "closed", "opened again"
STEPS: Final = (SEARCHED, SENT, HELD, CLOSED, REOPENED)
"""What can follow an inquiry. 'held' puts records on hold that no search named."""


@dataclass(frozen=True)
class Step:
    """One thing that was done about an inquiry.

    what: one of `STEPS`. said: all that its record says, see `records.kinds`. holds: the records that it names.
    """

    record: str
    what: str
    said: Fields
    holds: tuple[str, ...]
    who: str
    received: str


@dataclass(frozen=True)
class Inquiry:
    """One inquiry as it stands now. ref: how people name it, 'inquiry-1' for the first one of the book.

    follows: the record of the inquiry that it follows, '' for none.
    """

    record: str
    ref: str
    seq: int
    received: str
    who: str
    fields: Fields
    follows: str = ""
    changes: tuple[Change, ...] = ()
    steps: tuple[Step, ...] = ()
    cancelled: str | None = None

    def get(self, name: str) -> Any:
        """The stored value of a field, or None when nobody knows or has said it."""
        return self.fields.get(name)

    @property
    def is_open(self) -> bool:
        """Whether it still waits for an answer: never closed, or opened again since."""
        last = next((step.what for step in reversed(self.steps) if step.what in (CLOSED, REOPENED)), REOPENED)
        return last == REOPENED and self.cancelled is None

    @property
    def touched(self) -> tuple[str, ...]:
        """The records that its steps name, each once."""
        return tuple(dict.fromkeys(record for step in self.steps for record in step.holds))

    @property
    def held(self) -> frozenset[str]:
        """The records that it keeps on hold now: none once it is closed."""
        return frozenset(self.touched) if self.is_open else frozenset()


def called(inquiries: Iterable[Inquiry], name: str) -> Sequence[Inquiry]:
    """Those that this name may mean: a ref, a case number, or (the beginning of) a record id (six digits or more).

    A second call keeps its case number, so that one may mean several; cancelled ones only where no other is meant.
    """
    known = list(inquiries)
    exact = [one for one in known if name in (one.ref, one.record)]
    cases = [one for one in known if one.get("case") and folded(str(one.get("case"))) == folded(name)]
    begins = [one for one in known if len(name) >= 6 and one.record.startswith(name)]
    found = exact or cases or begins
    return [one for one in found if one.cancelled is None] or found


def holds(inquiries: Iterable[Inquiry], records: Iterable[str]) -> Sequence[Inquiry]:
    """The inquiries that keep any of these records on hold."""
    wanted = frozenset(records)
    return [one for one in inquiries if one.held & wanted]


def chain(inquiries: Sequence[Inquiry], one: Inquiry) -> Sequence[Inquiry]:
    """An inquiry with all that it follows and all that follows them, in the order of the book."""
    of = {inquiry.record: inquiry for inquiry in inquiries}
    found, waiting = {one.record}, [one.record]
    while waiting:
        here = waiting.pop()
        near = {of[here].follows, *(other.record for other in inquiries if other.follows == here)}
        new = (near & of.keys()) - found
        found |= new
        waiting += sorted(new)
    return [inquiry for inquiry in inquiries if inquiry.record in found]


def fold(records: Iterable[Record], cancelled: Mapping[str, str]) -> tuple[Inquiry, ...]:
    """The inquiries that these records tell of, in the order of the book. cancelled: record -> why.

    A change or step of an inquiry that is not there is passed over; so is a cancelled change or step.
    """
    opened: list[Record] = []
    later: dict[str, list[Record]] = {}
    for record in records:
        if record.kind == kinds.INQUIRY and "inquiry" not in record.payload:
            opened.append(record)
        elif record.id not in cancelled:
            later.setdefault(record.payload["inquiry"], []).append(record)
    return tuple(
        _inquiry(record, n, later.get(record.id, ()), cancelled.get(record.id)) for n, record in enumerate(opened, 1)
    )


def _inquiry(record: Record, n: int, later: Sequence[Record], cancelled: str | None) -> Inquiry:
    fields = dict(record.payload["fields"])
    changes: list[Change] = []
    for change in later:
        if change.kind != kinds.INQUIRY:
            continue
        p = change.payload
        for name, now in p["fields"].items():
            told = Change(
                change.id, kinds.INQUIRY, "", name, fields.get(name), now, "", p["why"], p["who"], change.receipt_time
            )
            changes.append(told)
            fields[name] = now
    steps = tuple(_step(one) for one in later if one.kind == kinds.INQUIRY_STEP)
    p = record.payload
    return Inquiry(
        record.id, f"inquiry-{n}", record.seq, record.receipt_time, p["who"], fields, p.get("follows", ""),
        tuple(changes), steps, cancelled,
    )  # fmt: skip


def _step(record: Record) -> Step:
    p = record.payload
    return Step(record.id, p["step"], p, tuple(p.get("holds", ())), p["who"], record.receipt_time)
