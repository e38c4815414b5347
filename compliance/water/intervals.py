"""What each tank took between two looks at its level.

    captured = level after - level before + all that was drawn - all else that was put in

An amount that nobody measured is worked out from the levels when it is the only one missing, and never otherwise.
Where levels do not tell what was captured, the stops' own figures do, then the run's own; measured before stated.
All other methods stand beside the one that governs, and nothing is averaged.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from compliance.records.answer import NOT_YET
from compliance.water.compare import Agreement, agreement
from compliance.water.results import Beside, How, Known, Line
from compliance.water.shown import number, shown
from compliance.water.timeline import Draw, Look, Put, RunEnd, Timeline, Work
from compliance.water.volume import (
    CONTEXT,
    HUNDREDTH,
    NOTHING,
    ZERO,
    Figure,
    Unknown,
    Volume,
    difference,
    minus,
    total_of,
)

BEGINNING = Line("", "")
"""Where a tank's level stands before its first record."""

NEVER_READ = Unknown("the tank's level before its first record is not recorded", "not recorded yet")
BELOW_EMPTY = Unknown("more is said to have left the tank than was in it", "not known")

_ROUNDED = Decimal("0.05")
"""How far sums of figures kept in hundredths may lie apart, in units of the book."""
_NOTHING_LEFT = Decimal("1e-9")
"""What arithmetic in 34 digits may leave of a doubt that cancels, as a part of it."""


@dataclass(slots=True)
class Span:
    """An interval while it is being worked out. works, draws and puts are its events by kind.

    after: the look that closes it, None while it is open or where the end of a run closes it. captured is None where
    there was no work. own: the stops' own figures govern, so that there is nothing to divide. mark: what was read of
    the level before, '' where no look opened it.
    """

    tank: str
    before: Figure
    opened: Line
    events: list[Work | Draw | Put] = field(default_factory=list)
    works: list[Work] = field(default_factory=list)
    draws: list[Draw] = field(default_factory=list)
    puts: list[Put] = field(default_factory=list)
    after: Look | None = None
    level_after: Figure | None = None
    closed: Line = BEGINNING
    captured: Known | None = None
    beside: tuple[Beside, ...] = ()
    unexplained: Figure = NOTHING
    own: bool = False
    mark: str = ""

    def add(self, event: Work | Draw | Put) -> None:
        """Put an event behind those that are in it, and with its kind."""
        self.events.append(event)
        if isinstance(event, Work):
            self.works.append(event)
        elif isinstance(event, Draw):
            self.draws.append(event)
        else:
            self.puts.append(event)


def spans(timeline: Timeline) -> dict[str, list[Span]]:
    """The intervals of each tank in order; the last one may be open.

    What was moved from tank to tank may be told by the levels of either: as long as one more amount is found, all
    tanks are looked at again. What a tank's own levels told is forgotten before, so that no figure supports itself.
    """
    moves = [event for event in timeline.events if isinstance(event, Put) and event.source is not None]
    told: dict[str, list[tuple[Draw | Put, Known]]] = {}
    found: dict[str, list[Span]] = {}
    unread = _unread(moves)
    while True:
        for tank in timeline.tanks:
            for event, known in told.get(tank, ()):
                event.known = known
            found[tank], told[tank] = _follow(timeline, tank)
        still = _unread(moves)
        if still >= unread:
            return found
        unread = still


def _unread(moves: Sequence[Put]) -> int:
    return sum(isinstance(put.known.figure, Unknown) for put in moves)


def _follow(timeline: Timeline, tank: str) -> tuple[list[Span], list[tuple[Draw | Put, Known]]]:
    """The intervals of one tank, and what its levels told with what was known of it before."""
    worker = _Tank(timeline, tank)
    for event in timeline.events:
        if isinstance(event, RunEnd):
            worker.run_ends(event)
        elif event.tank == tank:
            if isinstance(event, Look):
                worker.look(event)
            else:
                worker.add(event)
    return worker.finish(), worker.solved


class _Tank:
    """Follows one tank along the events.

    told: a run ended whose figures tell what was captured, but not what the tank holds. A look that comes next may
    tell more; anything else, and the interval ended with that run.
    """

    def __init__(self, timeline: Timeline, tank: str) -> None:
        self.timeline = timeline
        self.done: list[Span] = []
        self.solved: list[tuple[Draw | Put, Known]] = []
        self.told: Line | None = None
        seen = timeline.before.empties.get(tank)
        self.span = (
            Span(tank, NEVER_READ, BEGINNING) if seen is None else Span(tank, seen.level, seen.at, mark=_mark(seen))
        )

    def add(self, event: Work | Draw | Put) -> None:
        if self.told is not None:
            self._end_open(self.told)
        self.span.add(event)

    def look(self, look: Look) -> None:
        self._settle(look)
        self.span.after = look
        self._close(look.level, look.at, _mark(look))

    def run_ends(self, end: RunEnd) -> None:
        """A run with its own figures closes its interval, so that the night's account does not wait for the next."""
        works = self.span.works
        if not self.span.events or (works and works[-1].part.at.record != end.run.record):
            return
        self._settle(None)
        captured = NOTHING if self.span.captured is None else self.span.captured.figure
        if isinstance(captured, Unknown):
            return
        self.told = Line(end.run.record, "")
        if _is_figure(captured) and _is_figure(_level_after(self.span)):
            self._end_open(self.told)

    def finish(self) -> list[Span]:
        if self.span.events:
            self._settle(None)
            self.span.level_after = _level_after(self.span)
            self.done.append(self.span)
        return self.done

    def _end_open(self, at: Line) -> None:
        """Close the interval where no look does."""
        self._settle(None)
        self._close(_level_after(self.span), at)

    def _close(self, level: Figure, at: Line, mark: str = "") -> None:
        self.span.level_after, self.span.closed, self.told = level, at, None
        self.done.append(self.span)
        self.span = Span(self.span.tank, level, at, mark=mark)

    def _settle(self, look: Look | None) -> None:
        """Find captured, and the one missing amount if the levels tell it."""
        span = self.span
        if not span.works:
            if look is not None:
                self._solve(NOTHING, look)
                span.unexplained = _left_over(span, look.level)
            return
        ways = self._ways(look)
        known = sorted((way for way in ways if isinstance(way.figure, Volume)), key=_rank)
        if not known:
            said = self._nothing_known()
            span.captured = ways[0] if ways and (_is_silent(said) or not _is_silent(ways[0])) else said
            span.beside, span.own = (), False
            return
        span.captured = known[0]
        span.own = known[0].how.method == "sum"
        span.beside = second_methods(known[0], (*known[1:], *self._also()))
        if look is not None:
            self._solve(known[0].figure, look)

    def _solve(self, captured: Figure, look: Look) -> None:
        solved = _missing(self.span, captured, look)
        if solved is not None:
            event, known = solved
            self.solved.append((event, event.known))
            event.known = known

    def _ways(self, look: Look | None) -> list[Known]:
        """What each method says of the captured water, the one by levels first even when it says nothing."""
        found = [None if look is None else _by_levels(self.span, look), self._by_stops(), self._by_run()]
        return [way for way in found if way is not None]

    def _by_stops(self) -> Known | None:
        """The sum of the stops' own figures, when every one has its own."""
        own = [work.part.own_captured for work in self.span.works]
        if any(isinstance(k.figure, Unknown) for k in own):
            return None
        if all(k.how.method == "mark" for k in own) and not isinstance(self.span.before, Unknown):
            return None  # these marks are the very levels that bound the interval
        return own[0] if len(own) == 1 else sum_of(own)

    def _by_run(self) -> Known | None:
        """The run's own figure, when this interval holds all of its stops and nobody else's."""
        end = self._covering_run()
        return end.captured if end is not None and isinstance(end.captured.figure, Volume) else None

    def _nothing_known(self) -> Known:
        """Why there is no figure: what the stops answer, and where one is silent, what its run does."""
        works = self.span.works
        own = [work.part.own_captured for work in works]
        of_run = [self.timeline.end_of[work.part.at.record].captured.figure for work in works]
        answered = all(_is_silent(known) and isinstance(said, Unknown) for known, said in zip(own, of_run, strict=True))
        figure = total_of(of_run if answered else (known.figure for known in own))
        kind = figure.kind if isinstance(figure, Unknown) else "not known"
        why = figure.reason if answered and isinstance(figure, Unknown) else "no levels and no figure of its own"
        return Known(Unknown(why, kind), How("none", lines=tuple(work.part.at for work in works)))

    def _also(self) -> list[Known]:
        end = self._covering_run()
        return [] if end is None or end.captured_also is None else [end.captured_also]

    def _covering_run(self) -> RunEnd | None:
        works = self.span.works
        record = works[0].part.at.record
        recovering = [part.at for stop in self.timeline.stops_of[record] if stop.planned for part in stop.parts]
        return self.timeline.end_of[record] if {work.part.at for work in works} == set(recovering) else None


def _mark(look: Look) -> str:
    """What was read, where a reader has to turn it into a volume; a volume that was read says so itself."""
    return f" ({look.shows})" if look.how.formula and look.how.formula != look.shows else ""


def _is_figure(figure: Figure) -> bool:
    return isinstance(figure, Volume) and figure.best is not None


def _is_silent(known: Known) -> bool:
    return isinstance(known.figure, Unknown) and known.figure.kind == NOT_YET


def _rank(way: Known) -> int:
    """Levels govern, then measured figures, then stated ones; a bound only where there is no figure."""
    assert isinstance(way.figure, Volume)
    if way.figure.best is None:
        return 2
    return int(way.how.method != "levels" and bool(way.figure.unstated))


def _by_levels(span: Span, look: Look) -> Known:
    out = [draw.known.figure for draw in span.draws]
    came = [put.known.figure for put in span.puts]
    figure = difference([look.level, *out], [span.before, *came])
    if isinstance(figure, Unknown):
        return Known(figure, How("levels", lines=(span.opened,)))
    terms = f"{plain(look.level)}{_mark(look)} - {plain(span.before)}{span.mark}"
    terms += "".join(f" + {plain(f)}" for f in out) + "".join(f" - {plain(f)}" for f in came)
    lines = (span.opened, *(draw.at for draw in span.draws), *(put.at for put in span.puts), look.at)
    return Known(figure, How("levels", f"{terms} = {plain(figure)}", look.how.reader, look.how.at, lines))


def _missing(span: Span, captured: Figure, look: Look) -> tuple[Draw | Put, Known] | None:
    """The one amount that nobody measured, worked out from two levels and all the rest; never less than nothing."""
    events: list[Draw | Put] = [*span.draws, *span.puts]
    missing = [event for event in events if isinstance(event.known.figure, Unknown)]
    if len(missing) != 1:
        return None
    one = missing[0]
    out = [look.level, *(d.known.figure for d in span.draws if d is not one)]
    came = [span.before, captured, *(p.known.figure for p in span.puts if p is not one)]
    plus, less = (came, out) if isinstance(one, Draw) else (out, came)
    figure = difference(plus, less)
    if isinstance(figure, Unknown) or figure.best is None or figure.best < ZERO:
        return None
    terms = " + ".join(plain(f) for f in plus if f is not NOTHING)
    terms += "".join(f" - {plain(f)}" for f in less if f is not NOTHING)
    lines = (span.opened, one.at, look.at)
    how = How("levels", f"{terms} = {plain(figure)}", one.known.how.reader, one.known.how.at, lines)
    return one, Known(figure, how)


def _left_over(span: Span, closing: Figure) -> Figure:
    """What two looks differ by when nobody worked in between."""
    if span.opened == BEGINNING:
        return NOTHING
    return minus(_held(span, NOTHING), closing)


def _level_after(span: Span) -> Figure:
    """The level at the end of an interval that no look closed, as its own figures give it."""
    level = _held(span, NOTHING if span.captured is None else span.captured.figure)
    return BELOW_EMPTY if isinstance(level, Volume) and level.high is not None and level.high < ZERO else level


def _held(span: Span, captured: Figure) -> Figure:
    """What the tank holds by its figures after all events."""
    came = (span.before, captured, *(put.known.figure for put in span.puts))
    return difference(came, (draw.known.figure for draw in span.draws))


def left_by_figures(span: Span) -> How:
    """How the level after an interval that no look closed is worked out, with the line to redo it."""
    captured = () if span.captured is None else (span.captured.figure,)
    came = (span.before, *captured, *(put.known.figure for put in span.puts))
    terms = " + ".join(map(plain, came)) + "".join(f" - {plain(draw.known.figure)}" for draw in span.draws)
    return How("worked out", f"{terms} = {plain(_level_after(span))}")


def beside(governs: Known, other: Known) -> Beside:
    """A second method next to the one that governs, with E_n or 'cannot tell'."""
    if isinstance(governs.figure, Unknown) or isinstance(other.figure, Unknown):
        return Beside(other, None)
    found = agreement(other.figure, governs.figure)
    return Beside(other, str(CONTEXT.quantize(found.e_n, HUNDREDTH)) if isinstance(found, Agreement) else None)


def second_methods(governs: Known, ways: Iterable[Known]) -> tuple[Beside, ...]:
    """The second methods among some ways of knowing one thing; one that rests on the same readings is none."""
    return tuple(beside(governs, way) for way in ways if not _same_readings(governs, way))


def _same_readings(one: Known, other: Known) -> bool:
    """Whether two figures come from the same looks at the same instruments.

    Every source of doubt is then in both and nothing of it is left between them, save that each is kept in hundredths.
    Words for an amount (`declared`) have no looks; that two are alike says nothing of where they come from.
    """
    a, b = one.figure, other.figure
    if isinstance(a, Unknown) or isinstance(b, Unknown) or a.unstated != b.unstated:
        return False
    read = bool(a.parts) or one.how.method == other.how.method == "meter"
    between = a - b
    alike = between.best is not None and between.best.copy_abs() <= _ROUNDED
    return read and alike and between.u <= CONTEXT.multiply(a.u, _NOTHING_LEFT)


def sum_of(known: Iterable[Known]) -> Known:
    """Several figures as one, with the line that adds them up."""
    known = tuple(known)
    if len(known) == 1:
        return known[0]
    figure = total_of(k.figure for k in known)
    lines = tuple(line for k in known for line in k.how.lines)
    formula = " + ".join(plain(k.figure) for k in known) + f" = {plain(figure)}"
    return Known(figure, How("sum", formula, known[0].how.reader if known else "", "", lines))


def plain(figure: Figure) -> str:
    """A figure inside a formula line, to the hundredth; a range in words, and which kind of unknown."""
    if isinstance(figure, Unknown):
        return figure.kind
    best = figure.best
    return number(CONTEXT.quantize(best, HUNDREDTH)) if best is not None else f"({shown(figure).text})"
