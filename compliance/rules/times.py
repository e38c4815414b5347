"""Times: entered late, aboard too long, out of order. Nothing is taken from a clock that nobody read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Final

from compliance.records.answer import without_value
from compliance.records.names import folded
from compliance.records.quantity import convert
from compliance.records.views import RunView
from compliance.rules.rule import (
    ARITHMETIC,
    NO_SOURCE,
    NOTHING,
    READ_IN_PART,
    Basis,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Parameter,
    Params,
    Rule,
    Words,
)
from compliance.rules.say import plain
from compliance.rules.scene import Limit, Scene
from compliance.rules.subjects import Handover, Load, Run, Stop, days_between, figure, items, moment
from compliance.water.results import Line
from compliance.water.timeline import HANDED
from compliance.water.volume import CONTEXT

LIMIT: Final = "days aboard"
_SECONDS_A_DAY: Final = Decimal(86_400)


def entered_long_after(scene: Scene, run: Run, params: Params) -> Outcome:
    """time-1."""
    received = moment(run.view.received)
    if received is None:
        return CannotTell("the record has no time of receipt")
    ended = _end(run.view, received)
    late = CONTEXT.divide(Decimal(int((received - ended).total_seconds())), _SECONDS_A_DAY)
    if late <= params["days"]:
        return NOTHING
    return Fault(
        f"handed in on {received.astimezone(ended.tzinfo).date()}, {plain(late)} days after the run",
        f"at most {plain(params['days'])} days",
    )


def _end(run: RunView, received: datetime) -> datetime:
    """When a run ended: as recorded, else the end of its day where it was handed in."""
    ended = moment(run.get("end"))
    if ended is not None:
        return ended
    day = date.fromisoformat(run.day) + timedelta(days=1)
    return datetime(day.year, day.month, day.day, tzinfo=received.tzinfo)


def water_aboard_too_long(scene: Scene, load: Load, params: Params) -> Outcome:
    """time-2."""
    ends = list(_ends(scene, load))
    if not ends:
        return DoesNotApply("no stop's water is known to be in the load")
    for what, taken, until, handover in ends:
        days = _days(_arrived(taken), until)
        limit, most = _limit(scene, handover, params)
        if days > most:
            basis: Basis = limit.basis if isinstance(limit, Limit) else "practice"
            return Fault(
                f"water taken on {taken.run.day} {what} after {plain(days)} days",
                f"at most {plain(most)} days: {limit}",
                lines=(*taken.at[:1], *(handover.at if handover else ())),
                severity="look at" if basis == "practice" else "not met",
                basis=basis,
            )
    return NOTHING


def _ends(scene: Scene, load: Load) -> Iterator[tuple[str, Stop, datetime | str, Handover | None]]:
    """Each time water of the load was handed over, and today while some is aboard, with the oldest stop in it."""
    for draw in load.facts.draws:
        handover = scene.handover(draw.line.record, draw.line.line)
        oldest = _oldest(scene, load, draw.parts)
        if draw.way == HANDED and handover is not None and oldest is not None:
            when = moment(handover.get("at")) or handover.day
            yield f"was handed over to {handover.place!r}", oldest, when, handover
    oldest = _oldest(scene, load, load.facts.contents)
    if load.facts.closed is None and oldest is not None:
        yield (
            "is still aboard" if load.facts.now == "aboard" else "may still be aboard",
            oldest,
            scene.today.isoformat(),
            None,
        )


def _oldest(scene: Scene, load: Load, owners: Mapping[str, int] | None) -> Stop | None:
    """The stop whose water was longest in the tank: of the owners where they are known, else of all the load's."""
    refs = load.facts.stops if owners is None else [owner for owner, amount in owners.items() if amount > 0]
    stops = [stop for ref in refs if (stop := scene.stop(ref)) is not None]
    return min(stops, key=lambda stop: (stop.run.day, stop.run.seq, stop.number), default=None)


def _arrived(stop: Stop) -> datetime | str:
    return moment(stop.get("arrived")) or stop.run.day


def _days(start: datetime | str, end: datetime | str) -> Decimal:
    """Days between two moments; where either is only a day, between the days."""
    if isinstance(start, datetime) and isinstance(end, datetime):
        return CONTEXT.divide(Decimal(int((end - start).total_seconds())), _SECONDS_A_DAY)
    first, last = (one.date() if isinstance(one, datetime) else date.fromisoformat(one) for one in (start, end))
    return Decimal(days_between(first, last))


def _limit(scene: Scene, handover: Handover | None, params: Params) -> tuple[Limit | str, Decimal]:
    """The limit that governs, in days: the permission's own, then what is on file, then the house's habit."""
    if handover is not None:
        for one in scene.permissions(handover).valid:
            longest = figure(one.get("longest_aboard"), "days")
            if longest is not None and longest.high is not None:
                name = f"permission {one['name']!r}"
                return Limit(name, longest.high, "days", "local permit", name, ""), longest.high
    limit = scene.limit(LIMIT, handover.day if handover else scene.today.isoformat())
    if isinstance(limit, Limit):
        return limit, convert(limit.value, limit.unit, "days")
    return f"{limit}; common practice, no source", params["days"]


_LONGEST: Final = 7
"""Days that an outing may last: an older one is over, and its readings are long behind."""


def runs_overlap(scene: Scene, run: Run, params: Params) -> Outcome:
    """time-4."""
    mine = _span(run.view)
    read = _meter_span(run.view)
    if mine is None and read is None:
        return DoesNotApply("neither times nor meter readings of the run are recorded")
    for other in scene.before(run):
        if days_between(date.fromisoformat(other.day), date.fromisoformat(run.day)) > _LONGEST:
            break
        theirs = _span(other.view)
        if mine is not None and theirs is not None and mine[0] < theirs[1] and theirs[0] < mine[1]:
            seen = f"{other.ref} was out until {theirs[1]:%Y-%m-%d %H:%M}, and this run began {mine[0]:%Y-%m-%d %H:%M}"
        elif read is not None and read == _meter_span(other.view):
            seen = f"{other.ref} read the same meter from {read[1]} to {read[2]} too"
        else:
            continue
        return Fault(seen, "a rig is on one outing at a time", lines=(*run.at, *other.at))
    return NOTHING


def _span(run: RunView) -> tuple[datetime, datetime] | None:
    start, end = moment(run.get("start")), moment(run.get("end"))
    return None if start is None or end is None else (start, end)


def _meter_span(run: RunView) -> tuple[str, str, str] | None:
    """The meter of what was used and its two readings, where something went through it."""
    used = run.get("used")
    if not isinstance(used, dict) or used.get("method") != "meter":
        return None
    ends = used["start"], used["end"]
    if ends[0] == ends[1] or any(without_value(end) is not None for end in ends):
        return None
    return folded(str(used["meter"])), *ends


def times_out_of_order(scene: Scene, run: Run, params: Params) -> Outcome:
    """time-3."""
    faults = list(_out_of_order(run))
    if not faults:
        return NOTHING
    return Fault(
        "; ".join(words for words, _ in faults),
        "the order in which the lines stand",
        lines=tuple(dict.fromkeys(at for _, at in faults)),
    )


def _out_of_order(run: Run) -> Iterator[tuple[str, Line]]:
    """Each pair of times that contradict each other, told in words, and the line on which the later one stands."""
    view, record = run.view, run.view.record
    start, end = moment(view.get("start")), moment(view.get("end"))
    if _later(start, end):
        yield f"the run ended ({_clock(end)}) before it started ({_clock(start)})", Line(record, "")
    arrived_before: datetime | None = None
    stops = {part.n: stop for stop in run.stops for part in stop.parts}
    for line in view.lines:
        at = Line(record, line.n)
        if line.kind == "stop":
            stop = stops[line.n]
            arrived, left = moment(line.get("arrived")), moment(line.get("left"))
            if _later(arrived, left):
                yield f"stop {stop.number} was left ({_clock(left)}) before arrival ({_clock(arrived)})", at
            if _later(start, arrived):
                yield f"stop {stop.number} ({_clock(arrived)}) began before the run ({_clock(start)})", at
            if _later(left, end):
                yield f"stop {stop.number} was left ({_clock(left)}) after the run ended ({_clock(end)})", at
            if _later(arrived_before, arrived):
                yield f"stop {stop.number} ({_clock(arrived)}) began before the stop above it", at
            for drain in items(line, "drain_list"):
                on, off = moment(drain.get("on")), moment(drain.get("off"))
                if _later(on, off):
                    yield f"the drain {drain['name']!r} was opened ({_clock(off)}) before it was closed", at
            arrived_before = arrived or arrived_before
        else:
            when = moment(line.get("at"))
            if _later(arrived_before, when) and line.kind in ("hand over", "led away", "use again"):
                yield f"{line.kind} ({_clock(when)}) before the stop above it ({_clock(arrived_before)})", at


def _later(one: datetime | None, other: datetime | None) -> bool:
    """Whether both are known and the first is the later."""
    return one is not None and other is not None and one > other


def _clock(when: datetime | None) -> str:
    assert when is not None
    return f"{when:%Y-%m-%d %H:%M}"


RULES: Final = (
    Rule(
        id="time-1",
        slug="entered-long-after",
        title=Words("Handed in long after the run", "Se entregó la hoja mucho después"),
        severity="look at",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="run",
        judge=entered_long_after,
        looks_for="A run that the book received more than the days below after the run's end (after the end of its "
        "day where no end is recorded).",
        why="A record made at once is worth more than one made from memory, and a reader of the book can see which.",
        next_step="say on the run from what it was entered late: a sheet, a photo, memory",
        parameters=(Parameter("days", Decimal(3), "days", "how long after the run's end", "no source"),),
        example='end = "02:30"    # of 2026-09-15\nhanded_in = "2026-09-18T06:40-06:00"',
    ),
    Rule(
        id="time-2",
        slug="water-aboard-too-long",
        title=Words("Water aboard too long", "Agua a bordo demasiado tiempo"),
        severity="not met",
        basis="local permit",
        citations=(
            Citation("the permission or the limit on file"),
            Citation("Dallas 19-123(e), at most 4 days in a mobile closed container, as an example", READ_IN_PART),
        ),
        scope="load",
        judge=water_aboard_too_long,
        looks_for="Water whose oldest part was in the tank longer than the permission of the place, or the limit 'days "
        "aboard' in force, allows; where neither is on file, longer than the days below ('look at').",
        why="Standing water turns, and some local rules put a number on it.",
        next_step="hand the load over, and ask the place first whether it takes water of that age",
        crew=Words("The water has been aboard too long: hand it over.", "El agua lleva mucho a bordo: entréguela."),
        caution="Old wash water gives off gas that can kill: open the tank from outside and never lean in.",
        parameters=(Parameter("days", Decimal(7), "days", "while no limit is on file", "common practice, no source"),),
        example='name = "days aboard"\nvalue = "4 days"\nwhere = "aboard"    # since 2026-09-14',
    ),
    Rule(
        id="time-3",
        slug="times-out-of-order",
        title=Words("Times out of order", "Horas en desorden"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC,),
        scope="run",
        judge=times_out_of_order,
        looks_for="A stop left before arrival, begun before the run or before the stop above it, or left after the "
        "run's end; a handover before the stop above it; a drain opened before it was closed; an end before a start.",
        why="The order of the lines decides whose water was in the tank, and the times are what a stranger checks.",
        next_step="correct the time that was keyed or read wrong, or the order of the lines",
        crew=Words("A time does not fit: look again.", "Una hora no cuadra: vea otra vez."),
        example='arrived = "21:00"\nleft = "2026-09-14T20:30-06:00"',
    ),
    Rule(
        id="time-4",
        slug="runs-of-a-rig-overlap",
        title=Words("Two runs of one rig at one time", "Dos salidas de un camión a la vez"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC,),
        scope="rig",
        judge=runs_overlap,
        looks_for="A run that began before a run of the same rig ended, or whose meter was read from and to the same "
        "figures as on another.",
        why="A night that is handed in twice counts twice, in the month and on a page.",
        next_step="if both are one night, cancel one of them; if two hand-ins are halves of one outing, join them; "
        "else correct the times or the readings",
        example='end = "2026-09-15T20:30-06:00"    # of the run before\nstart = "20:00"',
    ),
)
