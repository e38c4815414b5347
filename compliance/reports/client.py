"""A client's summary of a span: built fresh from this client's stops, so that it holds nothing of anybody else's.

What other clients' water did in the same tank is present only as a number of jobs, and a figure that was divided
carries no ±. There is no ratio and no threshold on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from compliance.records.state import State
from compliance.reports import parts, revised, timeline, totals
from compliance.reports.awaited import awaited, status
from compliance.reports.imprint import Imprint
from compliance.reports.issue import closes
from compliance.reports.model import (
    Block,
    Cell,
    Chart,
    Column,
    Fact,
    Heading,
    OpenItems,
    Page,
    Paragraph,
    Series,
    Table,
)
from compliance.reports.numbers import bare_cell, known_cell, known_text, share_text
from compliance.reports.proof import mixed_notes
from compliance.reports.refs import Source
from compliance.reports.revised import Past
from compliance.reports.summary import agent_table, old_blocks, week_chart
from compliance.reports.words import Words
from compliance.rules.rule import Finding
from compliance.water.jobs import Jobs
from compliance.water.results import UNNAMED, JobFacts, Night, RunFacts, StopFacts
from compliance.water.timeline import ASTRAY
from compliance.water.volume import SHARE, Figure, Unknown, Volume, from_hundredths, is_nothing, stated


def client_page(
    state: State,
    night: Night,
    findings: Iterable[Finding],
    client: str,
    first: str,
    last: str,
    imprint: Imprint,
    *,
    replaced: Past | None = None,
) -> Page:
    """The summary of one client from `first` to `last` (ISO dates). client: as on the register or as it was typed.

    replaced: the page that this one replaces. What was 'not recorded yet' is 'not recorded' once every month of a
    visit is closed.
    """
    work = _work(Source(state, night, Words(imprint.language), state.registers.key("client", client)), first, last)
    words = Words(imprint.language, bool(work.stops) and all(closes(state, work.day(stop)) for stop in work.stops))
    source = replace(work.source, words=words)
    work = replace(work, source=source)
    visits, found = work.stops, tuple(findings)
    items = tuple(dict.fromkeys(item for job in work.jobs for item in awaited(source, job, found)))
    name = state.registers.name("client", client)
    worked = len(work.worked)
    return imprint.page(
        state,
        words,
        kind="client",
        title=words("client.title", client=name),
        facts=(
            Fact(words.label("stop", "client"), name),
            Fact(words("fact.span"), timeline.days(first, last, words)),
            Fact(words("fact.issued"), imprint.told(words)),
            Fact(words("fact.stops"), words("fact.stops.value", n=worked, off=len(visits) - worked)),
        ),
        blocks=(*(_revised(work, replaced) if replaced else ()), *_blocks(work, items, again=replaced is not None)),
        status=status(words, items),
    )


@dataclass(frozen=True)
class _Work:
    """A client's own stops of a span, and the jobs that they belong to, cut to the span."""

    source: Source
    stops: Sequence[StopFacts]
    jobs: Sequence[JobFacts]
    first: str
    last: str

    @property
    def worked(self) -> list[StopFacts]:
        return [stop for stop in self.stops if stop.worked]

    def day(self, stop: StopFacts) -> str:
        """The day of a visit."""
        return self.source.stop_run(stop).day


def _work(source: Source, first: str, last: str) -> _Work:
    """The work of the source's client in a span."""
    visits = [stop for stop in source.stops.values() if _is_of(source, source.client, stop, first, last)]
    return _Work(source, visits, _jobs(source, visits), first, last)


def _revised(work: _Work, past: Past) -> Sequence[Block]:
    """Which sums the page that this one replaces printed otherwise."""
    then = _work(Source(past.state, past.night, work.source.words, work.source.client), work.first, work.last)
    return revised.blocks(work.source.words, past.page, revised.rows(_said(then), _said(work)))


def _said(work: _Work) -> revised.Said:
    words, unit = work.source.words, work.source.unit
    off = len(work.stops) - len(work.worked)
    return {
        words("fact.stops"): words("fact.stops.value", n=len(work.worked), off=off),
        **{label: totals.text(totals.split(found), words, unit) for label, found in _sums(work)},
    }


def _is_of(source: Source, client: str, stop: StopFacts, first: str, last: str) -> bool:
    day = source.stop_run(stop).day
    return first <= day <= last and bool(stop.client) and source.client_key(stop.client) == client


def _jobs(source: Source, visits: Sequence[StopFacts]) -> Sequence[JobFacts]:
    """The facts of each job over those of its stops that are ours and in the span."""
    inside = {stop.ref for stop in visits}
    records = dict.fromkeys(stop.lines[0].record for stop in visits)
    runs = {record: _only(source.night.runs[record], inside) for record in records}
    jobs = Jobs(source.state, Night(runs, source.night.loads))
    return [job for name in jobs.names if (job := jobs.of(name)) is not None]


def _only(run: RunFacts, inside: set[str]) -> RunFacts:
    return replace(run, stops=tuple(stop for stop in run.stops if stop.ref in inside))


def _blocks(work: _Work, items: Sequence[str], *, again: bool) -> Iterable[Block]:
    words = work.source.words
    old = old_blocks(work.source, work.first, work.last, work.source.client)
    if not work.stops:
        yield Paragraph(words("client.nothing"))
        yield from old
        return
    yield Heading(words("month.water"))
    yield _water(work, again=again)
    yield from _charts(work)
    yield Heading(words("client.visits"))
    yield _visits(work)
    yield Heading(words("month.by_site"))
    yield _by_site(work)
    yield Heading(words("month.by_destination"))
    yield _by_destination(work)
    yield Heading(words("month.by_agent"))
    yield agent_table(work.source, work.worked)
    yield from old
    yield OpenItems(words("open.title"), tuple(items), words("open.none"))


def _sums(work: _Work) -> Sequence[tuple[str, list[Figure]]]:
    """Used, captured and every end of the captured water: label and the figures that go into the sum."""
    source, words = work.source, work.source.words
    by_way: dict[str, list[Figure]] = {}
    for way, figure in _end_figures(work):
        by_way.setdefault(way, []).append(figure)
    rests = [parts.rest_in_tank(source, job) for job in work.jobs if any(stop.worked for stop in job.stops)]
    in_tank = [_share(rest) if isinstance(rest, int) else rest for rest in rests if not _does_not_apply(rest)]
    escaped = [stop.escaped for stop in work.worked if parts.escapes_before_capture(source, [stop])]
    led = [stop.led_away for stop in work.worked if not is_nothing(stop.led_away)]
    figures: list[tuple[str, list[Figure]]] = [
        (words.label("run", "used"), [stop.used.figure for stop in work.worked]),
        (words("water.at_site"), _at_site(work)),
        (words("water.captured"), [stop.captured.figure for stop in work.worked]),
        (words("water.handed over"), by_way.get("handed over", [])),
        (words("water.used_again"), by_way.get("used again", [])),
        (words("water.led_away"), led),
        (words("water.escaped"), escaped),
        (words("water.escaped out of tank"), by_way.get("escaped", [])),
        (words("water.solids"), by_way.get("solids", [])),
        (words("water.not known where"), by_way.get(ASTRAY, [])),
        (words("water.aboard_after"), by_way.get("aboard", [])),
        (words("water.not explained"), [stop.not_explained for stop in work.worked]),
        (words("water.not explained in tank"), in_tank),
    ]
    return [(label, found) for label, found in figures if found]


def _at_site(work: _Work) -> list[Figure]:
    """What meters at the sites say that several rigs drew there for this client."""
    return [one.known.figure for job in work.jobs for one in job.at_site]


def _water(work: _Work, *, again: bool) -> Table:
    """The sums, split by how they are known."""
    source, words, unit = work.source, work.source.words, work.source.unit
    named_splits = [(label, totals.split(found)) for label, found in _sums(work)]
    kinds = totals.kinds_in(one for _, one in named_splits)
    rows = tuple((Cell(label), *totals.cells(one, words, unit, kinds)) for label, one in named_splits)
    notes = [words("month.water.note", unit=words(f"unit.named.{unit}"))]
    notes += [words("water.at_site.note")] if _at_site(work) else []
    notes += dict.fromkeys(note for job in work.jobs for note in mixed_notes(source, job, again=again))
    return Table(
        (Column(words("water.what"), width=7), *totals.columns(words, unit, kinds)), rows, note="\n".join(notes)
    )


def _end_figures(work: _Work) -> Iterable[tuple[str, Figure]]:
    """(way, figure) of every end of the captured water; one whose part is unknown is there without a figure."""
    for job in work.jobs:
        for end in parts.ends(work.source, job.stops):
            yield end.way, end.whole.figure if end.whole else _share(end.amount)
        for one in parts.untold(work.source, job.stops):
            yield one.draw.way, Unknown(one.why, "not known")


def _does_not_apply(rest: Figure | int) -> bool:
    return isinstance(rest, Unknown) and rest.kind == "not applicable"


def _share(amount: int) -> Volume:
    return stated(from_hundredths(amount), SHARE)


def _charts(work: _Work) -> Iterable[Block]:
    source, words, unit = work.source, work.source.words, work.source.unit
    rows: list[tuple[str, str, Figure]] = []
    for job in work.jobs:
        for end in parts.ends(source, job.stops):
            if end.way in ("aboard", UNNAMED):
                continue
            figure = end.whole.figure if end.whole else _share(end.amount)
            rows.append((source.runs[end.line.record].day, _end_name(source, end.way, end.load, end), figure))
        for one in parts.untold(source, job.stops):
            place = source.place_text(one.draw.place, kind_too=False)
            rows.append((source.runs[one.draw.line.record].day, place, Unknown(one.why, "not known")))
    days = [day for day, *_ in rows]
    last = max([work.last, *days])
    yield week_chart(words("chart.ends"), rows, work.first, last, words, unit)
    labels = tuple(_visit_label(source, stop) for stop in work.worked)
    if labels:
        used = tuple(bare_cell(stop.used.figure, unit, words) for stop in work.worked)
        captured = tuple(bare_cell(stop.captured.figure, unit, words) for stop in work.worked)
        series = (Series(words("split.used"), used), Series(words("split.captured"), captured))
        yield Chart(
            "bars", words("chart.visits"), unit, labels, series, words("client.visit"), words("chart.visits.note")
        )


def _end_name(source: Source, way: str, load: str, end: parts.End) -> str:
    draw = source.draws.get((load, end.line))
    if way == "handed over" and draw:
        return source.place_text(draw.place, kind_too=False)
    return source.words(f"way.{way}")


def _visit_label(source: Source, stop: StopFacts) -> str:
    label = timeline.short_day(source.stop_run(stop).day, source.words)
    return f"{label}, {source.name('site', stop.site or None)}"


def _visits(work: _Work) -> Table:
    """One row a stop: what it used, what was captured, and where that went."""
    source, words, unit = work.source, work.source.words, work.source.unit
    columns = (
        Column(words("client.visit"), width=4),
        Column(words.label("stop", "site"), width=5),
        Column(words("fact.job"), width=5),
        Column(words("split.used"), "right", width=4),
        Column(words("split.captured"), "right", width=4),
        Column(words("where.title"), width=7),
    )
    rows = []
    for stop in work.stops:
        day = Cell(timeline.day(source.stop_run(stop).day, words))
        site, job = Cell(source.name("site", stop.site or None)), Cell(stop.job)
        if not stop.worked:
            why = Cell(words("client.not_worked", why=stop.not_worked))
            rows.append((day, site, job, Cell("–"), Cell("–"), why))
            continue
        used, captured = (known_cell(one, unit, words) for one in (stop.used, stop.captured))
        rows.append((day, site, job, used, captured, Cell("\n".join(_went(source, stop, unit)))))
    return Table(columns, tuple(rows))


def _went(source: Source, stop: StopFacts, unit: str) -> Iterable[str]:
    words = source.words
    for end in parts.ends(source, [stop]):
        amount = known_text(end.whole, unit, words) if end.whole else share_text(end.amount, unit, words)
        yield words("client.went", name=_end_name(source, end.way, end.load, end), amount=amount)
    for one in parts.untold(source, [stop]):
        place = source.place_text(one.draw.place) if one.draw.way == "handed over" else words(f"way.{one.draw.way}")
        yield words("client.went", name=place, amount=words("share.unknown"))
    if parts.escapes_before_capture(source, [stop]):
        amount = bare_cell(stop.escaped, unit, words).text
        yield words("client.went", name=words("water.escaped"), amount=amount)


def _by_site(work: _Work) -> Table:
    source, words = work.source, work.source.words
    rows = [
        {
            "site": source.name("site", stop.site or None),
            "used": stop.used.figure,
            "captured": stop.captured.figure,
        }
        for stop in work.worked
    ]
    data = totals.frame(rows, ("site", "used", "captured"))
    measures = (("used", words("split.used")), ("captured", words("split.captured")))
    label = words.label("stop", "site")
    return totals.group_table(data, "site", label, measures, words, source.unit, count=words("month.stops"))


def _by_destination(work: _Work) -> Table:
    """This client's own water by place; nothing of what else was in the same load."""
    source, words, unit = work.source, work.source.words, work.source.unit
    rows = []
    for job in work.jobs:
        for end in parts.ends(source, job.stops):
            draw = source.draws.get((end.load, end.line))
            if end.way == "handed over" and draw:
                figure = end.whole.figure if end.whole else _share(end.amount)
                rows.append({"place": source.place_text(draw.place), "figure": figure})
        for one in parts.untold(source, job.stops):
            if one.draw.way == "handed over":
                rows.append({"place": source.place_text(one.draw.place), "figure": Unknown(one.why, "not known")})
    data = totals.frame(rows, ("place", "figure"))
    measures = (("figure", words("water.handed over")),)
    label = words.label("hand over", "place")
    return totals.group_table(data, "place", label, measures, words, unit, count=words("month.handovers"))
