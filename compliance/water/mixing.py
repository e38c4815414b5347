"""Whose water left a tank at each draw, and how its loads follow from that.

The events of all of a rig's tanks are gone through once in line order. What an interval captured stands in the tank
from the line of the stop that brought it; each draw takes from all owners in proportion to what is in the tank then
(complete mixing). Where a division is unknown the owners of what is in the tank stay unknown until it is empty, but
water that can only be one owner's is still that owner's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from compliance.water.division import Division
from compliance.water.intervals import BEGINNING, Span
from compliance.water.results import EARLIER, UNNAMED, Line
from compliance.water.shares import Mix
from compliance.water.timeline import MOVED, Draw, Look, Put, RunEnd, Timeline, Work
from compliance.water.volume import Figure, Unknown, Volume, exact, hundredths

UNEXPLAINED = "not explained"
"""The way of water that two looks at a tank differ by with nobody at work."""


@dataclass
class Taken:
    """One draw as it was mixed. parts: owner -> hundredths, None when nobody can say."""

    way: str
    at: Line
    place: str
    draw: Draw | None
    parts: Mapping[str, int] | None


@dataclass
class Load:
    """A load while its tank is being gone through. spans: its intervals by index."""

    name: str
    tank: str
    opened: Line
    opening: Figure
    spans: list[int] = field(default_factory=list)
    taken: list[Taken] = field(default_factory=list)
    puts: list[Put] = field(default_factory=list)
    works: list[Work] = field(default_factory=list)
    closed: Line | None = None
    contents: Mapping[str, int] | None = field(default_factory=dict)
    why: str = ""


@dataclass
class _Tank:
    """A tank on the way. mix: None while the owners are unknown. hidden: some of it was there before any record."""

    spans: Sequence[Span]
    divisions: Sequence[Division]
    mix: Mix | None = field(default_factory=Mix)
    hidden: bool = True
    owners: set[str] = field(default_factory=set)
    load: Load | None = None
    at: int = 0
    work: int = 0
    grown: bool = False
    why: str = ""

    @property
    def span(self) -> Span:
        return self.spans[self.at]


def mix(
    timeline: Timeline,
    by_tank: Mapping[str, tuple[Sequence[Span], Sequence[Division]]],
) -> list[Load]:
    """The loads of a rig, in the order in which they were opened."""
    worker = _Mixer(timeline, by_tank)
    for event in timeline.events:
        worker.take(event)
    return worker.finish()


class _Mixer:
    def __init__(self, timeline: Timeline, by_tank: Mapping[str, tuple[Sequence[Span], Sequence[Division]]]) -> None:
        self.timeline = timeline
        self.tanks = {key: _Tank(spans, divisions) for key, (spans, divisions) in by_tank.items()}
        self.loads: list[Load] = []
        self.opened_in: dict[str, int] = {}
        self.refs = {run.record: run.ref for run in timeline.runs}
        self.moved: dict[int, Mapping[str, int] | None] = {}

    def finish(self) -> list[Load]:
        for tank in self.tanks.values():
            if tank.load is not None:
                self._hold(tank, tank.load)
                if tank.at < len(tank.spans):
                    tank.load.spans.append(tank.at)
        return self.loads

    def take(self, event: object) -> None:
        if isinstance(event, RunEnd):
            for tank in self.tanks.values():
                if (
                    tank.at < len(tank.spans)
                    and tank.span.closed == Line(event.run.record, "")
                    and tank.span.after is None
                ):
                    self._close(tank)
            return
        assert isinstance(event, Look | Work | Draw | Put)
        tank = self.tanks[event.tank]
        match event:
            case Work():
                self._work(tank, event)
            case Draw():
                self._draw(tank, event)
            case Put():
                self._put(tank, event)
            case _:
                if tank.at < len(tank.spans) and tank.span.after is event:
                    self._close(tank)

    def _opened(self, tank: _Tank, at: Line, opening: Figure) -> Load:
        if tank.load is None:
            ref = self.refs[at.record]
            self.opened_in[ref] = self.opened_in.get(ref, 0) + 1
            tank.load = Load(f"{ref}.l{self.opened_in[ref]}", tank.span.tank, at, opening)
            self.loads.append(tank.load)
        return tank.load

    def _opening(self, tank: _Tank) -> Figure:
        return tank.span.before if tank.hidden else exact(Decimal(0))

    def _work(self, tank: _Tank, work: Work) -> None:
        self._grow(tank)
        load = self._opened(tank, work.part.at, self._opening(tank))
        load.works.append(work)
        division = tank.divisions[tank.at]
        tank.owners.add(work.part.stop)
        if division.shares is None:
            self._lose(tank, division.why)
        elif tank.mix is not None:
            tank.mix = tank.mix.add(work.part.stop, division.shares[tank.work])
        tank.work += 1

    def _grow(self, tank: _Tank) -> None:
        """Water that two looks found too much, with nobody at work, goes in before anything is drawn."""
        extra = _best(tank.span.unexplained)
        if extra >= 0 or tank.span.works or tank.grown:
            return
        tank.grown = True
        self._opened(tank, tank.span.closed, self._opening(tank))
        tank.owners.add(UNNAMED)
        if tank.mix is not None:
            tank.mix = tank.mix.add(UNNAMED, -extra)

    def _put(self, tank: _Tank, put: Put) -> None:
        self._grow(tank)
        load = self._opened(tank, put.at, self._opening(tank))
        load.puts.append(put)
        if put.source is not None:
            parts = self.moved.get(id(put.source))
            if parts is None:
                self._lose(tank, "what was moved in has no known owners")
            else:
                for owner, amount in parts.items():
                    tank.owners.add(owner)
                    tank.mix = tank.mix.add(owner, amount) if tank.mix is not None else None
            return
        if isinstance(put.known.figure, Volume) and put.known.figure.best is not None:
            tank.owners.add(put.owner)
            if tank.mix is not None:
                tank.mix = tank.mix.add(put.owner, hundredths(put.known.figure.best))

    def _draw(self, tank: _Tank, draw: Draw) -> None:
        self._grow(tank)
        load = self._opened(tank, draw.at, self._opening(tank))
        parts = self._parts(tank, draw)
        if draw.way == MOVED:
            self.moved[id(draw)] = parts
        load.taken.append(Taken(draw.way, draw.at, draw.place, draw, parts))

    def _parts(self, tank: _Tank, draw: Draw) -> Mapping[str, int] | None:
        figure = draw.known.figure
        amount = hundredths(figure.best) if isinstance(figure, Volume) and figure.best is not None else None
        if tank.mix is None or (tank.hidden and not draw.empties):
            if amount is not None and len(tank.owners) == 1 and not tank.hidden:
                return {next(iter(tank.owners)): amount}
            if tank.hidden:
                self._lose(tank, "what was in the tank before is not recorded")
            return None
        if amount is None:
            if not draw.empties:
                self._lose(tank, "a draw was not measured")
                return None
            amount = tank.mix.amount
        drawn = tank.mix.draw(amount)
        tank.mix = drawn.mix
        parts = dict(drawn.parts)
        if drawn.overdrawn:
            parts[UNNAMED] = parts.get(UNNAMED, 0) + drawn.overdrawn
        return parts

    def _lose(self, tank: _Tank, why: str) -> None:
        """From here on nobody can say whose water it is, until the tank is empty."""
        tank.mix = None
        tank.why = tank.why or why
        if tank.load is not None:
            tank.load.why = tank.load.why or why

    def _close(self, tank: _Tank) -> None:
        """A look closes an interval: what is left over goes its way, and an empty tank ends the load."""
        span = tank.span
        level = span.level_after
        first = span.opened == BEGINNING and not span.events
        if first and isinstance(level, Volume) and level.best:
            self._opened(tank, span.closed, level)
            tank.owners.add(EARLIER)
            tank.mix, tank.hidden = Mix().add(EARLIER, hundredths(level.best)), False
        elif first:
            tank.hidden = False
        else:
            self._leave_over(tank)
        if tank.load is not None:
            tank.load.spans.append(tank.at)
        if span.after is not None and isinstance(level, Volume) and level.best == 0:
            self._end(tank, span.closed)
        tank.at, tank.work, tank.grown = tank.at + 1, 0, False

    def _leave_over(self, tank: _Tank) -> None:
        self._grow(tank)
        lost = _best(tank.span.unexplained)
        if tank.span.works or lost <= 0 or tank.load is None:
            return
        parts: Mapping[str, int] | None = None
        if tank.mix is not None:
            drawn = tank.mix.draw(lost)
            tank.mix, parts = drawn.mix, dict(drawn.parts)
        elif len(tank.owners) == 1 and not tank.hidden:
            parts = {next(iter(tank.owners)): lost}
        tank.load.taken.append(Taken(UNEXPLAINED, tank.span.closed, "", None, parts))

    def _end(self, tank: _Tank, at: Line) -> None:
        if tank.load is not None:
            tank.load.closed = at
            tank.load.contents = {}
        tank.load, tank.mix, tank.hidden, tank.why = None, Mix(), False, ""
        tank.owners = set()

    def _hold(self, tank: _Tank, load: Load) -> None:
        """What is still aboard, by owner."""
        if tank.hidden:
            load.contents = None
            load.why = load.why or "what was in the tank before is not recorded"
        elif tank.mix is not None:
            load.contents = dict(tank.mix.contents)
        else:
            level = tank.spans[-1].level_after if tank.spans else None
            only = next(iter(tank.owners)) if len(tank.owners) == 1 else None
            known = isinstance(level, Volume) and level.best is not None
            load.contents = {only: _best(level)} if only is not None and known and level is not None else None


def _best(figure: Figure) -> int:
    """Hundredths of a figure that is one number; zero for anything else."""
    if isinstance(figure, Unknown) or figure.best is None:
        return 0
    return hundredths(figure.best)
