"""What a page says of the page that it replaces: each of its figures that is another one now, printed and as it is.

Only the page's own figures are compared. A client reads that a load's division changed, never because of whom.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from compliance.records.state import State
from compliance.records.views import Issued
from compliance.reports import changes, parts, timeline
from compliance.reports.model import Block, Cell, Column, Heading, Paragraph, Table
from compliance.reports.numbers import figure_text, known_text, share_text
from compliance.reports.refs import Source, stop_label
from compliance.reports.words import Words
from compliance.water.results import UNNAMED, Draw, JobFacts, LoadFacts, Night

Said = Mapping[str, str]
"""What a page says: label -> text, in the order in which it is read."""


@dataclass(frozen=True)
class Past:
    """An issued page, with what the records said when it was made (`water.versions.at`)."""

    page: Issued
    state: State
    night: Night


def rows(before: Said, now: Said) -> Sequence[tuple[Cell, ...]]:
    """(what, printed, now) of everything that is said otherwise; a dash where one of them says nothing."""
    labels = dict.fromkeys([*now, *before])
    return [
        (Cell(label), Cell(before.get(label, "–")), Cell(now.get(label, "–")))
        for label in labels
        if before.get(label) != now.get(label)
    ]


def blocks(
    words: Words, page: Issued, differing: Sequence[tuple[Cell, ...]], causes: Iterable[str] = ()
) -> Sequence[Block]:
    """The part of a page that replaces another one: what differs, or that no figure does.

    causes: sentences of why, see `why`.
    """
    title = Heading(words("revised.title", number=page.number, day=timeline.day(page.date, words)), 3)
    if not differing:
        return title, Paragraph(words("revised.none"))
    return title, Table(columns(words), tuple(differing), note=" ".join([words("revised.note"), *causes]))


def why(then: Source, before: JobFacts | None, now: Source, job: JobFacts) -> Sequence[str]:
    """Why the figures of a proof are other ones than those of the page that it replaces, in sentences for its client.

    Another client's record is a record of the same load, and nothing more is told of it.
    """
    words = now.words
    gone = {run.record for run in now.state.runs if run.cancelled is not None}
    gone -= {run.record for run in then.state.runs if run.cancelled is not None}
    own = {stop.lines[0].record for stop in (before.stops if before else ())}
    shared = {
        record for load in parts.tank_loads(then, before.stops if before else ()) for record in _records(then, load)
    }
    keys = ["revised.cancelled_own"] if gone & own else []
    keys += ["revised.cancelled_load"] if gone & (shared - own) else []
    came, changed = changes.of_job(now, job)
    told, known = changes.of_job(then, before) if before else ((), ())
    if set(came) - set(told) or any(row not in known for row in changed):
        keys.append("revised.corrections")
    return [words(key) for key in keys or ["revised.elsewhere"]]


def _records(source: Source, load: LoadFacts) -> Iterable[str]:
    """The runs whose work, draws or looks make up a load."""
    yield from (load.opened.record, *(draw.line.record for draw in load.draws))
    yield from (source.stops[ref].lines[0].record for ref in load.stops)
    for interval in load.intervals:
        yield from (interval.opened.record, interval.closed.record)


def columns(words: Words) -> tuple[Column, ...]:
    """The columns of `rows`."""
    return (
        Column(words("water.what"), width=6),
        Column(words("revised.printed"), width=6),
        Column(words("revised.now"), width=6),
    )


def said_once(pairs: Iterable[tuple[str, str]]) -> Said:
    """Labels and texts as a mapping; what stands under one label twice stands together."""
    found: dict[str, str] = {}
    for label, text in pairs:
        found[label] = f"{found[label]}; {text}" if label in found else text
    return found


def since(source: Source, past: Past, first: str, last: str) -> Sequence[Block]:
    """For the owner: every run of a span that was handed in, cancelled or changed after a page was made; none without.

    It names runs of every client, so it stands on no client's page.
    """
    words = source.words
    before = {run.record: run for run in past.state.runs}
    found: list[tuple[Cell, ...]] = []
    for run in source.state.runs:
        if not first <= run.day <= last:
            continue
        then = before.get(run.record)
        name = words("revised.run", day=timeline.day(run.day, words), rig=source.name("rig", run.get("rig")))
        if then is None:
            when = timeline.moment(source.there(run.received), words)
            found.append((Cell(name), Cell(when), Cell(words("revised.handed_in")), *(Cell("–"),) * 2, Cell(run.who)))
        elif then.cancelled is None and run.cancelled is not None:
            why = Cell(run.cancelled)
            found.append((Cell(name), Cell("–"), Cell(words("revised.cancelled")), *(Cell("–"),) * 2, why))
        known = set() if then is None else {(one.record, one.line, one.field) for one in then.changes}
        found += [
            (Cell(name), *changes.change_row(source, run, change))
            for change in run.changes
            if (change.record, change.line, change.field) not in known
        ]
    if not found:
        return ()
    heads = (Column(words("chart.run"), width=5), *changes.change_columns(words))
    return Heading(words("revised.since"), 3), Table(heads, tuple(found))


def of_job(source: Source, job: JobFacts) -> Said:
    """The figures of a proof: of each stop what was used and captured, of the job every end of its water."""
    return said_once(_job(source, job))


def _job(source: Source, job: JobFacts) -> Iterable[tuple[str, str]]:
    words, unit = source.words, source.unit
    for stop in job.stops:
        label = stop_label(source, job, stop)
        if not stop.worked:
            yield label, words("client.not_worked", why=stop.not_worked)
            continue
        yield words("water.of_stop", what=words("split.used"), stop=label), known_text(stop.used, unit, words)
        yield words("water.of_stop", what=words("split.captured"), stop=label), known_text(stop.captured, unit, words)
    for end in parts.ends(source, job.stops):
        if end.way == UNNAMED:
            label = words("water.not explained in tank")
        else:
            label = _end_label(source, end.way, end.line.record, source.draws.get((end.load, end.line)))
        yield label, known_text(end.whole, unit, words) if end.whole else share_text(end.amount, unit, words)
    for one in parts.untold(source, job.stops):
        yield _end_label(source, one.draw.way, one.draw.line.record, one.draw), words("share.unknown")
    yield words("water.led_away"), figure_text(job.led_away, unit, words)
    yield words("water.escaped"), figure_text(job.escaped, unit, words)
    yield words("water.not explained"), figure_text(job.not_explained, unit, words)


def _end_label(source: Source, way: str, record: str, draw: Draw | None) -> str:
    """Where water went, and on which day."""
    words = source.words
    if draw is not None and way == "handed over":
        name = words("water.of_stop", what=words("way.handed over"), stop=source.place_text(draw.place, kind_too=False))
    else:
        name = words(f"way.{way}")
    run = source.runs.get(record)
    return name if run is None else f"{name}, {timeline.day(run.day, words)}"
