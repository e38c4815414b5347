"""What a rig usually recovers, by its own runs of the last year: information where no threshold is on file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from compliance.reports.model import Block, Cell, Column, Heading, Paragraph, Table
from compliance.reports.numbers import percent
from compliance.reports.refs import Source
from compliance.reports.span import Span, looks_back_to
from compliance.rules.recovery import LIMIT
from compliance.rules.scene import Scene
from compliance.water.ratio import Ratio
from compliance.water.results import RunFacts

ENOUGH: Final = 10
"""Comparable runs from which on a median is shown: fewer say little about the next one."""


@dataclass(frozen=True)
class Usual:
    """The measured ratios of one rig's runs: how many, and the middle, lowest and highest of them."""

    rig: str
    runs: int
    median: Decimal
    lowest: Decimal
    highest: Decimal


def usual(rig: str, runs: Iterable[RunFacts]) -> Usual | None:
    """The usual ratio of a rig, None until `ENOUGH` of its runs have a measured one."""
    ratios = sorted(measured(rig, runs))
    if len(ratios) < ENOUGH:
        return None
    half = len(ratios) // 2
    median = ratios[half] if len(ratios) % 2 else (ratios[half - 1] + ratios[half]) / 2
    return Usual(rig, len(ratios), median, ratios[0], ratios[-1])


def measured(rig: str, runs: Iterable[RunFacts]) -> list[Decimal]:
    """The ratios of a rig's runs that rest on readings; stated figures and bounds are not comparable with them."""
    return [
        run.ratio.value
        for run in runs
        if run.rig == rig and isinstance(run.ratio, Ratio) and run.ratio.kind == "measured" and run.ratio.value
    ]


def blocks(source: Source, span: Span) -> Sequence[Block]:
    """The part of a summary: nothing where a threshold was in force at its end, or where nobody worked."""
    scene = Scene(source.state, source.night, date.fromisoformat(span.last))
    if not span.runs or not isinstance(scene.limit(LIMIT, span.last), str):
        return ()
    words, since = source.words, looks_back_to(span.first)
    lately = [run for run in span.earlier if run.date >= since]
    found = [(rig, usual(rig, lately)) for rig in span.rigs]
    waiting = [
        Paragraph(words("usual.waiting", rig=rig, n=len(measured(rig, lately)), of=ENOUGH), "muted")
        for rig, one in found
        if one is None
    ]
    rows = tuple(_row(one) for _, one in found if one is not None)
    columns = (
        Column(words.label("run", "rig"), width=4),
        Column(words("month.runs"), "right", 2, True),
        Column(words("usual.median"), "right", 3, True, "%"),
        Column(words("usual.lowest"), "right", 3, True, "%"),
        Column(words("usual.highest"), "right", 3, True, "%"),
    )
    table = (Table(columns, rows, note=words("usual.note")),) if rows else ()
    return (Heading(words("usual.title"), 3), *table, *waiting)


def _row(one: Usual) -> tuple[Cell, ...]:
    figures = [percent(value) for value in (one.median, one.lowest, one.highest)]
    return (Cell(one.rig), Cell(str(one.runs), str(one.runs)), *(Cell(text, text, "%") for text in figures))
