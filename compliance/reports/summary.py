"""Parts that the owner's and a client's summary share: by destination, by agent, the chart by week, old books."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from compliance.records.quantity import stored
from compliance.reports import timeline, totals
from compliance.reports.model import NO_ANSWER, Block, Cell, Chart, Column, Heading, Series, Table
from compliance.reports.numbers import answered, bare_cell, column_cell, plain, quantity_text
from compliance.reports.refs import Source, tickets_at
from compliance.reports.words import Words
from compliance.water.oldrows import Stated, old_totals
from compliance.water.results import Draw, Line, StopFacts
from compliance.water.volume import Figure, Volume, hundredths, in_hundredths, stated, total

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
        theirs = column_cell(accepted, unit, words) if accepted else NO_ANSWER
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
        given = [(one.record or f"{where.record}/{where.line}", one.accepted) for one in tickets_at(source, where)]
        given = [(key, value) for key, value in given if answered(value)]
        silent += not given
        for key, value in given:
            point = stored(str(value)).in_unit(source.unit).point
            if point is not None:
                figures[key] = stated(point, f"ticket:{key}")
    return (total(figures.values()) if figures else None), silent


@dataclass(frozen=True)
class Used:
    """One product: at how many stops it was used, the amounts of concentrate on record, and what stands in their place.

    silent: the stored answers without a value.
    """

    agent: str
    stops: int
    known: tuple[Decimal, ...]
    silent: tuple[object, ...]


def agents_used(source: Source, stops: Sequence[StopFacts]) -> Sequence[Used]:
    """Each product of these stops, in the order of their names."""
    rows = [
        {"agent": source.name("agent", entry.get("agent")), "amount": entry.get("amount"), "stop": stop.ref}
        for stop in stops
        for entry in source.stop_items(stop, "agents")
    ]
    data = totals.frame(rows, ("agent", "amount", "stop"))
    made = []
    for name, group in totals.groups(data, "agent"):
        amounts = [(value, _point(value, source.unit)) for value in group["amount"]]
        known = tuple(amount for _, amount in amounts if amount is not None)
        silent = tuple(value for value, amount in amounts if amount is None)
        made.append(Used(name, len(set(group["stop"])), known, silent))
    return made


def agent_table(source: Source, stops: Sequence[StopFacts]) -> Table:
    """One row a product: at how many stops, how much concentrate where it was recorded, and where it was not."""
    words, unit = source.words, source.unit
    columns = (
        Column(words.label("agent use", "agent"), width=6),
        Column(words("month.stops"), "right", 2, True),
        Column(words.label("agent use", "amount"), "right", 4, True, unit),
        Column(words("split.silent"), width=4),
    )
    made = [
        (
            Cell(one.agent),
            Cell(str(one.stops), str(one.stops)),
            column_cell(_declared(one.known), unit, words) if one.known else NO_ANSWER,
            Cell(", ".join(quantity_text(value, words) for value in one.silent) or "–", tone="muted"),
        )
        for one in agents_used(source, stops)
    ]
    return Table(columns, tuple(made), note=words("month.agent.note") if made else words("month.agent.none"))


def jug_table(source: Source, records: Iterable[str]) -> Sequence[Table]:
    """Jugs counted for whole nights (records of runs), a row a product; nothing where none were counted."""
    words, unit = source.words, source.unit
    rows = [
        {
            "agent": source.name("agent", line.get("agent")),
            "run": record,
            "jugs": line.get("jugs"),
            "size": line.get("size"),
        }
        for record in records
        for line in source.runs[record].lines
        if line.kind == "agent jugs"
    ]
    if not rows:
        return ()
    made = []
    for name, group in totals.groups(totals.frame(rows, ("agent", "run", "jugs", "size")), "agent"):
        counted = [(_count(jugs), _point(size, unit)) for jugs, size in zip(group["jugs"], group["size"], strict=True)]
        jugs = [n for n, _ in counted if n is not None]
        held = [n * size for n, size in counted if n is not None and size is not None]
        silent = len(counted) - len(held)
        made.append(
            (
                Cell(name),
                Cell(str(len(set(group["run"]))), str(len(set(group["run"])))),
                Cell(plain(sum(jugs, Decimal(0))), plain(sum(jugs, Decimal(0)))) if jugs else NO_ANSWER,
                column_cell(_declared(held), unit, words) if held else NO_ANSWER,
                Cell(words.count("jugs.silent", silent) if silent else "–", tone="muted"),
            )
        )
    columns = (
        Column(words.label("agent jugs", "agent"), width=6),
        Column(words("month.runs"), "right", 2, True),
        Column(words.label("agent jugs", "jugs"), "right", 2, True),
        Column(words("jugs.held"), "right", 4, True, unit),
        Column(words("split.silent"), width=4),
    )
    return (Table(columns, tuple(made), caption=words("jugs.title"), note=words("jugs.note")),)


def _count(jugs: object) -> Decimal | None:
    return stored(str(jugs)).point if answered(jugs) else None


def agent_chart(source: Source, stops: Sequence[StopFacts]) -> Sequence[Chart]:
    """Concentrate by product, as it was stated; a product without an amount on record is a gap. None without any."""
    words, unit = source.words, source.unit
    used = agents_used(source, stops)
    if not used:
        return ()
    cells = tuple(
        bare_cell(_declared(one.known), unit, words) if one.known else Cell(quantity_text(one.silent[0], words))
        for one in used
    )
    silent = sum(len(one.silent) for one in used)
    note = " ".join([words("month.agent.note"), *([words.count("chart.silent", silent)] if silent else [])])
    label = words.label("agent use", "amount")
    return (
        Chart(
            "bars", words("chart.agent"), unit, tuple(one.agent for one in used), (Series(label, cells),),
            words.label("agent use", "agent"), note,
        ),
    )  # fmt: skip


def old_blocks(source: Source, first: str, last: str, client: str | None = None) -> Sequence[Block]:
    """The rows of the spreadsheets from before the book, apart from everything else; nothing where there are none."""
    found = old_totals(source.state, first, last, client)
    if not found:
        return ()
    words, unit = source.words, source.unit
    columns = [
        Column(words("old.month"), width=3),
        Column(words.label("stop", "client"), width=5),
        Column(words("old.rows"), "right", 2, True),
    ]
    for heading in (words("split.used"), words("split.captured")):
        columns.append(Column(words("split.of", what=heading, kind=words("split.stated")), "right", 3, True, unit))
        columns.append(Column(words("split.of", what=heading, kind=words("split.silent")), width=4))
    rows = tuple(
        (
            Cell(_month(one.month, words)),
            Cell(one.client or words("old.no_client")),
            Cell(str(one.rows), str(one.rows)),
            *_stated(one.used, unit, words),
            *_stated(one.recovered, unit, words),
        )
        for one in found
    )
    return Heading(words("old.title")), Table(tuple(columns), rows, note=words("old.note"))


def _month(month: str, words: Words) -> str:
    return words("old.month_of", month=words(f"month.{int(month[5:])}"), year=month[:4])


def _stated(column: Stated, unit: str, words: Words) -> tuple[Cell, Cell]:
    """The sum that the rows state, and what stands beside it: rows without a figure, rows that say 'about'."""
    told = [words("split.count", n=n, kind=words.unknown(kind)) for kind, n in column.unknown.items()]
    told += [words("old.about", n=column.about)] if column.about else []
    amount = column_cell(column.sum, unit, words) if column.count else NO_ANSWER
    return amount, Cell(", ".join(told) or "–", tone="muted")


def _point(value: object, unit: str) -> Decimal | None:
    return stored(str(value)).in_unit(unit).point if answered(value) else None


def _declared(amounts: Sequence[Decimal]) -> Volume:
    """Concentrate as it was stated, to the hundredth."""
    cents = hundredths(sum(amounts, Decimal(0)))
    return stated(Decimal(cents).scaleb(-2), "declared:agent")
