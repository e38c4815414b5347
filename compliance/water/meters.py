"""Volumes by register, run time, count and weight, each with a line that a reader can redo by hand.

All figures come in coherent units and keep the digits that were read. The words of `method` are those of
`records.measure`.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.water.shown import number, pieces, to_hand
from compliance.water.volume import CONTEXT, ONE, ZERO, Volume, with_limits

WATER_DENSITY = with_limits(Decimal("8.3417"), {"cal:density of water": Decimal("0.1668")})
"""Pounds a US gallon: 62.4 lb/ft3, the common value, is 8.341667 lb/gal (check-values 1). The limit of 2 % is an
assumption of ours for warm and for dirty water; no source."""

DENSITY_ASSUMED = "assumption: a gallon of the water weighs 8.3417 lb (62.4 lb/ft3) within 2 %"

_FACTOR_DIGITS = Decimal("0.0000001")
"""As many decimals as a pocket calculator takes; a figure that was read has fewer, one that was converted more."""
_PLACES = int(_FACTOR_DIGITS.as_tuple().exponent)


@dataclass(frozen=True)
class Measured:
    """A volume, the line to redo it by hand, its method, and what had to be assumed."""

    volume: Volume
    formula: str
    method: str
    assumptions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Register:
    """What shows the readings: a meter's register or a scale.

    half_width: half of its smallest step, in its own unit. relative_limit: stated accuracy as a fraction (0.015 for
    ±1.5 %). Either is None when nobody stated it. rolls_over_at: the number after its highest, at which it shows zero
    again, None when it does not. factor: result units in one unit of the register.
    """

    name: str
    half_width: Decimal | None
    relative_limit: Decimal | None
    rolls_over_at: Decimal | None = None
    unit: str = "gal"
    factor: Decimal = ONE
    result_unit: str = "gal"


def turned_over(start: Decimal, end: Decimal, turn: Decimal) -> bool:
    """Whether a lower figure than before is a register that rolled over: what went through is then the shorter way.

    A digit that was keyed or read wrong looks the same, and goes nearly all the way round.
    """
    went = CONTEXT.subtract(CONTEXT.add(end, turn), start)
    return CONTEXT.add(went, went) < turn


class Look(NamedTuple):
    """One look at a register: the figure as it stood, and the id of the reading, which its resolution belongs to."""

    shows: Decimal
    reading_id: str


class _Span(NamedTuple):
    went: Volume
    line: str


def register_difference(register: Register, start: Look, end: Look, where: str = "meter") -> Measured | Problem:
    """What went through between two looks; a Problem when the register ran backwards or cannot show a figure."""
    span = _span(register, start, end, where)
    if isinstance(span, Problem):
        return span
    return _in_result_unit(register, span.went, span.line)


def across_a_change(
    old: Register, start: Look, old_end: Look, new: Register, new_start: Look, end: Look, where: str = "meter"
) -> Measured | Problem:
    """What went through when the meter was changed between the two looks; each register counts in its own unit."""
    before = _span(old, start, old_end, f"{where}, old meter")
    if isinstance(before, Problem):
        return before
    after = _span(new, new_start, end, f"{where}, new meter")
    if isinstance(after, Problem):
        return after
    if old.unit == new.unit:
        return _in_result_unit(new, before.went + after.went, f"({before.line}) + ({after.line})")
    parts = _in_result_unit(old, before.went, before.line), _in_result_unit(new, after.went, after.line)
    both = parts[0].volume + parts[1].volume
    steps = (*(part.formula for part in parts), " + ".join(_result(part.volume) for part in parts))
    return Measured(both, f"{'; '.join(steps)} = {_result(both)} {new.result_unit}", "meter")


def _span(register: Register, start: Look, end: Look, where: str) -> _Span | Problem:
    turn = register.rolls_over_at
    for look in (start, end):
        if look.shows < ZERO or (turn is not None and look.shows >= turn):
            return Problem(
                f"{register.name} cannot show {number(look.shows)}",
                where,
                "read it again, or check at which number it rolls over",
            )
    line = f"{number(end.shows)} - {number(start.shows)}"
    last = end.shows
    if end.shows < start.shows:
        if turn is None:
            return Problem(
                f"{register.name} ran backwards, from {number(start.shows)} to {number(end.shows)}",
                where,
                "check both readings; if it rolled over or was changed in between, record that",
            )
        # counted on past the turn, so that the calibration error is that of what went through
        last = CONTEXT.add(end.shows, turn)
        if not turned_over(start.shows, end.shows, turn):
            through = number(CONTEXT.subtract(last, start.shows))
            return Problem(
                f"{register.name} showed {number(start.shows)}, then {number(end.shows)}: had it rolled over, "
                f"{through} would have gone through, half or more of what it counts",
                where,
                "check both readings; if it was changed in between, record that",
            )
        line = f"{number(end.shows)} + {number(turn)} - {number(start.shows)}"
    return _Span(_between(register, CONTEXT.subtract(last, start.shows), start, end), line)


def _between(register: Register, went: Decimal, start: Look, end: Look) -> Volume:
    """The difference of two readings: the calibration of what went through, the resolution of either look."""
    half, limit = register.half_width, register.relative_limit
    limits = {f"cal:{register.name}": None if limit is None else CONTEXT.multiply(went, limit)}
    if start.reading_id != end.reading_id:
        limits[f"res:{start.reading_id}"] = None if half is None else half.copy_negate()
        limits[f"res:{end.reading_id}"] = half
    return with_limits(went, limits)


def _in_result_unit(register: Register, went: Volume, line: str) -> Measured:
    line = f"{line} = {_result(went)} {register.unit}"
    if register.unit != register.result_unit:
        went = went.scale(register.factor)
        line = f"{line}; × {number(to_hand(register.factor, _FACTOR_DIGITS))} = {_result(went)} {register.result_unit}"
    return Measured(went, line, "meter")


def run_time(flow: Volume, minutes: Volume, unit: str = "gal") -> Measured:
    """What ran in so many minutes at a tested flow, in volume a minute."""
    volume = flow.times(minutes)
    line = f"{_as_read(flow)} {unit}/min × {_as_read(minutes)} min = {_result(volume)} {unit}"
    return Measured(volume, line, "time")


def count(times: Volume, vessel: Volume, unit: str = "gal", method: str = "count") -> Measured:
    """So many fills of a known vessel, or (method 'fills') of a tank up to its cut-off float."""
    volume = times.times(vessel)
    return Measured(volume, f"{_as_read(times)} × {_as_read(vessel)} {unit} = {_result(volume)} {unit}", method)


def weight(
    scale: Register,
    gross: Look,
    tare: Look,
    density: Volume = WATER_DENSITY,
    assumed: str = DENSITY_ASSUMED,
    where: str = "scale",
    density_unit: str = "",
) -> Measured | Problem:
    """The water between two looks at a scale, through its density: units of the scale, times its factor, per result
    unit.

    assumed: the sentence that says where the density comes from, '' when it was measured. density_unit: in what the
    density weighs where that is not the scale's own unit, and the scale's factor leads there. A Problem when the empty
    vehicle weighs more than the full one.
    """
    for look, name in ((gross, "gross"), (tare, "tare")):
        if look.shows < ZERO:
            return Problem(f"the {name} weight is {number(look.shows)}", where, "read the weigh ticket again")
    if gross.shows < tare.shows:
        return Problem(
            f"gross {number(gross.shows)} {scale.unit} is below tare {number(tare.shows)} {scale.unit}",
            where,
            "check both figures; they may have been swapped",
        )
    weighs = density_unit or scale.unit
    went = _between(scale, CONTEXT.subtract(gross.shows, tare.shows), tare, gross)
    volume = went.scale(scale.factor).over(density)
    factor = "" if weighs == scale.unit else f" × {_digits(scale.factor)} {weighs}/{scale.unit}"
    line = (
        f"({_digits(gross.shows)} - {_digits(tare.shows)}) {scale.unit}{factor} / {_as_read(density)} "
        f"{weighs}/{scale.result_unit} = {_result(volume)} {scale.result_unit}"
    )
    return Measured(volume, line, "weight", (assumed,) if assumed else ())


def _as_read(volume: Volume) -> str:
    """A figure with the digits that it was given, as far as a reader can key them."""
    low, high = (None if end is None else _to_key(end) for end in (volume.low, volume.high))
    return " ".join(pieces(low, high))


def _digits(x: Decimal) -> str:
    return number(_to_key(x))


def _to_key(x: Decimal) -> Decimal:
    """A figure as it was read; one that was converted, and has no end, to the decimals of a factor."""
    return to_hand(x, _FACTOR_DIGITS) if int(x.as_tuple().exponent) < _PLACES else x


def _result(volume: Volume) -> str:
    low, high = (None if end is None else to_hand(end) for end in (volume.low, volume.high))
    return " ".join(pieces(low, high))
