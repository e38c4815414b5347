"""One rig's water, worked out once and indexed by stop, run and load, for the facts that are told of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from compliance.records.answer import without_value
from compliance.records.state import State
from compliance.water.division import Division, divisions
from compliance.water.intervals import Span, spans
from compliance.water.levels import levels
from compliance.water.methods import Gauges
from compliance.water.mixing import UNEXPLAINED, Load, Taken, mix
from compliance.water.ratio import NoRatio, Ratio, recovery_ratio
from compliance.water.results import Basis, How, Known, Line, Piece
from compliance.water.timeline import MOVED, Put, Stop, Timeline
from compliance.water.use import Use, use
from compliance.water.volume import Figure, Unknown, Volume, exact, minus, total_of

ZERO: Figure = exact(Decimal(0))
SHARED: Sequence[Basis] = ("own figures", "metered use", "area", "time", "equal")
"""The bases on which an interval is divided among several stops."""


@dataclass(frozen=True)
class Worked:
    """What one tank's intervals come to: an interval and its division, pairwise."""

    spans: Sequence[Span]
    divisions: Sequence[Division]


@dataclass(frozen=True)
class Place:
    """Where a part of a stop stands: the index of its work in an interval."""

    span: Span
    division: Division
    index: int


@dataclass
class RigWater:
    """All that is worked out of one rig before anything is told. The dictionaries are by stop ref or run record."""

    state: State
    gauges: Gauges
    timeline: Timeline
    use: Use
    tanks: Mapping[str, Worked]
    loads: Sequence[Load]
    places: Mapping[str, Sequence[Place]]
    spans_of: Mapping[str, Sequence[Span]]
    pieces: Mapping[str, Sequence[Piece] | None]
    aboard: Mapping[str, tuple[Figure, Figure]]
    loads_of: Mapping[str, Sequence[Load]] = field(default_factory=dict)
    taken_of: Mapping[str, Sequence[Taken]] = field(default_factory=dict)
    puts_of: Mapping[str, Sequence[Put]] = field(default_factory=dict)

    def planned(self, stop: Stop) -> bool:
        """Whether recovery was planned at a stop; by its own line, else by its job."""
        plan = stop.first("plan") or (self.state.registers.find("job", stop.first("job")) or {}).get("plan")
        return plan != "recovery not planned"

    def rained(self, stop: Stop) -> bool:
        """Rain of unknown amount went in with the water of this stop."""
        foreign = [line for line in stop.run.lines if line.kind == "foreign water"]
        unmeasured = [line for line in foreign if without_value(line.get("amount")) is not None]
        own = stop.first("rain")
        said = own if own is not None else stop.run.get("rain")
        return bool(unmeasured) or (said in ("some", "heavy") and not foreign)

    def ratio(self, captured: Figure, applied: Figure, stops: Sequence[Stop]) -> Ratio | NoRatio:
        """Captured over applied for worked stops, with what makes it a bound or none at all."""
        if not stops:
            return NoRatio("no stop was worked")
        return recovery_ratio(
            captured,
            applied,
            rain_unknown=any(self.rained(stop) for stop in stops),
            led_away=any(stop.led_away for stop in stops),
            not_planned=any(not self.planned(stop) for stop in stops),
        )


def rig_water(state: State, gauges: Gauges, timeline: Timeline) -> RigWater:
    """Work out one rig: intervals of each tank, use, division, mixing."""
    used = use(timeline, gauges)
    tanks: dict[str, Worked] = {}
    for key in timeline.tanks:
        found = spans(timeline, key)
        tanks[key] = Worked(found, divisions(found, used.metered))
    loads = mix(timeline, {key: (worked.spans, worked.divisions) for key, worked in tanks.items()})
    places: dict[str, list[Place]] = defaultdict(list)
    spans_of: dict[str, list[Span]] = defaultdict(list)
    for worked in tanks.values():
        for span, division in zip(worked.spans, worked.divisions, strict=True):
            for index, item in enumerate(span.works):
                places[item.part.stop].append(Place(span, division, index))
                record = item.part.at.record
                if not any(span is known for known in spans_of[record]):
                    spans_of[record].append(span)
    rig = RigWater(
        state,
        gauges,
        timeline,
        used,
        tanks,
        loads,
        places,
        spans_of,
        _pieces(timeline, loads),
        _aboard(timeline, tanks),
    )
    _index_loads(rig)
    return rig


def _index_loads(rig: RigWater) -> None:
    loads_of: dict[str, list[Load]] = defaultdict(list)
    taken_of: dict[str, list[Taken]] = defaultdict(list)
    puts_of: dict[str, list[Put]] = defaultdict(list)
    for load in rig.loads:
        lines = [load.opened, *(w.part.at for w in load.works), *(t.at for t in load.taken)]
        lines += [load.closed] if load.closed is not None else []
        for record in dict.fromkeys(line.record for line in lines):
            loads_of[record].append(load)
        for taken in load.taken:
            taken_of[taken.at.record].append(taken)
        for put in load.puts:
            puts_of[put.at.record].append(put)
    rig.loads_of, rig.taken_of, rig.puts_of = loads_of, taken_of, puts_of


def _aboard(timeline: Timeline, tanks: Mapping[str, Worked]) -> dict[str, tuple[Figure, Figure]]:
    """What stood in all of the rig's tanks when each run began and when it ended."""
    by_tank = [levels([run.record for run in timeline.runs], worked.spans) for worked in tanks.values()]
    return {
        run.record: (
            total_of(one[run.record][0] for one in by_tank),
            total_of(one[run.record][1] for one in by_tank),
        )
        for run in timeline.runs
    }


def _pieces(timeline: Timeline, loads: Sequence[Load]) -> dict[str, list[Piece] | None]:
    """Where each stop's captured water went; None where nobody can say."""
    pieces: dict[str, list[Piece] | None] = {ref: [] for ref in timeline.stops}
    for load in loads:
        here = dict.fromkeys(work.part.stop for work in load.works)
        for taken in load.taken:
            if taken.way == MOVED:
                continue  # it is followed into the tank to which it was moved
            line = Line("", "") if taken.way == UNEXPLAINED else taken.at
            _deal(pieces, here, taken.parts, taken.way, load.name, line)
        _deal(pieces, here, load.contents, "aboard", load.name, Line("", ""))
    return pieces


def _deal(
    pieces: dict[str, list[Piece] | None],
    stops: Mapping[str, None],
    parts: Mapping[str, int] | None,
    way: str,
    load: str,
    line: Line,
) -> None:
    """Give each stop its part of one draw; an unknown mix makes all stops of the load unknown."""
    if parts is None:
        for ref in stops:
            pieces[ref] = None
        return
    for owner, amount in parts.items():
        mine = pieces.get(owner)
        if mine is not None and amount:
            mine.append(Piece(way, load, line, amount))


def sum_of(known: Sequence[Known]) -> Known:
    """Several figures as one, with the line that adds them up."""
    if len(known) == 1:
        return known[0]
    figure = total_of(k.figure for k in known)
    lines = tuple(line for k in known for line in k.how.lines)
    formula = " + ".join(best(k.figure) for k in known) + f" = {best(figure)}"
    return Known(figure, How("sum", formula, known[0].how.reader if known else "", "", lines))


def best(figure: Figure) -> str:
    """A figure inside a formula line."""
    if isinstance(figure, Unknown):
        return figure.kind
    return str(figure.best) if figure.best is not None else "(a range)"


def measured(figures: Sequence[Figure]) -> Figure:
    """The total of what was measured of water that is not our wash water; the rest is said, never zero."""
    known = [f for f in figures if isinstance(f, Volume)]
    unknown = [f for f in figures if isinstance(f, Unknown)]
    return unknown[0] if unknown and not known else total_of(known)


def rest(came: Figure, gone: Sequence[Figure]) -> Figure:
    """What is not explained. Where a part of what went was not measured, the reason says what the others leave."""
    figure = minus(came, total_of(gone))
    if isinstance(figure, Volume):
        return figure
    others = minus(came, total_of(f for f in gone if isinstance(f, Volume)))
    if isinstance(others, Unknown) or others.best is None:
        return figure
    return Unknown(f"{figure.reason}; the other figures leave {others.best}, and that is part of it", figure.kind)
