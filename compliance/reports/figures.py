"""The figures that pages print and that a later record could change, each under a name and in one exact form.

An issued page keeps them as it printed them (`records.kinds`, kind 'issue'); the same function over the records of
now says which of them differ. Names, by family:

    used, captured, ways, not explained
                           <stop>/used ...: of one stop; ways is where its captured water went
    area                   <stop>/area, <run>/area: washed; film and applied depth follow from it
    at site                <stop>/at site: what a meter at the site says that it and stops of other rigs drew
    load                   <load>: a digest of its division, everybody's shares in it; it stays in the book
    sum                    sum/<what>/<how known>: the sums of a month
    came                   came/<what>/<how known>: what came in or went besides
    between                between/<what>/<how known>: by what levels changed between two runs
    run                    run/<run>/<what>: its figures run by run
    client, site, place    client/<name>/<what>/<how known> ...: its sums by client, site and destination
    old                    old/<client>/<what>: what an old file states, by client
    restates               restates/<number>: what a summary says of an earlier one
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any, Final

from compliance.records.names import folded
from compliance.records.state import State
from compliance.records.views import Issued
from compliance.reports import totals
from compliance.reports.issue import CLIENT, MONTH, base_of, span_in
from compliance.reports.refs import Source
from compliance.reports.span import FAMILY, Spans, washed, waters
from compliance.reports.words import Words
from compliance.water.jobs import site_uses
from compliance.water.oldrows import OldTotal, old_totals
from compliance.water.results import Night, SiteUse, StopFacts
from compliance.water.volume import Figure, Unknown, from_hundredths, is_nothing, total_of

LOAD: Final = "load"
RESTATES: Final = "restates"
_WHOLE: Final = ("sum", *FAMILY.values(), "run", "client", "site", "place", "old", RESTATES)
"""Families whose names begin with them."""
FAMILIES: Final = frozenset(("used", "captured", "ways", "not explained", "area", "at site", LOAD, *_WHOLE))


def family(name: str) -> str:
    """Which family a figure's name is of; one of a program that names its figures otherwise is of none of them."""
    head, _, _ = name.partition("/")
    if head in _WHOLE:
        return head
    _, mark, what = name.rpartition("/")
    return what if mark else LOAD


class Figures:
    """The figures of one state of the records, looked up rather than searched for."""

    def __init__(self, state: State, night: Night) -> None:
        self.state = state
        self.night = night
        self._digests: dict[str, str] = {}

    def of(self, page: Issued) -> Mapping[str, str]:
        """The figures that a page of this kind and matter prints now."""
        kind = base_of(page.page)
        if kind == MONTH:
            return self.of_month(*span_in(page.about)[1:])
        return self.of_client(*span_in(page.about)) if kind == CLIENT else self.of_job(page.about)

    def differing(self, page: Issued) -> Mapping[str, tuple[str, str]]:
        """Figures of an issued page that are others now: name -> (printed, now), '' for one that is not there.

        A family that the page did not print is left out, and so is one that this program does not know.
        """
        now = self.of(page)
        printed = {name: was for name, was in page.figures.items() if family(name) in FAMILIES - {RESTATES}}
        families = {family(name) for name in printed}
        names = dict.fromkeys([*printed, *(name for name in now if family(name) in families)])
        found = {name: (printed.get(name, ""), now.get(name, "")) for name in names}
        found |= {name: (was, self._restated(name)) for name, was in page.figures.items() if family(name) == RESTATES}
        return {name: both for name, both in found.items() if both[0] != both[1]}

    def restated(self, page: Issued) -> str:
        """What a later summary keeps when it restates a page: a digest of the figures as they are now."""
        return digest(sorted(self.of(page).items()))

    def _restated(self, name: str) -> str:
        number = name.removeprefix(f"{RESTATES}/")
        page = next((one for one in self.state.issued if one.number == number), None)
        return "" if page is None else self.restated(page)

    def of_job(self, job: str) -> Mapping[str, str]:
        """The figures of a proof."""
        return self.of_stops(self._by_job.get(folded(job), ()))

    def of_client(self, client: str, first: str, last: str) -> Mapping[str, str]:
        """The figures of a client's summary."""
        key = self.state.registers.key("client", client)
        mine = [stop for day, stop in self._by_client.get(key, ()) if first <= day <= last]
        old = old_totals(self.state, first, last, client)
        return {**self.of_stops(mine), **{name: text for one in old for name, text in _stated(one)}}

    def of_month(self, first: str, last: str) -> Mapping[str, str]:
        """The figures of the owner's summary of a span."""
        source = self._source
        span = self._spans.of(first, last)
        found = {"sum/runs": str(len(span.runs)), "sum/stops": str(len(span.worked))}
        sums = waters(source, span).items()
        groups = {f"{FAMILY.get(key, 'sum')}/{key}": figures for key, figures in sums}
        for stop in span.worked:
            for what, name in (("client", stop.client), ("site", stop.site)):
                named = self.state.registers.name(what, name)
                groups.setdefault(f"{what}/{named}/used", []).append(stop.used.figure)
                groups.setdefault(f"{what}/{named}/captured", []).append(stop.captured.figure)
        for draw in span.draws:
            if draw.way == "handed over":
                groups.setdefault(f"place/{source.place_text(draw.place)}", []).append(draw.known.figure)
        for key, figures in groups.items():
            split = totals.split(figures)
            found |= {f"{key}/{kind}": value(volume) for kind, volume in split.sums.items()}
            found |= {f"{key}/{kind}": str(n) for kind, n in split.silent.items()}
        for run in span.runs:
            found[f"run/{run.ref}/used"] = value(run.used.figure)
            found[f"run/{run.ref}/captured"] = value(run.captured.figure)
            found[f"run/{run.ref}/not explained"] = value(run.not_explained)
            found |= _area(run.ref, washed(run))
        for one in old_totals(self.state, first, last):
            found |= dict(_stated(one))
        return found

    def of_stops(self, stops: Iterable[StopFacts]) -> Mapping[str, str]:
        """For each stop what it used, captured and where that went; for each load of theirs its division."""
        found: dict[str, str] = {}
        loads: set[str] = set()
        stops = list(stops)
        refs = {line: stop.ref for stop in stops for line in stop.lines}
        together: dict[str, list[Figure]] = {}
        for one in self._at_site:
            if refs.keys() >= set(one.stops):
                together.setdefault(f"{refs[one.stops[0]]}/at site", []).append(one.known.figure)
        found |= {name: value(total_of(figures)) for name, figures in together.items()}
        for stop in stops:
            found[f"{stop.ref}/used"] = value(stop.used.figure)
            found[f"{stop.ref}/captured"] = value(stop.captured.figure)
            found[f"{stop.ref}/ways"] = self._ways(stop)
            found[f"{stop.ref}/not explained"] = value(stop.not_explained)
            found |= _area(stop.ref, stop.area)
            loads.update(load.name for load in self._source.loads_by_stop.get(stop.ref, ()))
        return found | {name: self.division(name) for name in sorted(loads)}

    def division(self, load: str) -> str:
        """`division_digest` of a load."""
        if load not in self._digests:
            self._digests[load] = division_digest(self.night, load)
        return self._digests[load]

    def divisions(self, first: str, last: str) -> Mapping[str, str]:
        """Load -> digest of its division, for the loads that runs of these days fed or emptied."""
        inside = {run.record for run in self.night.runs.values() if first <= run.date <= last}
        refs = {stop.ref for run in self.night.runs.values() if run.record in inside for stop in run.stops}
        return {
            load.name: self.division(load.name)
            for load in self.night.loads.values()
            if refs & set(load.stops) or any(draw.line.record in inside for draw in load.draws)
        }

    def _ways(self, stop: StopFacts) -> str:
        """Where a stop's captured water went."""
        told = [f"not known: {stop.why}"] if stop.pieces is None else []
        sums: dict[str, int] = {}
        for piece in stop.pieces or ():
            draw = self._source.draws.get((piece.load, piece.line))
            way = piece.way if draw is None or not draw.place else f"{piece.way} at {draw.place}"
            sums[way] = sums.get(way, 0) + piece.amount
        told += [f"{way} {from_hundredths(amount):.2f}" for way, amount in sums.items() if amount]
        told += [] if is_nothing(stop.led_away) else [f"led away {value(stop.led_away)}"]
        told += [] if is_nothing(stop.escaped) else [f"got away {value(stop.escaped)}"]
        return "; ".join(told)

    @cached_property
    def _source(self) -> Source:
        return Source(self.state, self.night, Words("en"))

    @cached_property
    def _at_site(self) -> Sequence[SiteUse]:
        return site_uses(self.night.runs.values())

    @cached_property
    def _spans(self) -> Spans:
        return Spans(self.night)

    @cached_property
    def _by_job(self) -> Mapping[str, Sequence[StopFacts]]:
        found: dict[str, list[StopFacts]] = {}
        for run in self.night.runs.values():
            for stop in run.stops:
                found.setdefault(folded(stop.job), []).append(stop)
        return found

    @cached_property
    def _by_client(self) -> Mapping[str, Sequence[tuple[str, StopFacts]]]:
        found: dict[str, list[tuple[str, StopFacts]]] = {}
        for run in self.night.runs.values():
            for stop in run.stops:
                if stop.client:
                    found.setdefault(self.state.registers.key("client", stop.client), []).append((run.date, stop))
        return found


def _stated(one: OldTotal) -> Iterable[tuple[str, str]]:
    for what, column in (("used", one.used), ("recovered", one.recovered)):
        silent = sum(column.unknown.values())
        amount = value(column.sum).partition(" ± ")[0]
        yield f"old/{one.month}/{one.client}/{what}", f"{amount} in {column.count} rows, {silent} without"


def _area(ref: str, area: Figure) -> Mapping[str, str]:
    """An area by its name; one that nobody wrote down is on no page."""
    return {} if isinstance(area, Unknown) else {f"{ref}/area": value(area)}


def value(figure: Figure) -> str:
    """A figure as it counts: its bounds and its ±, to the hundredth; or which kind of no figure."""
    if isinstance(figure, Unknown):
        return figure.kind
    expanded = figure.expanded()
    ends = ["" if end is None else f"{end:.2f}" for end in (figure.low, figure.high)]
    return f"{'..'.join(dict.fromkeys(ends))} ± {'-' if expanded is None else f'{expanded:.2f}'}"


def digest(figures: Any) -> str:
    """A digest of anything that JSON can hold."""
    text = json.dumps(figures, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def division_digest(night: Night, load: str) -> str:
    """A digest of how a load was divided and mixed: equal as long as every share and every amount is; '' for none."""
    facts = night.loads.get(load)
    if facts is None:
        return ""
    intervals = [
        [list(one.stops), value(one.captured.figure), one.basis, _sorted(one.shares)] for one in facts.intervals
    ]
    draws = [[one.way, one.line.line, one.place, value(one.known.figure), _sorted(one.parts)] for one in facts.draws]
    return digest([intervals, draws, _sorted(facts.contents)])


def _sorted(shares: Mapping[str, int] | None) -> Any:
    return None if shares is None else sorted(shares.items())
