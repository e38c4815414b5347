"""What is told of one stop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from compliance.records.answer import without_value
from compliance.water.results import Basis, Beside, How, Known, Line, StopFacts
from compliance.water.rig import ZERO, Place, RigWater, best, rest
from compliance.water.timeline import Stop
from compliance.water.volume import Figure, Unknown, Volume, from_hundredths, total_of

SHARE = "worked out"
"""The source that a worked-out share names in place of a ±."""


def stop_facts(rig: RigWater, stop: Stop) -> StopFacts:
    """One stop: what it used, what was captured of it and where that went."""
    registers = rig.state.registers
    used, used_basis = rig.use.by_stop.get(stop.ref, _nothing(stop))
    captured, basis, why, others = _captured(rig, stop)
    again = rig.use.again[stop.ref]
    pieces = rig.pieces[stop.ref] if stop.worked else []
    unread = isinstance(captured.figure, Unknown) and stop.worked
    return StopFacts(
        ref=stop.ref,
        run=stop.run.record,
        lines=tuple(Line(stop.run.record, line.n) for line in stop.lines),
        number=stop.number,
        job=_job(rig, stop),
        client=registers.name("client", str(_from_site(rig, stop, "client") or "")),
        site=registers.name("site", str(stop.first("site") or "")),
        worked=stop.worked,
        not_worked="" if stop.worked else str(stop.first("not_worked")),
        planned=rig.planned(stop),
        area=total_of(part.area for part in stop.parts) if stop.parts else ZERO,
        used=used,
        used_again=again,
        used_basis=used_basis,
        captured=captured,
        captured_basis=basis,
        pieces=None if pieces is None or unread else tuple(pieces),
        why=why,
        led_away=total_of(k.figure for k in stop.led_away),
        escaped=total_of(k.figure for k in stop.escapes),
        escapes=tuple(stop.escape_lines),
        not_explained=_not_explained(stop, [used.figure, again], captured.figure),
        captured_beside=others,
    )


def _not_explained(stop: Stop, applied: Sequence[Figure], captured: Figure) -> Figure:
    """Applied less captured, led away and got away. Where some of these was not measured, the rest is named as such."""
    if not stop.worked:
        return Unknown("not worked", "not applicable")
    came = total_of(applied)
    if isinstance(captured, Unknown) and captured.kind == "not applicable":
        captured = ZERO  # recovery was not planned: all of it went another way
    gone = [k.figure for k in (*stop.led_away, *stop.escapes)]
    return rest(came, [captured, *gone])


def _from_site(rig: RigWater, stop: Stop, name: str) -> Any:
    """A stop's own value, else that of its job, else that of its site on the register."""
    own = stop.first(name)
    if without_value(own) is None:
        return own
    job = rig.state.registers.find("job", stop.first("job")) or {}
    site = rig.state.registers.find("site", stop.first("site")) or {}
    return job.get(name) or site.get(name)


def _job(rig: RigWater, stop: Stop) -> str:
    job = stop.first("job")
    return stop.ref if without_value(job) is not None else rig.state.registers.name("job", str(job))


def _captured(rig: RigWater, stop: Stop) -> tuple[Known, Basis, str, tuple[Beside, ...]]:
    """A stop's captured water over all its parts, on what basis, why not, and other methods beside it."""
    nothing = How("none", "", "", "", tuple(part.at for part in stop.parts))
    if not stop.worked or not rig.planned(stop):
        reason = "not worked" if not stop.worked else "recovery was not planned"
        return Known(Unknown(reason, "not applicable"), nothing), "not divided", reason, ()
    parts = [(*_part(place), place) for place in rig.places[stop.ref]]
    if len(parts) == 1:
        known, basis, why, place = parts[0]
        return known, basis, why, place.span.beside if len(place.span.works) == 1 else ()
    figure = total_of(known.figure for known, *_ in parts)
    why = next((why for _, _, why, _ in parts if why), figure.reason if isinstance(figure, Unknown) else "")
    lines = tuple(line for known, *_ in parts for line in known.how.lines)
    formula = " + ".join(best(known.figure) for known, *_ in parts)
    bases = [basis for _, basis, _, _ in parts]
    whole = next((basis for basis in bases if basis not in ("measured", "stated")), bases[0])
    return Known(figure, How("sum", formula, parts[0][0].how.reader, "", lines)), whole, why, ()


def _part(place: Place) -> tuple[Known, Basis, str]:
    """What one part of a stop captured in one interval."""
    span, division = place.span, place.division
    captured = span.captured
    assert captured is not None
    if division.shares is None:
        if len(span.works) == 1:
            return captured, "not divided", division.why
        nobody = Unknown(division.why, "not known")
        return Known(nobody, How("none", lines=captured.how.lines)), "not divided", division.why
    if len(span.works) == 1:
        return captured, division.basis, ""
    if span.own:
        return span.works[place.index].part.own_captured, division.basis, ""
    amount = from_hundredths(division.shares[place.index])
    formula = f"a share of {best(captured.figure)} by {division.basis}"
    figure = Volume(amount, amount, (), frozenset({SHARE}))
    return Known(figure, How("worked out", formula, "", "", captured.how.lines)), division.basis, ""


def _nothing(stop: Stop) -> tuple[Known, Basis]:
    how = How("none", "", "", "", tuple(Line(stop.run.record, line.n) for line in stop.lines))
    return Known(Unknown("not worked", "not applicable"), how), "not divided"
