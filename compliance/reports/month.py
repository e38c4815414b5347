"""The owner's summary of a span, a month as a rule: every total with its ± summed by source, and what has none.

Measured, stated and worked-out figures stand in columns of their own and are never added up together. The page names
clients and is for the owner; `reports.client` makes the one for a client.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from compliance.records.quantity import convert
from compliance.records.state import State
from compliance.reports import revised, timeline, totals, usual
from compliance.reports.imprint import Imprint
from compliance.reports.issue import about_span, closes, span_in, versions
from compliance.reports.model import (
    Block,
    Cell,
    Column,
    Fact,
    Heading,
    OpenItems,
    Page,
    Paragraph,
    Table,
)
from compliance.reports.month_charts import charts, open_by_age, still_open
from compliance.reports.numbers import depth_cell, figure_cell, ratio_cells
from compliance.reports.refs import Source
from compliance.reports.revised import Past, Said
from compliance.reports.revised import columns as columns_differing
from compliance.reports.revised import rows as rows_differing
from compliance.reports.span import Span, at_no_stop, span_of, washed, water_label, waters
from compliance.reports.summary import agent_chart, agent_table, destination_table, jug_table, old_blocks
from compliance.reports.touched import Restated
from compliance.reports.words import Words
from compliance.rules.catalogue import named
from compliance.rules.rule import SEVERITIES, Finding
from compliance.water.jobs import site_uses
from compliance.water.ratio import NoRatio, applied_depth
from compliance.water.results import Night, RunFacts
from compliance.water.volume import Volume, is_nothing


def month_page(
    state: State,
    night: Night,
    findings: Iterable[Finding],
    first: str,
    last: str,
    imprint: Imprint,
    *,
    restates: Sequence[tuple[Restated, Past]] = (),
    replaced: Past | None = None,
) -> Page:
    """The summary from `first` to `last` (ISO dates).

    findings: those of `rules.run.check_between` from the day to which it looks back (`span.looks_back_to`) to `last`.
    restates: earlier summaries that the records no longer bear out (`touched.restated`), each as it was made.
    replaced: the page that this one replaces. Where the month is closed, what was 'not recorded yet' is 'not
    recorded'.
    """
    words = Words(imprint.language, closes(state, first) and closes(state, last))
    source = Source(state, night, words)
    span = span_of(source, first, last)
    findings = tuple(findings)
    found = [one for one in findings if first <= one.day <= last]
    before = sum(run.date < state.judged_from for run in span.runs)
    since = timeline.day(state.judged_from, words) if before else ""
    unjudged = words.count("month.unjudged", before, since=since) if before else ""
    older = sum(one.day < first for one in still_open(findings, first, last))
    blocks: tuple[Block, ...] = (
        *(block for one, past in restates for block in _restates(source, one, past)),
        *(_revised(source, replaced, first, last) if replaced else ()),
        Heading(words("month.water")),
        _water(source, span),
        *charts(source, span),
        *_breakdowns(source, span),
        Heading(words("month.aboard")),
        _aboard(source, span),
        Heading(words("month.recovery")),
        *_recovery(source, span),
        *usual.blocks(source, span),
        *old_blocks(source, first, last),
        Heading(words("open.title")),
        *open_by_age(findings, first, last, imprint.issued, words),
        *_open(words, found, unjudged, older),
    )
    return imprint.page(
        state,
        words,
        kind="month",
        title=words("month.title", span=timeline.days(first, last, words)),
        facts=(*_facts(source, span, _issued(source, span, imprint)), *_closings(words, state, first)),
        blocks=blocks,
        status=words.count("month.open", len(found)) if found else unjudged or _none_open(words, older),
    )


def _issued(source: Source, span: Span, imprint: Imprint) -> str:
    """When the page was issued and what it replaces; from version 2 on also which version of the month it is."""
    words, state = source.words, source.state
    before = next((one for one in state.issued if one.number == imprint.replaces), None)
    counted = [] if before is None else versions(state, before.page, about_span(span.first, span.last))
    if before is None or before not in counted:
        return imprint.told(words)
    day, replaced = timeline.day(imprint.issued, words), timeline.day(before.date, words)
    n = counted.index(before) + 2  # pages issued after it say nothing else when this one is made again
    return words("fact.replaces.version", issued=day, n=n, number=imprint.replaces, day=replaced)


def _facts(source: Source, span: Span, issued: str) -> tuple[Fact, ...]:
    words = source.words
    not_worked = len(span.stops) - len(span.worked)
    return (
        Fact(words("fact.span"), timeline.days(span.first, span.last, words)),
        Fact(words("fact.issued"), issued),
        Fact(words("fact.runs"), words("fact.runs.value", n=len(span.runs), off=span.cancelled)),
        Fact(words("fact.stops"), words("fact.stops.value", n=len(span.worked), off=not_worked)),
    )


# ---- the water of the span -----------------------------------------------------------------------------------


def _water(source: Source, span: Span) -> Table:
    words, unit = source.words, source.unit
    named_splits = [(water_label(key, words), totals.split(found)) for key, found in waters(source, span).items()]
    kinds = totals.kinds_in(one for _, one in named_splits)
    rows = tuple((Cell(label), *totals.cells(one, words, unit, kinds)) for label, one in named_splits)
    notes = [words("month.water.note", unit=words(f"unit.named.{unit}")), words("month.water.sides")]
    notes += [words("water.at_site.note")] if site_uses(span.runs) else []
    return Table(
        (Column(words("water.what"), width=7), *totals.columns(words, unit, kinds)), rows, note="\n".join(notes)
    )


def _said(source: Source, span: Span) -> Said:
    """The sums of a span, each in one line, to be compared with those of an earlier page."""
    words = source.words
    sums = waters(source, span).items()
    return {
        words("fact.runs"): words("fact.runs.value", n=len(span.runs), off=span.cancelled),
        **{water_label(key, words): totals.text(totals.split(found), words, source.unit) for key, found in sums},
    }


# ---- what other pages said ---------------------------------------------------------------------------------------


def _differing(now: Source, past: Past, first: str, last: str) -> Sequence[tuple[Cell, ...]]:
    """The sums of a span that a page printed otherwise: (what, printed, now)."""
    then = Source(past.state, past.night, now.words)
    return rows_differing(_said(then, span_of(then, first, last)), _said(now, span_of(now, first, last)))


def _revised(source: Source, past: Past, first: str, last: str) -> Sequence[Block]:
    """What the page that this one replaces said otherwise, and what has come since."""
    found = revised.blocks(source.words, past.page, _differing(source, past, first, last))
    return (*found, *revised.since(source, past, first, last))


def _restates(source: Source, one: Restated, past: Past) -> Iterable[Block]:
    """An earlier summary that the records no longer bear out: which of its sums are others now."""
    words = source.words
    _, first, last = span_in(one.page.about)
    text = words("month.restates", span=timeline.days(first, last, words), number=one.page.number)
    if one.version is not None:
        n = versions(source.state, one.version.page, one.version.about).index(one.version) + 1
        text = words("month.restates.version", text=text, n=n, number=one.version.number)
    yield Paragraph(text, "strong")
    found = _differing(source, past, first, last)
    yield Table(columns_differing(words), tuple(found)) if found else Paragraph(words("month.restates.parts"))
    yield from revised.since(source, past, first, last)


def _closings(words: Words, state: State, first: str) -> tuple[Fact, ...]:
    """When the month was closed, by whom, and each time it was opened again, with the reason."""
    found = [one for one in state.closings if one.month == first[:7]]
    lines = [
        words("closing.closed" if one.closes else "closing.reopened", day=timeline.day(one.day, words), who=one.who,
              **({} if one.closes else {"why": one.why}))
        for one in found
    ]  # fmt: skip
    return (Fact(words("fact.closed"), "\n".join(lines)),) if lines else ()


# ---- by client, site, rig, destination, agent ----------------------------------------------------------------


def _breakdowns(source: Source, span: Span) -> Iterable[Block]:
    words, unit = source.words, source.unit
    rows = [
        {
            "client": source.name("client", stop.client or None),
            "site": source.name("site", stop.site or None),
            "used": stop.used.figure,
            "captured": stop.captured.figure,
        }
        for stop in span.worked
    ]
    stops = totals.frame(rows, ("client", "site", "used", "captured"))
    by_run = totals.frame(
        [
            {"rig": run.rig, "used": run.used.figure, "captured": run.captured.figure, "rest": run.not_explained}
            for run in span.runs
        ],
        ("rig", "used", "captured", "rest"),
    )
    used, captured = words("split.used"), words("split.captured")
    for key, label in (("client", words.label("stop", "client")), ("site", words.label("stop", "site"))):
        yield Heading(words(f"month.by_{key}"))
        measures = (("used", used), ("captured", captured))
        besides = [
            (words("month.no_stop"), heading, found)
            for which, heading in measures
            if (found := [rest for run in span.runs if not is_nothing(rest := at_no_stop(run, which))])
        ]
        at_site = [one.known.figure for one in site_uses(span.runs)]
        besides += [(words("water.at_site"), used, at_site)] if at_site else []
        count = words("month.stops")
        yield totals.group_table(stops, key, label, measures, words, unit, count=count, besides=besides)
    yield Heading(words("month.by_rig"))
    of_rig = (("used", used), ("captured", captured), ("rest", words("split.rest")))
    yield totals.group_table(by_run, "rig", words.label("run", "rig"), of_rig, words, unit, count=words("month.runs"))
    yield Heading(words("month.by_destination"))
    yield destination_table(source, [draw for draw in span.draws if draw.way == "handed over"])
    yield Heading(words("month.by_agent"))
    yield agent_table(source, span.worked)
    yield from jug_table(source, (run.record for run in span.runs))
    yield from agent_chart(source, span.worked)


# ---- aboard, recovery, open items ----------------------------------------------------------------------------


def _aboard(source: Source, span: Span) -> Block:
    """One row a rig: what it has aboard when the span ends."""
    words, unit = source.words, source.unit
    last = {run.rig: run for run in span.earlier}
    if not last:
        return Paragraph(words("month.no_runs"))
    rows = tuple(
        (Cell(rig), figure_cell(run.aboard_after, unit, words), Cell(timeline.day(run.date, words)))
        for rig, run in sorted(last.items())
    )
    columns = (
        Column(words.label("run", "rig"), width=4),
        Column(words("water.aboard"), "right", width=4),
        Column(words("month.last_run"), width=4),
    )
    return Table(columns, rows)


def _recovery(source: Source, span: Span) -> Iterable[Block]:
    """Every run with its figures, its ratio and the depth of water applied, which a ratio cannot be read without."""
    words, unit = source.words, source.unit
    if not span.runs:
        yield Paragraph(words("month.no_runs"))
        return
    columns = (
        Column(words("chart.run"), width=5),
        Column(words("split.used"), "right", width=5),
        Column(words("split.captured"), "right", width=5),
        Column(words("split.rest"), "right", width=5),
        Column(words("month.ratio"), width=7, unit="%"),
        Column(words("month.ratio.low"), "right", width=2, unit="%"),
        Column(words("month.ratio.high"), "right", width=2, unit="%"),
        Column(words("month.depth"), "right", width=3, unit=words.unit("in")),
    )
    rows = tuple(
        (
            Cell(_run_label(source, run)),
            figure_cell(run.used.figure, unit, words),
            figure_cell(run.captured.figure, unit, words),
            figure_cell(run.not_explained, unit, words),
            *ratio_cells(run.ratio, words),
            _depth(source, run),
        )
        for run in span.runs
    )
    yield Table(columns, rows, note=words("month.ratio.note"))


def _run_label(source: Source, run: RunFacts) -> str:
    return source.words("stop.rig", label=timeline.short_day(run.date, source.words), rig=run.rig)


def _depth(source: Source, run: RunFacts) -> Cell:
    """Water applied as a depth on what was washed, which a ratio cannot be read without."""
    applied = run.applied
    if isinstance(applied, Volume):
        applied = applied.scale(convert(Decimal(1), source.unit, "gal"))
    depth = applied_depth(applied, washed(run))
    if isinstance(depth, NoRatio):
        return Cell(source.words.unknown("not known"), tone="muted")
    return depth_cell(depth, source.words)


def _none_open(words: Words, older: int) -> str:
    """That nothing of the span is open, and how much of earlier ones is: the chart beside it counts both."""
    return words("month.open.older", n=f"{older:,}") if older else words("month.open.none")


def _open(words: Words, findings: Sequence[Finding], unjudged: str, older: int) -> Iterable[Block]:
    """The findings of the span, a line a rule, the most urgent first; one that somebody accepted says so."""
    for severity in SEVERITIES:
        by_rule: dict[str, list[Finding]] = {}
        for one in findings:
            if one.severity == severity:
                by_rule.setdefault(one.rule, []).append(one)
        if by_rule:
            items = tuple(_item(words, found) for found in by_rule.values())
            yield OpenItems(words(f"severity.{severity}"), items)
    if unjudged:
        yield Paragraph(unjudged)
    elif not findings:
        yield OpenItems("", (), _none_open(words, older))


def _item(words: Words, found: Sequence[Finding]) -> str:
    rule = named(found[0].rule)
    title = words.settled(rule.title.in_(words.language)) if rule else found[0].slug
    about = ", ".join(
        words("open.accepted", about=one.about, who=one.accepted.who, until=timeline.day(one.accepted.until, words))
        if one.accepted
        else one.about
        for one in found
    )
    return words("open.item", title=title, rule=found[0].rule, n=len(found), about=about)
