"""The sheets that follow the first one of a proof: drains, agents, filters, rain, what went wrong, corrections, files,
remarks, and how a reader can check the page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from compliance.intake.photos import photos_for
from compliance.records.answer import NOT_YET
from compliance.records.fields import GROUPS, MOMENT, SEEN_ENTERING, WELCOME
from compliance.records.kinds import COMPLETE, KEYED_WRONG, READ_WRONG
from compliance.records.quantity import stored
from compliance.records.state import Attachment, Change, Fields, LineView, RunView, TicketView
from compliance.reports import parts, timeline
from compliance.reports.awaited import handover_lines, own_lines, own_runs
from compliance.reports.model import Block, Bullets, Cell, Column, Heading, Paragraph, Photo, Photos, Table
from compliance.reports.numbers import answered, figure_text, quantity_text, typed_text
from compliance.reports.refs import Source, handover, stop_label
from compliance.reports.values import measure_text, value_text
from compliance.reports.words import Words
from compliance.water.results import JobFacts, Line, StopFacts

SHOW_COMMAND: Final = "washwater verify --page FILE"
"""What the contractor runs to say whether a file is a page of its book."""
OF_HANDOVER: Final = ("where", "ticket")
"""Fields of a run as a whole that speak of its one handover."""
EXCEPT: Final = "except"
"""The drains were as planned, except at stops that say so themselves."""
MOST_PHOTOS: Final = 24
"""Photos printed on one proof; the others are listed with their hashes."""


def blocks(source: Source, job: JobFacts, number: str) -> Sequence[Block]:
    """Everything after the first sheet."""
    words = source.words
    return (
        Heading(words("annex.title")),
        Heading(words("drains.title"), 3),
        *_drains(source, job),
        Heading(words("agents.title"), 3),
        *_agents(source, job),
        Heading(words("filters.title"), 3),
        *_filters(source, job),
        Heading(words("rain.title"), 3),
        *_rain(source, job),
        Heading(words("wrong.title"), 3),
        *_wrong(source, job),
        Heading(words("changes.title"), 3),
        *_changes(source, job),
        Heading(words("files.title"), 3),
        *_files(source, job),
        *_photos(source, job),
        Heading(words("remarks.title"), 3),
        *_remarks(source, job),
        Heading(words("check.title"), 3),
        *_check(source, job, number),
    )


def amount_text(source: Source, line: LineView) -> str:
    """The amount of a line as it was recorded, with its readings."""
    return measure_text(line.get("amount"), source.words)


def _worked(job: JobFacts) -> list[StopFacts]:
    return [stop for stop in job.stops if stop.worked]


Make = Callable[[StopFacts, Fields], str]


@dataclass(frozen=True)
class _Col:
    """A column of a list: its heading, its width, what stands in it, whether only answers make it appear."""

    label: str
    width: int
    make: Make
    welcome: str = ""


def _listed(source: Source, job: JobFacts, list_name: str, columns: Sequence[_Col]) -> list[Block]:
    """A table of one list field over all stops; the stop stands first where there are several."""
    entries = [(stop, entry) for stop in _worked(job) for entry in source.stop_items(stop, list_name)]
    if not entries:
        return []
    shown = [
        one for one in columns if not one.welcome or any(entry.get(one.welcome) is not None for _, entry in entries)
    ]
    several = len(_worked(job)) > 1
    first = (Column(source.words("stop"), width=5),) if several else ()
    rows = [
        (*((Cell(stop_label(source, job, stop)),) if several else ()), *(Cell(one.make(stop, entry)) for one in shown))
        for stop, entry in entries
    ]
    return [Table((*first, *(Column(one.label, width=one.width) for one in shown)), tuple(rows))]


def _answers(source: Source, job: JobFacts, key: str, answer: Callable[[StopFacts], str]) -> list[Block]:
    """What was answered for each stop in one line; one sentence where all answers are the same."""
    given = [(stop, answer(stop)) for stop in _worked(job)]
    if not given:
        return [Paragraph(source.words("time.no_work"))]
    if len({text for _, text in given}) == 1:
        return [Paragraph(source.words(f"{key}.all", answer=given[0][1]))]
    return [
        Bullets(tuple(source.words("answer.stop", stop=stop_label(source, job, s), answer=text) for s, text in given))
    ]


def _choice(source: Source, group: str, name: str) -> Callable[[StopFacts], str]:
    def answer(stop: StopFacts) -> str:
        return value_text(source, group, name, source.stop_value(stop, name))

    return answer


def _field(source: Source, group: str, name: str, width: int) -> _Col:
    """A column of one field; moments show the day only where it is not that of the stop's beginning."""
    row = next(one for one in GROUPS[group] if one.name == name)

    def make(stop: StopFacts, entry: Fields) -> str:
        value = entry.get(name)
        if row.type == MOMENT and answered(value):
            return timeline.near(
                str(value), str(source.own_value(stop, "arrived") or source.stop_run(stop).day), source.words
            )
        return value_text(source, group, name, value)

    return _Col(source.words.label(group, name), width, make, name if row.need == WELCOME else "")


def _drains(source: Source, job: JobFacts) -> list[Block]:
    widths = {"name": 5, "method": 5, "on": 3, "off": 3, "seen": 4, "public": 3, "photo": 4}
    columns = [_field(source, "drain", name, width) for name, width in widths.items()]
    table = _listed(source, job, "drain_list", columns)
    return [*_answers(source, job, "drains", _drains_at(source)), *table]


def _drains_at(source: Source) -> Callable[[StopFacts], str]:
    """What holds at a stop; 'except' alone would say that something was different, and neither what nor where."""
    words = source.words

    def answer(stop: StopFacts) -> str:
        own = source.own_value(stop, "drains")
        value = source.stop_value(stop, "drains")
        remark = next((line.get("remark") for line in source.stop_lines(stop) if answered(line.get("remark"))), "")
        if value != EXCEPT:
            return value_text(source, "stop", "drains", value)
        if source.stop_items(stop, "drain_list"):
            return words("drains.except.listed")
        if own == EXCEPT and remark:
            return words("drains.except.remark", remark=remark)
        if own == EXCEPT or not _excepted_elsewhere(source, stop):
            key = "drains.except.unsaid" if own == EXCEPT else "drains.except.nowhere"
            return words(key, answer=words.unknown(NOT_YET))
        return words("drains.except.elsewhere")

    return answer


def _excepted_elsewhere(source: Source, stop: StopFacts) -> bool:
    """Whether the exception of a night is told at another of its stops."""
    others = [one for one in source.stops.values() if one.run == stop.run and one.ref != stop.ref]
    return any(source.own_value(one, "drains") == EXCEPT or source.stop_items(one, "drain_list") for one in others)


def _agents(source: Source, job: JobFacts) -> list[Block]:
    words = source.words

    def registered(name: str) -> Make:
        def make(stop: StopFacts, entry: Fields) -> str:
            found = source.state.registers.find("agent", entry.get("agent"))
            return value_text(source, "agent", name, (found or {}).get(name))

        return make

    def dilution(stop: StopFacts, entry: Fields) -> str:
        concentrate, water = entry.get("parts"), entry.get("parts_water")
        if not answered(concentrate) or not answered(water):
            return typed_text(concentrate if not answered(concentrate) else water, words)
        key = "agents.dilution.one" if stored(str(concentrate)).point == 1 else "agents.dilution.many"
        return words(key, parts=quantity_text(concentrate, words), water=quantity_text(water, words))

    columns = [
        _field(source, "agent use", "agent", 5),
        _Col(words.label("agent", "kind"), 4, registered("kind")),
        _Col(words("agents.dilution"), 6, dilution),
        _field(source, "agent use", "amount", 4),
        _Col(words.label("agent", "data_sheet"), 4, registered("data_sheet")),
    ]
    table = _listed(source, job, "agents", columns)
    return [*_answers(source, job, "agents", _choice(source, "stop", "agent_use")), *table, *_jugs(source, job)]


def _jugs(source: Source, job: JobFacts) -> list[Block]:
    """Jugs that were counted for a whole night: of all its stops, whoever they were for."""
    words = source.words
    items = []
    for record in dict.fromkeys(stop.lines[0].record for stop in _worked(job)):
        run = source.runs[record]
        for line in run.lines:
            if line.kind == "agent jugs":
                items.append(
                    words(
                        "agents.jugs",
                        day=timeline.day(run.day, words),
                        agent=source.name("agent", line.get("agent")),
                        jugs=value_text(source, "agent jugs", "jugs", line.get("jugs")),
                        size=value_text(source, "agent jugs", "size", line.get("size")),
                    )
                )
    return [Bullets(tuple(items))] if items else []


def _filters(source: Source, job: JobFacts) -> list[Block]:
    widths = {"what": 5, "opening": 3, "through": 3, "done": 4, "media_to": 5}
    columns = [_field(source, "filter stage", name, width) for name, width in widths.items()]

    def answer(stop: StopFacts) -> str:
        return value_text(source, "run", "filters", source.stop_run(stop).get("filters"))

    table = _listed(source, job, "filter_list", columns)
    note = [] if table else [Paragraph(source.words("filters.none_listed"), "muted")]
    return [*_answers(source, job, "filters", answer), *table, *note]


def _rain(source: Source, job: JobFacts) -> list[Block]:
    return _answers(source, job, "rain", _choice(source, "stop", "rain"))


# ---- what went wrong -----------------------------------------------------------------------------------------


def _wrong(source: Source, job: JobFacts) -> list[Block]:
    """Escapes with all that is known of them, refusals and work not done; or that nothing is recorded."""
    words = source.words
    items = [*_escape_items(source, job), *_refused_items(source, job)]
    for stop in job.stops:
        if not stop.worked:
            items.append(words("wrong.not_worked", stop=stop_label(source, job, stop), why=stop.not_worked))
        elif parts.got_away_without_a_line(stop):
            items.append(words("wrong.unlisted", stop=stop_label(source, job, stop)))
        for entry in source.stop_items(stop, "drain_list"):
            if entry.get("seen") == SEEN_ENTERING:
                items.append(words("wrong.entering", drain=entry.get("name"), stop=stop_label(source, job, stop)))
    answers = _answers(source, job, "wrong", _choice(source, "stop", "got_away"))
    if not items:
        return [Paragraph(words("wrong.nothing")), *answers]
    return [Bullets(tuple(items)), *answers]


def _escape_items(source: Source, job: JobFacts) -> Iterable[str]:
    words = source.words
    own = {where for stop in job.stops for where in stop.escapes}
    for where in sorted(own, key=lambda one: (source.run(one).day, one.record, one.line)):
        line = source.line(where)
        if line is None:
            continue
        at = line.get("at")
        when = timeline.moment(str(at), words) if answered(at) else timeline.day(source.run(where).day, words)
        yield words(
            "wrong.escape",
            when=when,
            what=line.get("what"),
            reached=value_text(source, "escape", "reached", line.get("reached")),
            amount=amount_text(source, line),
            stopped=typed_text(line.get("stopped"), words),
            told=typed_text(line.get("told"), words),
        )
    for name in job.loads:
        load = source.loads.get(name)
        for draw in load.draws if load else ():
            if draw.way == "escaped" and draw.line not in own:
                yield words("wrong.tank", load=name, amount=figure_text(draw.known.figure, source.unit, words))


def _refused_items(source: Source, job: JobFacts) -> Iterable[str]:
    """Handovers that a place refused: they moved no water, so no piece of it names them."""
    words = source.words
    for record in dict.fromkeys(stop.lines[0].record for stop in job.stops):
        run = source.runs[record]
        for line in run.lines:
            if line.kind != "hand over":
                continue
            said = [
                line.get("refused"),
                *(one.fields.get("refused") for one in source.state.tickets_of(record, line.n)),
            ]
            for given in (str(one) for one in said if answered(one)):
                why = words("kept.shared") if source.shares_run(run) else given
                yield words("wrong.refused", place=source.place_text(line.get("place")), why=why)


# ---- corrections and late entries ----------------------------------------------------------------------------


def _changes(source: Source, job: JobFacts) -> list[Block]:
    words = source.words
    received, rows = changes(source, job)
    found: list[Block] = [Bullets(tuple(received))]
    if not rows:
        return [*found, Paragraph(words("changes.none"))]
    return [*found, Table(change_columns(words), tuple(rows))]


def changes(source: Source, job: JobFacts) -> tuple[Sequence[str], Sequence[tuple[Cell, ...]]]:
    """Of a job's own records: when each came in, and every correction and completion, under `change_columns`."""
    words = source.words
    ours = own_lines(source, job)
    received, rows = [], []
    worked_on = own_runs(job)
    for record in dict.fromkeys([*worked_on, *(where.record for where in ours)]):
        run = source.runs[record]
        if record in worked_on:
            received.append(_late(source, run, words("changes.handed_in", **_handed_in(source, run))))
        else:
            received += _handovers_recorded(source, run, ours)
        rows += [
            change_row(source, run, change)
            for change in run.changes
            if (Line(record, change.line) in ours and (change.line or change.field in OF_HANDOVER))
            or (record in worked_on and change.line == "")
        ]
    tickets = {
        ticket.record: ticket
        for where in handover_lines(source, job)
        for ticket in source.state.tickets_of(where.record, where.line)
    }
    for ticket in tickets.values():
        number, at = str(ticket.fields.get("number", "")), timeline.moment(ticket.received, words)
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
    return {"day": timeline.day(run.day, source.words), "when": timeline.moment(run.received, source.words)}


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
    last, arrived = timeline.as_date(ended), timeline.as_date(run.received)
    late = (arrived - last).days if isinstance(last, date) and isinstance(arrived, date) else 0
    return words.count("changes.late", late, text=text) if late > 1 else text


def change_row(source: Source, run: RunView, change: Change) -> tuple[Cell, ...]:
    """One correction or completion, under `change_columns`."""
    words = source.words
    line = run.line(change.line) if change.line else None
    group = line.kind if line else "run"
    if change.field == "":
        what = words("changes.added", kind=words(f"kind.{group}"))
        now = Cell(words(f"kind.{change.now}"))
    else:
        what = words.label(group, change.field) if _has(group, change.field) else change.field
        now = Cell(value_text(source, group, change.field, change.now))
    was = Cell(value_text(source, group, change.field, change.was)) if change.field else Cell(words("changes.no_line"))
    return Cell(timeline.moment(change.received, words)), Cell(what), was, now, Cell(_why(source, run, change))


def _ticket_row(source: Source, ticket: TicketView, change: Change) -> tuple[Cell, ...]:
    """As `change_row`. Why is told only on the page of whom the ticket is for alone."""
    words = source.words
    label = words.label("ticket", change.field)
    name = words("changes.of_ticket", label=label, number=ticket.fields.get("number", ""))
    was, now = (Cell(value_text(source, "ticket", change.field, value)) for value in (change.was, change.now))
    shared = any(source.shares_run(source.runs[record]) for record, _ in ticket.handovers)
    why = _change_words(words, change, words("kept.shared") if shared and change.why else change.why)
    return Cell(timeline.moment(change.received, words)), Cell(name), was, now, Cell(why)


def _has(group: str, name: str) -> bool:
    return any(row.name == name for row in GROUPS.get(group, ()))


def _why(source: Source, run: RunView, change: Change) -> str:
    shared = source.shares_run(run) and bool(change.why)
    return _change_words(source.words, change, source.words("kept.shared") if shared else change.why)


def _change_words(words: Words, change: Change, why: str) -> str:
    reasons = {KEYED_WRONG: "changes.keyed", READ_WRONG: "changes.read"}
    kind = words("changes.completed") if change.kind == COMPLETE else words(reasons.get(change.reason, "changes.other"))
    return "; ".join(part for part in (kind, why, change.who) if part)


# ---- files, remarks, checking --------------------------------------------------------------------------------


def own_files(source: Source, job: JobFacts) -> list[Attachment]:
    """The kept files that a page of this job may show: of its lines, its own runs, its own tickets."""
    return [one for one in source.state.attachments if _is_ours(source, job, one)]


def _files(source: Source, job: JobFacts) -> list[Block]:
    words = source.words
    found = own_files(source, job)
    if not found:
        return [Paragraph(words("files.none"))]
    columns = (
        Column(words("files.name"), width=5),
        Column(words("files.what"), width=5),
        Column(words("files.hash"), width=9),
    )
    rows = tuple((Cell(one.name), Cell(one.what), Cell(one.sha256)) for one in found)
    return [Table(columns, rows, note=words("files.note"))]


def _photos(source: Source, job: JobFacts) -> list[Block]:
    """The photos of our own lines, as copies made of their pixels alone."""
    words = source.words
    runs = [source.runs[record] for record in dict.fromkeys(stop.lines[0].record for stop in job.stops)]
    ours = [one for run in runs for one in photos_for(source.state, run) if _is_ours(source, job, one.file)]
    if not ours:
        return []
    shown = [
        Photo(one.caption, one.file.copy, words("photos.hashes", original=one.file.sha256, copy=one.file.copy))
        for one in ours[:MOST_PHOTOS]
    ]
    cut = [Paragraph(words("photos.more", shown=len(shown), all=len(ours)))] if len(ours) > len(shown) else []
    return [Paragraph(words("photos.copies"), "muted"), *cut, Photos(tuple(shown))]


def _is_ours(source: Source, job: JobFacts, file: Attachment) -> bool:
    """A file of one of our lines, of a run that is ours alone, or of a ticket of one of our handovers alone."""
    runs = {stop.lines[0].record for stop in job.stops}
    if file.about in runs:
        if file.line:
            own = own_lines(source, job)
            stop = own.get(Line(file.about, file.line))
            return stop is not None or (
                Line(file.about, file.line) in own and not source.shares_run(source.runs[file.about])
            )
        return not source.shares_run(source.runs[file.about])
    ours = set(handover_lines(source, job))
    for ticket in source.state.tickets:
        if ticket.record == file.about:
            lines = {Line(*one) for one in ticket.handovers}
            return bool(lines & ours) and not any(source.shares_run(source.runs[one.record]) for one in lines)
    return False


def _remarks(source: Source, job: JobFacts) -> list[Block]:
    words = source.words
    texts = []
    for stop in _worked(job) or list(job.stops):
        for _, line in source.stop_span(stop):
            text = line.get("text") if line.kind == "remark" else line.get("remark")
            if answered(text):
                texts.append(words("answer.stop", stop=stop_label(source, job, stop), answer=text))
    for record in dict.fromkeys(stop.lines[0].record for stop in job.stops):
        run = source.runs[record]
        remark = run.get("remark")
        if answered(remark):
            shown = words("kept.shared") if source.shares_run(run) else str(remark)
            texts.append(words("remarks.run", day=timeline.day(run.day, words), remark=shown))
    return [Paragraph(text) for text in texts] or [Paragraph(words("remarks.none"))]


_SIZES: Final = ("length", "width", "depth", "diameter", "mark_step")


def _tanks(source: Source, job: JobFacts) -> Iterable[str]:
    """The sizes of each tank in which marks were read, as its register has them."""
    words = source.words
    names = [load.tank for stop in job.stops for load in source.loads_by_stop.get(stop.ref, ())]
    for name in dict.fromkeys(names):
        entry = source.state.registers.find("tank", name) or {}
        if answered(entry.get("shape")):
            sizes = [value_text(source, "tank", "shape", entry["shape"])]
            for key in _SIZES:
                if answered(entry.get(key)):
                    label = words.label("tank", key)
                    sizes.append(f"{label[0].lower()}{label[1:]} {value_text(source, 'tank', key, entry[key])}")
            yield words(f"check.tank.{source.unit}", tank=name, sizes=", ".join(sizes))


def _check(source: Source, job: JobFacts, number: str) -> list[Block]:
    words = source.words
    name = str(source.state.business.get("name") or words("check.us"))
    return [
        Bullets(
            (
                words("check.sums"),
                *_tanks(source, job),
                words("check.film"),
                words("check.readings"),
                words("check.page", business=name, command=SHOW_COMMAND, number=number or words("number.preview")),
                words("check.shows"),
                words("check.not"),
            )
        )
    ]
