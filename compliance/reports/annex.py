"""The sheets that follow the first one of a proof: drains, agents, filters, rain, what went wrong, corrections, files,
remarks. How a reader can check the page is in `reports.checking`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from compliance.records.answer import NOT_YET
from compliance.records.fields import GROUPS, MOMENT, SEEN_ENTERING, WELCOME
from compliance.records.quantity import stored
from compliance.records.views import Fields, LineView
from compliance.reports import changes, checking, ownfiles, parts, timeline
from compliance.reports.model import Block, Bullets, Cell, Column, Heading, Paragraph, Table
from compliance.reports.numbers import answered, figure_text, quantity_text, typed_text
from compliance.reports.refs import Source, stop_label
from compliance.reports.values import measure_text, value_text
from compliance.water.results import JobFacts, StopFacts
from compliance.water.timeline import ESCAPED

EXCEPT: Final = "except"
"""The drains were as planned, except at stops that say so themselves."""


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
        *changes.blocks(source, job),
        Heading(words("files.title"), 3),
        *ownfiles.list_of_files(source, job),
        *ownfiles.photos(source, job),
        Heading(words("remarks.title"), 3),
        *_remarks(source, job),
        Heading(words("check.title"), 3),
        *checking.blocks(source, job, number),
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


def _got_away(source: Source, job: JobFacts) -> Callable[[StopFacts], str]:
    """A run's 'yes' is no yes of a stop where all that is written down of it stands at another one."""
    answer = _choice(source, "stop", "got_away")
    loads = [source.loads[name] for name in job.loads if name in source.loads]
    out_of_tank = any(draw.way == ESCAPED for load in loads for draw in load.draws)

    def told(stop: StopFacts) -> str:
        of_run = source.own_value(stop, "got_away") is None and source.stop_value(stop, "got_away") == "yes"
        elsewhere = of_run and not stop.readings.get("got away") and not out_of_tank
        return source.words("away.elsewhere") if elsewhere else answer(stop)

    return told


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
    answers = _answers(source, job, "wrong", _got_away(source, job))
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
            if draw.way == ESCAPED and draw.line not in own:
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


# ---- remarks -------------------------------------------------------------------------------------------


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
