"""Parts that the owner's and a client's summary share: by destination, by agent, and the chart by week."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from compliance.records.quantity import stored
from compliance.reports import timeline, totals
from compliance.reports.model import Cell, Chart, Column, Table
from compliance.reports.numbers import answered, column_cell, quantity_text
from compliance.reports.parts import in_hundredths
from compliance.reports.refs import Source
from compliance.reports.words import Words
from compliance.water.results import Draw, Line, StopFacts
from compliance.water.volume import Figure, Volume, hundredths, stated, total

MOST_SERIES = 5
"""Destinations drawn one by one in a chart; the table beneath has them all."""


def week_chart(
    title: str, draws: Sequence[tuple[str, str, Figure]], first: str, last: str, words: Words, unit: str
) -> Chart:
    """Water by where it went, stacked by week. draws: (ISO day, name of the end, figure)."""
    weeks = timeline.weeks(first, last)
    labels = [timeline.week_label(*week, words) for week in weeks]
    rows, silent = [], 0
    for day, name, figure in draws:
        amount = in_hundredths(figure)
        if amount is None or amount < 0:
            silent += 1
            continue
        week = next(at for at, (_, end) in enumerate(weeks) if day <= end)
        rows.append((labels[week], name, amount))
    made = totals.series(totals.pivot(rows, labels), unit, MOST_SERIES, words("chart.others"))
    note = words.count("chart.silent", silent) if silent else ""
    return Chart("stacked", title, unit, tuple(labels), made, words("chart.week"), note)


def destination_table(source: Source, draws: Sequence[Draw]) -> Table:
    """One row a place: handovers, our volume by how it is known, theirs, and how many tickets are still to come."""
    words, unit = source.words, source.unit
    rows = [{"place": source.place_text(draw.place), "figure": draw.known.figure, "line": draw.line} for draw in draws]
    data = totals.frame(rows, ("place", "figure", "line"))
    found = [(name, totals.split(group["figure"]), list(group["line"])) for name, group in totals.groups(data, "place")]
    kinds = totals.kinds_in(one for _, one, _ in found)
    columns = (
        Column(words.label("hand over", "place"), width=6),
        Column(words("month.handovers"), "right", 2, True),
        *totals.columns(words, unit, kinds, words("split.ours")),
        Column(words("month.accepted"), "right", 3, True, unit),
        Column(words("month.not_accepted"), width=4),
    )
    made = []
    for name, one, lines in found:
        accepted, open_ = accepted_sum(source, lines)
        theirs = column_cell(accepted, unit, words) if accepted else Cell("–", tone="muted")
        waiting = words("month.of", n=open_, of=len(lines)) if open_ else "–"
        made.append(
            (
                Cell(name),
                Cell(str(len(lines)), str(len(lines))),
                *totals.cells(one, words, unit, kinds),
                theirs,
                Cell(waiting),
            )
        )
    return Table(columns, tuple(made))


def accepted_sum(source: Source, lines: Iterable[Line]) -> tuple[Volume | None, int]:
    """What receivers accepted at these handovers, each ticket once, and for how many of them no figure is there."""
    figures: dict[str, Volume] = {}
    silent = 0
    for where in lines:
        line = source.line(where)
        own = line.get("accepted") if line else None
        tickets = [
            (ticket.record, ticket.fields.get("accepted"))
            for ticket in source.state.tickets_of(where.record, where.line)
        ]
        given = [(key, value) for key, value in tickets if answered(value)] or (
            [(f"{where.record}/{where.line}", own)] if answered(own) else []
        )
        silent += not given
        for key, value in given:
            point = stored(str(value)).in_unit(source.unit).point
            if point is not None:
                figures[key] = stated(point, f"ticket:{key}")
    return (total(figures.values()) if figures else None), silent


def agent_table(source: Source, stops: Sequence[StopFacts]) -> Table:
    """One row a product: at how many stops, how much concentrate where it was recorded, and where it was not."""
    words, unit = source.words, source.unit
    rows = [
        {"agent": source.name("agent", entry.get("agent")), "amount": entry.get("amount"), "stop": stop.ref}
        for stop in stops
        for entry in source.stop_items(stop, "agents")
    ]
    data = totals.frame(rows, ("agent", "amount", "stop"))
    columns = (
        Column(words.label("agent use", "agent"), width=6),
        Column(words("month.stops"), "right", 2, True),
        Column(words.label("agent use", "amount"), "right", 4, True, unit),
        Column(words("split.silent"), width=4),
    )
    made = []
    for name, group in totals.groups(data, "agent"):
        amounts = [_point(value, unit) for value in group["amount"]]
        known = [amount for amount in amounts if amount is not None]
        silent = [value for value, amount in zip(group["amount"], amounts, strict=True) if amount is None]
        told = ", ".join(quantity_text(value, words) for value in silent)
        stops_with = len(set(group["stop"]))
        cell = column_cell(_declared(known), unit, words) if known else Cell("–", tone="muted")
        made.append((Cell(name), Cell(str(stops_with), str(stops_with)), cell, Cell(told or "–", tone="muted")))
    return Table(columns, tuple(made), note=words("month.agent.note") if made else words("month.agent.none"))


def _point(value: object, unit: str) -> Decimal | None:
    return stored(str(value)).in_unit(unit).point if answered(value) else None


def _declared(amounts: Sequence[Decimal]) -> Volume:
    """Concentrate as it was stated, to the hundredth."""
    cents = hundredths(sum(amounts, Decimal(0)))
    return stated(Decimal(cents).scaleb(-2), "declared:agent")
