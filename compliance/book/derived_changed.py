"""What the records that came since may have changed: which runs, which days; or that it may be anything."""

from __future__ import annotations

from typing import Final

from compliance.book.derived_context import touched_by
from compliance.book.derived_lookup import Index
from compliance.book.store import Book
from compliance.records import kinds
from compliance.records.envelope import Record

_ELSEWHERE: Final = (kinds.CLOSE, kinds.REOPEN, kinds.BACKUP, kinds.INQUIRY, kinds.INQUIRY_STEP)
"""Kinds of record that stand in no table and change no figure."""
_MOVES: Final = ("rig", "date", "start")
"""Fields of a run that decide its place and its name: who changes them changes the neighbours of two places."""
_NO_WATER: Final = ("person", "permission", "limit")
"""Registers in which nothing changes a figure."""
_BY_NAME: Final = ("client", "site", "job", "place")
"""Registers whose entry changes figures of those runs only that hold its name."""


class Changed:
    """What new records concern. runs: those whose water may have changed, with their neighbours to be looked at, `new`
    those among them that have just come; named: those whose handovers got or lost a ticket; tickets: those that have
    come or were changed; papers: whether the tables of papers have to be made anew.
    """

    def __init__(self) -> None:
        self.runs: set[str] = set()
        self.new: set[str] = set()
        self.named: set[str] = set()
        self.tickets: set[str] = set()
        self.papers = False

    def note_numbers(self, index: Index) -> None:
        """Note the runs that a ticket without handovers may be for, where it or one of them has changed."""
        numbers = index.unmatched(index.numbers_ever([*self.runs, *self.tickets]))
        self.named.update(index.numbered_with(numbers))
        self.papers = self.papers or bool(numbers)


def changed_since(book: Book, since: int) -> Changed | None:
    """What the records after this one concern; None when that may be anything."""
    found = Changed()
    for record in book.records(after=since):
        known = _concerns(found, book, record)
        if not known:
            return None
    return found


def _concerns(found: Changed, book: Book, record: Record) -> bool:
    """Note what a record concerns; false when that cannot be told."""
    payload = record.payload
    match record.kind:
        case kinds.RUN:
            found.runs.add(record.id)
            found.new.add(record.id)
        case kinds.CORRECT | kinds.COMPLETE:
            changed = book.by_ids([payload["run"]]).get(payload["run"])
            if changed is not None and changed.kind == kinds.TICKET:
                return _concerns(found, book, changed)
            if _moves(record):
                return False
            found.runs.add(payload["run"])
        case kinds.TICKET:
            found.named |= {handover["run"] for handover in payload["handovers"]}
            found.tickets.add(record.id)
            found.papers = True
        case kinds.ATTACH | kinds.ACCEPT | kinds.ISSUE | kinds.OLD_ROW:
            found.papers = True
        case kinds.CANCEL:
            found.papers = True
            cancelled = book.by_ids([payload["record"]]).get(payload["record"])
            return cancelled is None or cancelled.kind == kinds.CANCEL or _concerns(found, book, cancelled)
        case kind:
            return kind in _ELSEWHERE or kind not in kinds.KINDS  # from a newer program: nobody here reads it
    return True


def _moves(record: Record) -> bool:
    """Whether a change may give a run another place, another name, or another meter that it reads."""
    payload = record.payload
    if "add" in payload:
        return bool(payload["add"]["line"] == "reading")
    return payload["field"] in (*_MOVES, "of")


def first_day_changed(index: Index, since: int, before: str) -> str:
    """From which day on records behind the first `since` may have changed what was used, captured or handed over.

    before: a day; it is the answer when nothing of the days before it can have changed. '' when that may be any day.
    """
    found, days = Changed(), [before]
    for record in index.book.records(after=since):
        match record.kind:
            case kinds.REGISTER:
                known = _names_only_later(index, record, before)
            case kinds.OLD_ROW:
                known = True
                days.append(str(record.payload["fields"]["date"]))
            case kinds.CORRECT | kinds.COMPLETE | kinds.CANCEL if _of_old_row(index.book, record):
                known = False
            case _:
                known = _concerns(found, index.book, record)
        if not known:
            return ""
    touched = touched_by(index, found.runs)
    if touched is None:
        return ""
    found.note_numbers(index)
    rows = {**index.rows(touched), **index.heads([*found.named, *found.runs])}
    return min([*days, *(row.day for row in rows.values())])


def _of_old_row(book: Book, change: Record) -> bool:
    """Whether it is a row of an old book that is changed or cancelled."""
    id = change.payload["record" if change.kind == kinds.CANCEL else "run"]
    return any(record.kind == kinds.OLD_ROW for record in book.by_ids([id]).values())


def _names_only_later(index: Index, record: Record, before: str) -> bool:
    """Whether an entry on a register leaves every figure of earlier days as it was."""
    what, name = record.payload["what"], record.payload["name"]
    return what in _NO_WATER or (what in _BY_NAME and not _named(index, what, name, before))


def _named(index: Index, what: str, name: str, before: str) -> bool:
    """Whether runs of earlier days hold a name, or that of a site or a job whose entry has it."""
    key = index.registers.key
    through = (
        (other, str(entry["name"]))
        for other in ("site", "job")
        for entry in index.registers.all(other)
        if what != other and key(what, str(entry.get(what) or "")) == key(what, name)
    )
    return bool(index.holding(what, name, "", before)) or any(_named(index, *one, before) for one in through)
