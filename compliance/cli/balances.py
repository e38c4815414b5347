"""The water balance of a run, load or job as lines that a reader can redo by hand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from compliance.cli.figures import amount, hundredths_of, ratio, told
from compliance.records.answer import without_value
from compliance.records.fields import field
from compliance.records.state import State
from compliance.water.results import UNNAMED, Beside, JobFacts, Known, LoadFacts, Night, RunFacts, StopFacts
from compliance.water.volume import Figure, Unknown, Volume

_SIGNS = {1: "+", -1: "-", 0: "="}


_SIZES = ("capacity", "length", "width", "depth", "diameter", "mark_step", "accuracy")


def tanks_of(state: State, loads: Iterable[LoadFacts]) -> Iterator[str]:
    """The tanks of some loads as they stand on the register, so that a reader can turn a mark into a volume."""
    for name in dict.fromkeys(load.tank for load in loads):
        entry = state.registers.find("tank", name) or {}
        told = [str(entry["shape"])] if without_value(entry.get("shape")) is None else []
        told += [
            f"{field('tank', key).en[0].lower()}{field('tank', key).en[1:]} {entry[key]}"
            for key in _SIZES
            if without_value(entry.get(key)) is None
        ]
        yield f"tank {name}: {', '.join(told) or 'no shape and no size on its register'}"


def of_run(run: RunFacts, unit: str) -> Iterator[str]:
    """A run: its balance, its stops, its ratio."""
    yield f"run {run.ref}  {run.rig}, {run.lead}"
    if run.cancelled:
        yield "  cancelled; it holds no water"
        return
    for line in run.balance:
        yield f"  {_SIGNS[line.sign]} {line.label}: {told(line.known, unit)}"
    yield f"  captured: {told(run.captured, unit)}"
    yield from _beside("captured", run.captured_beside, unit)
    yield from _beside("used", run.used_beside, unit)
    if run.film is not None:
        yield _film(run.film, unit)
    yield f"  recovery ratio: {ratio(run.ratio)}"
    for stop in run.stops:
        yield from of_stop(stop, unit)


def of_stop(stop: StopFacts, unit: str) -> Iterator[str]:
    """One stop."""
    yield f"  stop {stop.number}, {stop.site}  ({stop.ref})"
    if not stop.worked:
        yield f"    not worked: {stop.not_worked}"
        return
    by_use = stop.used_basis not in ("measured", "stated", "not divided")
    yield f"    used: {told(stop.used, unit, divided=by_use)}"
    yield f"    captured: {told(stop.captured, unit, divided=stop.divided)}"
    if stop.pieces is None:
        yield f"    where it went: not known ({stop.why or 'the owners in the tank are not known'})"
    for piece in stop.pieces or ():
        way = "not explained, in the tank" if piece.way == UNNAMED else piece.way
        yield f"    {way}: {hundredths_of(piece.amount, unit)}  (load {piece.load})"
    yield f"    not explained: {_rest(stop, unit)}"


def _rest(stop: StopFacts, unit: str) -> str:
    figure = stop.not_explained
    return f"{amount(figure, unit)} ({figure.reason})" if isinstance(figure, Unknown) else amount(figure, unit)


def of_load(load: LoadFacts, unit: str, names: Mapping[str, str]) -> Iterator[str]:
    """A load: what went in and out, each interval, and whose water each draw held."""
    yield f"load {load.name}  {load.tank}"
    yield f"  + opening: {amount(load.opening, unit)}"
    yield f"  + captured: {told(load.captured, unit)}"
    yield f"  + foreign water: {amount(load.foreign, unit)}"
    yield f"  + agent: {amount(load.agent, unit)}"
    yield f"  - handed over: {amount(load.handed_over, unit)}"
    yield f"  - used again: {amount(load.used_again, unit)}"
    yield f"  - otherwise out of the tank: {amount(load.otherwise_out, unit)}"
    yield f"  - still in the tank: {amount(load.closing, unit)}"
    yield f"  = not explained: {amount(load.not_explained, unit)}"
    yield f"  recovery ratio: {ratio(load.ratio)}"
    for interval in load.intervals:
        levels = f"from {amount(interval.level_before, unit)} to {amount(interval.level_after, unit)}"
        yield f"  {levels}: captured {told(interval.captured, unit)}"
        yield from _beside("captured", interval.beside, unit, "    ")
        if interval.shares is None and interval.stops:
            yield f"    not divided: {interval.why}"
        elif len(interval.stops) > 1 and interval.shares is not None:
            yield f"    divided by {interval.basis}; worked out, not measured:"
            for stop, share in interval.shares.items():
                yield f"      {stop}: {hundredths_of(share, unit)}"
    for draw in load.draws:
        yield f"  {' '.join(filter(None, (draw.way, draw.place)))}: {told(draw.known, unit)}"
        if draw.parts is None:
            yield "    whose water it was is not known"
        for owner, part in (draw.parts or {}).items():
            yield f"    {names.get(owner, owner)}: {hundredths_of(part, unit)}"


def of_job(job: JobFacts, state: State, night: Night) -> Iterator[str]:
    """A job: its totals, every way that the captured water went, and its stops."""
    unit = state.unit
    yield f"job {job.job}  {job.client}, {job.site}"
    note = {"": "", "worked out": "; part of it worked out, no single ±"}.get(job.mixed, f"; {job.mixed}, no single ±")
    if isinstance(job.captured, Volume) and job.captured.expanded() is not None:
        note = ""
    yield f"  + used: {amount(job.used, unit)}"
    yield f"  + used again: {amount(job.used_again, unit)}"
    yield f"  - captured: {amount(job.captured, unit)}{note}"
    yield f"  - led away: {amount(job.led_away, unit)}"
    yield f"  - got away: {amount(job.escaped, unit)}"
    yield f"  = not explained, at the wash: {amount(job.not_explained, unit)}"
    if job.film is not None:
        yield _film(job.film, unit)
    yield f"  + captured: {amount(job.captured, unit)}{note}"
    yield from _out_of_tank(job, state, night)
    yield f"  recovery ratio: {ratio(job.ratio)}"
    for stop in job.stops:
        yield from of_stop(stop, unit)


_WAYS = {"escaped": "got away out of the tank", "solids": "taken out with solids", "used again": "used again"}


def _out_of_tank(job: JobFacts, state: State, night: Night) -> Iterator[str]:
    """Captured water by where it went; with what the tanks leave over, it is all of it; as on the proof."""
    from compliance.reports import parts
    from compliance.reports.refs import Source
    from compliance.reports.words import Words

    source, unit = Source(state, night, Words("en")), state.unit
    if job.destinations is None:
        yield "  where it went: not known in part"
    ways: dict[str, list[parts.End]] = {}
    for end in parts.ends(source, job.stops):
        place = f" at {source.draws[end.load, end.line].place}" if end.way == "handed over" else ""
        ways.setdefault(f"{_WAYS.get(end.way, end.way)}{place}", []).append(end)
    aboard = ways.pop("aboard", [])
    ways.pop(UNNAMED, None)
    for way, found in ways.items():
        yield f"  - {way}: {_amount(parts.sum_of(found), unit)}"
    yield f"  - still aboard: {'not known' if job.aboard is None else _amount(parts.sum_of(aboard), unit)}"
    rest = parts.rest_in_tank(source, job)
    why = f" ({rest.reason})" if isinstance(rest, Unknown) else ""
    yield f"  = not explained, in the tank: {_amount(rest, unit)}{why}"


def _amount(found: Known | Figure | int, unit: str) -> str:
    """A figure, or hundredths that were worked out."""
    if isinstance(found, int):
        return f"{hundredths_of(found, unit)}, worked out"
    return amount(found.figure if isinstance(found, Known) else found, unit)


def _film(film: tuple[str, str], unit: str) -> str:
    return f"  beside not explained: a film on the surface may hold {film[0]} to {film[1]} {unit} (an assumption)"


def _beside(what: str, others: tuple[Beside, ...], unit: str, indent: str = "  ") -> Iterator[str]:
    for other in others:
        word = "cannot tell whether they agree" if other.en is None else f"E_n {other.en}"
        yield f"{indent}beside it, {what} by another method: {told(other.known, unit)}; {word}"


def names_of(state: State, night: Night) -> Mapping[str, str]:
    """Stop refs with their sites, for the owner's eyes."""
    return {stop.ref: f"{stop.ref} ({stop.site})" for run in night.runs.values() for stop in run.stops}
