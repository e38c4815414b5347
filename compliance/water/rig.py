"""The water of one timeline, worked out once and indexed by stop, run and load, for the facts that are told of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from compliance.records.registers import Registers
from compliance.water.division import Division, divisions
from compliance.water.intervals import Span, plain, spans
from compliance.water.levels import Level, levels, of_all, seen
from compliance.water.methods import Gauges
from compliance.water.mixing import UNEXPLAINED, Load, Taken, mix
from compliance.water.ratio import NoRatio, Ratio, recovery_ratio
from compliance.water.results import FOREIGN, Basis, How, Line, Piece, StopFacts
from compliance.water.sites import Sites
from compliance.water.timeline import MOVED, Put, Stop, Timeline
from compliance.water.use import Use, add_used_again, use
from compliance.water.volume import ZERO, Figure, Unknown, Volume, at_least, difference, is_nothing

SHARED: Sequence[Basis] = ("own figures", "metered use", "area", "time", "equal parts")
"""The bases on which an interval is divided among several stops."""

_NO_TANK = Unknown("no tank was ever read", "not recorded yet")
_RAIN = ("some", "heavy", "not known")


@dataclass(slots=True)
class Place:
    """Where a stop stands in an interval: the indices of its works there.

    alone: no other stop is in it. how: how the shares were come by, where it was divided among several.
    """

    span: Span
    division: Division
    indices: list[int]
    alone: bool
    how: How


@dataclass(slots=True)
class Worked:
    """What one tank's intervals come to: an interval and its division, pairwise."""

    spans: Sequence[Span]
    divisions: Sequence[Division]


@dataclass(slots=True)
class RigWater:
    """All that is worked out of one timeline before anything is told. The mappings are by stop ref or run record."""

    registers: Registers
    gauges: Gauges
    timeline: Timeline
    use: Use
    tanks: Mapping[str, Worked]
    loads: Sequence[Load]
    places: Mapping[str, Sequence[Place]]
    spans_of: Mapping[str, Sequence[Span]]
    pieces: Mapping[str, Sequence[Piece] | None]
    aboard: Mapping[str, tuple[Level, Level]]
    loads_of: Mapping[str, Sequence[Load]]
    taken_of: Mapping[str, Sequence[tuple[str, Taken]]]
    puts_of: Mapping[str, Sequence[Put]]
    rained: Set[str]
    """The stops with whose water rain of unknown amount may have gone in."""


RAIN_UNKNOWN: Final = at_least(ZERO)
"""Rain that went in with the wash water and that nobody measured: some amount from nothing upwards."""


def rig_water(registers: Registers, gauges: Gauges, timeline: Timeline, sites: Sites) -> RigWater:
    """Work out one timeline: intervals of each tank, use, division, mixing. sites: see `use`."""
    used = use(timeline, gauges, sites)
    tanks = {tank: Worked(found, divisions(found, used.metered)) for tank, found in spans(timeline).items()}
    add_used_again(used, timeline)
    loads = mix(timeline, {key: (worked.spans, worked.divisions) for key, worked in tanks.items()})
    places, spans_of = _places(tanks)
    loads_of: dict[str, list[Load]] = defaultdict(list)
    taken_of: dict[str, list[tuple[str, Taken]]] = defaultdict(list)
    puts_of: dict[str, list[Put]] = defaultdict(list)
    for load in loads:
        lines = [load.opened, *(w.part.at for w in load.works), *(t.at for t in load.taken), *(p.at for p in load.puts)]
        lines += [load.closed] if load.closed is not None else []
        for record in dict.fromkeys(line.record for line in lines):
            loads_of[record].append(load)
        for taken in load.taken:
            taken_of[taken.at.record].append((load.tank, taken))
        for put in load.puts:
            puts_of[put.at.record].append(put)
    return RigWater(
        registers, gauges, timeline, used, tanks, loads, places, spans_of, _pieces(timeline, loads),
        _aboard(timeline, tanks), loads_of, taken_of, puts_of, _rained(timeline, tanks, puts_of),
    )  # fmt: skip


def _rained(timeline: Timeline, tanks: Mapping[str, Worked], puts_of: Mapping[str, Sequence[Put]]) -> Set[str]:
    """The stops that were rained on, and those between the same two looks: their share has the rain in it too."""
    own = {ref for ref, stop in timeline.stops.items() if stop.worked and _rained_on(stop, puts_of)}
    found = set(own)
    for worked in tanks.values():
        for span in worked.spans:
            here = {work.part.stop for work in span.works}
            if not own.isdisjoint(here):
                found |= here
    return found


def _rained_on(stop: Stop, puts_of: Mapping[str, Sequence[Put]]) -> bool:
    """Whether it rained at this stop, by its own word or its run's, and nobody measured what went in."""
    foreign = [put for put in puts_of.get(stop.run.record, ()) if put.owner == FOREIGN]
    if foreign:
        return any(isinstance(put.known.figure, Unknown) for put in foreign)
    own = stop.first("rain")
    return (stop.run.get("rain") if own is None else own) in _RAIN


def _places(tanks: Mapping[str, Worked]) -> tuple[dict[str, list[Place]], dict[str, list[Span]]]:
    places: dict[str, list[Place]] = defaultdict(list)
    spans_of: dict[str, list[Span]] = defaultdict(list)
    for worked in tanks.values():
        for span, division in zip(worked.spans, worked.divisions, strict=True):
            here: dict[str, list[int]] = {}
            for index, work in enumerate(span.works):
                here.setdefault(work.part.stop, []).append(index)
            how = _how_divided(span, division)
            for ref, indices in here.items():
                places[ref].append(Place(span, division, indices, len(here) == 1, how))
            for record in {work.part.at.record for work in span.works}:
                spans_of[record].append(span)
    return places, spans_of


def _how_divided(span: Span, division: Division) -> How:
    if span.captured is None:
        return How("none")
    lines = span.captured.how.lines
    if division.shares is None:
        return How("none", lines=lines)
    formula = f"a share of {plain(span.captured.figure)} by {division.basis}"
    if division.raised:
        formula += ", the stops before a draw raised to what it took"
    return How("worked out", formula, lines=lines)


def _aboard(timeline: Timeline, tanks: Mapping[str, Worked]) -> dict[str, tuple[Level, Level]]:
    """What stood in all of a rig's tanks when each of its runs began and when it ended.

    A tank that no record has named yet takes no part.
    """
    records = [run.record for run in timeline.runs]
    by_rig: dict[str, list[Mapping[str, tuple[Level, Level]]]] = defaultdict(list)
    for tank, worked in tanks.items():
        last = timeline.before.empties.get(tank)
        before = None if last is None else seen(last)
        by_rig[timeline.rig_of[tank]].append(levels(records, worked.spans, before))
    for tank, look in timeline.before.empties.items():
        if tank not in tanks or not tanks[tank].spans:  # nothing has happened to it since
            by_rig[timeline.rig_of[tank]].append(dict.fromkeys(records, (seen(look), seen(look))))
    found = {}
    for record in records:
        known = [one[record] for one in by_rig[timeline.rig_of[record]] if record in one]
        ends = ([before for before, _ in known], [after for _, after in known])
        found[record] = (of_all(ends[0]), of_all(ends[1])) if known else (Level(_NO_TANK), Level(_NO_TANK))
    return found


def _pieces(timeline: Timeline, loads: Sequence[Load]) -> dict[str, list[Piece] | None]:
    """Where each stop's captured water went; None where nobody can say."""
    pieces: dict[str, list[Piece] | None] = {ref: [] for ref in timeline.stops}
    for load in loads:
        here = load.owners
        for taken in load.taken:
            if taken.way == MOVED:
                if taken.parts is None:
                    _deal(pieces, here, None, MOVED, load.name, taken.at)
                continue  # it is followed into the tank to which it was moved
            line = Line("", "") if taken.way == UNEXPLAINED else taken.at
            _deal(pieces, here, taken.parts, taken.way, load.name, line)
        _deal(pieces, here, None if load.lost else load.contents, "aboard", load.name, Line("", ""))
    return pieces


def _deal(
    pieces: dict[str, list[Piece] | None],
    stops: Iterable[str],
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


def ratio(captured: Figure, applied: Figure, stops: Sequence[StopFacts]) -> Ratio | NoRatio:
    """Captured over applied for worked stops, both in one unit, with what makes it a bound or none at all."""
    if not stops:
        return NoRatio("no stop was worked")
    return _ratio(
        captured,
        applied,
        any(stop.rained for stop in stops),
        any(not is_nothing(stop.led_away) for stop in stops),
        any(not stop.planned for stop in stops),
    )


@lru_cache(maxsize=64)
def _ratio(captured: Figure, applied: Figure, rained: bool, led_away: bool, not_planned: bool) -> Ratio | NoRatio:
    """Kept for a moment, because a load, its run and its job mostly ask for the same one."""
    if isinstance(captured, Volume) and captured.high is not None and captured.high < ZERO:
        return NoRatio("the readings give less than nothing captured")  # a percentage of that would be judged
    return recovery_ratio(captured, applied, rain_unknown=rained, led_away=led_away, not_planned=not_planned)


def rest(came: Sequence[Figure], gone: Sequence[Figure]) -> Figure:
    """What is not explained. Where a part of what went was not measured, the reason says what the others leave."""
    figure = difference(came, gone)
    if isinstance(figure, Volume):
        return figure
    others = difference(came, (f for f in gone if isinstance(f, Volume)))
    if isinstance(others, Unknown) or others.best is None:
        return figure
    return Unknown(f"{figure.reason}; the other figures leave {plain(others)}, and that is part of it", figure.kind)
