"""What the records say, taken together: every night as it stands now, with each change that made it so.

`gather` is a pure fold over records in the order of the book. Nothing is overwritten: a changed field keeps what it
said before in `changes`. Any order of arrival gives the same nights, as long as one field is changed once; where it
is changed again the later record in the book wins.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any, Final

from compliance.records import kinds
from compliance.records.changes import apply
from compliance.records.closing import Closing, closed, in_force, reopened
from compliance.records.envelope import Record
from compliance.records.inquiries import Inquiry, called
from compliance.records.inquiries import fold as inquiries_of
from compliance.records.names import folded, slug
from compliance.records.outing import chains, join, moved
from compliance.records.quick import dataclass
from compliance.records.registers import Registers, enter
from compliance.records.ticketing import matched
from compliance.records.upgrade import upgraded
from compliance.records.views import (
    Acceptance,
    Attachment,
    BackedUp,
    Change,
    Fields,
    Issued,
    LineView,
    OldRow,
    Order,
    Outing,
    RunView,
    TicketView,
    line_order,
)

CAUGHT_UP: Final = timedelta(days=7)
"""How far before the beginning of a book its nights are judged all the same."""


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
    """The day on which the book was begun: its first record's event time, which may be earlier than its receipt."""
    old_rows: tuple[OldRow, ...] = ()
    """Rows of the spreadsheets from before the book, in order of day, file, sheet and row; never nights."""
    outings: tuple[Outing, ...] = ()
    """Which hand-ins are of one outing, in the order of the book."""
    orders: tuple[Order, ...] = ()
    """The order of runs at tanks that several rigs share, in the order of the book: a later one governs."""
    backups: tuple[BackedUp, ...] = ()
    """When the book was copied, in the order of the book."""
    closings: tuple[Closing, ...] = ()
    """Every closing and reopening of a month, in the order of the book."""
    inquiries: tuple[Inquiry, ...] = ()
    """Every question that came from outside, in the order of the book."""

    @property
    def judged_from(self) -> str:
        """The first day whose nights are judged: somebody who begins a book hands in the last few nights first."""
        return self.opens_on and (date.fromisoformat(self.opens_on) - CAUGHT_UP).isoformat()

    @property
    def unit(self) -> str:
        """The book's unit of volume."""
        return str(self.business.get("unit", "gal"))

    def run(self, name: str) -> RunView | None:
        """A run by its ref, its record id or the beginning of one (six digits or more), or by those of its hand-ins."""
        for run in self.runs:
            if run.record == name or run.ref == name:
                return run
            if run.parts and any(name in (part.view.record, part.view.ref) for part in run.parts):
                return run
        if len(name) < 6:
            return None
        begins = [run for run in self.runs if any(one.record.startswith(name) for one in run.handed_in_as)]
        return begins[0] if len(begins) == 1 else None

    def closing_of(self, month: str) -> Closing | None:
        """The closing in force of a month ('2026-10'), None while it is open: never closed, or opened again since."""
        return in_force(self.closings, month)

    def inquiry(self, name: str) -> Inquiry | None:
        """The one inquiry that a name means, see `inquiries.called`; None where it means none or several."""
        found = called(self.inquiries, name)
        return found[0] if len(found) == 1 else None

    def tickets_of(self, run: str, line: str) -> Sequence[TicketView]:
        """The tickets matched to one handover."""
        return [ticket for ticket in self.tickets if (run, line) in ticket.handovers]


def gather(records: Iterable[Record]) -> State:
    """Fold records, in the order of the book, into what they say together."""
    fold = _Fold()
    for record in records:
        fold.take(replace(record, payload=upgraded(record)))
    return fold.state()


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
        self.entries: dict[str, dict[str, dict[str, Any]]] = {}
        self.same: dict[tuple[str, str], str] = {}
        self.runs: dict[str, Record] = {}
        self.changes: dict[str, list[Record]] = defaultdict(list)
        self.cancelled: dict[str, str] = {}
        self.tickets: list[Record] = []
        self.attachments: list[Attachment] = []
        self.acceptances: list[Acceptance] = []
        self.issued: list[Issued] = []
        self.old_rows: list[OldRow] = []
        self.outings: list[Outing] = []
        self.orders: list[Order] = []
        self.backups: list[BackedUp] = []
        self.closings: list[Closing] = []
        self.inquiries: list[Record] = []
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
                enter(self.entries, p)
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
                copy = p.get("copy", {}).get("sha256", "")
                file = Attachment(
                    record.id, p["record"], p.get("line", ""), p["name"], p["sha256"], p["size"], p["media"],
                    p["what"], copy,
                )  # fmt: skip
                self.attachments.append(file)
            case kinds.ACCEPT:
                self.acceptances.append(Acceptance(record.id, p["rule"], p["about"], p["why"], p["until"], p["who"]))
            case kinds.ISSUE:
                then = p["made_from"]
                page = Issued(
                    record.id, record.seq, p["page"], p["number"], p["about"], p["date"], p["files"], then["size"],
                    then["root"], p["figures"], p["replaces"],
                )  # fmt: skip
                self.issued.append(page)
            case kinds.CLOSE:
                self.closings.append(closed(record))
            case kinds.REOPEN:
                self.closings.append(reopened(record))
            case kinds.OLD_ROW:
                fields, sha, mapping = p["fields"], p["sha256"], p["mapping"]
                row = OldRow(record.id, fields["date"], fields, sha, p["file"], p["sheet"], p["row"], mapping)
                self.old_rows.append(row)
            case kinds.SAME_OUTING:
                said = Outing(record.id, p["first"], p["second"], p["why"], p["who"], record.receipt_time)
                self.outings.append(said)
            case kinds.ORDER:
                self.orders.append(Order(record.id, p["tank"], tuple(p["runs"]), p["why"], p["who"]))
            case kinds.BACKUP:
                self.backups.append(BackedUp(record.id, p["made"], p["head"], p["sha256"], p["files"], p["spoilt"]))
            case kinds.INQUIRY | kinds.INQUIRY_STEP:
                self.inquiries.append(record)
            case _:
                pass

    def state(self) -> State:
        outings = [one for one in self.outings if one.record not in self.cancelled]
        joining = frozenset(one.record for one in outings)
        alone = _with_refs(self._view(record, joining) for record in self.runs.values())
        runs = self._joined(alone, outings, joining)
        now = moved(runs)
        registers = Registers(self.entries, self.same)
        tickets = [self._ticket(t, now) for t in self.tickets if t.id not in self.cancelled]
        return State(
            self.business,
            registers,
            tuple(sorted(runs, key=run_order)),
            matched(tickets, runs, lambda place: registers.key("place", place)),
            tuple(_moved_file(a, now) for a in self.attachments if a.record not in self.cancelled),
            tuple(a for a in self.acceptances if a.record not in self.cancelled),
            tuple(self.issued),
            self.opened,
            self.size,
            self.opens_on,
            tuple(sorted((r for r in self.old_rows if r.record not in self.cancelled), key=_old_order)),
            outings=tuple(outings),
            orders=tuple(_moved_order(o, now) for o in self.orders if o.record not in self.cancelled),
            backups=tuple(self.backups),
            closings=tuple(self.closings),
            inquiries=inquiries_of(self.inquiries, self.cancelled),
        )

    def _view(self, record: Record, joining: frozenset[str]) -> RunView:
        """One hand-in with what changed it; what was said of its outing as a whole comes later."""
        p = record.payload
        fields: dict[str, Any] = dict(p["fields"])
        lines = {line["n"]: LineView(line["n"], line["line"], dict(line["fields"])) for line in p["lines"]}
        changes = []
        for change in self.changes.get(record.id, ()):
            if change.id not in self.cancelled and not _of_outing(change, joining):
                changes += apply(change, fields, lines)
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

    def _joined(self, views: Sequence[RunView], outings: Sequence[Outing], joining: frozenset[str]) -> list[RunView]:
        """The runs as they went: hand-ins of one outing joined, and what was said of the outing put in place."""
        by_record = {view.record: view for view in views}
        counting = [view.record for view in views if view.cancelled is None]
        for chain in chains(counting, outings):
            run = join([(by_record[record], outing) for record, outing in chain])
            fields, changes = dict(run.fields), list(run.changes)
            for record, _ in chain:
                del by_record[record]
                for change in self.changes.get(record, ()):
                    if change.id not in self.cancelled and _of_outing(change, joining):
                        changes += apply(change, fields, {})
            by_record[run.record] = replace(run, fields=fields, changes=tuple(changes))
        return list(by_record.values())

    def _ticket(self, record: Record, now: Mapping[tuple[str, str], tuple[str, str]]) -> TicketView:
        p = record.payload
        fields = dict(p["fields"])
        changes: list[Change] = []
        for change in self.changes.get(record.id, ()):
            if change.id not in self.cancelled:
                changes += apply(change, fields, {})
        handovers = dict.fromkeys(now.get((h["run"], h["line"]), (h["run"], h["line"])) for h in p["handovers"])
        return TicketView(record.id, record.receipt_time, fields, tuple(handovers), tuple(changes))


def _of_outing(change: Record, joining: frozenset[str]) -> bool:
    """Whether a change was made to a joined run as a whole; if they were taken apart since, it is the hand-in's own."""
    return change.payload.get("outing") in joining


def _moved_order(order: Order, now: Mapping[tuple[str, str], tuple[str, str]]) -> Order:
    return replace(order, runs=tuple(dict.fromkeys(now.get((run, ""), (run, ""))[0] for run in order.runs)))


def _moved_file(file: Attachment, now: Mapping[tuple[str, str], tuple[str, str]]) -> Attachment:
    about, line = now.get((file.about, file.line), (file.about, file.line))
    return replace(file, about=about, line=line)


def _with_refs(views: Iterable[RunView]) -> list[RunView]:
    """Name each run by its day and rig; a second one of the day, in the order of the book, gets -2."""
    seen: dict[str, int] = defaultdict(int)
    named = []
    for view in sorted(views, key=lambda v: v.seq):
        base = f"{view.day}-{slug(str(view.fields['rig']))}"
        seen[base] += 1
        named.append(replace(view, ref=base if seen[base] == 1 else f"{base}-{seen[base]}"))
    return named
