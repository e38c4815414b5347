"""What a reader of the records sees: a night, a line, a ticket and their kin, each as it stands now."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.records.quick import dataclass

Fields = Mapping[str, Any]


@dataclass(frozen=True)
class Change:
    """One field that was corrected or completed. was is None when nothing stood there before.

    Where two hand-ins of one outing differ, kind is 'same outing': was is what does not stand, now what does.
    """

    record: str
    kind: str
    line: str
    field: str
    was: Any
    now: Any
    reason: str
    why: str
    who: str
    received: str


@dataclass(frozen=True)
class LineView:
    """One line of a run as it stands now. n: its number, '3' or '3.1' for one that was added after the third.

    origin: where the line was handed in (record, its number there), when that is a later hand-in of one outing.
    """

    n: str
    kind: str
    fields: Fields
    origin: tuple[str, str] | None = None

    def get(self, name: str) -> Any:
        """The stored value, or None when not recorded yet."""
        return self.fields.get(name)


@dataclass(frozen=True)
class RunView:
    """One run as it stands now. ref: how people name it; record: the id of its (first) hand-in.

    parts: its hand-ins, first to last, when an outing was handed in more than once; else none.
    """

    record: str
    ref: str
    seq: int
    handed_in: str
    received: str
    who: str
    fields: Fields
    lines: tuple[LineView, ...]
    cancelled: str | None = None
    changes: tuple[Change, ...] = ()
    parts: tuple[Part, ...] = ()

    def get(self, name: str) -> Any:
        """The stored value of a run field, or None when not recorded yet."""
        return self.fields.get(name)

    def line(self, n: str) -> LineView | None:
        """The line numbered n."""
        return next((line for line in self.lines if line.n == n), None)

    @property
    def day(self) -> str:
        """The day to which the run belongs: that of its start."""
        return str(self.fields["date"])

    @property
    def handed_in_as(self) -> tuple[RunView, ...]:
        """Its hand-ins as each would stand alone: the run itself, or those that were joined."""
        return tuple(part.view for part in self.parts) or (self,)

    @property
    def outing(self) -> str:
        """The record that joined the last of its hand-ins to the others; '' for a run of one hand-in."""
        return self.parts[-1].joined_by if self.parts else ""

    def origin(self, n: str) -> tuple[str, str]:
        """Where a line was handed in: the record, and the line's number there; the record alone for ''."""
        line = self.line(n)
        return (self.record, n) if line is None or line.origin is None else line.origin


@dataclass(frozen=True)
class Part:
    """One hand-in of an outing. view: as it would stand alone; lines: its line numbers -> those of the outing.

    joined_by: the 'same outing' record that put it behind the hand-in before it, '' for the first.
    """

    view: RunView
    lines: Mapping[str, str]
    joined_by: str = ""


@dataclass(frozen=True)
class Outing:
    """That somebody says two hand-ins are of one outing. first, second: the records of the runs."""

    record: str
    first: str
    second: str
    why: str
    who: str
    received: str


@dataclass(frozen=True)
class Order:
    """The order in which runs came to a tank that several rigs share. runs: their records, first to last."""

    record: str
    tank: str
    runs: tuple[str, ...]
    why: str
    who: str


@dataclass(frozen=True)
class BackedUp:
    """That the book was copied. made: RFC 3339; head: the record code of the copy; sha256: of its database.

    files: how many kept files went along; spoilt: how many could not, being missing or changed.
    """

    record: str
    made: str
    head: str
    sha256: str
    files: int
    spoilt: int


@dataclass(frozen=True)
class TicketView:
    """A ticket that came, the handovers it is for, (run record id, line), and what was changed in it since.

    by_number: the handover was found by its number, not named by the office; waits: why none was found, '' else.
    """

    record: str
    received: str
    fields: Fields
    handovers: tuple[tuple[str, str], ...]
    changes: tuple[Change, ...] = ()
    by_number: bool = False
    waits: str = ""


@dataclass(frozen=True)
class Attachment:
    """A file kept with a record. copy: SHA-256 of a photo's copy without position and device, '' when it has none."""

    record: str
    about: str
    line: str
    name: str
    sha256: str
    size: int
    media: str
    what: str
    copy: str = ""


@dataclass(frozen=True)
class Acceptance:
    """A finding that somebody accepted, for a reason, until a day. It still shows."""

    record: str
    rule: str
    about: str
    why: str
    until: str
    who: str


@dataclass(frozen=True)
class Issued:
    """A page that went out. figures: figure name -> printed value; made_from: the size and root of the book then."""

    record: str
    seq: int
    page: str
    number: str
    about: str
    date: str
    files: Mapping[str, str]
    size: int
    root: str
    figures: Mapping[str, str]
    replaces: str


@dataclass(frozen=True)
class OldRow:
    """One row of a spreadsheet from before the book: what somebody wrote there, by a method that nobody knows.

    It is no run: no tank, balance or rule takes it in. sha256: of the file that it came from, which is kept; row: as a
    spreadsheet numbers it, from 1; mapping: the SHA-256 of how the file was read, which is kept too.
    """

    record: str
    day: str
    fields: Fields
    sha256: str
    file: str
    sheet: str
    row: int
    mapping: str

    def get(self, name: str) -> Any:
        """The stored value of a field, or None when the file says nothing of it."""
        return self.fields.get(name)


def line_order(n: str) -> tuple[int, ...]:
    """Lines sort by number, an added 3.1 after 3 and before 4."""
    return tuple(int(part) for part in n.split("."))
