"""How much fresh water each stop drew, and how that is known.

A stop's own figure governs for the stop, the run's own for the run. A supply meter that was read around several
stops gives their total; it is divided on area, time or equally, and says so. Water used again is put on the stop
that follows it. Fresh water let go was drawn and never went through the gun: it is in a run's own figure and in what
its meter says, and no stop used it. What a meter on no rig says that several rigs drew at one site is the use of none
of them: it is the site's.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, field, replace
from typing import Any

from compliance.records.answer import NOT_APPLICABLE, NOT_YET
from compliance.records.measure import WITHOUT_INSTRUMENT
from compliance.records.registers import Registers
from compliance.records.views import RunView
from compliance.water.intervals import plain, second_methods, sum_of
from compliance.water.methods import Gauges, Who
from compliance.water.results import Basis, Beside, How, Known, Line, SiteUse
from compliance.water.shares import divide
from compliance.water.sites import OF_NOBODY, OF_THE_SITE, Sites, meter_of_no_rig, of_no_rig, spot_of, stands_at
from compliance.water.supply import SupplySpan, let_go, supply_spans
from compliance.water.timeline import AGAIN, Draw, RunEnd, Stop, Timeline
from compliance.water.volume import (
    DIVIDED,
    NOTHING,
    ZERO,
    Figure,
    Unknown,
    Volume,
    difference,
    does_not_apply,
    from_hundredths,
    hundredths,
    in_hundredths,
    total_of,
)
from compliance.water.weights import Weight, area_of, complete, minutes_of

_DIVIDED = frozenset({DIVIDED})


@dataclass(slots=True)
class Use:
    """What runs used. by_stop: stop ref -> figure and basis; by_run: record -> figure and others beside; metered: stop
    ref -> hundredths that instruments say it used, as a weight for dividing; again: of the stops that used any again;
    let_go: record -> fresh water let go that is in what the run used, nothing where its used is the sum of its stops.
    over: stop ref -> the stops over which a total was divided, where it has a share of one.
    at_site: record -> what several rigs drew together, by a meter that this run read. shared: ref of such a stop -> why
    it has no part of that.
    """

    by_stop: dict[str, tuple[Known, Basis]] = field(default_factory=dict)
    by_run: dict[str, tuple[Known, tuple[Beside, ...]]] = field(default_factory=dict)
    again: dict[str, list[Known]] = field(default_factory=dict)
    again_of_run: dict[str, Figure] = field(default_factory=dict)
    metered: dict[str, int] = field(default_factory=dict)
    let_go: dict[str, tuple[Known, ...]] = field(default_factory=dict)
    at_site: dict[str, list[SiteUse]] = field(default_factory=dict)
    shared: dict[str, Unknown] = field(default_factory=dict)
    over: dict[str, frozenset[str]] = field(default_factory=dict)

    def applied(self, record: str) -> Figure:
        """Out of the gun, in the book's unit: what a run used and used again, less what it let go of that."""
        came = [self.by_run[record][0].figure, self.again_of_run[record]]
        return difference(came, [known.figure for known in self.let_go.get(record, ())])


def use(timeline: Timeline, gauges: Gauges, sites: Sites) -> Use:
    """What every stop and run of a timeline used, without what `add_used_again` adds. sites: who else was there."""
    found = Use()
    of_run: dict[str, list[SupplySpan]] = {}
    together = _Together(found, timeline, gauges.registers, sites)
    for span in supply_spans(timeline, gauges):
        if together.took(span):
            continue
        for record in {timeline.stops[ref].run.record for ref in span.stops}:
            of_run.setdefault(record, []).append(span)
    for run in timeline.runs:
        together.took_of_stops(run)
        worker = _Run(found, timeline, gauges, run, of_run.get(run.record, ()))
        together.took_of_run(worker)
        worker.stops_of_run()
        worker.whole_run()
    return found


class _Together:
    """Takes what meters on no rig say of several rigs away from the rig that says it, and notes it as the site's.

    What the lines of a run read goes before the same meter's figure on a stop, and that before one on the run: they may
    be the same looks, written down twice.
    """

    def __init__(self, found: Use, timeline: Timeline, registers: Registers, sites: Sites) -> None:
        self.found = found
        self.timeline = timeline
        self.registers = registers
        self.sites = sites
        self.noted: set[tuple[str, str]] = set()

    def took(self, span: SupplySpan) -> bool:
        """Whether what went through between two looks is of several rigs."""
        if not of_no_rig(self.registers, span.meter):
            return False
        stops = [self.timeline.stops[ref] for ref in span.stops]
        return self._shared(span.meter, stops, _less(span.known, span.let_go))

    def took_of_stops(self, run: RunView) -> None:
        """Figures of single stops that name such a meter."""
        noted = set(self.noted)
        for stop in self.timeline.worked(run.record):
            for line, part in zip(stop.lines, stop.parts, strict=True):
                if self._named(stop, line.get("used_also")):
                    part.used_also = None
                if (meter := self._named(stop, line.get("used"))) and self._shared(meter, [stop], part.own_used, noted):
                    part.own_used = Known(self.found.shared[stop.ref], part.own_used.how)

    def took_of_run(self, worker: _Run) -> None:
        """The figure of a whole run that names such a meter: it is of the stops at which this stands."""
        if meter_of_no_rig(self.registers, worker.run.get("used_also")):
            worker.also = not any(self.sites.drew(stop) for stop in worker.stops)
        meter = meter_of_no_rig(self.registers, worker.run.get("used"))
        here = stands_at(self.registers, meter)
        stops = [stop for stop in worker.stops if here in ("", spot_of(self.registers, stop)[0])]
        if meter and self._shared(meter, stops, _less(worker.whole, worker.let_go), set(self.noted)):
            reason = next(self.found.shared[stop.ref] for stop in stops if stop.ref in self.found.shared)
            worker.whole, worker.counted_at_site = Known(reason, worker.whole.how), True

    def _named(self, stop: Stop, amount: Any) -> str:
        """The meter on no rig that gives an amount, where others drew with this stop; else ''."""
        meter = meter_of_no_rig(self.registers, amount)
        return meter if meter and self.sites.drew(stop) else ""

    def _shared(
        self, meter: str, stops: Sequence[Stop], known: Known, noted: Set[tuple[str, str]] = frozenset()
    ) -> bool:
        """Whether other rigs drew with these stops; then it is noted, where one site and day drew it all."""
        drew = {line: None for stop in stops for line in self.sites.drew(stop)}
        if not drew:
            return False
        spots = {spot_of(self.registers, stop) for stop in stops}
        here = stands_at(self.registers, meter)
        whole = bool(here) and len(spots) == 1
        self.found.shared |= dict.fromkeys((stop.ref for stop in stops), OF_THE_SITE if here else OF_NOBODY)
        record = known.how.lines[-1].record
        if whole and (record, meter) not in noted:
            self.found.at_site.setdefault(record, []).append(SiteUse(meter, tuple(drew), known))
            self.noted.add((record, meter))
        return True


class _Run:
    """Works out the use of one run, from what its stops, its meters and it itself say."""

    def __init__(
        self, found: Use, timeline: Timeline, gauges: Gauges, run: RunView, supply: Sequence[SupplySpan]
    ) -> None:
        self.found = found
        self.timeline = timeline
        self.gauges = gauges
        self.run = run
        self.supply = supply
        self.stops = timeline.worked(run.record)
        self.each = [_own(stop) for stop in self.stops]
        self.whole = self._said("used")
        self.also = run.get("used_also") is not None
        self.counted_at_site = False
        """Whether its own figure was of several rigs, so that none is left."""
        self.let_go = tuple(let_go(gauges, run).values())

    def _said(self, name: str) -> Known:
        return self._known(self.run.get(name))

    def _known(self, amount: Any) -> Known:
        who = Who(str(self.run.get("lead") or ""), str(self.run.get("end") or ""))
        return self.gauges.known(amount, Line(self.run.record, ""), who, what="used")

    def stops_of_run(self) -> None:
        for stop, known in zip(self.stops, self.each, strict=True):
            if isinstance(known.figure, Unknown):
                self.found.by_stop[stop.ref] = (known, "not divided")
                continue
            self.found.by_stop[stop.ref] = (known, _plain(known.figure))
            if known.how.method not in WITHOUT_INSTRUMENT:
                self._metered(stop, known.figure)
        here = {stop.ref: stop for stop in self.stops}
        for span in self.supply:
            if all(ref in here for ref in span.stops):
                self._share(_less(span.known, span.let_go), [here[ref] for ref in span.stops])
        if isinstance(self.whole.figure, Volume):
            for known, stops in self._halves():
                self._share(known, stops)
            self._share(_less(self.whole, self.let_go), self.stops)
        self._say_why_not()

    def _halves(self) -> list[tuple[Known, list[Stop]]]:
        """What each hand-in of an outing says that it used, and its stops; none where a stop is in two of them.

        The run's own figure was made out of theirs then; else nobody knows that they are not two words for one figure.
        """
        said = [part.view.get("used") for part in self.run.parts]
        if None in said or self.run.get("used") in said:
            return []
        of_part = [
            [stop for stop in self.stops if {line.at.line for line in stop.parts} <= set(part.lines.values())]
            for part in self.run.parts
        ]
        if sorted(stop.ref for stops in of_part for stop in stops) != sorted(stop.ref for stop in self.stops):
            return []
        gone = let_go(self.gauges, self.run)
        found = []
        for part, amount, stops in zip(self.run.parts, said, of_part, strict=True):
            known = self._known(amount)
            here = set(part.lines.values())
            found.append((_less(known, [one for n, one in gone.items() if n in here]), stops))
        return found

    def _metered(self, stop: Stop, figure: Figure) -> None:
        amount = in_hundredths(figure)
        if amount is not None:
            self.found.metered[stop.ref] = amount

    def _say_why_not(self) -> None:
        """A stop of which nothing was recorded takes over why its run has no figure to divide, or it no part of one."""
        said = _less(self.whole, self.let_go).figure
        if isinstance(said, Volume):
            said = Unknown("the run's total cannot be divided", "not known")
        for stop in self.stops:
            known, basis = self.found.by_stop[stop.ref]
            if not isinstance(known.figure, Unknown) or known.figure.kind != NOT_YET:
                continue
            if self.run.get("used") is None or self.counted_at_site:
                self.found.by_stop[stop.ref] = (Known(self.found.shared.get(stop.ref, known.figure), known.how), basis)
            else:
                self.found.by_stop[stop.ref] = (Known(said, known.how), basis)

    def _share(self, whole: Known, stops: Sequence[Stop]) -> None:
        """Give the stops without a figure of their own what the others leave of a total."""
        figures = [self.found.by_stop[stop.ref][0].figure for stop in stops]
        wanting = [stop for stop, figure in zip(stops, figures, strict=True) if _wants_a_share(figure)]
        if not wanting:
            return
        taken = [figure for figure in figures if isinstance(figure, Volume)]
        rest = difference((whole.figure,), taken)
        if isinstance(rest, Unknown) or (rest.high is not None and rest.high < ZERO):
            return
        if len(wanting) > 1 and rest.best is None:
            return  # a bound is no weight: any share of it may be any amount
        metered = whole.how.method not in WITHOUT_INSTRUMENT
        if len(wanting) == 1:
            known = whole if not taken else _left(whole, taken, rest)
            self.found.by_stop[wanting[0].ref] = (known, _plain(rest))
            if metered:
                self._metered(wanting[0], rest)
            return
        basis, weights = _basis(wanting)
        assert rest.best is not None
        over = frozenset(stop.ref for stop in wanting)
        for stop, share in zip(wanting, divide(hundredths(rest.best), weights), strict=True):
            amount = from_hundredths(share)
            figure = Volume(amount, amount, unstated=_DIVIDED)
            how = How("worked out", f"a share of {rest.best} by {basis}", whole.how.reader, "", whole.how.lines)
            self.found.by_stop[stop.ref], self.found.over[stop.ref] = (Known(figure, how), basis), over

    def whole_run(self) -> None:
        """The run's own figure governs; else its meter, else the sum of its stops. The others stand beside."""
        ways, gone = ([self.whole], self.let_go) if isinstance(self.whole.figure, Volume) else ([], ())
        covered = {ref for span in self.supply for ref in span.stops}
        if self.supply and covered == {stop.ref for stop in self.stops}:
            total = _metered_total([span.known for span in self.supply])
            if not ways and isinstance(total.figure, Volume):
                gone = tuple(known for span in self.supply for known in span.let_go)
            ways.append(total)
        if self.each:
            ways.append(sum_of((*self.each, *gone)))
        elif self.run.get("used") is None and not self._recovered():
            ways.append(Known(NOTHING, How("sum", "no stop was worked", lines=(Line(self.run.record, ""),))))
        if self.also:
            ways.append(self._said("used_also"))
        known = [way for way in ways if isinstance(way.figure, Volume)]
        if known:
            self.found.by_run[self.run.record] = (known[0], second_methods(known[0], known[1:]))
            self.found.let_go[self.run.record] = gone
            return
        each = [self.found.by_stop[stop.ref][0].figure for stop in self.stops]
        unknown = [figure for figure in (self.whole.figure, *each) if isinstance(figure, Unknown)]
        if self.stops and self.run.get("used") is None and all(stop.ref in self.found.shared for stop in self.stops):
            unknown = unknown[1:] or unknown  # its silence is answered: a meter counted what all drew there
        self.found.by_run[self.run.record] = (Known(total_of(unknown), self.whole.how), ())

    def _recovered(self) -> bool:
        """The run says that it recovered water, so it must have used some."""
        figure = self.timeline.end_of[self.run.record].captured.figure
        said = self.run.get("recovered") not in (None, NOT_APPLICABLE)
        return said and not (isinstance(figure, Volume) and figure.best == ZERO)


def _own(stop: Stop) -> Known:
    """What the stop itself says; a continued stop adds up its lines, those on which the question arises."""
    known = [part.own_used for part in stop.parts]
    asked = [one for one in known if not does_not_apply(one.figure)]
    return sum_of(asked or known[:1])


def _less(whole: Known, gone: Sequence[Known]) -> Known:
    """What is left of a total for the stops, when some of it was let go."""
    if not gone:
        return whole
    rest = difference((whole.figure,), (known.figure for known in gone))
    formula = f"{whole.how.formula}; {' - '.join(plain(k.figure) for k in (whole, *gone))} = {plain(rest)}"
    lines = (*whole.how.lines, *(line for known in gone for line in known.how.lines))
    return Known(rest, replace(whole.how, formula=formula, lines=lines))


def _left(whole: Known, taken: Sequence[Figure], rest: Figure) -> Known:
    """What the figures of the other stops leave of a total, with the reading of the total and the line to redo it."""
    formula = f"what the other stops leave: {' - '.join(map(plain, (whole.figure, *taken)))} = {plain(rest)}"
    read = f"{whole.how.formula}; " if whole.how.formula else ""
    return Known(rest, replace(whole.how, method="sum", formula=read + formula))


def _metered_total(known: Sequence[Known]) -> Known:
    if len(known) == 1:
        return known[0]
    lines = tuple(line for one in known for line in one.how.lines)
    formula = "; ".join(one.how.formula for one in known)
    how = known[-1].how
    return Known(total_of(one.figure for one in known), How("meter", formula, how.reader, how.at, lines))


def _plain(figure: Volume) -> Basis:
    return "stated" if figure.unstated else "measured"


def _wants_a_share(figure: Figure) -> bool:
    return isinstance(figure, Unknown) and not does_not_apply(figure)


def _basis(stops: Sequence[Stop]) -> tuple[Basis, list[Weight]]:
    """By area where every stop has one, else by time, else equally; and the weights."""
    if (areas := complete([area_of(stop.parts) for stop in stops])) is not None:
        return "area", areas
    if (times := complete([minutes_of(stop.parts) for stop in stops])) is not None:
        return "time", times
    return "equal parts", [1] * len(stops)


def add_used_again(found: Use, timeline: Timeline) -> None:
    """Water used again belongs to the stop that follows in its run, else to the last one.

    To be added once the intervals of the tanks are known: their levels may tell what nobody measured.
    """
    draws: list[Draw] = []
    for event in timeline.events:
        if isinstance(event, Draw) and event.way == AGAIN:
            draws.append(event)
        if isinstance(event, RunEnd):
            run = event.run
            found.again_of_run[run.record] = total_of(d.known.figure for d in draws)
            for draw in draws:
                follows = _following(run, draw.at.line, timeline.stops_of[run.record])
                if follows is not None:
                    found.again.setdefault(follows.ref, []).append(draw.known)
            draws = []


def _following(run: RunView, n: str, stops: Sequence[Stop]) -> Stop | None:
    order = {line.n: i for i, line in enumerate(run.lines)}
    worked = sorted(((order[part.at.line], stop) for stop in stops for part in stop.parts), key=lambda one: one[0])
    after = [stop for i, stop in worked if i > order[n]]
    if after:
        return after[0]
    return worked[-1][1] if worked else None
