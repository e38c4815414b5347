"""What is told of one stop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from compliance.records.answer import NOT_YET, without_value
from compliance.water.intervals import second_methods, sum_of
from compliance.water.results import Aside, Basis, Beside, How, Known, Line, StopFacts
from compliance.water.rig import RAIN_UNKNOWN, Place, RigWater, rest
from compliance.water.timeline import Stop
from compliance.water.volume import NOTHING, SHARE, Figure, Unknown, Volume, from_hundredths, total_of

_SHARE = frozenset({SHARE})

_NOT_WORKED = Unknown("not worked", "not applicable")
NOT_PLANNED = Unknown("recovery was not planned", "not applicable")
APART = Unknown("used and captured were divided over different stops or on different bases", "not known")
"""Why two shares leave nothing between them that could be told: it would be made by the dividing alone."""


def stop_facts(rig: RigWater, stop: Stop) -> StopFacts:
    """One stop: what it used, what was captured of it and where that went."""
    record = stop.run.record
    lines = tuple(Line(record, line.n) for line in stop.lines) if len(stop.parts) != 1 else stop.parts[0].lines
    job = _register(rig, stop, "job")
    used, used_basis = rig.use.by_stop.get(stop.ref) or (Known(_NOT_WORKED, How("none", lines=lines)), "not divided")
    captured, basis, why, others = _captured(rig, stop, lines)
    read: dict[Aside, Sequence[Known]] = {
        "used again": rig.use.again.get(stop.ref, ()),
        "led away": stop.led_away,
        "got away": stop.escapes,
    }
    readings = {way: tuple(known) for way, known in read.items() if known}
    again, led, escaped = (total_of(known.figure for known in readings.get(way, ())) for way in read)
    pieces = rig.pieces[stop.ref] if stop.worked and stop.planned else []
    rained = stop.ref in rig.rained
    apart = _divided_apart(rig, stop, used_basis)
    unread = isinstance(captured.figure, Unknown) and captured.figure.kind != "not applicable"
    return StopFacts(
        ref=stop.ref,
        run=record,
        lines=lines,
        number=stop.number,
        job=_named(rig, stop, "job") or stop.ref,
        client=_named(rig, stop, "client") or _client(rig, stop, job),
        site=_named(rig, stop, "site"),
        worked=stop.worked,
        not_worked="" if stop.worked else str(stop.first("not_worked")),
        planned=stop.planned,
        area=total_of((part.area for part in stop.parts), skip_not_applicable=True),
        used=used,
        used_again=again,
        used_basis=used_basis,
        captured=captured,
        captured_basis=basis,
        pieces=None if pieces is None or unread else tuple(pieces),
        why=why,
        led_away=led,
        escaped=escaped,
        escapes=tuple(stop.escape_lines),
        not_explained=_not_explained(stop, rained, used.figure, again, captured.figure, led, escaped, apart),
        readings=readings,
        used_beside=_also(stop, used, "used_also"),
        captured_beside=(*others, *_also(stop, captured, "captured_also")),
        rained=rained,
        divided_apart=apart,
    )


def _divided_apart(rig: RigWater, stop: Stop, used_basis: Basis) -> tuple[str, ...]:
    """The stops over which its used and its captured water were divided, where these are not alike; else none.

    A share that was raised to what a draw took is on no basis that its used has too.
    """
    over = rig.use.over.get(stop.ref)
    shared = [
        ({work.part.stop for work in place.span.works}, place.division)
        for place in rig.places.get(stop.ref, ())
        if not place.alone and not place.span.own and place.division.shares is not None
    ]
    if over is None or all(
        here == over and division.basis == used_basis and not division.raised for here, division in shared
    ):
        return ()
    return tuple(sorted(over.union(*(here for here, _ in shared))))


def _not_explained(
    stop: Stop,
    rained: bool,
    used: Figure,
    again: Figure,
    captured: Figure,
    led: Figure,
    escaped: Figure,
    apart: Sequence[str],
) -> Figure:
    """Applied less captured, led away and got away. Where some of these was not measured, the rest is named as such.

    Rain of unknown amount came on top of what was applied: what is left is then at least what the figures leave.
    """
    if not stop.worked:
        return _NOT_WORKED
    if captured is NOT_PLANNED:
        captured = NOTHING  # all of it went another way
    left = rest((used, again, *((RAIN_UNKNOWN,) if rained else ())), (captured, led, escaped))
    return APART if apart and isinstance(left, Volume) else left


def _also(stop: Stop, known: Known, name: str) -> tuple[Beside, ...]:
    """The stop's own second method; a continued stop has none for the whole of it."""
    also = getattr(stop.parts[0], name) if len(stop.parts) == 1 else None
    return () if also is None else second_methods(known, (also,))


def _register(rig: RigWater, stop: Stop, what: str) -> Mapping[str, Any]:
    return rig.registers.find(what, stop.first(what)) or {}


def _named(rig: RigWater, stop: Stop, what: str) -> str:
    """The name that a stop gives, as its register spells it; '' when it gives none."""
    name = stop.first(what)
    return "" if without_value(name) is not None else rig.registers.name(what, str(name))


def _client(rig: RigWater, stop: Stop, job: Mapping[str, Any]) -> str:
    """The client of the stop's job, else of its site."""
    name = job.get("client") or _register(rig, stop, "site").get("client")
    return "" if name is None else rig.registers.name("client", str(name))


def _captured(rig: RigWater, stop: Stop, lines: tuple[Line, ...]) -> tuple[Known, Basis, str, tuple[Beside, ...]]:
    """A stop's captured water over all its parts, on what basis, why not, and other methods beside it."""
    if not stop.worked or not stop.planned:
        reason = NOT_PLANNED if stop.worked else _NOT_WORKED
        return Known(reason, How("none", lines=lines)), "not divided", reason.reason, ()
    places = rig.places[stop.ref]
    parts = [_part(place) for place in places]
    unknown = all(isinstance(known.figure, Unknown) for known, _, _ in parts)
    if unknown and rig.timeline.worked(stop.run.record) == [stop]:
        said = rig.timeline.end_of[stop.run.record].captured
        if isinstance(said.figure, Volume):  # a silent night before it leaves the tank unknown, and not this figure
            basis: Basis = "stated" if said.figure.unstated else "measured"
            return said, basis, parts[0][2], ()
    if len(parts) == 1:
        return *parts[0], places[0].span.beside if places[0].alone else ()
    known = sum_of(known for known, _, _ in parts)
    why = next((why for _, _, why in parts if why), "")
    bases = [basis for _, basis, _ in parts]
    whole = next((basis for basis in bases if basis not in ("measured", "stated")), bases[0])
    return known, whole, why, ()


def _part(place: Place) -> tuple[Known, Basis, str]:
    """What a stop captured in one interval."""
    span, division = place.span, place.division
    captured = span.captured
    assert captured is not None
    if place.alone:
        return captured, division.basis, division.why
    if division.shares is None:
        silent = isinstance(captured.figure, Unknown) and captured.figure.kind == NOT_YET
        return Known(Unknown(division.why, NOT_YET if silent else "not known"), place.how), "not divided", division.why
    if span.own:
        return sum_of(span.works[i].part.own_captured for i in place.indices), division.basis, ""
    amount = from_hundredths(sum(division.shares[i] for i in place.indices))
    return Known(Volume(amount, amount, unstated=_SHARE), place.how), division.basis, ""
