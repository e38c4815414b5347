"""What is told of one load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from compliance.water.division import Division
from compliance.water.intervals import Span, left_by_figures, sum_of
from compliance.water.mixing import Load
from compliance.water.results import AGENT, FOREIGN, Draw, How, Interval, Known, LoadFacts, Now, StopFacts
from compliance.water.rig import SHARED, RigWater, ratio
from compliance.water.timeline import AGAIN, ASTRAY, ESCAPED, HANDED, MOVED, SOLIDS
from compliance.water.timeline import Draw as Taken
from compliance.water.volume import NOTHING, ZERO, Figure, Unknown, Volume, difference, total_of

LEVELS = "levels"
"""The method of a figure that was worked out from two looks at the tank."""
SAME_READINGS = Unknown("captured and handed over come from the same readings", "not known")
SAME_LOOK = Unknown("captured and what is aboard come from the same readings", "not known")
NOBODY_LOOKED = Unknown("nobody read the tank: what is aboard is what the other figures leave", "not known")
NOTHING_TELLS = (SAME_READINGS, SAME_LOOK, NOBODY_LOOKED)
"""Why nothing could show what is missing from a load whose figures are all known."""
_ELSEWHERE = Unknown("a stop went on into another load", "not known")
_WAYS = (HANDED, AGAIN, MOVED, ESCAPED, SOLIDS, ASTRAY)


def load_facts(rig: RigWater, load: Load, stops_told: Mapping[str, StopFacts]) -> LoadFacts:
    """One load: what went in, what left, who owned it, and what two sides differ by."""
    worked = rig.tanks[load.tank]
    chosen = [
        (worked.spans[i], worked.divisions[i])
        for i in load.spans
        if worked.spans[i].events or worked.spans[i].unexplained != NOTHING
    ]
    with_work = [span for span, _ in chosen if span.works]
    captured = _load_captured(with_work, load)
    out = {way: [t.draw.known.figure for t in load.taken if t.way == way and t.draw] for way in _WAYS}
    puts = {who: [p.known.figure for p in load.puts if p.owner == who] for who in (FOREIGN, AGENT, "")}
    closing = NOTHING if load.closed is not None else worked.spans[-1].level_after
    assert closing is not None  # an interval that was followed to its end has a level, known or not
    foreign, agent, moved_in = (total_of(puts[who]) for who in (FOREIGN, AGENT, ""))
    otherwise = total_of([f for way in _WAYS if way not in (HANDED, AGAIN) for f in out[way]])
    handed, again = total_of(out[HANDED]), total_of(out[AGAIN])
    came = [load.opening, captured.figure, foreign, agent, moved_in]
    stops = tuple(dict.fromkeys(work.part.stop for work in load.works))
    applied = _applied(rig, load, stops, stops_told)
    divided = any(division.basis in SHARED for _, division in chosen)
    return LoadFacts(
        name=load.name,
        rig=rig.timeline.rig_of[load.tank],
        tank=str(rig.timeline.tanks[load.tank].get("name")),
        opened=load.opened,
        closed=load.closed,
        opening=load.opening,
        closing=closing,
        closing_how=_how_read(None if load.closed is not None else worked.spans[-1]),
        captured=captured,
        foreign=foreign,
        agent=agent,
        handed_over=handed,
        used_again=again,
        otherwise_out=otherwise,
        not_explained=_not_explained(
            [span for span, _ in chosen], difference(came, [handed, again, otherwise, closing])
        ),
        intervals=tuple(_interval(span, division) for span, division in chosen),
        draws=tuple(
            Draw(t.way, t.at, load.name, t.place, t.draw.known, t.parts) for t in load.taken if t.draw is not None
        ),
        stops=stops,
        contents=load.contents,
        divided=divided,
        why=load.why or next((d.why for span, d in chosen if span.works and d.shares is None), ""),
        ratio=ratio(captured.figure, applied, [stops_told[ref] for ref in stops]),
        applied=applied,
        now="empty" if load.closed is not None else _now(worked.spans[-1]),
        moved_in=moved_in,
        owners=tuple(owner for owner in load.owners if owner),
    )


def _how_read(last: Span | None) -> How:
    """How what is aboard is known; last: the interval at its end, None where the load is over."""
    if last is None:
        return How("none", "the load is over")
    return left_by_figures(last) if last.after is None else last.after.how


def _not_explained(spans: Sequence[Span], figure: Figure) -> Figure:
    """What the load leaves over, as far as any of its intervals could show that something is missing.

    None can where its captured water was told by levels, or an amount that nobody measured was worked out of it: what
    was drawn stands on both sides then. Nor can one that no look closed, since what the tank holds after it is what
    its own figures leave. The zero of such intervals alone is made by the arithmetic.
    """
    moved = [[*(draw.known for draw in span.draws), *(put.known for put in span.puts)] for span in spans]
    told = [any(known.how.method == LEVELS for known in of_span) for of_span in moved]
    levels = [span.captured is not None and span.captured.how.method == LEVELS for span in spans]
    tells = [not (one or level or span.after is None) for one, level, span in zip(told, levels, spans, strict=True)]
    if any(tells) or not spans or isinstance(figure, Unknown):
        return figure
    if any(told) or any(level and span.draws for level, span in zip(levels, spans, strict=True)):
        return SAME_READINGS
    return SAME_LOOK if any(levels) else NOBODY_LOOKED


def _now(last: Span) -> Now:
    """Whether a load that nobody saw end is aboard. After a draw that nobody measured it may be, or not."""
    if isinstance(last.level_after, Volume):
        return "empty" if last.level_after.best == ZERO else "aboard"
    return "not known" if last.events and isinstance(last.events[-1], Taken) else "aboard"


def _interval(span: Span, division: Division) -> Interval:
    names = list(dict.fromkeys(work.part.stop for work in span.works))
    shares: dict[str, int] | None = None
    if division.shares is not None:
        shares = dict.fromkeys(names, 0)
        for work, share in zip(span.works, division.shares, strict=True):
            shares[work.part.stop] += share
    captured = span.captured or Known(NOTHING, How("none", "no work in between"))
    return Interval(
        span.opened,
        span.closed,
        span.before,
        NOTHING if span.level_after is None else span.level_after,
        tuple(names),
        captured,
        division.basis,
        shares,
        division.why,
        span.unexplained,
        span.beside,
    )


def _applied(rig: RigWater, load: Load, stops: Sequence[str], told: Mapping[str, StopFacts]) -> Figure:
    """Out of the gun at these stops: the runs' own figures where the stops are all of theirs, else stop by stop."""
    here = {work.part.at for work in load.works}
    by_run: dict[str, list[str]] = {}
    for ref in stops:
        stop = rig.timeline.stops[ref]
        if any(part.at not in here for part in stop.parts):
            return _ELSEWHERE
        by_run.setdefault(stop.run.record, []).append(ref)
    terms: list[Figure] = []
    for record, refs in by_run.items():
        if set(refs) == {stop.ref for stop in rig.timeline.worked(record)}:
            terms.append(rig.use.applied(record))
        else:
            terms += [figure for ref in refs for figure in (told[ref].used.figure, told[ref].used_again)]
    return total_of(terms)


def _load_captured(with_work: Sequence[Span], load: Load) -> Known:
    if not with_work:
        return Known(NOTHING, How("none", "no work", "", "", (load.opened,)))
    return sum_of([span.captured for span in with_work if span.captured is not None])
