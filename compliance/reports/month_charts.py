"""The charts of a month summary. Each is the table behind it too, and says what it leaves out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final

from compliance.reports import timeline, totals
from compliance.reports.model import Block, Cell, Chart, Paragraph, Series
from compliance.reports.numbers import bare_cell, ratio_cell
from compliance.reports.refs import Source
from compliance.reports.span import Span, looks_back_to
from compliance.reports.summary import week_chart
from compliance.reports.words import Words
from compliance.rules.rule import SEVERITIES, Finding
from compliance.water.results import Draw

AGES: Final = (7, 30, 90)
"""Days up to which open items are counted together; what is older stands in a group of its own."""


def charts(source: Source, span: Span) -> Iterable[Block]:
    """Water by where it went, recovery run by run, and what is not explained, or that nobody worked."""
    words, unit = source.words, source.unit
    if not span.runs:
        yield Paragraph(words("month.no_runs"))
        return
    draws = [(source.runs[draw.line.record].day, _end_name(source, draw), draw.known.figure) for draw in span.draws]
    yield week_chart(words("chart.ends"), draws, span.first, span.last, words, unit)
    for rig in span.rigs:
        of_rig = [run for run in span.runs if run.rig == rig]
        values = tuple(ratio_cell(run.ratio, words) for run in of_rig)
        labels = tuple(timeline.short_day(run.date, words) for run in of_rig)
        title = words("chart.recovery", rig=rig)
        series = (Series(words("month.ratio"), values),)
        yield Chart("points", title, "%", labels, series, words("chart.run"), words("chart.recovery.note"))
    yield _not_explained(source, span)


def _end_name(source: Source, draw: Draw) -> str:
    if draw.way == "handed over":
        return source.place_text(draw.place, kind_too=False)
    return source.words(f"way.{draw.way}")


def _not_explained(source: Source, span: Span) -> Chart:
    words, unit = source.words, source.unit
    splits = [totals.split(run.not_explained for run in span.runs if run.rig == rig) for rig in span.rigs]
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
        for rig, one in zip(span.rigs, splits, strict=True)
        if one.silent or set(one.counts) - {"measured"}
    ]
    return Chart(
        "bars", words("chart.rest"), unit, tuple(span.rigs), (Series(words("water.not explained by run"), cells),),
        words.label("run", "rig"), " ".join([words("chart.rest.note"), *left_out]),
    )  # fmt: skip


def still_open(findings: Iterable[Finding], first: str, last: str) -> Sequence[Finding]:
    """The findings that nobody accepted, of a span and of what its summary looks back on (`span.looks_back_to`)."""
    since = looks_back_to(first)
    return [one for one in findings if since <= one.day <= last and one.accepted is None]


def open_by_age(findings: Iterable[Finding], first: str, last: str, issued: str, words: Words) -> Sequence[Chart]:
    """Everything that is open at the end of a span, by how old it was when the page was issued; none when nothing is.

    Items of the year before are among them, so that what nobody deals with is seen growing old.
    """
    open_ = still_open(findings, first, last)
    ages = [(one.severity, (date.fromisoformat(issued) - date.fromisoformat(one.day)).days) for one in open_]
    if not ages:
        return ()
    groups = [sum(age > most for most in AGES) for _, age in ages]
    labels = (*(words("age.to", n=most) for most in AGES), words("age.more", n=AGES[-1]))
    series = tuple(
        Series(
            words(f"severity.{severity}"),
            tuple(
                _count(sum(one == severity and group == at for (one, _), group in zip(ages, groups, strict=True)))
                for at in range(len(labels))
            ),
        )
        for severity in SEVERITIES
        if any(one == severity for one, _ in ages)
    )
    return (Chart("stacked", words("chart.age"), "", labels, series, words("age.label"), words("chart.age.note")),)


def _count(n: int) -> Cell:
    return Cell(str(n), str(n))
