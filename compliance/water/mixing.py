"""Whose water left a tank at each draw, and how its loads follow from that.

The events of all tanks are gone through once in order. What an interval captured stands in the tank from the line of
the stop that brought it; each draw takes from all owners in proportion to what is in the tank then (complete mixing).
A look puts the account right: what it shows too little left by no known way, what it shows too much came by none.
Where a division is unknown the owners of what is in the tank stay unknown until it is empty, but water that can only
be one owner's is still that owner's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from compliance.water.division import Division
from compliance.water.intervals import BEGINNING, Span
from compliance.water.results import EARLIER, UNNAMED, Line
from compliance.water.shares import Mix
from compliance.water.timeline import ASTRAY, MOVED, Draw, Event, Put, RunEnd, Timeline, Work
from compliance.water.volume import NOTHING, Figure, Unknown, in_hundredths

UNEXPLAINED = "not explained"
"""The way of water that a look found missing."""


@dataclass(slots=True)
class Taken:
    """One draw as it was mixed. parts: owner -> hundredths, None when nobody can say. draw is None for what a look
    found missing.
    """

    way: str
    at: Line
    place: str
    draw: Draw | None
    parts: Mapping[str, int] | None


@dataclass(slots=True)
class Load:
    """A load while its tank is being gone through.

    spans: its intervals by index. owners: all whose water was in it. lost: what became of it nobody can say by owner.
    """

    name: str
    tank: str
    opened: Line
    opening: Figure
    spans: list[int] = field(default_factory=list)
    taken: list[Taken] = field(default_factory=list)
    puts: list[Put] = field(default_factory=list)
    works: list[Work] = field(default_factory=list)
    owners: dict[str, None] = field(default_factory=dict)
    closed: Line | None = None
    contents: Mapping[str, int] | None = field(default_factory=dict)
    lost: bool = False
    why: str = ""


@dataclass(slots=True)
class _Tank:
    """A tank on the way. mix: None while the owners are unknown. unread: owners besides of whose water nobody knows
    how much is in it, such as what was there before the first record.
    """

    spans: Sequence[Span]
    divisions: Sequence[Division]
    unread: set[str]
    mix: Mix | None = field(default_factory=Mix)
    load: Load | None = None
    at: int = 0
    work: int = 0

    @property
    def span(self) -> Span:
        return self.spans[self.at]


def mix(timeline: Timeline, by_tank: Mapping[str, tuple[Sequence[Span], Sequence[Division]]]) -> list[Load]:
    """The loads of a timeline, in the order in which they were opened."""
    worker = _Mixer(timeline, by_tank)
    for event in timeline.events:
        worker.take(event)
    return worker.finish()


class _Mixer:
    def __init__(self, timeline: Timeline, by_tank: Mapping[str, tuple[Sequence[Span], Sequence[Division]]]) -> None:
        self.tanks = {
            key: _Tank(spans, divisions, set() if key in timeline.before.empties else {EARLIER})
            for key, (spans, divisions) in by_tank.items()
        }
        self.loads: list[Load] = []
        self.opened_in: dict[str, int] = {}
        self.refs = {run.record: run.ref for run in timeline.runs}
        self.moved: dict[int, Mapping[str, int] | None] = {}

    def take(self, event: Event) -> None:
        if isinstance(event, RunEnd):
            end = Line(event.run.record, "")
            for tank in self.tanks.values():
                if tank.at < len(tank.spans) and tank.span.closed == end and tank.span.after is None:
                    self._close(tank)
            return
        tank = self.tanks[event.tank]
        match event:
            case Work():
                self._work(tank, event)
            case Draw():
                self._draw(tank, event)
            case Put():
                self._put(tank, event)
            case _:  # a look
                self._close(tank)

    def finish(self) -> list[Load]:
        for tank in self.tanks.values():
            if tank.load is not None:
                if tank.at < len(tank.spans):
                    tank.load.spans.append(tank.at)
                self._hold(tank, tank.load, tank.spans[-1].level_after)
        return self.loads

    @staticmethod
    def _add(tank: _Tank, load: Load, owner: str, amount: int) -> None:
        load.owners[owner] = None
        if tank.mix is not None:
            tank.mix = tank.mix.add(owner, amount)

    def _opened(self, tank: _Tank, at: Line, opening: Figure | None = None) -> Load:
        if tank.load is None:
            if opening is None:
                opening = tank.span.before if EARLIER in tank.unread else NOTHING
            ref = self.refs[at.record]
            self.opened_in[ref] = self.opened_in.get(ref, 0) + 1
            tank.load = Load(f"{ref}.l{self.opened_in[ref]}", tank.span.tank, at, opening)
            self.loads.append(tank.load)
        return tank.load

    def _work(self, tank: _Tank, work: Work) -> None:
        load = self._opened(tank, work.part.at)
        load.works.append(work)
        division = tank.divisions[tank.at]
        if division.shares is None:
            load.owners[work.part.stop] = None
            self._lose(tank, load, division.why)
        else:
            self._add(tank, load, work.part.stop, division.shares[tank.work])
        tank.work += 1

    def _put(self, tank: _Tank, put: Put) -> None:
        load = self._opened(tank, put.at)
        load.puts.append(put)
        amount = in_hundredths(put.known.figure)
        if put.source is not None:
            parts = self.moved[id(put.source)]
            if parts is None:
                load.owners |= dict.fromkeys(("", UNNAMED))  # more than one, whoever they are
                self._lose(tank, load, "what was moved in has no known owners")
            for owner, part in (parts or {}).items():
                self._add(tank, load, owner, part)
        elif amount is None:
            load.owners[put.owner] = None
            tank.unread.add(put.owner)
        else:
            self._add(tank, load, put.owner, amount)

    def _draw(self, tank: _Tank, draw: Draw) -> None:
        load = self._opened(tank, draw.at)
        parts = self._parts(tank, load, draw)
        if draw.way == MOVED:
            self.moved[id(draw)] = parts
        load.taken.append(Taken(draw.way, draw.at, draw.place, draw, parts))

    def _parts(self, tank: _Tank, load: Load, draw: Draw) -> Mapping[str, int] | None:
        amount = in_hundredths(draw.known.figure)
        if tank.mix is None:
            return self._only(tank, load, amount)
        if tank.unread and not draw.empties:
            self._lose(tank, load, _unread(tank))
            return None
        if amount is None and not draw.empties:
            self._lose(tank, load, _unread_draw(draw))
            return None
        drawn = tank.mix.draw(tank.mix.amount if amount is None else amount)
        tank.mix = drawn.mix
        parts = dict(drawn.parts)
        if drawn.overdrawn:
            more = next(iter(tank.unread)) if len(tank.unread) == 1 else UNNAMED
            parts[more] = parts.get(more, 0) + drawn.overdrawn
        return parts

    @staticmethod
    def _only(tank: _Tank, load: Load, amount: int | None) -> Mapping[str, int] | None:
        """Water that can only be one owner's."""
        if amount is None or tank.unread or len(load.owners) != 1:
            return None
        return {next(iter(load.owners)): amount}

    @staticmethod
    def _lose(tank: _Tank, load: Load, why: str) -> None:
        """From here on nobody can say whose water it is, until the tank is empty."""
        tank.mix = None
        load.why = load.why or why

    def _close(self, tank: _Tank) -> None:
        """An interval ends: its level puts the account right, and a tank that was seen empty ends the load."""
        span = tank.span
        assert span.level_after is not None
        level = in_hundredths(span.level_after)
        if level is not None and span.opened == BEGINNING and not span.events:
            tank.unread.clear()
            if level:
                self._add(tank, self._opened(tank, span.closed, span.level_after), EARLIER, level)
        elif level is not None:
            self._put_right(tank, span.closed, level)
        if tank.load is not None:
            tank.load.spans.append(tank.at)
        tank.at, tank.work = tank.at + 1, 0
        if level == 0 and span.after is not None:
            self._end(tank, span.closed)

    def _put_right(self, tank: _Tank, at: Line, level: int) -> None:
        """What a tank holds more or less than the account."""
        mix = tank.mix
        if tank.unread and level:
            return  # some of it is theirs
        missing = (in_hundredths(tank.span.unexplained) or 0) if mix is None else mix.amount - level
        if not missing:
            return
        load = self._opened(tank, at)
        if missing < 0:
            self._add(tank, load, UNNAMED, -missing)
        elif mix is None:
            load.taken.append(Taken(UNEXPLAINED, at, "", None, self._only(tank, load, missing)))
        else:
            drawn = mix.draw(missing)
            tank.mix = drawn.mix
            load.taken.append(Taken(UNEXPLAINED, at, "", None, dict(drawn.parts)))

    @staticmethod
    def _end(tank: _Tank, at: Line) -> None:
        if tank.load is not None:
            tank.load.closed = at
            tank.load.contents = {}
            tank.load.lost = tank.mix is None and len(tank.load.owners) > 1
        tank.load, tank.mix, tank.unread = None, Mix(), set()

    def _hold(self, tank: _Tank, load: Load, level: Figure | None) -> None:
        """What is still aboard, by owner as far as that is known."""
        now = None if level is None else in_hundredths(level)
        if tank.mix is None:
            load.contents = self._only(tank, load, now)
            load.lost = load.contents is None
            return
        if now is not None:
            self._put_right(tank, load.opened, now)
        load.contents = dict(tank.mix.contents)
        load.why = load.why or (_unread(tank) if tank.unread else "")


def _unread(tank: _Tank) -> str:
    return f"how much there is of {', '.join(sorted(tank.unread))} was not read"


def _unread_draw(draw: Draw) -> str:
    figure = draw.known.figure
    return figure.reason if draw.way == ASTRAY and isinstance(figure, Unknown) else "a draw was not measured"
