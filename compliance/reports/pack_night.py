"""The night of an answer pack to the minute: a chart along the clock, and every line with its time. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from compliance.records.answer import without_value
from compliance.records.views import LineView, RunView
from compliance.reports import timeline
from compliance.reports.awaited import handover_lines
from compliance.reports.model import (
    Block,
    Cell,
    Column,
    Heading,
    Hours,
    Paragraph,
    Stretch,
    Table,
    Tick,
    Tone,
)
from compliance.reports.numbers import typed_text
from compliance.reports.pack_parts import DRAINS, Pack, known_text
from compliance.reports.pack_withheld import Goes
from compliance.reports.refs import Source
from compliance.reports.values import measure_text, value_text
from compliance.reports.words import Words
from compliance.water.results import JobFacts, StopFacts


def timeline_blocks(pack: Pack, goes: Goes) -> Iterator[Block]:
    """Each rig that was near: a chart along the clock, and every line with its time."""
    words = pack.words
    for run in _nights(pack):
        rows = _by_clock(_rows(pack, run, goes))
        yield Heading(words("pack.run", rig=pack.state.registers.name("rig", str(run.get("rig"))), run=run.ref))
        drawn = _hours(pack, run, rows)
        if drawn is not None:
            yield drawn
        columns = (Column(words("pack.when"), width=5), Column(words("pack.line"), "right", width=1),
                   Column(words("pack.what"), width=9))  # fmt: skip
        yield Table(columns, tuple((Cell(row.when), Cell(row.n), Cell(row.text, tone=row.tone)) for row in rows))
        yield Paragraph(words("pack.clock", zone=str(pack.state.business["zone"])), "muted")


def times(pack: Pack, goes: Goes) -> Table:
    """The same lines for programs: moments as they are stored (RFC 3339), empty where nobody wrote one down."""
    words = pack.words
    heads = ("pack.of_run", "pack.line", "pack.what", "pack.from_time", "pack.until_time")
    rows = (
        (run.ref, row.n, row.text, row.start, row.end)
        for run in _nights(pack)
        for row in _by_clock(_rows(pack, run, goes))
    )
    return Table(tuple(Column(words(head)) for head in heads), tuple(tuple(Cell(one) for one in row) for row in rows))


def _by_clock(rows: Iterable[_Row]) -> list[_Row]:
    """Rows in the order of the clock; one without a time stands behind the row before it."""
    placed: list[tuple[float, _Row]] = []
    at = float("-inf")
    for row in rows:
        stated = row.start or row.end
        at = datetime.fromisoformat(stated).timestamp() if stated else at
        placed.append((at, row))
    return [row for _, row in sorted(placed, key=lambda one: one[0])]


def _nights(pack: Pack) -> Iterator[RunView]:
    """The runs that were near, in the order in which they were found, but for one all of whose jobs stay at home."""
    of = {run.record: run for run in pack.state.runs}
    told = {where.record for _, stop in pack.stops() for where in stop.lines}
    told |= {spot.run.record for spot in pack.found.near if spot.line.kind != "stop"}
    yield from (of[record] for record in dict.fromkeys(spot.run.record for spot in pack.found.near) if record in told)


@dataclass(frozen=True)
class _Row:
    """One line of the timeline. start, end: as stored, '' where nobody said."""

    n: str
    when: str
    text: str
    label: str
    start: str
    end: str
    strong: bool = False

    @property
    def tone(self) -> Tone:
        return "strong" if self.strong else "plain"


def _rows(pack: Pack, run: RunView, goes: Goes) -> Iterator[_Row]:
    """The lines of a run in their order; what belongs to a part that stays at home is left out."""
    words = pack.words
    ours = {
        where: job
        for job, stop in pack.stops()
        for where in _lines_of(pack.source(job), stop)
        if where[0] == run.record
    }
    for job in pack.jobs:
        for where in handover_lines(pack.source(job), job):
            if where.record == run.record:
                ours.setdefault((where.record, where.line), job)
    near = {(spot.run.record, spot.line.n) for spot in pack.found.near}
    start, end = (known_text(run.get(name)) for name in ("start", "end"))
    yield _row(words, "", words("pack.start"), words("pack.start"), start, start)
    for line in run.lines:
        whose = ours.get((run.record, line.n))
        if line.kind != "stop" and not goes(line.kind, ""):
            continue
        first, last = known_text(line.get("arrived") or line.get("at")), known_text(line.get("left") or line.get("at"))
        if line.kind == "stop" and whose is None:
            label = words("pack.stop_withheld" if (run.record, line.n) in near else "pack.other_stop")
            yield _row(words, line.n, label, label, first, last)
        elif line.kind in _OWN and whose is None:
            continue  # of another client's stop
        else:
            yield from _line(pack, run, line, whose, first, last, goes)
    yield _row(words, "", words("pack.end"), words("pack.end"), end, end)


_OWN: Final = ("escape", "remark", "led away", "use again")
"""Kinds of line that belong to the stop during which they were written down."""


def _lines_of(source: Source, stop: StopFacts) -> Iterator[tuple[str, str]]:
    for where, _ in source.stop_span(stop):
        yield where.record, where.line


def _line(
    pack: Pack, run: RunView, line: LineView, job: JobFacts | None, first: str, last: str, goes: Goes
) -> Iterator[_Row]:
    words = pack.words
    label = words(f"kind.{line.kind}")
    if job is not None:
        said = _details(pack.source(job), line, goes)
    else:  # of the rig, or of water of others: what was read on the rig, else no more than that it happened
        of = pack.state.registers.find("instrument", line.get("of")) or {}
        on_rig = line.kind == "reading" and not known_text(of.get("site"))
        said = _details(pack.source(pack.jobs[0]), line, goes) if on_rig and pack.jobs else ""
    strong = line.kind == "escape"
    yield _row(words, line.n, f"{label}: {said}" if said else label, label, first, last, strong=strong)
    if line.kind == "stop" and DRAINS in goes:
        for drain in line.get("drain_list") or ():
            for name, key in (("on", "pack.drain_on"), ("off", "pack.drain_off")):
                at = known_text(drain.get(name))
                if at:
                    text = words(key, name=drain.get("name"), method=typed_text(drain.get("method"), words))
                    yield _row(words, line.n, text, words.label("stop", "drains"), at, at)


def _details(source: Source, line: LineView, goes: Goes) -> str:
    words = source.words
    match line.kind:
        case "stop":
            if without_value(line.get("not_worked")) is None:
                return words("pack.not_worked", why=line.get("not_worked"))
            return source.name("site", line.get("site"))
        case "hand over" | "led away":
            place = source.place_text(line.get("place"))
            if not goes(line.kind, "amount"):
                return place
            return words("pack.amount", what=place, amount=measure_text(line.get("amount"), words))
        case "reading":
            return words(
                "pack.amount",
                what=str(line.get("of")),
                amount=value_text(source, "reading", "shows", line.get("shows")),
            )
        case "escape":
            return words("pack.amount", what=str(line.get("what")), amount=measure_text(line.get("amount"), words))
        case "remark":
            return str(line.get("text"))
        case _:
            amount = line.get("amount")
            return measure_text(amount, words) if amount is not None else ""


def _row(words: Words, n: str, text: str, label: str, start: str, end: str, *, strong: bool = False) -> _Row:
    if not start and not end:
        when = words("pack.no_time")
    elif start == end:
        when = timeline.moment(start, words)
    else:
        when = timeline.span(start, end, words)
    return _Row(n, when, text, label, start, end, strong)


def _hours(pack: Pack, run: RunView, rows: Sequence[_Row]) -> Hours | None:
    """The picture of a run, between its first and last recorded time, in whole hours; None without two times."""
    words, zone = pack.words, ZoneInfo(str(pack.state.business["zone"]))
    known = [datetime.fromisoformat(text) for row in rows for text in (row.start, row.end) if text]
    if not known or min(known) == max(known):
        return None
    first = min(known).astimezone(zone).replace(minute=0, second=0, microsecond=0)
    length = -(-_minutes(first, max(known)) // 60) * 60
    every = 60 if length <= 480 else 120  # each hour's label has room
    ticks = tuple(
        Tick(at, timeline.clock((first.astimezone(UTC) + timedelta(minutes=at)).astimezone(zone).isoformat(), words))
        for at in range(0, length + 1, every)
    )
    stretches = []
    for row in rows:
        if row.start or row.end:
            begins, ends = (
                _minutes(first, datetime.fromisoformat(text)) for text in (row.start or row.end, row.end or row.start)
            )
            bound = "" if row.start and row.end else "end" if row.start else "start"
            begins, ends = min(begins, ends), max(begins, ends)
            stretches.append(Stretch(row.label, begins, ends, f"{row.when}: {row.text}", bound, row.strong))
    return Hours(words("pack.chart"), length, ticks, tuple(stretches), (words("pack.what"), words("pack.when")))


def _minutes(first: datetime, at: datetime) -> int:
    return int((at - first).total_seconds() // 60)
