"""The morning list: what is still needed, oldest first, and the entry that an answer in its place makes.

What is needed follows from the findings (`rules`), the tickets that are to come and the drafts that were left; a
finding that somebody accepted is left out. One need is one question where an answer can be taken in place: then `ask`
says where it belongs, and `entry_of` turns what was typed into an entry for the validator.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from compliance.intake.awaited import awaiting
from compliance.intake.spots import find_ticket
from compliance.records import kinds
from compliance.records.answer import without_value
from compliance.records.fields import GROUP, GROUPS, REGISTERS, Field, field
from compliance.records.quick import dataclass
from compliance.records.state import State
from compliance.records.ticketing import ANOTHER, LATER, NO_HANDOVER, NO_PLACE, SEVERAL
from compliance.records.views import RunView, TicketView
from compliance.rules.missing import NEEDS, label
from compliance.rules.rule import Finding, Missing
from compliance.rules.run import Report
from compliance.rules.scene import Scene

ACT_NOW, ABOARD, TICKET, FIELD, REGISTER, OTHER, DRAFT, BACKUP = (
    "act now", "water aboard", "ticket", "field", "register", "missing", "draft", "backup",
)  # fmt: skip
KINDS: Final = (BACKUP, DRAFT, ACT_NOW, ABOARD, TICKET, FIELD, OTHER, REGISTER)
"""What a need can be, in the order in which needs of one day are told."""

FIELDS_RULE, REGISTER_RULE, TICKET_RULE, ABOARD_RULE, BACKUP_RULE = (
    "missing-1", "register-2", "ticket-1", "time-2", "backup-1",
)  # fmt: skip

_NUMBER: Final = field("ticket", "number")
_TELLING: Final = ("site", "of", "place", "tank", "what")
"""Fields that tell one line from another, for a reader."""
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True)
class Ask:
    """Where an answer belongs. kind: of the record that it makes; about: the run, the ticket's id, or the entry's name.

    line: of the run; path: the field, or where it stands in a list; group: of the field table; register: for an entry.
    """

    kind: str
    about: str
    row: Field
    group: str
    line: str = ""
    path: str = ""
    register: str = ""


@dataclass(frozen=True)
class Need:
    """One thing that is still needed. day: to which it belongs, '' when to none; kind: one of `KINDS`.

    about: what it concerns, as people name it; needed: in words; next_step: what to do where it is not asked here.
    """

    day: str
    kind: str
    about: str
    needed: str
    next_step: str
    ask: Ask | None = None


def needs(scene: Scene, report: Report, drafts: Sequence[str] = ()) -> tuple[Need, ...]:
    """All that is still needed, oldest first; what belongs to no day comes before all others.

    report: of every rule over the whole book. drafts: names of the nights that were begun and not handed in.
    """
    runs = {run.ref: run for run in scene.state.runs}
    found = [need for finding in report.not_accepted for need in _of_finding(scene, runs, finding)]
    accepted = {one.about for one in report.findings if one.rule == TICKET_RULE and one.accepted is not None}
    found += _tickets(scene, accepted)
    found += _waiting(scene.state)
    found += [_draft(name) for name in drafts]
    return tuple(sorted(dict.fromkeys(found), key=lambda one: (one.day, KINDS.index(one.kind))))


# ---- findings ------------------------------------------------------------------------------------------------


def _of_finding(scene: Scene, runs: Mapping[str, RunView], finding: Finding) -> Iterator[Need]:
    match finding.rule:
        case _ if finding.severity == "act now":
            yield _plain(ACT_NOW, finding)
        case rule if rule == FIELDS_RULE:
            yield from (_field(scene, runs[finding.about], one) for one in finding.missing)
        case rule if rule == REGISTER_RULE:
            yield from (_entry(finding, one) for one in finding.missing)
        case rule if rule == ABOARD_RULE:
            load = scene.night.loads.get(finding.about)
            if load is not None and load.closed is None:
                yield _plain(ABOARD, finding)
        case rule if rule == BACKUP_RULE:
            yield _plain(BACKUP, finding)
        case rule if rule != TICKET_RULE and finding.severity == "missing":
            yield _plain(OTHER, finding)
        case _:
            return


def _plain(kind: str, finding: Finding) -> Need:
    """What is not answered by a value: it is told, with what to do."""
    return Need(finding.day, kind, finding.about, finding.seen, finding.next_step)


# ---- fields --------------------------------------------------------------------------------------------------


def _field(scene: Scene, run: RunView, one: Missing) -> Need:
    row = field(one.group, one.field)
    about = f"{run.ref}/{one.line}" if one.line else run.ref
    needed = f"{label(one)} ({_where(run, one)})"
    step = f"{NEEDS[one.need]}; 'not read' and 'not applicable' are answers too"
    if one.group == "ticket":
        ask = Ask(kinds.COMPLETE, one.within, row, "ticket", path=row.name)
    elif one.group == "hand over" and not one.line:
        if scene.state.tickets_of(run.record, ""):
            step = "the run has a ticket and no line of the handover: cancel the ticket, add the line, enter it again"
            return Need(run.day, FIELD, about, needed, step)
        ask = Ask(kinds.COMPLETE, run.ref, row, one.group, path=row.name)
    elif row.type == GROUP:
        inner = ", ".join(f'"{each.name}": "..."' for each in GROUPS[row.of] if each.need)
        step = f"washwater complete {run.ref} {row.name} '[{{{inner}}}]' --line {one.line} --who NAME"
        return Need(run.day, FIELD, about, needed, step)
    else:
        path = f"{one.within}/{row.name}" if one.within else row.name
        ask = Ask(kinds.COMPLETE, run.ref, row, one.group, one.line, path)
    return Need(run.day, FIELD, about, needed, step, ask)


def _where(run: RunView, one: Missing) -> str:
    """'the run', 'stop 2, Harbor deck, NE inlet', 'line 5, hand over, North Plant', 'ticket 4711'."""
    if one.entry:
        return one.entry
    line = run.line(one.line)
    if line is None:
        return f"the handover to {run.get('where')}" if one.group == "hand over" else "the run"
    stops = [other.n for other in run.lines if other.kind == "stop"]
    parts = [f"stop {stops.index(line.n) + 1}" if line.kind == "stop" else f"line {line.n}, {line.kind}"]
    parts += [
        str(line.get(name)) for name in ("site", "of", "place", "tank", "what") if isinstance(line.get(name), str)
    ]
    if one.within:
        name, _, n = one.within.partition("/")
        entry = line.get(name)[int(n) - 1]
        parts += [str(entry[key]) for key in ("name", "agent", "what") if key in entry]
    return ", ".join(parts)


def _entry(finding: Finding, one: Missing) -> Need:
    row = field(one.group, one.field)
    name = one.entry.removeprefix(one.group).strip()
    ask = Ask(kinds.REGISTER, name, row, one.group, path=row.name, register=one.group)
    return Need(finding.day, REGISTER, finding.about, label(one), "complete the entry on its register", ask)


# ---- tickets, drafts -----------------------------------------------------------------------------------------


def _tickets(scene: Scene, accepted: Iterable[str]) -> Iterator[Need]:
    """Handovers whose ticket is to come: said to be 'later', or not recorded at a place that writes tickets."""
    known = set(accepted)
    for handover in awaiting(scene):
        said = handover.ticket
        later = isinstance(said, str) and said.strip().lower() == LATER
        if handover.ref in known or handover.run.day < scene.state.judged_from or not (later or said is None):
            continue
        needed = f"ticket of {handover.place}" + (", to come" if later else "")
        ask = Ask(kinds.TICKET, handover.run.ref, _NUMBER, "ticket", handover.n, "number")
        step = "its number; 'not applicable' on the line where the place writes none"
        yield Need(handover.day, TICKET, handover.ref, needed, step, ask)


_TO_DO: Final = {
    NO_HANDOVER: "enter its night, or put the number on the handover: washwater complete RUN ticket {number} --line N",
    NO_PLACE: "put both on it: washwater complete {record} place PLACE",
    SEVERAL: "say which: washwater ticket {number} --for RUN/LINE, then washwater cancel {record}, which names none",
    ANOTHER: "keep one of the two: washwater cancel {record}, which names no handover",
}
"""Why a ticket waits -> what to do."""


def _waiting(state: State) -> Iterator[Need]:
    """Tickets that came and that no handover is found for: nobody guesses which from their day or their amount."""
    for ticket in state.tickets:
        day = _day_of(ticket)
        if not ticket.waits or day < state.judged_from:
            continue
        number, place = ticket.fields.get("number"), ticket.fields.get("place")
        name = f"ticket {number}"
        of = f" of {place}" if without_value(place) is None else ""
        step = _TO_DO[ticket.waits].format(number=number, record=ticket.record[:8])
        yield Need(day, TICKET, name, f"{name}{of}: {ticket.waits}", step)


def _day_of(ticket: TicketView) -> str:
    """The day on a ticket, else that on which it came."""
    said = ticket.fields.get("date")
    return str(said) if without_value(said) is None else ticket.received[:10]


def _draft(name: str) -> Need:
    day = _DAY.search(name)
    step = f"washwater log --draft {name}, or throw it away: washwater drafts --throw-away {name}"
    return Need(day[0] if day else "", DRAFT, name, "a night that was begun and not handed in", step)


# ---- answers -------------------------------------------------------------------------------------------------


def entry_of(ask: Ask, answer: Any, state: State, who: str) -> tuple[str, dict[str, Any]]:
    """The kind of entry and its raw form for an answer as it was typed. state: of the book as it is now.

    A handover that only its run tells of gets a line, so that there is a place for what is known of it.
    """
    raw: dict[str, Any]
    if ask.kind == kinds.REGISTER:
        entry: dict[str, Any] = {ask.path: answer, "who": who}
        if ask.register not in REGISTERS:
            return "registers", {ask.register: entry}
        return "registers", {ask.register: [{"name": ask.about, **entry}]}
    if ask.kind == kinds.TICKET:
        handover = {"run": ask.about, "line": ask.line} if ask.line else {"run": ask.about}
        place = _place(state, ask)
        return kinds.TICKET, {
            "number": answer,
            "handovers": [handover],
            "who": who,
            **({"place": place} if place else {}),
        }
    raw = {"run": ask.about, "field": ask.path, "value": answer, "who": who}
    if ask.group != "hand over" or ask.line:
        return kinds.COMPLETE, {**raw, "line": ask.line} if ask.line else raw
    run = state.run(ask.about)
    assert run is not None
    there = [line.n for line in run.lines if line.kind == "hand over"]
    if there:
        return kinds.COMPLETE, {**raw, "line": there[-1]}
    line = {"line": "hand over", "place": run.get("where"), ask.path: answer}
    return kinds.COMPLETE, {"run": ask.about, "add_after": run.lines[-1].n, "line_values": line, "who": who}


def _place(state: State, ask: Ask) -> Any:
    run = state.run(ask.about)
    line = None if run is None else run.line(ask.line)
    return line.get("place") if line is not None else run.get("where") if run is not None else None


def after_ticket(ticket: str, state: State) -> tuple[Need, ...]:
    """What is asked of a ticket that was just entered, by its record: what it says they accepted, and who."""
    found = find_ticket(ticket, state)
    if found is None:
        return ()
    name = f"ticket {found.fields.get('number')}"
    rows = [field("ticket", one) for one in ("accepted", "received_by") if found.fields.get(one) is None]
    return tuple(
        Need("", FIELD, name, f"{row.en} ({name})", "", Ask(kinds.COMPLETE, ticket, row, "ticket", path=row.name))
        for row in rows
    )
