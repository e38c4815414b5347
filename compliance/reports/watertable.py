"""The water table of a proof: each amount with how it was read, who read it, and its ±."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from compliance.reports import parts, timeline
from compliance.reports.model import NO_ANSWER, Cell, Column, Table
from compliance.reports.numbers import answered, figure_cell, figure_text, known_cell, plain, quantity_text, share_cell
from compliance.reports.refs import Source, stop_label
from compliance.reports.words import Words
from compliance.water.results import Aside, Beside, How, Interval, JobFacts, Known, SiteUse, StopFacts
from compliance.water.shown import number, to_hand
from compliance.water.timeline import ASTRAY
from compliance.water.volume import Figure, Unknown, Volume, from_hundredths, in_hundredths, total_of


@dataclass(frozen=True)
class Row:
    """One row of the table: what, how much, how it was read, and who read it."""

    what: Cell
    amount: Cell
    how: Cell
    reader: Cell = NO_ANSWER

    @property
    def cells(self) -> tuple[Cell, ...]:
        """In the order of the columns of `water_table`."""
        return self.what, self.amount, self.how, self.reader


def water_table(source: Source, job: JobFacts) -> Table:
    """What was used, what was captured of it with each way that this went, and what went past the tank.

    It adds up twice: captured is the sum of the rows down to 'not explained, in the tank', and used with what was used
    again is the sum of captured and the rows down to 'not explained, at the wash'.
    """
    words = source.words
    columns = (
        Column(words("water.what"), width=27),
        Column(words("water.amount"), "right", width=22),
        Column(words("water.how"), width=41),
        Column(words("water.reader"), width=13),
    )
    rows = [
        *_per_stop(source, job, "used"),
        *_also(source, job, "water.used_again", "used again", job.used_again),
        *_per_stop(source, job, "captured"),
        *_from_tank(source, job),
        _not_explained_in_tank(source, job),
        *_also(source, job, "water.led_away", "led away", job.led_away),
        *_escaped(source, job),
        _not_explained(source, job),
        _film(source, job),
    ]
    unit = words(f"unit.named.{source.unit}")
    return Table(columns, tuple(row.cells for row in rows), note=words("water.note", unit=unit))


def how_text(source: Source, how: How) -> str:
    """The method, and the line to redo it by hand."""
    method = source.words(f"method.{how.method}")
    said = how.method == "declared" and how.formula.endswith(f" {source.unit}")  # the amount beside it says it already
    if not how.formula or said or how.method == "none":
        return method
    if how.method == "declared":
        return source.words("how", method=method, formula=quantity_text(how.formula, source.words))
    return source.words("how", method=method, formula=source.words.formula(how.formula))


def reader_text(source: Source, how: How) -> str:
    """Who read it."""
    return source.name("person", how.reader) if how.reader else source.words("reader.unsaid")


def _per_stop(source: Source, job: JobFacts, which: str) -> Iterable[Row]:
    """One row a worked stop; a sum where there are several."""
    words = source.words
    worked = [stop for stop in job.stops if stop.worked]
    pick: Callable[[StopFacts], tuple[Known, bool, tuple[Beside, ...]]]
    if which == "used":
        pick = _used
    else:
        pick = _captured
    for stop in worked:
        known, divided, beside = pick(stop)
        label = water_label(words, which)
        if len(worked) > 1:
            label = words("water.of_stop", what=label, stop=stop_label(source, job, stop))
        whole = parts.intervals_of(source, stop) if which == "captured" else ()
        reader = whole[0].captured.how if whole else known.how
        row = _known_row(source, Cell(label), known, divided, _basis(source, stop, which), reader)
        if which == "captured" and stop.rained:
            row = replace(row, how=Cell(f"{row.how.text}; {words('water.rained')}"))
        yield row
        for one in beside:
            yield _beside_row(source, one)
    if which == "used":
        yield from (_at_site_row(source, one) for one in job.at_site)
    if len(worked) > 1:
        total = job.used if which == "used" else job.captured
        label = words("water.sum", what=water_label(words, which))
        yield _sum_row(source, label, total, job.mixed)


def _at_site_row(source: Source, use: SiteUse) -> Row:
    """What the meter at the site counted of several rigs, when it was read, and what it cannot say."""
    words, known = source.words, use.known
    label = Cell(words("water.at_site"))
    if isinstance(known.figure, Unknown):
        return Row(label, known_cell(known, source.unit, words), Cell(words.clause(known.figure.reason)))
    how = words("how", method=source.name("instrument", use.meter), formula=words.formula(known.how.formula))
    lines = [line for where in known.how.lines if (line := source.line(where)) is not None]
    looks = [str(line.get("at")) for line in lines if answered(line.get("at"))]
    read = [
        *(timeline.moment(at, words) for at in looks[:1]),
        *(timeline.near(at, looks[0], words) for at in looks[1:]),
    ]
    told = [how, *([words("at_site.read", when=", ".join(read))] if read else []), words("at_site.of_whom")]
    return Row(label, known_cell(known, source.unit, words), Cell("; ".join(told)), _reader(source, known))


def _used(stop: StopFacts) -> tuple[Known, bool, tuple[Beside, ...]]:
    return stop.used, stop.used_basis not in ("measured", "stated"), stop.used_beside


def _captured(stop: StopFacts) -> tuple[Known, bool, tuple[Beside, ...]]:
    return stop.captured, stop.divided, stop.captured_beside


def _basis(source: Source, stop: StopFacts, which: str) -> str:
    """How a share was found: its basis, and for captured water the reading that was divided."""
    words = source.words
    basis = stop.used_basis if which == "used" else stop.captured_basis
    text = words("basis.by", basis=words(f"basis.{basis}"))
    if which == "used":
        return text
    intervals = parts.intervals_of(source, stop)
    part = _part_of(source, stop, intervals[0]) if len(intervals) == 1 else ""
    return "; ".join([f"{text}{part}", *(_whole(source, interval) for interval in intervals)])


def _part_of(source: Source, stop: StopFacts, interval: Interval) -> str:
    """What the share of a stop is in proportion to, ', 74 of 503': how much of it was this stop's, of all stops'.

    The sum of the others is no figure that a page has otherwise: the meter may have run between stops too. '' where
    these two do not give the share: a stop worked in two intervals, or a share was raised to what a draw took.
    """
    pick = {"metered use": lambda one: one.used.figure, "area": lambda one: one.area}.get(interval.basis)
    if pick is None or interval.shares is None:
        return ""
    found = [in_hundredths(pick(source.stops[ref])) for ref in interval.stops]
    own, captured = in_hundredths(pick(stop)), in_hundredths(interval.captured.figure)
    whole = sum(one or 0 for one in found)
    if own is None or captured is None or None in found or not whole:
        return ""
    if abs(captured * own - interval.shares[stop.ref] * whole) > whole:  # by more than a hundredth, so it is not that
        return ""
    return source.words(
        "basis.part", part=number(to_hand(from_hundredths(own))), whole=number(to_hand(from_hundredths(whole)))
    )


def _whole(source: Source, interval: Interval) -> str:
    figure = figure_text(interval.captured.figure, source.unit, source.words)
    return source.words("basis.of", amount=figure, n=len(interval.stops))


def _known_row(source: Source, label: Cell, known: Known, divided: bool, basis: str, reader: How) -> Row:
    words = source.words
    figure = known.figure
    if isinstance(figure, Unknown):
        return Row(
            label,
            known_cell(known, source.unit, words),
            Cell(words.clause(figure.reason)),
            _reader(source, known),
        )
    if divided:
        return Row(label, known_cell(known, source.unit, words), Cell(basis), Cell(reader_text(source, reader)))
    return Row(label, known_cell(known, source.unit, words), Cell(how_text(source, known.how)), _reader(source, known))


def _reader(source: Source, known: Known) -> Cell:
    return Cell(reader_text(source, known.how))


def _beside_row(source: Source, beside: Beside) -> Row:
    words = source.words
    compared = words("beside.en", en=beside.en) if beside.en else words("beside.cannot_tell")
    how = f"{how_text(source, beside.known.how)}; {compared}"
    label = words("water.beside")
    return Row(Cell(label), known_cell(beside.known, source.unit, words), Cell(how), _reader(source, beside.known))


def _sum_row(source: Source, label: str, total: Figure, mixed: str) -> Row:
    words = source.words
    if isinstance(total, Unknown):
        how = words.clause(total.reason)
    else:
        read = total.expanded() is not None  # every part of it, on whichever rig: then the sum has a ± like any other
        how = words("sum.mixed", why=words.clause(mixed)) if mixed and not read else words("method.sum")
    return Row(Cell(label, tone="strong"), figure_cell(total, source.unit, words), Cell(how))


_ALWAYS: Final = {"handed over": parts.unknown_handover, "aboard": parts.unknown_aboard}
"""Ways that have their row at nothing too, with what says why it is not known how much went there."""
_FROM_TANK: Final = ("handed over", "used again", "solids", "escaped", ASTRAY, "aboard")


def _from_tank(source: Source, job: JobFacts) -> Iterable[Row]:
    """Every way out of the tank, as sums, and what is left in it; the table above has them one by one."""
    words = source.words
    ends = parts.ends(source, job.stops)
    unknown = parts.untold(source, job.stops)
    for way in _FROM_TANK:
        found = [end for end in ends if end.way == way]
        label = Cell(words(f"way.{way}"), tone="strong" if way == "escaped" else "plain")
        why = next((one.why for one in unknown if one.draw.way == way), "")
        if not why and way in _ALWAYS:
            why = _ALWAYS[way](source, job.stops)
        if why:
            yield Row(label, Cell(words.unknown("not known"), tone="muted"), Cell(words.clause(why)))
            continue
        if not found and way not in _ALWAYS:
            continue
        total = parts.sum_of(found)
        if isinstance(total, int):
            yield Row(label, share_cell(total, source.unit, words), Cell(words("how.mixed")))
        elif not found:
            yield Row(label, Cell(f"0 {source.unit}", "0", source.unit), Cell(words(f"how.none.{way}")))
        else:
            whole = found[0].whole if len(found) == 1 else None
            how, reader = (whole.how, reader_text(source, whole.how)) if whole else (total.how, "–")
            yield Row(
                label,
                known_cell(Known(total.figure, how), source.unit, words),
                Cell(how_text(source, how)),
                Cell(reader),
            )


def _also(source: Source, job: JobFacts, key: str, way: Aside, total: Figure) -> Iterable[Row]:
    """Rows for what the water also did, one a reading and their sum; none where it did not."""
    if isinstance(total, Volume) and total.best == 0:
        return
    if isinstance(total, Unknown) and total.kind == "not applicable":
        return
    yield from _aside(source, job, Cell(source.words(key)), way, total)


def _escaped(source: Source, job: JobFacts) -> Iterable[Row]:
    """What got away before it was captured is said openly: an amount, or that it is not known."""
    if parts.escapes_before_capture(source, job.stops):
        yield from _aside(source, job, Cell(source.words("water.escaped"), tone="strong"), "got away", job.escaped)


def _aside(source: Source, job: JobFacts, label: Cell, way: Aside, total: Figure) -> Iterable[Row]:
    words = source.words
    worked = [stop for stop in job.stops if stop.worked]
    read = [(stop, known) for stop in worked for known in stop.readings.get(way, ())]
    if len(read) == 1:
        yield _known_row(source, label, read[0][1], False, "", read[0][1].how)
        return
    for stop, known in read:
        of_stop = words("water.of_stop", what=label.text, stop=stop_label(source, job, stop)) if len(worked) > 1 else ""
        yield _known_row(source, replace(label, text=of_stop or label.text), known, False, "", known.how)
    how = words.clause(total.reason) if isinstance(total, Unknown) else words("method.sum")
    label = replace(label, text=words("water.sum", what=label.text)) if read else label
    yield Row(label, figure_cell(total, source.unit, words), Cell(how))


def _film(source: Source, job: JobFacts) -> Row:
    """The range beside 'not explained'; without one area the answer that stands in its place."""
    words, label = source.words, Cell(source.words("water.film"))
    areas = [stop.area for stop in job.stops if stop.worked]
    area = total_of(areas, skip_not_applicable=True)
    if not areas:
        return Row(label, Cell(words.unknown("not applicable"), tone="muted"), Cell(words("film.no_work")))
    if isinstance(area, Unknown):
        answer = words.unknown(area.kind)
        return Row(label, Cell(answer, tone="muted"), Cell(words("film.area", answer=answer)))
    if job.film is None:
        return Row(label, Cell(words.unknown("not known"), tone="muted"), Cell(words("film.no_area")))
    low, high = (number(Decimal(end).quantize(Decimal(1))) for end in job.film)
    text = words("film.range", low=low, high=high, unit=source.unit)
    return Row(label, Cell(text), Cell(words("film.how")))


def _not_explained(source: Source, job: JobFacts) -> Row:
    words, figure = source.words, job.not_explained
    terms = (
        ("used", job.used),
        ("used_again", job.used_again),
        ("captured", job.captured),
        ("led_away", job.led_away),
        ("escaped", job.escaped),
    )
    how = (
        words.clause(figure.reason) if isinstance(figure, Unknown) else _difference(words, terms[:2], terms[2:], figure)
    )
    return Row(Cell(words("water.not explained")), figure_cell(figure, source.unit, words), Cell(how))


def _not_explained_in_tank(source: Source, job: JobFacts) -> Row:
    """What two looks at the tank leave over of this job's water; it is no part of what the wash leaves over."""
    words = source.words
    rest = parts.rest_in_tank(source, job)
    if isinstance(rest, int):
        cell, how = share_cell(rest, source.unit, words), words("how.mixed")
    else:
        cell = figure_cell(rest, source.unit, words)
        how = words.clause(rest.reason) if isinstance(rest, Unknown) else _tank_difference(source, job, rest)
    return Row(Cell(words("water.not explained in tank")), cell, Cell(how))


def _tank_difference(source: Source, job: JobFacts, rest: Figure) -> str:
    """The line of loads that were this job's alone."""
    loads = parts.tank_loads(source, [stop for stop in job.stops if stop.worked])
    if not loads:
        return source.words("how.none.in_tank")
    left = total_of(draw.known.figure for load in loads for draw in load.draws if draw.way != "moved")
    captured = total_of(load.captured.figure for load in loads)
    aboard = total_of(load.closing for load in loads)
    return _difference(source.words, (("captured", captured),), (("left", left), ("aboard", aboard)), rest)


Terms = tuple[tuple[str, Figure], ...]


def _difference(words: Words, plus: Terms, less: Terms, result: Figure) -> str:
    """A difference to redo by hand: its terms by name, then in figures; terms of zero or no figure are left out."""
    named, figures = "", ""
    for sign, terms in (("+", plus), ("−", less)):
        for name, figure in terms:
            if isinstance(figure, Unknown) or not figure.best:
                continue
            named += f" {sign} {words(f'term.{name}')}"
            figures += f" {sign} {plain(figure.best)}"
    if isinstance(result, Unknown) or result.best is None or not named:
        return words("method.sum")
    return words(
        "how",
        method=named.removeprefix(" + ").strip(),
        formula=f"{figures.removeprefix(' + ').strip()} = {plain(result.best)}",
    )


def water_label(words: Words, which: str) -> str:
    """'Used' is the field's own label; 'captured' is what the calculator finds."""
    return words.label("run", "used") if which == "used" else words("water.captured")
