"""A volume: what is known of an amount of water, and how well.

A `Volume` is an interval between two bounds (equal for an ordinary reading, None where a side is open) plus
signed contributions of standard uncertainty, each under the key of its source. Two kinds of key exist:

    cal:<instrument or flow test>   shared by everything that the instrument ever measured
    res:<reading id>                the resolution of one look, shared only by the two intervals it bounds

Adding, subtracting and scaling carry the contributions with their signs, so what two figures share cancels or
adds up by itself; only at the end are they combined by root-sum-square. This is the first-order law of
propagation with correlation (check-values 3.1). Sources of which nobody stated an accuracy are carried by name
in `unstated`, and a volume that has any has no ±.

An `Unknown` is not a `Volume` and never becomes zero.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import (
    ROUND_HALF_EVEN,
    Context,
    Decimal,
    DivisionByZero,
    InvalidOperation,
    Overflow,
)
from typing import Literal, cast

CONTEXT = Context(prec=34, rounding=ROUND_HALF_EVEN, traps=[InvalidOperation, DivisionByZero, Overflow])
"""All arithmetic on volumes. The ambient context belongs to the caller and is never used."""

ZERO = Decimal(0)
ONE = Decimal(1)
HUNDREDTH = Decimal("0.01")
ROOT_3 = CONTEXT.sqrt(Decimal(3))
COVERAGE = Decimal(2)
"""The coverage factor of every printed ±: about 95 % when many sources add up (TN 1297 Table B.1, last row)."""

_RESIDUE = -20
"""A power of ten: what is left below it of contributions that cancel is the rounding of 34 digits."""

SHARE, DIVIDED = "worked out", "divided"
"""What a worked-out share names in place of a source: of what was captured, of what was used."""
SHARES = frozenset((SHARE, DIVIDED))

_INFINITY = Decimal("Infinity")
_NOTHING: frozenset[str] = frozenset()

Parts = Mapping[str, Decimal]
_NO_PARTS: Parts = {}
UnknownKind = Literal["not read", "not known", "not recorded yet", "not applicable"]
_FINALITY: tuple[UnknownKind, ...] = ("not read", "not known", "not recorded yet", "not applicable")
"""What a sum is called when several kinds meet: the one that no later record can fill comes first."""


@dataclass(frozen=True, slots=True)
class Volume:
    """An amount of water in the unit of the caller (of length, time or weight too, on the way to a volume).

    low, high: bounds, None where that side is open. parts: key -> signed standard uncertainty, without zeros; never
    changed once it is made, so that volumes may share it. unstated: names of the sources whose uncertainty nobody
    stated.
    """

    low: Decimal | None
    high: Decimal | None
    parts: Parts = field(default_factory=lambda: _NO_PARTS, hash=False)
    unstated: frozenset[str] = _NOTHING

    @property
    def is_point(self) -> bool:
        """One figure rather than a range or a bound."""
        return self.low is not None and self.low == self.high

    @property
    def best(self) -> Decimal | None:
        """The figure, or None for a range or a bound: its middle would be an estimate."""
        return self.low if self.is_point else None

    @property
    def u(self) -> Decimal:
        """Combined standard uncertainty of the *stated* sources, in the unit of the figure: the root of their squares.

        See `expanded` for what may be printed.
        """
        squares = ZERO
        for key in sorted(self.parts):  # in one order, so that the last digit is always the same
            squares = CONTEXT.fma(self.parts[key], self.parts[key], squares)
        return CONTEXT.sqrt(squares)

    def expanded(self, k: Decimal = COVERAGE) -> Decimal | None:
        """k times `u`; None when any source is unstated, since the ± would then be too small."""
        return None if self.unstated else CONTEXT.multiply(k, self.u)

    def __add__(self, other: Volume) -> Volume:
        return total((self, other))

    def __sub__(self, other: Volume) -> Volume:
        return _combined((self,), (other,))

    def __neg__(self) -> Volume:
        return Volume(
            None if self.high is None else CONTEXT.minus(self.high),
            None if self.low is None else CONTEXT.minus(self.low),
            {key: part.copy_negate() for key, part in self.parts.items()} if self.parts else self.parts,
            self.unstated,
        )

    def scale(self, factor: Decimal) -> Volume:
        """Times an exact number; times zero is an exact zero, since nothing of the source is left in it."""
        if factor == ZERO:
            return exact(ZERO)
        return self.times(exact(factor))

    def times(self, other: Volume) -> Volume:
        """Product of two uncertain quantities, such as rate x time; first order, shared sources included.

        Where a factor is a range, the sensitivity is taken at its larger end.
        """
        corners = [_product(a, b) for a in _ends(self) for b in _ends(other)]
        parts: dict[str, Decimal] = {}
        _gather(parts, self.parts, _largest(other))
        _gather(parts, other.parts, _largest(self))
        return Volume(_finite(min(corners)), _finite(max(corners)), _tidy(parts), self.unstated | other.unstated)

    def over(self, divisor: Volume) -> Volume:
        """Quotient by an uncertain quantity, first order. ValueError unless the divisor is one non-zero figure."""
        by = divisor.best
        if not by:
            raise ValueError("a volume is divided by one figure that is not zero")
        ends = sorted(CONTEXT.divide(end, by) for end in _ends(self))
        slope = CONTEXT.divide(_largest(self).copy_negate(), CONTEXT.multiply(by, by))
        parts: dict[str, Decimal] = {}
        _gather(parts, self.parts, CONTEXT.divide(ONE, by))
        _gather(parts, divisor.parts, slope)
        return Volume(_finite(ends[0]), _finite(ends[1]), _tidy(parts), self.unstated | divisor.unstated)


def exact(x: Decimal) -> Volume:
    """A figure without doubt: a count, a defined constant, a zero that is known to be one."""
    return Volume(x, x)


NOTHING = exact(ZERO)
"""No water, known to be none."""


def with_limits(x: Decimal, limits: Mapping[str, Decimal | None], unstated: frozenset[str] = _NOTHING) -> Volume:
    """A figure x with limits ±a for each source key; a limit of None makes that source unstated.

    Nothing being known of the shape between the limits, each counts as rectangular: u = a / sqrt(3)
    (GUM 4.3.7, from memory). A negative limit flips the sign of the contribution.
    """
    parts = {key: CONTEXT.divide(limit, ROOT_3) for key, limit in limits.items() if limit}
    nobody_said = [key for key, limit in limits.items() if limit is None]
    return Volume(x, x, parts, unstated.union(nobody_said) if nobody_said else unstated)


def reading(
    x: Decimal,
    *,
    resolution_key: str,
    half_width: Decimal | None,
    calibration_key: str,
    relative_limit: Decimal | None,
) -> Volume:
    """One look at an instrument that showed x.

    half_width: half of what can be told apart on the dial, in the unit of x. relative_limit: stated accuracy
    as a fraction (0.015 for ±1.5 %). Either may be None: nobody stated it. The calibration part is in
    proportion to x, so the difference of two readings of one meter has the error of what went through.
    """
    share = None if relative_limit is None else CONTEXT.multiply(x, relative_limit)
    return with_limits(x, {resolution_key: half_width, calibration_key: share})


def stated(x: Decimal, source: str) -> Volume:
    """A figure that somebody declared, with no accuracy."""
    return Volume(x, x, _NO_PARTS, frozenset((source,)))


def at_least(x: Decimal, source: str | None = None) -> Volume:
    """A lower bound, in the unit of x. source: given when the bound itself is a guess of unstated accuracy."""
    return Volume(x, None, _NO_PARTS, _named(source))


def at_most(x: Decimal, source: str | None = None) -> Volume:
    """An upper bound, in the unit of x. source: as for `at_least`."""
    return Volume(None, x, _NO_PARTS, _named(source))


def between(low: Decimal, high: Decimal, source: str | None = None) -> Volume:
    """A range, in the unit of its ends, which may be given in either order. source: as for `at_least`."""
    return Volume(min(low, high), max(low, high), _NO_PARTS, _named(source))


def total(volumes: Iterable[Volume]) -> Volume:
    """Sum; of nothing, an exact zero. A side that is open in one term is open in the sum."""
    return _combined(volumes, ())


def _combined(added: Iterable[Volume], taken: Iterable[Volume]) -> Volume:
    """The sum of the one less the sum of the other."""
    terms = [volume for volume in added if volume is not NOTHING]
    terms += [-volume for volume in taken if volume is not NOTHING]
    if len(terms) < 2:
        return terms[0] if terms else NOTHING
    first = terms[0]
    low, high, parts, unstated = first.low, first.high, dict(first.parts), first.unstated
    for volume in terms[1:]:
        low = None if low is None or volume.low is None else CONTEXT.add(low, volume.low)
        high = None if high is None or volume.high is None else CONTEXT.add(high, volume.high)
        for key, part in volume.parts.items():
            both = CONTEXT.add(parts.pop(key, ZERO), part)
            if both and both.adjusted() > _RESIDUE:
                parts[key] = both
        if volume.unstated:
            unstated = unstated | volume.unstated if unstated else volume.unstated
    return Volume(low, high, parts, unstated)


@dataclass(frozen=True, slots=True)
class Unknown:
    """No figure. reason: one clause for the reader. kind: which of the four ways of not having one."""

    reason: str
    kind: UnknownKind


Figure = Volume | Unknown


def does_not_apply(figure: Figure) -> bool:
    """The question does not arise, as on a continued line of a stop whose first line has all of it."""
    return isinstance(figure, Unknown) and figure.kind == "not applicable"


def plus(a: Figure, b: Figure) -> Figure:
    """a + b, both in one unit; unknown when either is."""
    return total_of((a, b))


def minus(a: Figure, b: Figure) -> Figure:
    """a - b, both in one unit; unknown when either is."""
    return difference((a,), (b,))


def total_of(figures: Iterable[Figure], *, skip_not_applicable: bool = False) -> Figure:
    """Sum of figures; unknown when any is, with the reason of the first of the most final kind.

    skip_not_applicable: leave figures out that do not apply, unless that would leave none of them.
    """
    figures = list(figures)
    if len(figures) < 2:
        return figures[0] if figures else NOTHING
    known, unknown = _sorted_out(figures)
    if skip_not_applicable and known:
        unknown = [one for one in unknown if one.kind != "not applicable"]
    return _first(unknown) if unknown else total(known)


def is_nothing(figure: Figure) -> bool:
    """An amount that is known to be zero."""
    return isinstance(figure, Volume) and figure.best == 0


def difference(added: Iterable[Figure], taken: Iterable[Figure]) -> Figure:
    """The sum of the one less the sum of the other; unknown when any figure is, as in `total_of`."""
    plus, no_plus = _sorted_out(added)
    less, no_less = _sorted_out(taken)
    return _first(no_plus + no_less) if no_plus or no_less else _combined(plus, less)


def _sorted_out(figures: Iterable[Figure]) -> tuple[list[Volume], list[Unknown]]:
    all_ = list(figures)
    unknown = [figure for figure in all_ if isinstance(figure, Unknown)]
    known = all_ if not unknown else [figure for figure in all_ if not isinstance(figure, Unknown)]
    return cast(list[Volume], known), unknown


def _first(unknown: list[Unknown]) -> Unknown:
    return min(unknown, key=lambda one: _FINALITY.index(one.kind))


def hundredths(x: Decimal) -> int:
    """Whole hundredths of the unit, a half to the even neighbour: the form in which figures are kept."""
    return int(CONTEXT.quantize(x, HUNDREDTH).scaleb(2, CONTEXT))


def in_hundredths(figure: Figure) -> int | None:
    """A figure as it is kept, None for a bound, a range or no figure."""
    if isinstance(figure, Unknown) or figure.low is None or figure.low != figure.high:
        return None
    return hundredths(figure.low)


def from_hundredths(n: int) -> Decimal:
    """The inverse of `hundredths`, exact."""
    return Decimal(n).scaleb(-2, CONTEXT)


def _named(source: str | None) -> frozenset[str]:
    return _NOTHING if source is None else frozenset((source,))


def _gather(into: dict[str, Decimal], parts: Parts, factor: Decimal) -> None:
    for key, part in parts.items():
        into[key] = CONTEXT.fma(part, factor, into.get(key, ZERO))


def _tidy(parts: Mapping[str, Decimal]) -> Parts:
    return {key: part for key, part in parts.items() if part}


def _ends(volume: Volume) -> tuple[Decimal, Decimal]:
    return (
        _INFINITY.copy_negate() if volume.low is None else volume.low,
        _INFINITY if volume.high is None else volume.high,
    )


def _finite(x: Decimal) -> Decimal | None:
    return None if x.is_infinite() else x


def _product(a: Decimal, b: Decimal) -> Decimal:
    """a x b where zero times an open end is zero: none of however many is none."""
    return CONTEXT.multiply(a, b) if a and b else ZERO


def _largest(volume: Volume) -> Decimal:
    """The stated end that is farthest from zero; zero when both sides are open."""
    ends = [end for end in (volume.low, volume.high) if end is not None]
    return max(ends, key=Decimal.copy_abs, default=ZERO)
