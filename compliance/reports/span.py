"""The runs of a span of days, and the water of them: every sum that a summary prints, under one key each."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from compliance.reports.parts import escapes_before_capture
from compliance.reports.refs import Source
from compliance.reports.words import Words
from compliance.water.jobs import site_uses
from compliance.water.results import AGENT, FOREIGN, Draw, Known, Night, RunFacts, StopFacts
from compliance.water.timeline import ASTRAY
from compliance.water.volume import NOTHING, Figure, Unknown, is_nothing, minus, total_of

LOOKS_BACK: Final = 1
"""Years before a span that its summary looks back on for what is still open and for what is usual."""
FAMILY: Final = {**dict.fromkeys(("foreign", "agent", "moved_in", "moved_out"), "came"), "between_runs": "between"}
"""Sum -> the family of its figures, where that is not 'sum': pages of before print none of the family."""
_RAIN_UNREAD: Final = Unknown("rain of unknown amount", "not read")


def looks_back_to(first: str) -> str:
    """The first day (ISO) that the summary of a span beginning on this day looks back to: a year before its month."""
    day = date.fromisoformat(first)
    return day.replace(year=day.year - LOOKS_BACK, day=1).isoformat()


@dataclass(frozen=True)
class Span:
    """The runs of a span of days, first and last included, with their stops and the water they handed over."""

    first: str
    last: str
    runs: tuple[RunFacts, ...]
    cancelled: int
    stops: tuple[StopFacts, ...]
    draws: tuple[Draw, ...]
    earlier: tuple[RunFacts, ...]
    """Every run up to the last day, those before the span included."""

    @property
    def worked(self) -> tuple[StopFacts, ...]:
        return tuple(stop for stop in self.stops if stop.worked)

    @property
    def rigs(self) -> list[str]:
        """The rigs that went out, by name."""
        return sorted({run.rig for run in self.runs}, key=str.casefold)


class Spans:
    """The runs and draws of a book by their days, so that many spans are looked up without going through all of it."""

    def __init__(self, night: Night) -> None:
        self._runs = sorted(night.runs.values(), key=lambda run: run.date)  # stable: within a day as they were
        self._days = [run.date for run in self._runs]
        self._worked = [run for run in self._runs if not run.cancelled]
        self._worked_days = [run.date for run in self._worked]
        self._draws: dict[str, list[tuple[int, Draw]]] = {}
        for at, draw in enumerate(draw for load in night.loads.values() for draw in load.draws):
            self._draws.setdefault(draw.line.record, []).append((at, draw))

    def of(self, first: str, last: str) -> Span:
        """What belongs to a span: a run by the day of its start, a draw by the run on which it happened."""
        inside = self._runs[bisect_left(self._days, first) : bisect_right(self._days, last)]
        runs = tuple(run for run in inside if not run.cancelled)
        draws = sorted((one for run in runs for one in self._draws.get(run.record, ())), key=lambda one: one[0])
        return Span(
            first,
            last,
            runs,
            len(inside) - len(runs),
            tuple(stop for run in runs for stop in run.stops),
            tuple(draw for _, draw in draws),
            tuple(self._worked[: bisect_right(self._worked_days, last)]),
        )


def span_of(source: Source, first: str, last: str) -> Span:
    """One span of a book; see `Spans`."""
    return Spans(source.night).of(first, last)


def waters(source: Source, span: Span) -> Mapping[str, list[Figure]]:
    """Key of a sum -> the figures that go into it; in the order in which a page lists them, empty ones left out."""
    draws: dict[str, list[Figure]] = {}
    for draw in span.draws:
        draws.setdefault(draw.way, []).append(draw.known.figure)
    at_start, at_end = ends(span)
    found: dict[str, list[Figure]] = {
        "aboard_before": [figure for _, figure in at_start],
        "used": [run.used.figure for run in span.runs],
        "at_site": [one.known.figure for one in site_uses(span.runs)],
        "foreign": [figure for run in span.runs for figure in _foreign(run)],
        "agent": _came(span, AGENT),
        "moved_in": _came(span, "moved in"),
        "between_runs": _between_runs(span),
        "captured": [run.captured.figure for run in span.runs],
        "handed over": draws.get("handed over", []),
        "used_again": draws.get("used again", []),
        "led_away": [stop.led_away for stop in span.worked if not is_nothing(stop.led_away)],
        "escaped": [stop.escaped for stop in span.worked if escapes_before_capture(source, [stop])],
        "escaped out of tank": draws.get("escaped", []),
        "solids": draws.get("solids", []),
        "not known where": draws.get(ASTRAY, []),
        "let_go": _let_go(source, span),
        "moved_out": _came(span, "moved out"),
        "aboard_after": [figure for _, figure in at_end],
        "not explained by run": [run.not_explained for run in span.runs],
    }
    return {key: figures for key, figures in found.items() if figures}


def at_no_stop(run: RunFacts, which: str) -> Figure:
    """What a run used or captured beyond all its stops, nothing where its stops do not tell. which: 'used' ..."""
    whole: Known = getattr(run, which)
    of_stops = total_of((getattr(stop, which).figure for stop in run.stops if stop.worked), skip_not_applicable=True)
    rest = minus(whole.figure, of_stops)
    return NOTHING if isinstance(rest, Unknown) or not rest.is_point else rest


def washed(run: RunFacts) -> Figure:
    """The area washed on a run, in square feet."""
    return total_of((stop.area for stop in run.stops if stop.worked), skip_not_applicable=True)


def water_label(key: str, words: Words) -> str:
    """What a sum is called on a page."""
    return words.label("run", "used") if key == "used" else words(f"water.{key}")


def ends(span: Span) -> tuple[list[tuple[str, Figure]], list[tuple[str, Figure]]]:
    """(rig, aboard) at the beginning and at the end of a span; a rig that rested keeps what its last run left."""
    start: dict[str, Figure] = {}
    end: dict[str, Figure] = {}
    for run in span.earlier:
        if run.date < span.first:
            start[run.rig] = run.aboard_after
        else:
            start.setdefault(run.rig, run.aboard_before)
        end[run.rig] = run.aboard_after
    return sorted(start.items()), sorted(end.items())


def _between_runs(span: Span) -> list[Figure]:
    """What the tanks of a rig held more when a run began than when its last one ended: two looks, and nobody was out.

    Less than nothing where it became less. It is in no run, so that without it a span would not add up.
    """
    found: list[Figure] = []
    left: dict[str, Figure] = {}
    for run in span.earlier:
        if run.date >= span.first and run.rig in left:
            changed = minus(run.aboard_before, left[run.rig])
            found += [] if isinstance(changed, Unknown) or is_nothing(changed) else [changed]
        left[run.rig] = run.aboard_after
    return found


def _foreign(run: RunFacts) -> list[Figure]:
    """What came in from elsewhere on a run; rain that nobody measured is an answer without a figure, once."""
    told = [line.known.figure for line in run.balance if line.label == FOREIGN]
    unread = any(stop.rained for stop in run.stops) and not any(isinstance(one, Unknown) for one in told)
    return [*told, *([_RAIN_UNREAD] * unread)]


def _came(span: Span, label: str) -> list[Figure]:
    """The figures of the balance lines of one name."""
    return [line.known.figure for run in span.runs for line in run.balance if line.label == label]


def _let_go(source: Source, span: Span) -> list[Figure]:
    return [run.let_go for run in span.runs if any(line.kind == "let go" for line in source.runs[run.record].lines)]
