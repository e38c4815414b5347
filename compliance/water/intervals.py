"""What each tank took between two looks at its level.

    captured = level after - level before + all that was drawn - all else that was put in

An amount that nobody measured is worked out from the levels when it is the only one missing, and never otherwise.
Where levels do not tell what was captured, the stops' own figures do, then the run's own; measured before stated.
All other methods stand beside the one that governs, and nothing is averaged.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from compliance.water.compare import Agreement, agreement
from compliance.water.results import Beside, How, Known, Line
from compliance.water.timeline import Draw, Look, Put, RunEnd, Stop, Timeline, Work
from compliance.water.volume import (
    CONTEXT,
    HUNDREDTH,
    Figure,
    Unknown,
    Volume,
    exact,
    minus,
    number,
    plus,
    shown,
    total_of,
)

BEGINNING = Line("", "")
"""Where a tank's level stands before its first record."""


@dataclass
class Span:
    """An interval while it is being worked out. events are those between the two looks, in order.

    after: None while it is still open. captured is None where there was no work.
    """

    tank: str
    before: Figure
    opened: Line
    opening_formula: str
    events: list[Work | Draw | Put] = field(default_factory=list)
    after: Look | None = None
    level_after: Figure | None = None
    closed: Line = BEGINNING
    captured: Known | None = None
    beside: tuple[Beside, ...] = ()
    unexplained: Figure = field(default_factory=lambda: exact(Decimal(0)))
    own: bool = False

    @property
    def works(self) -> list[Work]:
        return [e for e in self.events if isinstance(e, Work)]

    @property
    def draws(self) -> list[Draw]:
        return [e for e in self.events if isinstance(e, Draw)]

    @property
    def puts(self) -> list[Put]:
        return [e for e in self.events if isinstance(e, Put)]


def spans(timeline: Timeline, tank: str) -> list[Span]:
    """The intervals of one tank in order; the last one may be open."""
    worker = _Tank(timeline, tank)
    for event in timeline.events:
        if isinstance(event, RunEnd):
            worker.run_ends(event)
        elif event.tank == tank:
            if isinstance(event, Look):
                worker.look(event)
            else:
                worker.span.events.append(event)
    return worker.finish()


class _Tank:
    """Follows one tank along the rig's events."""

    def __init__(self, timeline: Timeline, tank: str) -> None:
        self.timeline = timeline
        self.tank = tank
        self.done: list[Span] = []
        unknown = Unknown("the tank's level before its first record is not recorded", "not recorded yet")
        self.span = Span(tank, unknown, BEGINNING, "")

    def look(self, look: Look) -> None:
        if isinstance(look.level, Unknown):
            return  # a mark that was not read bounds nothing
        self.span.after = look
        self._close(look.level, look.at, look.how.formula)

    def run_ends(self, end: RunEnd) -> None:
        """A run with its own figures closes its interval, so that the night's account does not wait for the next."""
        here = {work.part.stop for work in self.span.works}
        if any(stop.ref in here for stop in self.timeline.stops_of.get(end.run.record, ())):
            self._settle(closing=None)
            captured = self.span.captured
            if captured is not None and isinstance(captured.figure, Volume):
                level = _level_after(self.span)
                self._close(level, Line(end.run.record, ""), "", settled=True)
            else:
                self.span.captured, self.span.beside, self.span.own = None, (), False

    def finish(self) -> list[Span]:
        if self.span.events:
            self._settle(closing=None)
            self.span.level_after = _level_after(self.span)
            self.done.append(self.span)
        return self.done

    def _close(self, level: Figure, at: Line, formula: str, *, settled: bool = False) -> None:
        if not settled:
            self._settle(closing=level)
        self.span.level_after, self.span.closed = level, at
        self.done.append(self.span)
        self.span = Span(self.tank, level, at, formula)

    def _settle(self, closing: Figure | None) -> None:
        """Find captured, and the one missing draw if the levels tell it."""
        span = self.span
        if not span.works:
            _solve_draw(span, exact(Decimal(0)), closing)
            span.unexplained = _left_over(span, closing)
            return
        ways = [way for way in (_by_levels(span, closing), self._by_stops(), self._by_run()) if way is not None]
        known = [way for way in ways if isinstance(way.figure, Volume)]
        known.sort(key=lambda way: way.how.method != "levels" and way.figure.expanded() is None)  # type: ignore[union-attr]
        if not known:
            span.captured = ways[0] if ways else _nothing_known(span)
            return
        span.captured = known[0]
        span.own = known[0].how.method in ("sum", "own")
        span.beside = tuple(_beside(known[0], other) for other in (*known[1:], *self._also()))
        assert isinstance(known[0].figure, Volume)
        _solve_draw(span, known[0].figure, closing)

    def _by_stops(self) -> Known | None:
        """The sum of the stops' own figures, when every one has its own."""
        own = [work.part.own_captured for work in self.span.works]
        figure = total_of(k.figure for k in own)
        if isinstance(figure, Unknown):
            return None
        if all(k.how.method == "mark" for k in own) and not isinstance(self.span.before, Unknown):
            return None  # these marks are the very levels that bound the interval
        if len(own) == 1:
            return own[0]
        lines = tuple(line for k in own for line in k.how.lines)
        formula = " + ".join(_plain(k.figure) for k in own) + f" = {_plain(figure)}"
        return Known(figure, How("sum", formula, own[0].how.reader, "", lines))

    def _by_run(self) -> Known | None:
        """The run's own figure, when this interval holds all of its stops and nobody else's."""
        end = self._covering_run()
        return end.captured if end is not None and isinstance(end.captured.figure, Volume) else None

    def _also(self) -> list[Known]:
        end = self._covering_run()
        return [] if end is None or end.captured_also is None else [end.captured_also]

    def _covering_run(self) -> RunEnd | None:
        here = {work.part.stop for work in self.span.works}
        run = self.timeline.stops[next(iter(here))].run
        of_run = [stop for stop in self.timeline.stops_of[run.record] if stop.parts]
        lines = {work.part.at for work in self.span.works}
        if here != {stop.ref for stop in of_run} or lines != {part.at for stop in of_run for part in stop.parts}:
            return None
        return self.timeline.end_of.get(run.record)


def _by_levels(span: Span, closing: Figure | None) -> Known | None:
    if closing is None:
        return None
    out = [draw.known.figure for draw in span.draws]
    put = [p.known.figure for p in span.puts if p.owner == "" or isinstance(p.known.figure, Volume)]
    figure = minus(plus(minus(closing, span.before), total_of(out)), total_of(put))
    if isinstance(figure, Unknown):
        return Known(figure, How("levels", "", "", "", (span.opened,)))
    terms = f"{_plain(closing)} - {_plain(span.before)}"
    terms += "".join(f" + {_plain(f)}" for f in out) + "".join(f" - {_plain(f)}" for f in put)
    after = span.after
    lines = (span.opened, *(d.at for d in span.draws), *((after.at,) if after else ()))
    reader = after.how.reader if after else ""
    return Known(figure, How("levels", f"{terms} = {_plain(figure)}", reader, after.how.at if after else "", lines))


def _solve_draw(span: Span, captured: Volume, closing: Figure | None) -> None:
    """Work out the one draw whose amount nobody measured, from two levels and all the rest."""
    missing = [d for d in span.draws if isinstance(d.known.figure, Unknown)]
    if len(missing) != 1 or closing is None:
        return
    others = [d.known.figure for d in span.draws if d is not missing[0]]
    put = [p.known.figure for p in span.puts if isinstance(p.known.figure, Volume)]
    figure = minus(total_of([span.before, captured, *put]), total_of([*others, closing]))
    if isinstance(figure, Unknown) or figure.best is None:
        return
    terms = " + ".join(_plain(f) for f in (span.before, *([captured] if span.works else []), *put))
    terms += "".join(f" - {_plain(f)}" for f in (*others, closing))
    draw = missing[0]
    reader, at = draw.known.how.reader, draw.known.how.at
    lines = (span.opened, draw.at)
    draw.known = Known(figure, How("levels", f"{terms} = {_plain(figure)}", reader, at, lines))


def _left_over(span: Span, closing: Figure | None) -> Figure:
    """What two looks differ by when nobody worked in between."""
    if closing is None:
        return exact(Decimal(0))
    if span.opened == BEGINNING:
        return exact(Decimal(0))
    put = [p.known.figure for p in span.puts if p.owner == "" or isinstance(p.known.figure, Volume)]
    out = [d.known.figure for d in span.draws]
    return minus(total_of([span.before, *put]), total_of([*out, closing]))


def _level_after(span: Span) -> Figure:
    """The level at the end of an interval that no look closed."""
    captured: Figure = exact(Decimal(0)) if span.captured is None else span.captured.figure
    if not span.works:
        captured = exact(Decimal(0))
    put = [p.known.figure for p in span.puts if p.owner == "" or isinstance(p.known.figure, Volume)]
    return minus(total_of([span.before, captured, *put]), total_of([d.known.figure for d in span.draws]))


def _nothing_known(span: Span) -> Known:
    own = [work.part.own_captured.figure for work in span.works]
    figure = total_of(own)
    assert isinstance(figure, Unknown)
    lines = tuple(work.part.at for work in span.works)
    return Known(Unknown("no levels and no figure of its own", figure.kind), How("none", "", "", "", lines))


def _beside(governs: Known, other: Known) -> Beside:
    if not isinstance(governs.figure, Volume) or not isinstance(other.figure, Volume):
        return Beside(other, None)
    found = agreement(other.figure, governs.figure)
    return Beside(other, str(CONTEXT.quantize(found.e_n, HUNDREDTH)) if isinstance(found, Agreement) else None)


beside = _beside
"""A second method next to the one that governs, with E_n or 'cannot tell'."""


def _plain(figure: Figure) -> str:
    if isinstance(figure, Unknown):
        return figure.kind
    best = figure.best
    return number(CONTEXT.quantize(best, HUNDREDTH)) if best is not None else f"({shown(figure).text})"


def stops_in(span: Span, stops: dict[str, Stop]) -> list[Stop]:
    """The worked stops of an interval, once each, in order."""
    return [stops[ref] for ref in dict.fromkeys(work.part.stop for work in span.works)]
