"""The water balance of a run, load or job as lines that a reader can redo by hand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from compliance.cli.figures import amount, hundredths_of, ratio, told
from compliance.records.answer import without_value
from compliance.records.fields import TANK_SIZES, field
from compliance.records.state import State
from compliance.water.results import UNNAMED, Beside, Draw, JobFacts, Known, LoadFacts, Night, RunFacts, StopFacts
from compliance.water.volume import Figure, Unknown, Volume

Entry = tuple[int, str, Known | Figure]
"""One line of a balance: +1 in, -1 out, 0 left over; what it is; how much."""

_SIGNS = {1: "+", -1: "-", 0: "="}

_SIZES = ("capacity", *TANK_SIZES, "mark_step", "accuracy")


def tanks_of(state: State, loads: Iterable[LoadFacts]) -> Iterator[str]:
    """The tanks of some loads as they stand on the register, so that a reader can turn a mark into a volume."""
    for name in tank_names(loads):
        sizes = sizes_of(state, name)
        told = [
            size if key == "shape" else f"{field('tank', key).en[0].lower()}{field('tank', key).en[1:]} {size}"
            for key, size in sizes.items()
            if key != "name"
        ]
        yield f"tank {name}: {', '.join(told) or 'no shape and no size on its register'}"


def tank_names(loads: Iterable[LoadFacts]) -> list[str]:
    """The tanks of some loads, each once."""
    return list(dict.fromkeys(load.tank for load in loads))


def sizes_of(state: State, tank: str) -> dict[str, str]:
    """The name, the shape and the sizes of a tank that its register holds."""
    entry = state.registers.find("tank", tank) or {}
    known = {key: str(entry[key]) for key in ("shape", *_SIZES) if without_value(entry.get(key)) is None}
    return {"name": tank, **known}


def of_run(run: RunFacts, unit: str, loads: Mapping[str, LoadFacts]) -> Iterator[str]:
    """A run: its balance, its stops, its ratio. loads: by name, its own among them."""
    yield f"run {run.ref}  {run.rig}, {run.lead}"
    if run.cancelled:
        yield "  cancelled; it holds no water"
        return
    for line in run.balance:
        yield f"  {_SIGNS[line.sign]} {line.label}: {told(line.known, unit)}"
    yield f"  captured: {told(run.captured, unit)}"
    yield from _beside("captured", run.captured_beside, unit)
    yield from _beside("used", run.used_beside, unit)
    for one in run.at_site:
        yield f"  used at the site by its own meter, with other rigs: {told(one.known, unit)}"
    if run.film is not None:
        yield _film(run.film, unit)
    if run.applied != run.used.figure:
        yield f"  applied, used and used again less what was let go: {amount(run.applied, unit)}"
    yield f"  recovery ratio: {ratio(run.ratio)}"
    for stop in run.stops:
        yield from of_stop(stop, unit)
    yield from _of_no_stop(run.loads, loads, unit)


def beyond(names: Iterable[str], loads: Mapping[str, LoadFacts]) -> Iterator[tuple[Draw, int]]:
    """What left some loads beyond all that is read to have come in: (the draw, hundredths of it that are of no stop).

    No stop has a part of it, so that the stops' own lines add up to less than what was handed over.
    """
    for name in names:
        for draw in loads[name].draws if name in loads else ():
            of_none = (draw.parts or {}).get(UNNAMED, 0)
            if of_none:
                yield draw, of_none


def _of_no_stop(names: Iterable[str], loads: Mapping[str, LoadFacts], unit: str) -> Iterator[str]:
    for draw, of_none in beyond(names, loads):
        went = f"{hundredths_of(of_none, unit)} {draw.way}{f' at {draw.place}' if draw.place else ''}"
        yield f"  of no stop: {went}, more than is read to have come into load {draw.load}"


def of_stop(stop: StopFacts, unit: str) -> Iterator[str]:
    """One stop."""
    yield f"  stop {stop.number}, {stop.site}  ({stop.ref})"
    if not stop.worked:
        yield f"    not worked: {stop.not_worked}"
        return
    yield f"    used: {told(stop.used, unit, divided=used_is_divided(stop))}"
    yield from (f"    used again here: {told(known, unit)}" for known in stop.readings.get("used again", ()))
    yield f"    captured: {told(stop.captured, unit, divided=stop.divided)}"
    if stop.pieces is None:
        yield f"    where it went: not known ({stop.why or 'the owners in the tank are not known'})"
    for piece in stop.pieces or ():
        way = "not explained, in the tank" if piece.way == UNNAMED else piece.way
        yield f"    {way}: {hundredths_of(piece.amount, unit)}  (load {piece.load})"
    yield from (f"    led away: {told(known, unit)}" for known in stop.readings.get("led away", ()))
    yield from (f"    got away, not captured: {told(known, unit)}" for known in stop.readings.get("got away", ()))
    yield f"    not explained: {_rest(stop, unit)}"


def used_is_divided(stop: StopFacts) -> bool:
    """Whether what a stop used is a worked-out share and not a reading."""
    return stop.used_basis not in ("measured", "stated", "not divided")


def _rest(stop: StopFacts, unit: str) -> str:
    figure = stop.not_explained
    return f"{amount(figure, unit)} ({figure.reason})" if isinstance(figure, Unknown) else amount(figure, unit)


def load_lines(load: LoadFacts) -> Iterator[Entry]:
    """What went into a load and out of it."""
    yield 1, "opening", load.opening
    yield 1, "captured", load.captured
    yield 1, "foreign water", load.foreign
    yield 1, "agent", load.agent
    yield -1, "handed over", load.handed_over
    yield -1, "used again", load.used_again
    yield -1, "otherwise out of the tank", load.otherwise_out
    yield -1, "still in the tank", load.closing if load.closed else Known(load.closing, load.closing_how)
    yield 0, "not explained", load.not_explained


def _told(found: Known | Figure, unit: str) -> str:
    return told(found, unit) if isinstance(found, Known) else amount(found, unit)


def of_load(load: LoadFacts, unit: str, names: Mapping[str, str]) -> Iterator[str]:
    """A load: what went in and out, each interval, and whose water each draw held."""
    yield f"load {load.name}  {load.tank}"
    for sign, label, found in load_lines(load):
        yield f"  {_SIGNS[sign]} {label}: {_told(found, unit)}"
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
    unit, note = state.unit, no_single(job)
    yield f"job {job.job}  {job.client}, {job.site}"
    note = f"; {note}, no single ±" if note else ""
    for sign, label, found in job_lines(job):
        yield f"  {_SIGNS[sign]} {label}: {_told(found, unit)}{note if label == 'captured' else ''}"
    if job.film is not None:
        yield _film(job.film, unit)
    yield f"  + captured: {amount(job.captured, unit)}{note}"
    if job.destinations is None:
        yield "  where it went: not known in part"
    for sign, label, end in job_ends(job, state, night):
        why = f" ({end.reason})" if isinstance(end, Unknown) else ""
        yield f"  {_SIGNS[sign]} {label}: {_amount(end, unit)}{why}"
    yield f"  recovery ratio: {ratio(job.ratio)}"
    for stop in job.stops:
        yield from of_stop(stop, unit)
    yield from _of_no_stop(job.loads, night.loads, unit)


def no_single(job: JobFacts) -> str:
    """Why what a job captured has no single ±; '' where it has one, or needs none."""
    if isinstance(job.captured, Volume) and job.captured.expanded() is not None:
        return ""
    return {"worked out": "part of it worked out"}.get(job.mixed, job.mixed)


def job_lines(job: JobFacts) -> Iterator[Entry]:
    """The water of a job at the wash."""
    yield 1, "used", job.used
    yield 1, "used again", job.used_again
    yield -1, "captured", job.captured
    yield -1, "led away", job.led_away
    yield -1, "got away", job.escaped
    yield 0, "not explained, at the wash", job.not_explained


_WAYS = {"escaped": "got away out of the tank", "solids": "taken out with solids", "used again": "used again"}


def job_ends(job: JobFacts, state: State, night: Night) -> Iterator[tuple[int, str, Known | Figure | int | None]]:
    """Captured water by where it went; with what the tanks leave over, it is all of it; as on the proof.

    A whole number is a worked-out share in hundredths, None that nobody knows.
    """
    from compliance.reports import parts
    from compliance.reports.refs import Source
    from compliance.reports.words import Words

    source = Source(state, night, Words("en"))
    ways: dict[str, list[parts.End]] = {}
    for end in parts.ends(source, job.stops):
        place = f" at {source.draws[end.load, end.line].place}" if end.way == "handed over" else ""
        ways.setdefault(f"{_WAYS.get(end.way, end.way)}{place}", []).append(end)
    aboard = ways.pop("aboard", [])
    ways.pop(UNNAMED, None)
    for way, found in ways.items():
        yield -1, way, parts.sum_of(found)
    yield -1, "still aboard", None if parts.unknown_aboard(source, job.stops) else parts.sum_of(aboard)
    yield 0, "not explained, in the tank", parts.rest_in_tank(source, job)


def _amount(found: Known | Figure | int | None, unit: str) -> str:
    """A figure, or hundredths that were worked out."""
    if found is None:
        return "not known"
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
