"""A volume as a reader sees it: rounded to its own uncertainty, a bound outwards, in words and numbers."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from compliance.water.volume import CONTEXT, COVERAGE, HUNDREDTH, ONE, ZERO, Volume


@dataclass(frozen=True, slots=True)
class Shown:
    """A volume rounded for a reader.

    low, high, plus_minus: rounded figures; plus_minus is None when there is no ± to print. pieces: words and
    numbers in order, such as ("at least", "1,250", "±", "12"); the words are for a catalogue to translate.
    """

    low: Decimal | None
    high: Decimal | None
    plus_minus: Decimal | None
    pieces: tuple[str, ...]

    @property
    def text(self) -> str:
        """The pieces in one line."""
        return " ".join(self.pieces)


def shown(volume: Volume, k: Decimal = COVERAGE) -> Shown:
    """Round a volume to its own uncertainty: the ± to two figures, never finer than it is kept, the value alike.

    Without a ±, whole units; below one unit, hundredths, so that a small amount does not read as zero. A bound is
    rounded outwards: 'at least 33' must not be said of 32.57.
    """
    is_known = volume.low is not None or volume.high is not None
    expanded = volume.expanded(k) if is_known else None
    place: Decimal | None = None
    plus_minus: Decimal | None = None
    tail: tuple[str, ...] = ()
    if expanded:
        place = _place(expanded)
        plus_minus = max(HUNDREDTH, _rounded(expanded, place))
        tail = ("±", number(plus_minus))
    low, high = volume.low, volume.high
    if volume.is_point and low is not None:
        low = high = _rounded(low, place)
    else:
        low = None if low is None else _rounded(_kept(low), place, ROUND_FLOOR)
        high = None if high is None else _rounded(_kept(high), place, ROUND_CEILING)
    return Shown(low, high, plus_minus, pieces(low, high) + tail)


def pieces(low: Decimal | None, high: Decimal | None) -> tuple[str, ...]:
    """A figure, a bound or a range in words and numbers."""
    if high is None:
        return ("any amount",) if low is None else ("at least", number(low))
    if low is None:
        return ("at most", number(high))
    return (number(low),) if low == high else ("between", number(low), "and", number(high))


def number(x: Decimal) -> str:
    """Digits as they stand, grouped by thousands."""
    return format(x, ",f")


def to_hand(x: Decimal, place: Decimal = HUNDREDTH) -> Decimal:
    """Rounded to a decimal place, without zeros at the end: how a result stands in a line to redo by hand."""
    return CONTEXT.normalize(CONTEXT.quantize(x, place))


def _place(expanded: Decimal) -> Decimal:
    """The decimal place to which a ± keeps two figures, at the finest a hundredth."""
    place = ONE.scaleb(expanded.adjusted() - 1, CONTEXT)
    # 99.6 rounds up to three figures at this place, so the place is looked for once more
    rounded = CONTEXT.quantize(expanded, place)
    return max(HUNDREDTH, ONE.scaleb(rounded.adjusted() - 1, CONTEXT))


def _kept(x: Decimal) -> Decimal:
    """To the hundredth, so that the last of 34 digits does not move a bound by a whole unit."""
    return CONTEXT.quantize(x, HUNDREDTH)


def _rounded(x: Decimal, place: Decimal | None, rounding: str = ROUND_HALF_EVEN) -> Decimal:
    if place is None:
        place = HUNDREDTH if ZERO < x.copy_abs() < ONE else ONE
    # a place of tens would leave an exponent behind, and a negative rounded away a minus sign on its zero
    rounded = x.quantize(place, rounding, CONTEXT)
    return CONTEXT.add(CONTEXT.quantize(rounded, min(place, ONE)), ZERO)
