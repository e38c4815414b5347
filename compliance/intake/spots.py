"""Where an amendment lands: a run, a line, a field, a ticket, found by the names that people use."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.intake.checked import Bench
from compliance.intake.entries import record_id
from compliance.intake.near import did_you_mean, nearest
from compliance.intake.text import shown, words
from compliance.intake.values import blank
from compliance.records.changes import value_at
from compliance.records.fields import GROUP, GROUPS, Field
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.records.state import State
from compliance.records.views import Fields, LineView, RunView, TicketView


@dataclass(frozen=True)
class Spot:
    """Where an amendment lands.

    run: the run, None for a ticket; line: a line of it, None for the run's own fields; group: of the field table;
    path: the field's name, or where it stands in a list: 'drain_list/1/on'.
    """

    run: RunView | None
    line: LineView | None
    field: Field
    group: str
    path: str
    ticket: TicketView | None = None

    @property
    def name(self) -> str:
        """What it is about, as people name it."""
        return self.run.ref if self.run is not None else _ticket_name(self.ticket)

    @property
    def _fields(self) -> Fields:
        about = self.line or self.run or self.ticket
        return {} if about is None else about.fields

    @property
    def now(self) -> Any:
        """What stands there now; None when nothing was recorded yet."""
        name, *rest = self.path.split("/")
        return value_at(self._fields.get(name), rest)

    @property
    def beside(self) -> Fields:
        """The fields that stand beside it: of the run, the line, the ticket or the entry of a list."""
        name, *rest = self.path.split("/")
        found: Fields = value_at(self._fields.get(name), rest[:-1]) if rest else self._fields
        return found

    def amendment(self, value: Any) -> dict[str, Any]:
        """The part of a payload that says where a value belongs: the record of its hand-in, line and field.

        A field of a joined run as a whole also names the record that joined it.
        """
        if self.run is None:
            return {"run": "" if self.ticket is None else self.ticket.record, **self._place("", value)}
        record, line = self.run.origin("" if self.line is None else self.line.n)
        outing = {"outing": self.run.outing} if self.line is None and self.run.outing else {}
        return {"run": record, **self._place(line, value), **outing}

    def _place(self, line: str, value: Any) -> dict[str, Any]:
        return {"line": line, "field": self.path, "value": value}

    def holds(self, raw: Mapping[str, Any], value: Any, how: str, why: str, who: str) -> bool:
        """Whether the book says so already, or this very amendment was made before, whatever has been amended since.

        By its own id where it has one; without one by its words, so that the same file twice changes nothing.
        """
        if value == self.now:
            return True
        own = (words(raw.get("id")) or "").strip()
        n = "" if self.line is None else self.line.n
        about = self.run or self.ticket
        return any(
            change.record == record_id(own) if own else (change.reason, change.why, change.who) == (how, why, who)
            for change in (about.changes if about is not None else ())
            if (change.line, change.field, change.now) == (n, self.path, value)
        )


def spot_of(raw: Mapping[str, Any], state: State, where: str, work: Bench) -> Spot | None:
    """Where an amendment {run, line, field} lands, or None with the problem on the bench."""
    tickets = tickets_named(raw.get("run"), state)
    if len(tickets) > 1:
        each = ", ".join(f"{one.record[:8]} ({one.fields.get('accepted', 'no amount')})" for one in tickets)
        what = f"{len(tickets)} tickets are called {shown(raw.get('run'))}"
        work.problem(what, f"{where}, run", f"name one of them by its id: {each}; or cancel what is there twice")
        return None
    if tickets:
        (ticket,) = tickets
        if not blank(raw.get("line")):
            work.problem("a ticket has no lines", f"{where}, line", "leave the line out")
        row = find_field("ticket", raw.get("field"), f"{where}, field")
        if isinstance(row, Problem):
            work.problems.append(row)
            return None
        return Spot(None, None, row, "ticket", row.name, ticket)
    run = run_named(raw.get("run"), state, f"{where}, run", work)
    if run is None:
        return None
    line = find_line(run, raw.get("line"), f"{where}, line")
    if isinstance(line, Problem):
        work.problems.append(line)
        return None
    found = _place(run, line, raw.get("field"), f"{where}, field")
    if isinstance(found, Problem):
        work.problems.append(found)
        return None
    row, group, path = found
    return Spot(run, line, row, group, path)


def _place(run: RunView, line: LineView | None, name: Any, where: str) -> tuple[Field, str, str] | Problem:
    """The row of a field, its group, and its path: of the run or line itself, or of an entry of one of its lists."""
    group = "run" if line is None else line.kind
    first, *rest = (words(name) or "").strip().split("/")
    row = find_field(group, first if len(rest) == 2 else name, where)
    if isinstance(row, Problem) or len(rest) != 2:
        return row if isinstance(row, Problem) else (row, group, row.name)
    about = f"{row.en} of " + (run.ref if line is None else f"line {line.n}")
    entries = (line or run).get(row.name)
    if row.type != GROUP or not isinstance(entries, list):
        return Problem(f"{about} has no entries", where, "give the name of a field alone")
    if not (rest[0].isdecimal() and 1 <= int(rest[0]) <= len(entries)):
        return Problem(f"{about} has no entry {shown(rest[0])}", where, f"it has {len(entries)}")
    inner = find_field(row.of, rest[1], where)
    return inner if isinstance(inner, Problem) else (inner, row.of, f"{row.name}/{int(rest[0])}/{inner.name}")


def find_run(name: Any, state: State, where: str) -> RunView | Problem:
    """The run that a ref, a record id or the beginning of one names."""
    text = (words(name) or "").strip()
    if not text:
        return Problem("it is not said which run", where, "name it by its date and rig, like 2026-09-14-big-blue")
    run = state.run(text)
    if run is not None:
        return run
    refs = [view.ref for view in reversed(state.runs)]
    return Problem(
        f"no run is called {shown(text)}", where, did_you_mean(text, refs, "`washwater list` shows them all")
    )


def run_named(name: Any, state: State, where: str, work: Bench) -> RunView | None:
    """As `find_run`; a problem goes to the bench."""
    run = find_run(name, state, where)
    if isinstance(run, Problem):
        work.problems.append(run)
        return None
    return run


def find_ticket(name: Any, state: State) -> TicketView | None:
    """The ticket that an id, the beginning of one (six digits or more) or 'ticket 4711' names, where it is the only."""
    found = tickets_named(name, state)
    return found[0] if len(found) == 1 else None


def tickets_named(name: Any, state: State) -> list[TicketView]:
    """Every ticket that such a name means: two places may have given one number."""
    text = (words(name) or "").strip()
    return [
        ticket
        for ticket in state.tickets
        if (len(text) >= 6 and ticket.record.startswith(text)) or folded(text) == folded(_ticket_name(ticket))
    ]


def _ticket_name(ticket: TicketView | None) -> str:
    return "" if ticket is None else f"ticket {ticket.fields.get('number')}"


def find_line(run: RunView, n: Any, where: str) -> LineView | Problem | None:
    """A line by its number, or by 's4' for the fourth stop; None for the run's own fields (nothing given)."""
    text = (words(n) or "").strip()
    if not text:
        return None
    stops = [line for line in run.lines if line.kind == "stop"]
    if text[:1] in "sS" and text[1:].isdigit():
        number = int(text[1:])
        if 1 <= number <= len(stops):
            return stops[number - 1]
        return Problem(f"run {run.ref} has no stop {number}", where, f"it has {len(stops)} stops")
    line = run.line(text)
    if line is not None:
        return line
    lines = ", ".join(f"{line.n} {line.kind}" for line in run.lines) or "none"
    return Problem(f"run {run.ref} has no line {shown(text)}", where, f"its lines: {lines}")


def find_field(group: str, name: Any, where: str) -> Field | Problem:
    """A field by its name in the table, or by its label in either language."""
    text = (words(name) or "").strip()
    for row in GROUPS[group]:
        if folded(text) in (row.name, folded(row.en), folded(row.es)):
            return row
    names = [row.name for row in GROUPS[group]]
    labels = {folded(row.en): row.name for row in GROUPS[group]}
    near = nearest(text, (*names, *labels)) if text else None
    step = f"did you mean {labels.get(near, near)!r}?" if near else f"docs/fields.md lists the fields of {group!r}"
    fault = f"{shown(text)} is not a field of {group!r}" if text else f"it is not said which field of {group!r}"
    return Problem(fault, where, step)


def find_record(name: Any, state: State, where: str) -> tuple[str, bool] | Problem:
    """The id of the record that a ref or (the beginning of) an id names, and whether it is cancelled already.

    A hand-in that was joined to another has its own ref still.
    """
    text = (words(name) or "").strip()
    run = state.run(text)
    if run is not None:
        parts = [one for one in run.handed_in_as if text in (one.ref, one.record)]
        parts = parts or [one for one in run.handed_in_as if one.record.startswith(text)]
        if len(parts) > 1:
            return Problem(f"{len(parts)} records begin with {shown(text)}", where, "give more of the id")
        return parts[0].record, run.cancelled is not None
    records = {
        *(view.record for view in state.runs),
        *(change.record for view in state.runs for change in view.changes),
        *(ticket.record for ticket in state.tickets),
        *(attachment.record for attachment in state.attachments),
        *(acceptance.record for acceptance in state.acceptances),
        *(outing.record for outing in state.outings),
        *(order.record for order in state.orders),
        *(inquiry.record for inquiry in state.inquiries),
        *(step.record for inquiry in state.inquiries for step in inquiry.steps),
    }
    found = [record for record in records if len(text) >= 6 and record.startswith(text)]
    if len(found) == 1:
        return found[0], False
    if found:
        return Problem(f"{len(found)} records begin with {shown(text)}", where, "give more of the id")
    if not text:
        return Problem("it is not said which record", where, "name a run by its date and rig, any other by its id")
    refs = [view.ref for view in reversed(state.runs)]
    return Problem(f"no record is called {shown(text)}", where, did_you_mean(text, refs, "`washwater list` shows them"))
