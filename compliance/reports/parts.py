"""What became of one job's water, gathered from the pieces of its stops: each end with its amount, by reading or by
division.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from compliance.records.answer import without_value
from compliance.reports.refs import Source
from compliance.water.lines import WHERE_NOT_KNOWN
from compliance.water.loadfacts import NOTHING_TELLS
from compliance.water.results import (
    AGENT,
    EARLIER,
    FOREIGN,
    UNNAMED,
    Draw,
    How,
    Interval,
    JobFacts,
    Known,
    Line,
    LoadFacts,
    StopFacts,
)
from compliance.water.timeline import ASTRAY
from compliance.water.volume import NOTHING, Figure, Unknown, in_hundredths, total_of

NOT_STOPS = (EARLIER, FOREIGN, AGENT, UNNAMED)


@dataclass(frozen=True)
class End:
    """One end of a job's water.

    way, load, line: as in `Piece`. amount: hundredths. whole: the reading, when all of that draw is this job's; None
    when the amount is a worked-out share. of: the whole draw (or what is aboard), whosever it is. The ends of one load
    add up to what was captured in it: what the looks leave over is one of them, and may be less than nothing.
    """

    way: str
    load: str
    line: Line
    amount: int
    whole: Known | None
    of: Known | None


@dataclass(frozen=True)
class Untold:
    """A draw that took water of the job, nobody can say how much. why: one clause."""

    draw: Draw
    why: str


def ends(source: Source, stops: Iterable[StopFacts]) -> Sequence[End]:
    """Every end of the water of these stops, in the order of their stops and lines."""
    stops = tuple(stops)
    ours = {stop.ref for stop in stops}
    sums: dict[tuple[str, str, Line], int] = {}
    for stop in stops:
        for piece in stop.pieces or ():
            key = (piece.way, piece.load, piece.line)
            sums[key] = sums.get(key, 0) + piece.amount
    for load_of_ours in [source.loads[name] for name in dict.fromkeys(load for _, load, _ in sums)]:
        rest = in_hundredths(load_of_ours.not_explained)
        if rest is not None and rest < 0 and held_alone(source, load_of_ours, ours):
            # more is read to have left than came in: a draw may have no water in it that anybody put in
            for draw in load_of_ours.draws:
                if draw.way != "moved":
                    sums.setdefault((draw.way, load_of_ours.name, draw.line), in_hundredths(draw.known.figure) or 0)
            sums[UNNAMED, load_of_ours.name, Line("", "")] = rest
    found = []
    for (way, load, line), amount in sums.items():
        whole, of = _reading(source, way, load, line, ours)
        read = None if whole is None else in_hundredths(whole.figure)
        if amount:
            found.append(End(way, load, line, amount if read is None else read, whole, of))
    return found


def _reading(source: Source, way: str, load: str, line: Line, ours: set[str]) -> tuple[Known | None, Known | None]:
    """(the reading when it is all ours, the reading) of a draw or of what is aboard."""
    facts = source.loads.get(load)
    owners: Mapping[str, int] | None
    known: Known | None
    if way == "aboard":
        known = Known(facts.closing, facts.closing_how) if facts else None
        owners = facts.contents if facts else None
    elif way == UNNAMED:
        known = Known(facts.not_explained, How("sum")) if facts else None
        owners = {}
    else:
        draw = source.draws.get((load, line))
        known, owners = (draw.known, draw.parts) if draw else (None, None)
    if (
        owners is None
        or {owner for owner, amount in owners.items() if amount} - ours - {UNNAMED}
        or facts is None
        or not held_alone(source, facts, ours)
    ):
        return None, known
    return known, known


def others_in(source: Source, load: LoadFacts) -> Sequence[str]:
    """What else than water of stops was in a load: 'earlier loads', 'foreign water', 'agent'."""
    seen = {owner for draw in load.draws for owner, amount in (draw.parts or {}).items() if amount}
    seen |= {owner for owner, amount in (load.contents or {}).items() if amount}
    return [owner for owner in NOT_STOPS if owner in seen]


def untold(source: Source, stops: Iterable[StopFacts]) -> Sequence[Untold]:
    """The draws of every load that these stops fed and whose division is not known."""
    found: dict[tuple[str, Line], Untold] = {}
    for stop in stops:
        if stop.pieces is not None:
            continue
        for load in source.loads_by_stop.get(stop.ref, ()):
            for draw in load.draws:
                found.setdefault((load.name, draw.line), Untold(draw, stop.why or load.why))
    return list(found.values())


def got_away(source: Source, stops: Iterable[StopFacts]) -> bool:
    """Whether any water of these stops got away: before it was captured, or out of a tank that held it."""
    stops = list(stops)
    return (
        any(stop.escapes or got_away_without_a_line(stop) for stop in stops)
        or any(end.way == "escaped" for end in ends(source, stops))
        or any(one.draw.way == "escaped" for one in untold(source, stops))
    )


def got_away_without_a_line(stop: StopFacts) -> bool:
    """Water was seen to get away at this stop, and nobody wrote down what or how much."""
    return isinstance(stop.escaped, Unknown) and not stop.escapes


def escapes_before_capture(source: Source, stops: Iterable[StopFacts]) -> Sequence[Line]:
    """The lines at which water of these stops got away without having been in a tank."""
    found = [where for stop in stops for where in stop.escapes]
    lines = [(where, source.line(where)) for where in found]
    return [where for where, line in lines if line is not None and without_value(line.get("from_tank")) is not None]


def unknown_aboard(source: Source, stops: Iterable[StopFacts]) -> str:
    """Why it is not known how much of their water is still aboard; '' when it is known."""
    for stop in stops:
        if stop.pieces is None:
            for load in source.loads_by_stop.get(stop.ref, ()):
                if load.closed is None:
                    return stop.why or load.why
    return ""


def unknown_handover(source: Source, stops: Iterable[StopFacts]) -> str:
    """Why it is not known whether their water was handed over at all; '' when the records say where it is."""
    for stop in stops:
        said = source.stop_run(stop).get("where") in ("aboard", "no water")
        left = [draw for load in source.loads_by_stop.get(stop.ref, ()) for draw in load.draws]
        if astray(source, [stop]):
            return WHERE_NOT_KNOWN.reason
        if stop.worked and stop.pieces is None and not said and not left:
            return "where the water is, is not recorded"
    return ""


def astray(source: Source, stops: Iterable[StopFacts]) -> Sequence[Draw]:
    """What may have left the tanks of these stops, and nobody knows where it is; not where a look showed all of it."""
    loads = {load.name: load for stop in stops for load in source.loads_by_stop.get(stop.ref, ())}
    drawn = (draw for load in loads.values() for draw in load.draws if draw.way == ASTRAY)
    return [draw for draw in drawn if in_hundredths(draw.known.figure) != 0]


def intervals_of(source: Source, stop: StopFacts) -> Sequence[Interval]:
    """The intervals between two looks in which a stop worked."""
    return [
        interval
        for load in source.loads_by_stop.get(stop.ref, ())
        for interval in load.intervals
        if stop.ref in interval.stops
    ]


def held_alone(source: Source, load: LoadFacts, ours: set[str]) -> bool:
    """Whether a load held nothing but the water of these stops, what nobody can explain apart.

    Only then are its readings theirs, and what the readings leave over is too, on either side.
    """
    fed = {stop for interval in load.intervals for stop in interval.stops} | set(load.stops)
    fed |= {owner for owner in load.owners if owner not in NOT_STOPS}
    empty_before = not isinstance(load.opening, Unknown) and load.opening.best == 0
    return not fed - ours and empty_before and not set(others_in(source, load)) - {UNNAMED}


def rest_in_tank(source: Source, job: JobFacts) -> Figure | int:
    """What two looks at the tank leave over of a job's water, often nothing, at times less than nothing.

    A figure with its ± where the loads were this job's alone, else a share in hundredths; or why it is not known.
    """
    worked = [stop for stop in job.stops if stop.worked]
    ours = {stop.ref for stop in job.stops}
    loads = {load.name: load for load in tank_loads(source, worked)}
    if not loads:
        return job.captured if isinstance(job.captured, Unknown) else NOTHING
    alone = [load for load in loads.values() if held_alone(source, load, ours)]
    telling = [load for load in loads.values() if load.not_explained not in NOTHING_TELLS]
    if not telling:
        return next(iter(loads.values())).not_explained
    told = total_of(load.not_explained for load in alone if load in telling)  # the others leave nothing, as they must
    if isinstance(told, Unknown) or len(alone) == len(loads):
        return told
    silent = next((stop for stop in worked if stop.pieces is None), None)
    if silent is not None:
        why = silent.why or next((load.why for load in source.loads_by_stop.get(silent.ref, ()) if load.why), "")
        return Unknown(why, "not known")
    names = {load.name for load in alone}
    shares = sum(end.amount for end in ends(source, job.stops) if end.way == UNNAMED and end.load not in names)
    return shares + (in_hundredths(told) or 0)


def tank_loads(source: Source, stops: Iterable[StopFacts]) -> Sequence[LoadFacts]:
    """Every load that held water of these stops: those that they fed, and those into which it was moved."""
    stops = tuple(stops)
    fed = {load.name: load for stop in stops for load in source.loads_by_stop.get(stop.ref, ())}
    moved = {piece.load: source.loads[piece.load] for stop in stops for piece in stop.pieces or ()}
    return tuple({**fed, **moved}.values())


def sum_of(parts: Iterable[End]) -> Known | int:
    """Their sum: a figure with its ± while each is a reading of its own, else hundredths worked out."""
    parts = tuple(parts)
    if all(part.whole is not None for part in parts):
        figure = total_of(part.whole.figure for part in parts if part.whole is not None)
        if not isinstance(figure, Unknown):
            method = parts[0].whole.how.method if len(parts) == 1 and parts[0].whole else "sum"
            return Known(figure, How(method))
    return sum(part.amount for part in parts)


def jobs_in(source: Source, load: LoadFacts) -> int:
    """How many jobs put water into a load."""
    return len({source.stops[ref].job or ref for ref in load.stops if ref in source.stops})
