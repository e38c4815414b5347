"""The water balance of a run, load or job as data, for programs: the figures of `balances`, each with its state.

A figure is {value, low, high, plus_minus, unit, state, text}: decimal strings as they are kept, unrounded. value is
null where there is no one figure, plus_minus (at k = 2) where none is stated. state: 'known', 'at least', 'at most',
'between', 'any amount', 'worked out' (a share, without ±), or the way of not knowing, which has its reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from compliance.cli import balances
from compliance.cli.figures import amount, hundredths_of
from compliance.cli.figures import ratio as ratio_text
from compliance.records.state import State
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import Beside, Interval, JobFacts, Known, LoadFacts, Night, RunFacts, StopFacts
from compliance.water.volume import COVERAGE, HUNDREDTH, Figure, Unknown, Volume, from_hundredths

Data = dict[str, Any]

_RATIO_PLACE = Decimal("0.001")


def figure(found: Figure | Known | int | None, unit: str, *, divided: bool = False) -> Data:
    """One figure. int: hundredths of a share; None: a share that nobody can work out."""
    if isinstance(found, int):
        value = str(from_hundredths(found))
        return _figure(unit, "worked out", hundredths_of(found, unit), value, value, value)
    if found is None:
        return _figure(unit, "not known", "not known")
    if isinstance(found, Known):
        how = {"method": found.how.method, "formula": found.how.formula, "reader": found.how.reader, "at": found.how.at}
        return {**figure(found.figure, unit, divided=divided), **how}
    text = amount(found, unit, divided=divided)
    if isinstance(found, Unknown):
        return {**_figure(unit, found.kind, text), "reason": found.reason}
    bounded = found.low is not None or found.high is not None
    plus_minus = found.expanded() if bounded and not divided else None
    state = "worked out" if divided and found.is_point else _state(found)
    ends = (_kept(found.best), _kept(found.low), _kept(found.high))
    return _figure(unit, state, text, *ends, plus_minus=_kept(plus_minus))


def _figure(
    unit: str,
    state: str,
    text: str,
    value: str | None = None,
    low: str | None = None,
    high: str | None = None,
    plus_minus: str | None = None,
) -> Data:
    return {
        "value": value, "low": low, "high": high, "plus_minus": plus_minus, "unit": unit, "state": state, "text": text,
    }  # fmt: skip


def _state(volume: Volume) -> str:
    if volume.is_point:
        return "known"
    if volume.high is None:
        return "any amount" if volume.low is None else "at least"
    return "at most" if volume.low is None else "between"


def _kept(x: Decimal | None, place: Decimal = HUNDREDTH) -> str | None:
    return None if x is None else format(x.quantize(place), "f")


def ratio(found: Ratio | NoRatio) -> Data:
    """A recovery ratio as a fraction, with the ends of its interval; where there is none, why."""
    if isinstance(found, NoRatio):
        return {"value": None, "low": None, "high": None, "state": "none", "reason": found.why,
                "text": ratio_text(found)}  # fmt: skip
    value, low, high = (_kept(one, _RATIO_PLACE) for one in (found.value, found.low, found.high))
    return {"value": value, "low": low, "high": high, "state": found.kind, "no_plus_minus": found.no_plus_minus,
            "note": found.note, "text": ratio_text(found)}  # fmt: skip


def document(kind: str, about: Data, state: State, loads: Iterable[LoadFacts]) -> Data:
    """The whole answer: what it is about, the tanks concerned as they stand on the register, and the k of every ±."""
    return {"kind": kind, **about, "tanks": [balances.sizes_of(state, name) for name in balances.tank_names(loads)],
            "unit": state.unit, "coverage_factor": str(COVERAGE)}  # fmt: skip


def of_run(run: RunFacts, unit: str, loads: Mapping[str, LoadFacts]) -> Data:
    """A run: its balance, line by line, and its stops. A cancelled one holds no water. loads: by name."""
    head = {"run": run.ref, "record": run.record, "date": run.date, "rig": run.rig, "lead": run.lead,
            "cancelled": run.cancelled}  # fmt: skip
    if run.cancelled:
        return head
    lines = [{"label": one.label, "sign": one.sign, **figure(one.known, unit)} for one in run.balance]
    return {
        **head,
        "balance": lines,
        "used_beside": _beside(run.used_beside, unit),
        "captured": figure(run.captured, unit),
        "captured_beside": _beside(run.captured_beside, unit),
        "film": _film(run.film, unit),
        "applied": figure(run.applied, unit),
        "recovery_ratio": ratio(run.ratio),
        "loads": list(run.loads),
        "stops": [of_stop(stop, unit) for stop in run.stops],
        "of_no_stop": _of_no_stop(run.loads, loads, unit),
    }


def _of_no_stop(names: Iterable[str], loads: Mapping[str, LoadFacts], unit: str) -> list[Data]:
    """What left these loads beyond what is read to have come in: no stop's `where_it_went` has a part of it."""
    return [
        {"load": draw.load, "way": draw.way, "place": draw.place, **figure(of_none, unit)}
        for draw, of_none in balances.beyond(names, loads)
    ]


def of_stop(stop: StopFacts, unit: str) -> Data:
    """One stop. where_it_went is null where the division is not known, and why says why."""
    head = {"stop": stop.ref, "number": stop.number, "job": stop.job, "client": stop.client, "site": stop.site,
            "worked": stop.worked, "not_worked": stop.not_worked}  # fmt: skip
    if not stop.worked:
        return head
    went = [
        {"way": piece.way, "load": piece.load, **figure(piece.amount, unit)}
        for piece in stop.pieces or ()
    ]  # fmt: skip
    return {
        **head,
        "used": figure(stop.used, unit, divided=balances.used_is_divided(stop)),
        "used_basis": stop.used_basis,
        "used_again": figure(stop.used_again, unit),
        "captured": figure(stop.captured, unit, divided=stop.divided),
        "captured_basis": stop.captured_basis,
        "where_it_went": None if stop.pieces is None else went,
        "why": stop.why,
        "led_away": figure(stop.led_away, unit),
        "escaped": figure(stop.escaped, unit),
        "not_explained": figure(stop.not_explained, unit),
    }


def of_load(load: LoadFacts, unit: str, names: Mapping[str, str]) -> Data:
    """A load: what went in and out, each interval between two looks, and whose water each draw held."""
    return {
        "load": load.name,
        "rig": load.rig,
        "tank": load.tank,
        "closed": load.closed is not None,
        "balance": [
            {"label": label, "sign": sign, **figure(found, unit)} for sign, label, found in balances.load_lines(load)
        ],
        "recovery_ratio": ratio(load.ratio),
        "intervals": [_interval(one, unit) for one in load.intervals],
        "draws": [
            {"way": draw.way, "place": draw.place, **figure(draw.known, unit),
             "whose": None if draw.parts is None else [
                 {"owner": names.get(owner, owner), **figure(part, unit)} for owner, part in draw.parts.items()]}
            for draw in load.draws
        ],
    }  # fmt: skip


def _interval(interval: Interval, unit: str) -> Data:
    shares = interval.shares
    of_one = interval.captured.figure if len(interval.stops) == 1 else None  # nothing was divided then
    return {
        "level_before": figure(interval.level_before, unit),
        "level_after": figure(interval.level_after, unit),
        "captured": figure(interval.captured, unit),
        "beside": _beside(interval.beside, unit),
        "basis": interval.basis,
        "shares": None
        if shares is None
        else [{"stop": stop, **figure(of_one or n, unit)} for stop, n in shares.items()],
        "why": interval.why,
    }


def of_job(job: JobFacts, state: State, night: Night) -> Data:
    """A job: the water at the wash, every way that the captured water went, and its stops."""
    unit = state.unit
    at_the_wash = [{"label": label, "sign": sign, **figure(found, unit)} for sign, label, found in
                   balances.job_lines(job)]  # fmt: skip
    return {
        "job": job.job,
        "client": job.client,
        "site": job.site,
        "balance": at_the_wash,
        "no_single_plus_minus": balances.no_single(job),
        "film": _film(job.film, unit),
        "where_it_went": [
            {"way": label, "sign": sign, **figure(found, unit)}
            for sign, label, found in balances.job_ends(job, state, night)
        ],
        "all_of_it_known": job.destinations is not None,
        "recovery_ratio": ratio(job.ratio),
        "runs": [night.runs[record].ref for record in job.runs],
        "loads": list(job.loads),
        "stops": [of_stop(stop, unit) for stop in job.stops],
        "of_no_stop": _of_no_stop(job.loads, night.loads, unit),
    }


def _beside(others: Iterable[Beside], unit: str) -> list[Data]:
    """What other methods say, each with its E_n; null where it cannot be told whether they agree."""
    return [{**figure(other.known, unit), "en": other.en} for other in others]


def _film(film: tuple[str, str] | None, unit: str) -> Data | None:
    return None if film is None else {"low": film[0], "high": film[1], "unit": unit, "state": "an assumption"}
