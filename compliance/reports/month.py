"""The owner's summary of a span, a month as a rule: every total with its ± summed by source, and what has none.

Measured, stated and worked-out figures stand in columns of their own and are never added up together. The page names
clients and is for the owner; `reports.client` makes the one for a client.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from compliance.records.quantity import convert
from compliance.records.sentences import local_permit_governs
from compliance.records.state import State
from compliance.reports import timeline, totals
from compliance.reports.issue import Head, closes
from compliance.reports.model import (
    Block,
    Cell,
    Chart,
    Column,
    Fact,
    Footer,
    Heading,
    Language,
    OpenItems,
    Page,
    Paper,
    Paragraph,
    Series,
    Table,
)
from compliance.reports.numbers import bare_cell, depth_text, figure_cell, ratio_cell, ratio_text
from compliance.reports.parts import escapes_before_capture
from compliance.reports.proof import business, record_code
from compliance.reports.refs import Source
from compliance.reports.summary import agent_table, destination_table, week_chart
from compliance.reports.words import Words
from compliance.rules.catalogue import named
from compliance.rules.rule import SEVERITIES, Finding
from compliance.water.ratio import NoRatio, applied_depth
from compliance.water.results import Draw, Night, RunFacts, StopFacts
from compliance.water.volume import Figure, Volume, total_of


@dataclass(frozen=True)
class Span:
    """The runs of a span of days, first and last included, with their stops and the water they handed over."""

    first: str
    last: str
    runs: tuple[RunFacts, ...]
    cancelled: int
    stops: tuple[StopFacts, ...]
    draws: tuple[Draw, ...]
    earlier: tuple[RunFacts, ...]

    @property
    def worked(self) -> tuple[StopFacts, ...]:
        return tuple(stop for stop in self.stops if stop.worked)


def span_of(source: Source, first: str, last: str) -> Span:
    """What belongs to a span: a run by the day of its start, a draw by the run on which it happened."""
    inside = [run for run in source.night.runs.values() if first <= run.date <= last]
    runs = tuple(run for run in inside if not run.cancelled)
    records = {run.record for run in runs}
    draws = [draw for load in source.night.loads.values() for draw in load.draws if draw.line.record in records]
    earlier = [run for run in source.night.runs.values() if run.date <= last and not run.cancelled]
    return Span(
        first,
        last,
        runs,
        len(inside) - len(runs),
        tuple(stop for run in runs for stop in run.stops),
        tuple(draws),
        tuple(earlier),
    )


def month_page(
    state: State,
    night: Night,
    findings: Iterable[Finding],
    first: str,
    last: str,
    *,
    number: str,
    issued: str,
    replaces: str = "",
    language: Language = "en",
    paper: Paper = "letter",
    head: Head | None = None,
    restates: Sequence[str] = (),
) -> Page:
    """The summary from `first` to `last` (ISO dates).

    restates: numbers of earlier summaries that the records no longer bear out (`issue.restated`). A summary with a
    number closes its span: what was 'not recorded yet' is 'not recorded'. The other parameters are those of
    `proof_page`.
    """
    words = Words(language, bool(number) or closes(state, first))
    source = Source(state, night, words)
    span = span_of(source, first, last)
    found = [one for one in findings if first <= one.day <= last]
    blocks: tuple[Block, ...] = (
        *(Paragraph(words("month.restates", number=one), "strong") for one in restates),
        Heading(words("month.water")),
        _water(source, span),
        *_charts(source, span),
        *_breakdowns(source, span),
        Heading(words("month.aboard")),
        _aboard(source, span),
        Heading(words("month.recovery")),
        *_recovery(source, span),
        Heading(words("open.title")),
        *_open(words, found),
    )
    return Page(
        kind="month",
        title=words("month.title", span=timeline.days(first, last, words)),
        number=number or words("number.preview"),
        language=language,
        paper=paper,
        facts=_facts(source, span, issued, replaces),
        blocks=blocks,
        footer=Footer(local_permit_governs(language), record_code(words, head)),
        issuer=business(state, "name"),
        status=words.count("month.open", len(found)) if found else words("month.open.none"),
    )


def _facts(source: Source, span: Span, issued: str, replaces: str) -> tuple[Fact, ...]:
    words = source.words
    not_worked = len(span.stops) - len(span.worked)
    issue = "fact.replaces" if replaces else "fact.replaces.none"
    return (
        Fact(words("fact.span"), timeline.days(span.first, span.last, words)),
        Fact(words("fact.issued"), words(issue, issued=timeline.day(issued, words), number=replaces)),
        Fact(words("fact.runs"), words("fact.runs.value", n=len(span.runs), off=span.cancelled)),
        Fact(words("fact.stops"), words("fact.stops.value", n=len(span.worked), off=not_worked)),
    )


# ---- the water of the span -----------------------------------------------------------------------------------


def _water(source: Source, span: Span) -> Table:
    words, unit = source.words, source.unit
    draws: dict[str, list[Figure]] = {}
    for draw in span.draws:
        draws.setdefault(draw.way, []).append(draw.known.figure)
    at_start, at_end = _ends(span)
    figures: list[tuple[str, list[Figure]]] = [
        (words("water.aboard_before"), [figure for _, figure in at_start]),
        (words.label("run", "used"), [run.used.figure for run in span.runs]),
        (words("water.captured"), [run.captured.figure for run in span.runs]),
        (words("water.handed over"), draws.get("handed over", [])),
        (words("water.used_again"), draws.get("used again", [])),
        (words("water.led_away"), _led_away(span)),
        (words("water.escaped"), _escaped(source, span)),
        (words("water.escaped out of tank"), draws.get("escaped", [])),
        (words("water.solids"), draws.get("solids", [])),
        (words("water.let_go"), _let_go(source, span)),
        (words("water.aboard_after"), [figure for _, figure in at_end]),
        (words("water.not explained by run"), [run.not_explained for run in span.runs]),
    ]
    named_splits = [(label, totals.split(found)) for label, found in figures if found]
    kinds = totals.kinds_in(one for _, one in named_splits)
    rows = tuple((Cell(label), *totals.cells(one, words, unit, kinds)) for label, one in named_splits)
    note = words("month.water.note", unit=words(f"unit.named.{unit}"))
    return Table((Column(words("water.what"), width=7), *totals.columns(words, unit, kinds)), rows, note=note)


def _ends(span: Span) -> tuple[list[tuple[str, Figure]], list[tuple[str, Figure]]]:
    """(rig, aboard) at the beginning and at the end of a span; a rig that rested keeps what its last run left."""
    start: dict[str, Figure] = {}
    end: dict[str, Figure] = {}
    for run in span.earlier:
        if run.date < span.first:
            start[run.rig] = run.aboard_after
        else:
            start.setdefault(run.rig, run.aboard_before)
        end[run.rig] = run.aboard_after
    return sorted(start.items()), sorted(end.items())


def _led_away(span: Span) -> list[Figure]:
    return [stop.led_away for stop in span.worked if not _is_nothing(stop.led_away)]


def _escaped(source: Source, span: Span) -> list[Figure]:
    return [stop.escaped for stop in span.worked if escapes_before_capture(source, [stop])]


def _let_go(source: Source, span: Span) -> list[Figure]:
    return [run.let_go for run in span.runs if any(line.kind == "let go" for line in source.runs[run.record].lines)]


def _is_nothing(figure: Figure) -> bool:
    return isinstance(figure, Volume) and figure.best == 0


# ---- charts --------------------------------------------------------------------------------------------------


def _charts(source: Source, span: Span) -> Iterable[Block]:
    words, unit = source.words, source.unit
    if not span.runs:
        yield Paragraph(words("month.no_runs"))
        return
    draws = [(source.runs[draw.line.record].day, _end_name(source, draw), draw.known.figure) for draw in span.draws]
    yield week_chart(words("chart.ends"), draws, span.first, span.last, words, unit)
    rigs = sorted({run.rig for run in span.runs}, key=str.casefold)
    for rig in rigs:
        of_rig = [run for run in span.runs if run.rig == rig]
        values = tuple(ratio_cell(run.ratio, words) for run in of_rig)
        labels = tuple(timeline.short_day(run.date, words) for run in of_rig)
        title = words("chart.recovery", rig=rig)
        series = (Series(words("month.ratio"), values),)
        yield Chart("points", title, "%", labels, series, words("chart.run"), words("chart.recovery.note"))
    splits = [totals.split(run.not_explained for run in span.runs if run.rig == rig) for rig in rigs]
    cells = tuple(
        bare_cell(one.sums["measured"], unit, words) if "measured" in one.sums else Cell(words("chart.none_measured"))
        for one in splits
    )
    left_out = [
        words(
            "chart.left_out",
            rig=rig,
            n=sum(one.silent.values()) + sum(n for kind, n in one.counts.items() if kind != "measured"),
        )
        for rig, one in zip(rigs, splits, strict=True)
        if one.silent or set(one.counts) - {"measured"}
    ]
    yield Chart(
        "bars", words("chart.rest"), unit, tuple(rigs), (Series(words("water.not explained by run"), cells),),
        words.label("run", "rig"), " ".join([words("chart.rest.note"), *left_out]),
    )  # fmt: skip


def _end_name(source: Source, draw: Draw) -> str:
    if draw.way == "handed over":
        return source.place_text(draw.place, kind_too=False)
    return source.words(f"way.{draw.way}")


def _run_label(source: Source, run: RunFacts) -> str:
    return source.words("stop.rig", label=timeline.short_day(run.date, source.words), rig=run.rig)


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
        yield totals.group_table(stops, key, label, measures, words, unit, count=words("month.stops"))
    yield Heading(words("month.by_rig"))
    of_rig = (("used", used), ("captured", captured), ("rest", words("split.rest")))
    yield totals.group_table(by_run, "rig", words.label("run", "rig"), of_rig, words, unit, count=words("month.runs"))
    yield Heading(words("month.by_destination"))
    yield destination_table(source, [draw for draw in span.draws if draw.way == "handed over"])
    yield Heading(words("month.by_agent"))
    yield agent_table(source, span.worked)


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
        Column(words("split.used"), "right", width=4),
        Column(words("split.captured"), "right", width=4),
        Column(words("split.rest"), "right", width=4),
        Column(words("month.ratio"), width=6),
        Column(words("month.depth", unit=words.unit("in")), "right", width=3),
    )
    rows = tuple(
        (
            Cell(_run_label(source, run)),
            figure_cell(run.used.figure, unit, words),
            figure_cell(run.captured.figure, unit, words),
            figure_cell(run.not_explained, unit, words),
            Cell(ratio_text(run.ratio, words)),
            _depth(source, run),
        )
        for run in span.runs
    )
    yield Table(columns, rows, note=words("month.ratio.note"))


def _depth(source: Source, run: RunFacts) -> Cell:
    """Water applied as a depth on what was washed, which a ratio cannot be read without."""
    area = total_of((stop.area for stop in run.stops if stop.worked), skip_not_applicable=True)
    applied = run.applied
    if isinstance(applied, Volume):
        applied = applied.scale(convert(Decimal(1), source.unit, "gal"))
    depth = applied_depth(applied, area)
    if isinstance(depth, NoRatio):
        return Cell(source.words.unknown("not known"), tone="muted")
    return Cell(depth_text(depth.inches, source.words))


def _open(words: Words, findings: Sequence[Finding]) -> Iterable[Block]:
    """The findings of the span, a line a rule, the most urgent first; one that somebody accepted says so."""
    for severity in SEVERITIES:
        by_rule: dict[str, list[Finding]] = {}
        for one in findings:
            if one.severity == severity:
                by_rule.setdefault(one.rule, []).append(one)
        if by_rule:
            items = tuple(_item(words, found) for found in by_rule.values())
            yield OpenItems(words(f"severity.{severity}"), items)
    if not findings:
        yield OpenItems("", (), words("month.open.none"))


def _item(words: Words, found: Sequence[Finding]) -> str:
    rule = named(found[0].rule)
    title = rule.title.in_(words.language) if rule else found[0].slug
    about = ", ".join(
        words("open.accepted", about=one.about, who=one.accepted.who, until=timeline.day(one.accepted.until, words))
        if one.accepted
        else one.about
        for one in found
    )
    return words("open.item", title=title, rule=found[0].rule, n=len(found), about=about)
