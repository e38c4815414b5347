"""What is told of one run, and the balance that a reader adds up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from compliance.records.answer import NOT_YET
from compliance.records.views import RunView
from compliance.water.film import film_range
from compliance.water.intervals import plain, second_methods, sum_of
from compliance.water.levels import Level
from compliance.water.ratio import NoRatio
from compliance.water.results import UNNAMED, BalanceLine, Beside, How, Known, Line, RunFacts, StopFacts
from compliance.water.rig import RAIN_UNKNOWN, RigWater, ratio, rest
from compliance.water.stopfacts import NOT_PLANNED
from compliance.water.supply import let_go
from compliance.water.timeline import ASTRAY, ESCAPED, HANDED, MOVED, SOLIDS
from compliance.water.volume import NOTHING, Figure, Unknown, Volume, total_of


def run_facts(rig: RigWater, run: RunView, told: Mapping[str, StopFacts]) -> RunFacts:
    """One run: its stops, what it used and captured, and its balance."""
    mine = rig.timeline.worked(run.record)
    stops = tuple(told[s.ref] for s in rig.timeline.stops_of[run.record])
    used, used_beside = rig.use.by_run[run.record]
    captured, captured_beside = _captured(rig, run, told)
    before, after = rig.aboard[run.record]
    again = rig.use.again_of_run[run.record]
    rained = any(told[stop.ref].rained for stop in mine)
    lines = _balance(rig, run, used, before, after, rained=rained)
    applied = rig.use.applied(run.record)
    areas = total_of(told[stop.ref].area for stop in mine)
    return RunFacts(
        ref=run.ref,
        record=run.record,
        rig=rig.registers.name("rig", str(run.get("rig"))),
        lead=rig.registers.name("person", str(run.get("lead") or "")),
        date=run.day,
        start=str(run.get("start") or ""),
        end=str(run.get("end") or ""),
        cancelled=False,
        stops=stops,
        loads=tuple(load.name for load in rig.loads_of.get(run.record, ())),
        used=used,
        used_again=again,
        captured=captured,
        led_away=_with(rig.timeline.led_away.get(run.record, ()), (stop.led_away for stop in stops)),
        let_go=total_of(k.figure for k in let_go(rig.gauges, run).values()),
        escaped=_with(rig.timeline.escapes.get(run.record, ()), (stop.escaped for stop in stops)),
        aboard_before=before.figure,
        aboard_after=after.figure,
        not_explained=lines[-1].known.figure,
        balance=lines,
        ratio=ratio(captured.figure, applied, [told[stop.ref] for stop in mine]),
        applied=applied,
        film=film_range(areas, rig.gauges.unit),
        used_beside=used_beside,
        captured_beside=captured_beside,
        at_site=tuple(rig.use.at_site.get(run.record, ())),
    )


def _with(loose: Iterable[Known], of_stops: Iterable[Figure]) -> Figure:
    """What the stops have, and what a run has that could give it to no stop."""
    return total_of([*of_stops, *(known.figure for known in loose)])


def _captured(rig: RigWater, run: RunView, told: Mapping[str, StopFacts]) -> tuple[Known, tuple[Beside, ...]]:
    """A run's captured water: its intervals where they hold no other run's stops, else its stops' shares."""
    worked = rig.timeline.worked(run.record)
    mine = [stop for stop in worked if stop.planned]
    end = rig.timeline.end_of[run.record].captured
    if not mine:
        here = (Line(run.record, ""),)
        if run.get("recovered") is not None:
            return end, ()
        if worked:
            return Known(NOT_PLANNED, How("none", lines=here)), ()
        return Known(NOTHING, How("none", "no stop was worked", lines=here)), ()
    touched = rig.spans_of[run.record]
    shown: tuple[Beside, ...] = ()
    if all(work.part.at.record == run.record for span in touched for work in span.works):
        known = sum_of(span.captured for span in touched if span.captured is not None)
        shown = touched[0].beside if len(touched) == 1 else ()
    else:
        known = sum_of(told[stop.ref].captured for stop in mine)
    if isinstance(known.figure, Unknown):
        silent = known.figure.kind == NOT_YET  # where the run says 'not read', that is the answer
        return (end if silent or isinstance(end.figure, Volume) else known), ()
    if isinstance(end.figure, Unknown) or end.how == known.how or any(b.known == end for b in shown):
        return known, shown
    return known, (*shown, *second_methods(known, (end,)))


def _balance(
    rig: RigWater, run: RunView, used: Known, before: Level, after: Level, *, rained: bool
) -> tuple[BalanceLine, ...]:
    """The lines that a reader adds up, those that nobody measured among them.

    What is aboard is in the rig's own tanks; only where another rig's tank is used does water move in or out.
    """
    here = Line(run.record, "")
    owner = rig.timeline.rig_of
    mine = owner[run.record]
    draws = [(t.way, t.draw) for tank, t in rig.taken_of.get(run.record, ()) if t.draw and owner[tank] == mine]
    puts = [p for p in rig.puts_of.get(run.record, ()) if owner[p.tank] == mine]
    stops = rig.timeline.stops_of[run.record]
    led = [k for s in stops for k in s.led_away] + rig.timeline.led_away.get(run.record, [])
    loose = rig.timeline.escapes.get(run.record, [])
    escapes = [k for s in stops for k in s.escapes] + loose + [d.known for way, d in draws if way == ESCAPED]
    to = {id(p.source): owner[p.tank] for p in rig.puts_of.get(run.record, ()) if p.source is not None}
    lines = [
        BalanceLine("aboard at the start", 1, _stood(before, here)),
        BalanceLine("used", 1, used),
        *(BalanceLine(p.owner, 1, p.known) for p in puts if p.owner not in ("", UNNAMED)),
        *([BalanceLine("rain, of an amount not read", 1, Known(RAIN_UNKNOWN, How("none", lines=(here,))))] * rained),
        *(BalanceLine("moved in", 1, p.known) for p in puts if p.source is not None and owner[p.source.tank] != mine),
        *(BalanceLine("handed over", -1, d.known) for way, d in draws if way == HANDED),
        *(BalanceLine("led away", -1, k) for k in led),
        *(BalanceLine("let go", -1, k) for k in rig.use.let_go.get(run.record, ())),
        *(BalanceLine("got away", -1, k) for k in escapes),
        *(BalanceLine("solids taken out", -1, d.known) for way, d in draws if way == SOLIDS),
        *(BalanceLine(ASTRAY, -1, d.known) for way, d in draws if way == ASTRAY),
        *(BalanceLine("moved out", -1, d.known) for way, d in draws if way == MOVED and to[id(d)] != mine),
        BalanceLine("aboard at the end", -1, _stood(after, here)),
    ]
    came = [line.known.figure for line in lines if line.sign > 0]
    left = rest(came, [line.known.figure for line in lines if line.sign < 0])
    formula = "".join(f" {'+' if line.sign > 0 else '-'} {plain(line.known.figure)}" for line in lines)
    lines.append(BalanceLine("not explained", 0, Known(left, How("sum", formula.removeprefix(" + "), lines=(here,)))))
    return tuple(lines)


def _stood(level: Level, here: Line) -> Known:
    """What was aboard, and whether anybody looked."""
    return Known(level.figure, How(level.method, lines=(here,)))


def cancelled_facts(run: RunView) -> RunFacts:
    """A run that was cancelled: it is named, and holds no water."""
    nothing = Known(Unknown("the run was cancelled", "not applicable"), How("none"))
    return RunFacts(
        run.ref, run.record, str(run.get("rig")), str(run.get("lead") or ""), run.day, "", "", True, (), (), nothing,
        NOTHING, nothing, NOTHING, NOTHING, NOTHING, NOTHING, NOTHING, NOTHING, (),
        NoRatio("the run was cancelled"), NOTHING, None,
    )  # fmt: skip
