"""Corrections, completions and late entries of a job, as a proof tells them: both values, when, why and by whom."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Final

from compliance.records.fields import GROUPS
from compliance.records.kinds import COMPLETE, KEYED_WRONG, READ_WRONG
from compliance.records.views import Change, RunView, TicketView
from compliance.reports import timeline
from compliance.reports.awaited import handover_lines, own_lines, own_runs
from compliance.reports.model import Block, Bullets, Cell, Column, Paragraph, Table
from compliance.reports.numbers import answered
from compliance.reports.refs import Source, handover
from compliance.reports.values import value_text
from compliance.reports.words import Words
from compliance.water.results import JobFacts, Line

OF_HANDOVER: Final = ("where", "ticket")
"""Fields of a run as a whole that speak of its one handover."""


def blocks(source: Source, job: JobFacts) -> list[Block]:
    words = source.words
    received, rows = of_job(source, job)
    found: list[Block] = [Bullets(tuple(received))]
    if not rows:
        return [*found, Paragraph(words("changes.none"))]
    return [*found, Table(change_columns(words), tuple(rows))]


def _everything(group: str, name: str) -> bool:
    return True


def of_job(
    source: Source, job: JobFacts, goes: Callable[[str, str], bool] = _everything
) -> tuple[Sequence[str], Sequence[tuple[Cell, ...]]]:
    """Of a job's own records: when each came in, and every correction and completion, under `change_columns`.

    goes: whether a field (group, name) may be told of; the name is '' for a line as a whole.
    """
    words = source.words
    ours = own_lines(source, job)
    received, rows = [], []
    worked_on = own_runs(job)
    for record in dict.fromkeys([*worked_on, *(where.record for where in ours)]):
        run = source.runs[record]
        if record in worked_on:
            received.append(_late(source, run, words("changes.handed_in", **_handed_in(source, run))))
        elif goes("hand over", "place"):
            received += _handovers_recorded(source, run, ours)
        rows += [
            change_row(source, run, change)
            for change in run.changes
            if (Line(record, change.line) in ours and (change.line or change.field in OF_HANDOVER))
            or (record in worked_on and change.line == "")
            if goes(_group(run, change), change.field)
        ]
    tickets = {
        ticket.record: ticket
        for where in handover_lines(source, job)
        for ticket in source.state.tickets_of(where.record, where.line)
        if goes("ticket", "")
    }
    for ticket in tickets.values():
        number, at = str(ticket.fields.get("number", "")), timeline.moment(source.there(ticket.received), words)
        received.append(words("changes.ticket", number=number, when=at))
        rows += [_ticket_row(source, ticket, change) for change in ticket.changes]
    return tuple(dict.fromkeys(received)), rows


def change_columns(words: Words) -> tuple[Column, ...]:
    """When, which field, before, now, and why."""
    return (
        Column(words("changes.received"), width=4),
        Column(words("changes.what"), width=4),
        Column(words("changes.was"), width=5),
        Column(words("changes.now"), width=5),
        Column(words("changes.why"), width=6),
    )


def _handed_in(source: Source, run: RunView) -> dict[str, str]:
    return {
        "day": timeline.day(run.day, source.words),
        "when": timeline.moment(source.there(run.received), source.words),
    }


def _handovers_recorded(source: Source, run: RunView, ours: Iterable[Line]) -> Iterable[str]:
    """When the handovers of our water were written down, on a night that is otherwise not ours."""
    for where in ours:
        if where.record == run.record:
            place = handover(source, where).place
            yield _late(source, run, source.words("changes.handover", place=place, **_handed_in(source, run)))


def _late(source: Source, run: RunView, text: str) -> str:
    """A sentence of when a night was handed in, with how long after it ended where that was more than a day."""
    words = source.words
    ended = str(run.get("end")) if answered(run.get("end")) else run.day
    last, arrived = timeline.as_date(ended), timeline.as_date(source.there(run.received))
    late = (arrived - last).days if isinstance(last, date) and isinstance(arrived, date) else 0
    return words.count("changes.late", late, text=text) if late > 1 else text


def change_row(source: Source, run: RunView, change: Change) -> tuple[Cell, ...]:
    """One correction or completion, under `change_columns`."""
    words = source.words
    group = _group(run, change)
    if change.field == "":
        what = words("changes.added", kind=words(f"kind.{group}"))
        now = Cell(words(f"kind.{change.now}"))
    else:
        what = words.label(group, change.field) if _has(group, change.field) else change.field
        now = Cell(value_text(source, group, change.field, change.now))
    was = Cell(value_text(source, group, change.field, change.was)) if change.field else Cell(words("changes.no_line"))
    return (
        Cell(timeline.moment(source.there(change.received), words)),
        Cell(what),
        was,
        now,
        Cell(_why(source, run, change)),
    )


def _group(run: RunView, change: Change) -> str:
    """The group of the field table to which what was changed belongs."""
    line = run.line(change.line) if change.line else None
    return line.kind if line else "run"


def _ticket_row(source: Source, ticket: TicketView, change: Change) -> tuple[Cell, ...]:
    """As `change_row`. Why is told only on the page of whom the ticket is for alone."""
    words = source.words
    label = words.label("ticket", change.field)
    name = words("changes.of_ticket", label=label, number=ticket.fields.get("number", ""))
    was, now = (Cell(value_text(source, "ticket", change.field, value)) for value in (change.was, change.now))
    shared = any(source.shares_run(source.runs[record]) for record, _ in ticket.handovers)
    why = _change_words(words, change, words("kept.shared") if shared and change.why else change.why)
    return Cell(timeline.moment(source.there(change.received), words)), Cell(name), was, now, Cell(why)


def _has(group: str, name: str) -> bool:
    return any(row.name == name for row in GROUPS.get(group, ()))


def _why(source: Source, run: RunView, change: Change) -> str:
    shared = source.shares_run(run) and bool(change.why)
    return _change_words(source.words, change, source.words("kept.shared") if shared else change.why)


def _change_words(words: Words, change: Change, why: str) -> str:
    reasons = {KEYED_WRONG: "changes.keyed", READ_WRONG: "changes.read"}
    kind = words("changes.completed") if change.kind == COMPLETE else words(reasons.get(change.reason, "changes.other"))
    return "; ".join(part for part in (kind, why, change.who) if part)
