"""What is told of a job: the client's work, over stops of one or more rigs on one or more days."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from compliance.records.names import folded
from compliance.records.state import State
from compliance.water.film import film_range
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import How, JobFacts, Known, Line, Night, RunFacts, SiteUse, StopFacts
from compliance.water.rig import RAIN_UNKNOWN, ratio, rest
from compliance.water.volume import Figure, Unknown, Volume, total_of

_DIFFER = Unknown("two rigs read the meter at the site, and their figures differ", "not known")


class Jobs:
    """Every job of the runs that are known, looked up rather than searched for: all of them cost one look at each run.

    Made once for a state and its night; a night cut to some runs gives the jobs of these.
    """

    def __init__(self, state: State, night: Night) -> None:
        self._unit = state.unit
        self._night = night
        self._stops: dict[str, list[tuple[RunFacts, StopFacts]]] = {}
        for run in night.runs.values():
            for stop in run.stops:
                self._stops.setdefault(folded(stop.job), []).append((run, stop))
        self._at_site = site_uses(night.runs.values())

    @property
    def names(self) -> list[str]:
        """Every job, in the order of its first stop."""
        return [of_job[0][1].job for of_job in self._stops.values()]

    def of(self, job: str) -> JobFacts | None:
        """One job by its name or, where a stop was its own job, by the stop's ref. None when no stop belongs to it."""
        mine = self._stops.get(folded(job))
        if mine is None:
            return None
        stops = tuple(stop for _, stop in mine)
        worked = [stop for stop in stops if stop.worked]
        together, apart = self._drawn_together(worked)
        used = total_of([*(one.known.figure for one in together), *(s.used.figure for s in apart)])
        again = total_of(s.used_again for s in worked)
        captured = total_of((s.captured.figure for s in worked), skip_not_applicable=True)
        escaped, led_away = total_of(s.escaped for s in worked), total_of(s.led_away for s in worked)
        not_explained = total_of(s.not_explained for s in worked)
        divided = {ref for s in worked for ref in s.divided_apart}
        if together or (divided and divided <= {s.ref for s in worked}):
            rained = [RAIN_UNKNOWN] if any(s.rained for s in worked) else []
            not_explained = rest((used, again, *rained), (captured, led_away, escaped))
        return JobFacts(
            job=stops[0].job,
            client=stops[0].client,
            site=stops[0].site,
            stops=stops,
            runs=tuple(dict.fromkeys(run.record for run, _ in mine)),
            loads=tuple(dict.fromkeys(piece.load for s in worked for piece in s.pieces or ())),
            used=used,
            used_again=again,
            captured=captured,
            mixed=_mixed(worked, {run.rig for run, s in mine if s.worked}),
            destinations=_destinations(self._night, worked),
            aboard=_aboard(worked),
            escaped=escaped,
            led_away=led_away,
            not_explained=not_explained,
            film=film_range(total_of(stop.area for stop in worked), self._unit),
            ratio=_ratio(self._night, worked, captured, total_of([used, again])),
            at_site=together,
        )

    def _drawn_together(self, worked: Sequence[StopFacts]) -> tuple[tuple[SiteUse, ...], list[StopFacts]]:
        """What meters say that several rigs drew at the job's sites, and the job's stops that it is not of.

        It is this job's only where all that drew are its stops.
        """
        mine = {line for stop in worked for line in stop.lines}
        together = tuple(one for one in self._at_site if mine.issuperset(one.stops))
        covered = {line for one in together for line in one.stops}
        return together, [stop for stop in worked if covered.isdisjoint(stop.lines)]


def site_uses(runs: Iterable[RunFacts]) -> list[SiteUse]:
    """What meters at sites say that several rigs drew together, each look once whoever wrote it down.

    Two rigs may have read one meter: the same figure counts once, and of two figures nobody knows which of them
    brackets the work.
    """
    seen: dict[tuple[str, tuple[Line, ...]], list[list[SiteUse]]] = {}
    for run in runs:
        here: dict[tuple[str, tuple[Line, ...]], list[SiteUse]] = {}
        for one in run.at_site:
            here.setdefault((one.meter, one.stops), []).append(one)
        for key, found in here.items():
            seen.setdefault(key, []).append(found)
    uses: list[SiteUse] = []
    for (meter, stops), by_run in seen.items():
        if len({tuple(one.known.how.formula for one in found) for found in by_run}) == 1:
            uses += by_run[0]
            continue
        lines = tuple(line for found in by_run for one in found for line in one.known.how.lines)
        uses.append(SiteUse(meter, stops, Known(_DIFFER, How("none", lines=lines))))
    return uses


def job_names(night: Night) -> list[str]:
    """Every job, in the order of its first stop."""
    return list(dict.fromkeys(stop.job for run in night.runs.values() for stop in run.stops))


def job_facts(state: State, night: Night, job: str) -> JobFacts | None:
    """One job, see `Jobs.of`; who asks for several of them makes a `Jobs`."""
    return Jobs(state, night).of(job)


def _mixed(worked: Sequence[StopFacts], rigs: set[str]) -> str:
    """Why the job's totals carry no single ±, '' when they do."""
    if len(rigs) > 1:
        return "more than one rig"
    if any(stop.divided and isinstance(stop.captured.figure, Volume) for stop in worked):
        return "worked out"
    return ""


def _destinations(night: Night, worked: Sequence[StopFacts]) -> Mapping[str, int] | None:
    """Place -> hundredths handed over there, None when some of it is unknown."""
    found: dict[str, int] = {}
    for stop in worked:
        if stop.pieces is None:
            return None
        for piece in stop.pieces:
            if piece.way == "handed over":
                draws = night.loads[piece.load].draws
                place = next(one.place for one in draws if one.line == piece.line and one.way == "handed over")
                found[place] = found.get(place, 0) + piece.amount
    return found


def _aboard(worked: Sequence[StopFacts]) -> int | None:
    if any(stop.pieces is None for stop in worked):
        return None
    return sum(piece.amount for stop in worked for piece in stop.pieces or () if piece.way == "aboard")


def _ratio(night: Night, worked: Sequence[StopFacts], captured: Figure, applied: Figure) -> Ratio | NoRatio:
    if not worked:
        return NoRatio("no stop was worked")
    runs = {stop.run: night.runs[stop.run] for stop in worked}
    mine = {stop.ref for stop in worked}
    if all({s.ref for s in run.stops if s.worked} <= mine for run in runs.values()) and len(runs) == 1:
        return next(iter(runs.values())).ratio
    if any(stop.divided and isinstance(stop.captured.figure, Volume) for stop in worked):
        return NoRatio("this job's part is worked out, not measured")
    return ratio(captured, applied, worked)
