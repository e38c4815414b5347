"""What the records say, taken together: every night as it stands now, with each change that made it so.

`gather` is a pure fold over records in the order of the book. Nothing is overwritten: a changed field keeps what it
said before in `changes`. Any order of arrival gives the same nights, as long as one field is changed once; where it
is changed again the later record in the book wins.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cache
from typing import Any

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.upgrade import upgraded

Fields = Mapping[str, Any]


@dataclass(frozen=True)
class Change:
    """One field that was corrected or completed. was is None when nothing stood there before."""

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
    """One line of a run as it stands now. n: its number, '3' or '3.1' for one that was added after the third."""

    n: str
    kind: str
    fields: Fields

    def get(self, name: str) -> Any:
        """The stored value, or None when not recorded yet."""
        return self.fields.get(name)


@dataclass(frozen=True)
class RunView:
    """One run as it stands now. ref: how people name it; record: the id of its hand-in."""

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


@dataclass(frozen=True)
class TicketView:
    """A ticket that came, and the handovers it is for: (run record id, line)."""

    record: str
    received: str
    fields: Fields
    handovers: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Attachment:
    """A file kept with a record."""

    record: str
    about: str
    line: str
    name: str
    sha256: str
    size: int
    media: str
    what: str


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
    spreadsheet numbers it, from 1.
    """

    record: str
    day: str
    fields: Fields
    sha256: str
    file: str
    sheet: str
    row: int

    def get(self, name: str) -> Any:
        """The stored value of a field, or None when the file says nothing of it."""
        return self.fields.get(name)


@cache
def folded(name: str) -> str:
    """A name without case, accents and doubled spaces, for looking things up; what was typed is what is kept."""
    plain = unicodedata.normalize("NFKD", name)
    return " ".join("".join(c for c in plain if not unicodedata.combining(c)).casefold().split())


def slug(name: str) -> str:
    """A name as part of a reference: lower case, hyphens, ASCII where the letter allows it."""
    return re.sub(r"[^\w]+", "-", folded(name)).strip("-") or "unnamed"


@dataclass(frozen=True)
class Registers:
    """The registers as they stand. entries: register -> folded name -> fields, the name as typed among them."""

    entries: Mapping[str, Mapping[str, Fields]] = field(default_factory=dict)
    same: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def find(self, what: str, name: Any) -> Fields | None:
        """The entry that `name` means, through 'same as', or None when it is on no register."""
        if not isinstance(name, str):
            return None
        return self.entries.get(what, {}).get(self._resolved(what, name))

    def name(self, what: str, name: str) -> str:
        """The name to show for `name`: that of its entry, or itself when it is free text."""
        entry = self.find(what, name)
        return str(entry["name"]) if entry else name

    def key(self, what: str, name: str) -> str:
        """What tells entries apart: equal for two spellings of one entry, for free text too."""
        return self._resolved(what, name)

    def all(self, what: str) -> Sequence[Fields]:
        """Every entry of a register, in the order in which they were added."""
        return [entry for key, entry in self.entries.get(what, {}).items() if (what, key) not in self.same]

    def tanks(self, rig: str, role: str) -> Sequence[Fields]:
        """The tanks of one rig with one role."""
        key = self.key("rig", rig)
        return [
            tank
            for tank in self.all("tank")
            if tank.get("role") == role and self.key("rig", str(tank.get("rig", ""))) == key
        ]

    def _resolved(self, what: str, name: str) -> str:
        key = folded(name)
        for _ in range(len(self.same) + 1):
            if (what, key) not in self.same:
                break
            key = self.same[what, key]
        return key


@dataclass(frozen=True)
class State:
    """Everything that the records say. runs are in order of day, start and id."""

    business: Fields
    registers: Registers
    runs: tuple[RunView, ...]
    tickets: tuple[TicketView, ...]
    attachments: tuple[Attachment, ...]
    acceptances: tuple[Acceptance, ...]
    issued: tuple[Issued, ...]
    opened: str
    size: int
    opens_on: str = ""
    """The day from which nights are judged: the book record's event time, which may be earlier than its receipt."""
    old_rows: tuple[OldRow, ...] = ()
    """Rows of the spreadsheets from before the book, in order of day, file, sheet and row; never nights."""

    @property
    def unit(self) -> str:
        """The book's unit of volume."""
        return str(self.business.get("unit", "gal"))

    def run(self, name: str) -> RunView | None:
        """A run by its ref, its record id or the beginning of one (six digits or more)."""
        for run in self.runs:
            if run.record == name or run.ref == name:
                return run
        if len(name) < 6:
            return None
        begins = [run for run in self.runs if run.record.startswith(name)]
        return begins[0] if len(begins) == 1 else None

    def tickets_of(self, run: str, line: str) -> Sequence[TicketView]:
        """The tickets matched to one handover."""
        return [ticket for ticket in self.tickets if (run, line) in ticket.handovers]


def gather(records: Iterable[Record]) -> State:
    """Fold records, in the order of the book, into what they say together."""
    fold = _Fold()
    for record in records:
        fold.take(replace(record, payload=upgraded(record)))
    return fold.state()


def line_order(n: str) -> tuple[int, ...]:
    """Lines sort by number, an added 3.1 after 3 and before 4."""
    return tuple(int(part) for part in n.split("."))


def run_order(run: RunView) -> tuple[str, str, str]:
    """Runs of a rig sort by day, then by start where given, then by id: never by who handed in first."""
    start = run.get("start")
    moment = ""
    if isinstance(start, str) and "T" in start:
        moment = str(datetime.fromisoformat(start).timestamp()).zfill(20)
    return run.day, moment, run.record


def _old_order(row: OldRow) -> tuple[str, str, str, int, str]:
    return row.day, row.file, row.sheet, row.row, row.record


class _Fold:
    """The fold's workbench; it lives only inside `gather`."""

    def __init__(self) -> None:
        self.business: Fields = {}
        self.entries: dict[str, dict[str, dict[str, Any]]] = defaultdict(dict)
        self.same: dict[tuple[str, str], str] = {}
        self.runs: dict[str, Record] = {}
        self.changes: dict[str, list[Record]] = defaultdict(list)
        self.cancelled: dict[str, str] = {}
        self.tickets: list[Record] = []
        self.attachments: list[Attachment] = []
        self.acceptances: list[Acceptance] = []
        self.issued: list[Issued] = []
        self.old_rows: list[OldRow] = []
        self.opened = ""
        self.opens_on = ""
        self.size = 0

    def take(self, record: Record) -> None:
        self.size = record.seq
        p = record.payload
        match record.kind:
            case kinds.BOOK:
                self.business, self.opened = p["fields"], record.receipt_time
                self.opens_on = record.event_time[:10]
            case kinds.REGISTER if p["what"] == "business":
                self.business = {**self.business, **p["fields"]}
            case kinds.REGISTER:
                key = folded(p["name"])
                known = self.entries[p["what"]].setdefault(key, {"name": p["name"]})
                known.update(p["fields"])
            case kinds.SAME_AS:
                self.same[p["what"], folded(p["name"])] = folded(p["is"])
            case kinds.RUN:
                self.runs[record.id] = record
            case kinds.CORRECT | kinds.COMPLETE:
                self.changes[p["run"]].append(record)
            case kinds.CANCEL:
                self.cancelled[p["record"]] = p["why"]
            case kinds.TICKET:
                self.tickets.append(record)
            case kinds.ATTACH:
                self.attachments.append(
                    Attachment(
                        record.id,
                        p["record"],
                        p.get("line", ""),
                        p["name"],
                        p["sha256"],
                        p["size"],
                        p["media"],
                        p["what"],
                    )
                )
            case kinds.ACCEPT:
                self.acceptances.append(Acceptance(record.id, p["rule"], p["about"], p["why"], p["until"], p["who"]))
            case kinds.ISSUE:
                self.issued.append(
                    Issued(
                        record.id,
                        record.seq,
                        p["page"],
                        p["number"],
                        p["about"],
                        p["date"],
                        p["files"],
                        p["made_from"]["size"],
                        p["made_from"]["root"],
                        p["figures"],
                        p["replaces"],
                    )  # fmt: skip
                )
            case kinds.OLD_ROW:
                self.old_rows.append(
                    OldRow(record.id, p["fields"]["date"], p["fields"], p["sha256"], p["file"], p["sheet"], p["row"])
                )
            case _:
                pass

    def state(self) -> State:
        views = [self._view(record) for record in self.runs.values()]
        tickets = tuple(
            TicketView(
                t.id,
                t.receipt_time,
                t.payload["fields"],
                tuple((h["run"], h["line"]) for h in t.payload["handovers"]),
            )
            for t in self.tickets
            if t.id not in self.cancelled
        )
        return State(
            self.business,
            Registers(self.entries, self.same),
            tuple(sorted(_with_refs(views), key=run_order)),
            tickets,
            tuple(a for a in self.attachments if a.record not in self.cancelled),
            tuple(a for a in self.acceptances if a.record not in self.cancelled),
            tuple(self.issued),
            self.opened,
            self.size,
            self.opens_on,
            tuple(sorted((r for r in self.old_rows if r.record not in self.cancelled), key=_old_order)),
        )

    def _view(self, record: Record) -> RunView:
        p = record.payload
        fields: dict[str, Any] = dict(p["fields"])
        lines = {line["n"]: LineView(line["n"], line["line"], dict(line["fields"])) for line in p["lines"]}
        changes = []
        for change in self.changes.get(record.id, ()):
            if change.id not in self.cancelled:
                changes += _apply(change, fields, lines)
        return RunView(
            record.id,
            "",
            record.seq,
            record.device_time,
            record.receipt_time,
            p.get("who", ""),
            fields,
            tuple(lines[n] for n in sorted(lines, key=line_order)),
            self.cancelled.get(record.id),
            tuple(changes),
        )


def _apply(change: Record, fields: dict[str, Any], lines: dict[str, LineView]) -> list[Change]:
    """Put one correction or completion in place; returns what it changed."""
    p = change.payload
    who, received = p.get("who", ""), change.receipt_time
    if "add" in p:
        n = added_number(p["after"], lines)
        lines[n] = LineView(n, p["add"]["line"], dict(p["add"]["fields"]))
        return [Change(change.id, change.kind, n, "", None, p["add"]["line"], "", p.get("why", ""), who, received)]
    line, name = p["line"], p["field"]
    target = fields if line == "" else lines[line].fields
    assert isinstance(target, dict)
    was = target.get(name)
    if change.kind == kinds.COMPLETE and was is not None:
        return []  # somebody answered before; `complete` fills only what is not recorded yet
    target[name] = p["value"]
    return [
        Change(
            change.id, change.kind, line, name, was, p["value"], p.get("reason", ""), p.get("why", ""), who, received
        )
    ]


def added_number(after: str, lines: Mapping[str, Any]) -> str:
    """The number of a line that is added after another: 3.1, then 3.2."""
    base = after or "0"
    k = 1
    while f"{base}.{k}" in lines:
        k += 1
    return f"{base}.{k}"


def _with_refs(views: Iterable[RunView]) -> list[RunView]:
    """Name each run by its day and rig; a second one of the day, in the order of the book, gets -2."""
    seen: dict[str, int] = defaultdict(int)
    named = []
    for view in sorted(views, key=lambda v: v.seq):
        base = f"{view.day}-{slug(str(view.fields['rig']))}"
        seen[base] += 1
        named.append(replace(view, ref=base if seen[base] == 1 else f"{base}-{seen[base]}"))
    return named
