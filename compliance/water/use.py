"""How much fresh water each stop drew, and how that is known.

A stop's own figure governs for the stop, the run's own for the run. A supply meter that was read around several
stops gives their total; it is divided on area, time or equally, and says so. Water used again is put on the stop
that follows it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from compliance.records.answer import without_value
from compliance.records.quantity import stored
from compliance.records.state import RunView
from compliance.water.intervals import beside
from compliance.water.methods import Gauges, Who
from compliance.water.results import Basis, Beside, How, Known, Line
from compliance.water.shares import divide
from compliance.water.timeline import AGAIN, Draw, RunEnd, Stop, Timeline
from compliance.water.volume import (
    Figure,
    Unknown,
    Volume,
    exact,
    from_hundredths,
    hundredths,
    minus,
    total_of,
)

DIVIDED = "divided"
"""The source that a worked-out share names in place of a ±."""


@dataclass
class Use:
    """What a rig's runs used. by_stop: stop ref -> figure and basis; by_run: record -> figure and others beside."""

    by_stop: dict[str, tuple[Known, Basis]] = field(default_factory=dict)
    by_run: dict[str, tuple[Known, tuple[Beside, ...]]] = field(default_factory=dict)
    again: dict[str, Figure] = field(default_factory=dict)
    again_of_run: dict[str, Figure] = field(default_factory=dict)
    metered: dict[str, Fraction] = field(default_factory=dict)


@dataclass(frozen=True)
class _Span:
    """What a supply meter says went through between two readings, and the stops in between."""

    known: Known
    stops: tuple[str, ...]


def use(timeline: Timeline, gauges: Gauges) -> Use:
    """Used and used again, for every stop and run of a rig."""
    found = Use()
    supply = _supply_spans(timeline, gauges)
    for run in timeline.runs:
        stops = [stop for stop in timeline.stops_of.get(run.record, []) if stop.parts]
        spans = [span for span in supply if any(stop.ref in span.stops for stop in stops)]
        _stops(found, run, stops, spans, timeline, gauges)
        _run(found, run, stops, spans, gauges)
    _again(found, timeline)
    return found


def _supply_spans(timeline: Timeline, gauges: Gauges) -> list[_Span]:
    """Intervals of each supply meter, over the nights too: what it moved while nobody worked belongs to no stop."""
    spans: list[_Span] = []
    last: dict[str, tuple[Decimal, Line]] = {}
    since: dict[str, list[str]] = {}
    for run in timeline.runs:
        by_line = {line.n: stop for stop in timeline.stops_of.get(run.record, []) for line in stop.lines}
        for line in run.lines:
            stop = by_line.get(line.n)
            if stop is not None and stop.parts:
                for refs in since.values():
                    refs.append(stop.ref)
            if line.kind != "reading":
                continue
            entry = gauges.registers.find("instrument", line.get("of"))
            if entry is None or entry.get("measures") != "supply" or without_value(line.get("shows")) is not None:
                continue
            key = gauges.registers.key("instrument", str(line.get("of")))
            at = Line(run.record, line.n)
            shows = stored(str(line.get("shows"))).low or Decimal(0)
            if key in last and since[key]:
                figure, formula = gauges.between(str(entry["name"]), last[key][0], shows, at)
                reader = str(line.get("by") or run.get("lead") or "")
                how = How("meter", formula, reader, str(line.get("at") or ""), (last[key][1], at))
                spans.append(_Span(Known(figure, how), tuple(dict.fromkeys(since[key]))))
            last[key], since[key] = (shows, at), []
    return spans


def _stops(
    found: Use, run: RunView, stops: Sequence[Stop], spans: Sequence[_Span], timeline: Timeline, gauges: Gauges
) -> None:
    for stop in stops:
        known = _own(stop)
        if isinstance(known.figure, Volume):
            found.by_stop[stop.ref] = (known, _plain(known.figure))
            if known.how.method not in ("declared", "ticket", "sum") and known.figure.best is not None:
                found.metered[stop.ref] = Fraction(known.figure.best)
        else:
            found.by_stop[stop.ref] = (known, "not divided")
    for span in spans:
        inside = [timeline.stops[ref] for ref in span.stops if timeline.stops[ref].run.record == run.record]
        if len(inside) == len(span.stops):
            _share(found, span.known, inside)
    run_known = _run_own(run, gauges)
    if isinstance(run_known.figure, Volume) and stops:
        _share(found, run_known, stops)
    if run.get("used") is not None:
        _say_why_not(found, run_known, stops)


def _say_why_not(found: Use, whole: Known, stops: Sequence[Stop]) -> None:
    """A stop of which nothing was recorded takes over why its run has no figure to divide."""
    for stop in stops:
        known, basis = found.by_stop[stop.ref]
        if isinstance(known.figure, Unknown) and known.figure.kind == "not recorded yet":
            kind: Figure = Unknown("the run's total cannot be divided", "not known")
            reason = whole.figure if isinstance(whole.figure, Unknown) else kind
            found.by_stop[stop.ref] = (Known(reason, known.how), basis)


def _share(found: Use, whole: Known, stops: Sequence[Stop]) -> None:
    """Give the stops without a figure of their own what the others leave of a total."""
    figures = {stop.ref: found.by_stop[stop.ref][0].figure for stop in stops}
    open_stops = [s for s in stops if _wants_a_share(figures[s.ref])]
    if not open_stops:
        return
    taken = [f for f in figures.values() if isinstance(f, Volume)]
    rest = minus(whole.figure, total_of(taken))
    if isinstance(rest, Unknown) or rest.best is None or rest.best < 0:
        return
    if len(open_stops) == 1:
        known = whole if not taken else Known(rest, How("sum", "what the other stops leave", lines=whole.how.lines))
        found.by_stop[open_stops[0].ref] = (known, _plain(rest))
        if whole.how.method not in ("declared", "ticket"):
            found.metered[open_stops[0].ref] = Fraction(rest.best)
        return
    basis, weights = _basis(open_stops)
    for stop, share in zip(open_stops, divide(hundredths(rest.best), weights), strict=True):
        amount = from_hundredths(share)
        figure = Volume(amount, amount, (), frozenset({DIVIDED}))
        how = How("worked out", f"a share of {rest.best} by {basis}", whole.how.reader, "", whole.how.lines)
        found.by_stop[stop.ref] = (Known(figure, how), basis)


def _wants_a_share(figure: Figure) -> bool:
    return isinstance(figure, Unknown) and figure.kind != "not applicable"


def _basis(stops: Sequence[Stop]) -> tuple[Basis, list[Fraction]]:
    areas = [_total([_exact(part.area) for part in stop.parts]) for stop in stops]
    if all(area is not None for area in areas) and any(areas):
        return "area", [area for area in areas if area is not None]
    times = [_total([part.minutes for part in stop.parts]) for stop in stops]
    if all(time is not None for time in times) and any(times):
        return "time", [time for time in times if time is not None]
    return "equal", [Fraction(1)] * len(stops)


def _total(parts: Sequence[Fraction | None]) -> Fraction | None:
    known = [part for part in parts if part is not None]
    return sum(known, Fraction(0)) if len(known) == len(parts) else None


def _exact(figure: Figure) -> Fraction | None:
    return Fraction(figure.best) if isinstance(figure, Volume) and figure.best is not None else None


def _own(stop: Stop) -> Known:
    """What the stop itself says; a continued stop adds up its lines."""
    if len(stop.parts) == 1:
        return stop.parts[0].own_used
    known = [part.own_used for part in stop.parts]
    figure = total_of(k.figure for k in known)
    lines = tuple(line for k in known for line in k.how.lines)
    return Known(figure, How("sum", " + ".join(k.how.formula for k in known), known[0].how.reader, "", lines))


def _plain(figure: Volume) -> Basis:
    return "measured" if figure.expanded() is not None else "stated"


def _run_own(run: RunView, gauges: Gauges, name: str = "used") -> Known:
    who = Who(str(run.get("lead") or ""), str(run.get("end") or ""))
    return gauges.known(run.get(name), Line(run.record, ""), who, what="used")


def _run(found: Use, run: RunView, stops: Sequence[Stop], spans: Sequence[_Span], gauges: Gauges) -> None:
    """The run's own figure governs; else its meter, else the sum of its stops. The others stand beside."""
    refs = {stop.ref for stop in stops}
    ways: list[Known] = []
    own = _run_own(run, gauges)
    if isinstance(own.figure, Volume):
        ways.append(own)
    covered = {ref for span in spans for ref in span.stops}
    if spans and covered == refs:
        figure = total_of(span.known.figure for span in spans)
        if isinstance(figure, Volume):
            ways.append(_metered_total(figure, spans))
    each = [_own(stop) for stop in stops]
    total = total_of(k.figure for k in each)
    if each and isinstance(total, Volume):
        ways.append(_sum(total, each))
    if not stops and run.get("used") is None:
        ways.append(Known(exact(Decimal(0)), How("sum", "no stop was worked", lines=(Line(run.record, ""),))))
    if run.get("used_also") is not None:
        ways.append(_run_own(run, gauges, "used_also"))
    if not ways:
        kind = [k.figure for k in (own, *each) if isinstance(k.figure, Unknown)]
        found.by_run[run.record] = (Known(total_of(kind), own.how) if kind else own, ())
        return
    found.by_run[run.record] = (ways[0], tuple(beside(ways[0], other) for other in ways[1:]))


def _metered_total(figure: Volume, spans: Sequence[_Span]) -> Known:
    if len(spans) == 1:
        return spans[0].known
    lines = tuple(line for span in spans for line in span.known.how.lines)
    formula = "; ".join(span.known.how.formula for span in spans)
    return Known(figure, How("meter", formula, spans[-1].known.how.reader, spans[-1].known.how.at, lines))


def _sum(figure: Volume, each: Sequence[Known]) -> Known:
    if len(each) == 1:
        return each[0]
    lines = tuple(line for known in each for line in known.how.lines)
    formula = " + ".join(str(k.figure.best) for k in each if isinstance(k.figure, Volume))
    return Known(figure, How("sum", formula, each[0].how.reader, "", lines))


def _again(found: Use, timeline: Timeline) -> None:
    """Water used again belongs to the stop that follows in the run, else to the last one."""
    zero: Figure = exact(Decimal(0))
    for stop in timeline.stops.values():
        found.again[stop.ref] = zero
    draws: list[Draw] = []
    for event in timeline.events:
        if isinstance(event, Draw) and event.way == AGAIN:
            draws.append(event)
        if isinstance(event, RunEnd):
            run = event.run
            found.again_of_run[run.record] = total_of(d.known.figure for d in draws)
            for draw in draws:
                follows = _following(run, draw.at.line, timeline.stops_of.get(run.record, []))
                if follows is not None:
                    found.again[follows.ref] = total_of([found.again[follows.ref], draw.known.figure])
            draws = []


def _following(run: RunView, n: str, stops: Sequence[Stop]) -> Stop | None:
    order = {line.n: i for i, line in enumerate(run.lines)}
    worked = sorted((order[part.at.line], stop.number) for stop in stops for part in stop.parts)
    after = [number for i, number in worked if i > order[n]]
    number = after[0] if after else (worked[-1][1] if worked else 0)
    return next((stop for stop in stops if stop.number == number), None)
