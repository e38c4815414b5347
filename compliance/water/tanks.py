"""From a level in a tank to the volume below it.

A shape is given by its inside dimensions in one unit of length (inches), levels are heights above its lowest inside
point in the same unit, and `per_unit` says how many cubic units of length make one unit of volume: 231 for inches
and US gallons. A strapping table already holds volumes.

A horizontal cylinder needs an arc cosine. It is written as an arc tangent, acos(1 - h/R) = 2 atan(sqrt(h / (2R - h))),
which loses no digits near empty, and summed in 50 digits by halving the angle and its power series, so that 34 digits
of the volume stand.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Context, Decimal, DivisionByZero, InvalidOperation, Overflow
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.water.shown import number
from compliance.water.volume import CONTEXT, ONE, ZERO, Volume, with_limits

CUBIC_INCHES_PER_GALLON = Decimal(231)
"""The US gallon, by definition (check-values 1)."""

PI = Decimal("3.14159265358979323846264338327950288419716939937510")

_FINE = Context(prec=50, rounding=ROUND_HALF_EVEN, traps=[InvalidOperation, DivisionByZero, Overflow])
_TWO, _THREE = Decimal(2), Decimal(3)
_HALVINGS = 4
_TERMS = 20
"""After four halvings the argument is below 0.05; its 20th odd power over 41 is below 1e-54."""


@dataclass(frozen=True)
class Rectangle:
    """A box that stands level. Inside length, width and depth."""

    length: Decimal
    width: Decimal
    depth: Decimal
    per_unit: Decimal = CUBIC_INCHES_PER_GALLON

    @property
    def lowest(self) -> Decimal:
        """The level of an empty tank, in the unit of its dimensions."""
        return ZERO

    @property
    def highest(self) -> Decimal:
        """The level of a full tank, in the unit of its dimensions."""
        return self.depth

    def volume(self, h: Decimal) -> Decimal:
        """Units of volume below the level h, lowest <= h <= highest."""
        return CONTEXT.multiply(self.slope(h), h)

    def slope(self, _h: Decimal) -> Decimal:
        """Units of volume per unit of length at the level h."""
        return CONTEXT.divide(CONTEXT.multiply(self.length, self.width), self.per_unit)


@dataclass(frozen=True)
class UprightCylinder:
    """A cylinder that stands on a flat end. Inside diameter and depth."""

    diameter: Decimal
    depth: Decimal
    per_unit: Decimal = CUBIC_INCHES_PER_GALLON

    @property
    def lowest(self) -> Decimal:
        """The level of an empty tank, in the unit of its dimensions."""
        return ZERO

    @property
    def highest(self) -> Decimal:
        """The level of a full tank, in the unit of its dimensions."""
        return self.depth

    def volume(self, h: Decimal) -> Decimal:
        """Units of volume below the level h, lowest <= h <= highest."""
        return CONTEXT.multiply(self.slope(h), h)

    def slope(self, _h: Decimal) -> Decimal:
        """Units of volume per unit of length at the level h."""
        radius = _FINE.divide(self.diameter, _TWO)
        return CONTEXT.divide(_FINE.multiply(PI, _FINE.multiply(radius, radius)), self.per_unit)


Head = Literal["flat", "conical", "ellipsoidal"]


@dataclass(frozen=True)
class HorizontalCylinder:
    """A cylinder that lies level, with two like heads.

    Inside length of the straight part and inside diameter. head_depth: how far each head reaches beyond the
    straight part; a quarter of the diameter for the usual ellipsoidal head, half of it for a half sphere.
    """

    length: Decimal
    diameter: Decimal
    head: Head = "flat"
    head_depth: Decimal = ZERO
    per_unit: Decimal = CUBIC_INCHES_PER_GALLON

    @property
    def lowest(self) -> Decimal:
        """The level of an empty tank, in the unit of its dimensions."""
        return ZERO

    @property
    def highest(self) -> Decimal:
        """The level of a full tank, in the unit of its dimensions."""
        return self.diameter

    def volume(self, h: Decimal) -> Decimal:
        """Units of volume below the level h, lowest <= h <= highest."""
        radius = _FINE.divide(self.diameter, _TWO)
        if h <= radius:
            return CONTEXT.divide(self._lower_half(radius, h), self.per_unit)
        whole = _FINE.multiply(_TWO, self._lower_half(radius, radius))
        air = self._lower_half(radius, _FINE.subtract(self.diameter, h))
        return CONTEXT.divide(_FINE.subtract(whole, air), self.per_unit)

    def slope(self, h: Decimal) -> Decimal:
        """Units of volume per unit of length at the level h: the surface of the water. Zero when empty or full."""
        radius = _FINE.divide(self.diameter, _TWO)
        h = min(h, _FINE.subtract(self.diameter, h))
        half_chord = _half_chord(radius, h)
        surface = _FINE.multiply(_FINE.multiply(_TWO, self.length), half_chord)
        if self.head == "ellipsoidal":
            # the surface in the two heads together is one ellipse
            reach = _FINE.divide(_FINE.multiply(self.head_depth, half_chord), radius)
            surface = _FINE.fma(_FINE.multiply(PI, reach), half_chord, surface)
        elif self.head == "conical":
            m = _FINE.divide(_FINE.subtract(radius, h), radius)
            bracket = _FINE.subtract(_FINE.divide(half_chord, radius), _cone_term(m, 2))
            pair = _FINE.multiply(_FINE.multiply(_TWO, self.head_depth), radius)
            surface = _FINE.fma(pair, bracket, surface)
        return CONTEXT.divide(surface, self.per_unit)

    def _lower_half(self, radius: Decimal, h: Decimal) -> Decimal:
        """Cubic units of length below a level h that is at most the radius (check-values 2.1 and 2.2)."""
        below = _FINE.subtract(radius, h)
        angle = _FINE.multiply(_TWO, arctangent(_FINE.sqrt(_FINE.divide(h, _FINE.subtract(self.diameter, h)))))
        half_chord = _half_chord(radius, h)
        square = _FINE.multiply(radius, radius)
        segment = _FINE.subtract(_FINE.multiply(square, angle), _FINE.multiply(below, half_chord))
        cubic = _FINE.multiply(self.length, segment)
        if self.head == "ellipsoidal":
            # V = pi a h^2 (1 - h / 3R) for the pair
            rest = _FINE.subtract(ONE, _FINE.divide(h, _FINE.multiply(_THREE, radius)))
            across = _FINE.multiply(_FINE.multiply(PI, self.head_depth), _FINE.multiply(h, h))
            cubic = _FINE.fma(across, rest, cubic)
        elif self.head == "conical":
            # V = (2 a R^2 / 3) (acos m - 2 m sqrt(1 - m^2) + m^3 acosh(1 / m)), m = (R - h) / R, for the pair
            m = _FINE.divide(below, radius)
            twice = _FINE.multiply(_TWO, _FINE.multiply(m, _FINE.divide(half_chord, radius)))
            bracket = _FINE.add(_FINE.subtract(angle, twice), _cone_term(m, 3))
            pair = _FINE.divide(_FINE.multiply(_FINE.multiply(_TWO, self.head_depth), square), _THREE)
            cubic = _FINE.fma(pair, bracket, cubic)
        return cubic


@dataclass(frozen=True)
class StrapTable:
    """A strapping table: (level, volume) rows from the lowest level up, straight lines between them."""

    rows: tuple[tuple[Decimal, Decimal], ...]

    @property
    def lowest(self) -> Decimal:
        """The first level of the table."""
        return self.rows[0][0]

    @property
    def highest(self) -> Decimal:
        """The last level of the table."""
        return self.rows[-1][0]

    def volume(self, h: Decimal) -> Decimal:
        """Units of volume below the level h, lowest <= h <= highest."""
        (low, less), (high, more) = next(step for step in pairwise(self.rows) if h <= step[1][0])
        risen = CONTEXT.multiply(CONTEXT.subtract(h, low), CONTEXT.subtract(more, less))
        return CONTEXT.add(less, CONTEXT.divide(risen, CONTEXT.subtract(high, low)))

    def slope(self, h: Decimal) -> Decimal:
        """Units of volume per unit of length at the level h; at a row, the larger of the two beside it."""
        return max(
            CONTEXT.divide(CONTEXT.subtract(more, less), CONTEXT.subtract(high, low))
            for (low, less), (high, more) in pairwise(self.rows)
            if low <= h <= high
        )


Shape = Rectangle | UprightCylinder | HorizontalCylinder | StrapTable


def shape_problems(shape: Shape, where: str) -> tuple[Problem, ...]:
    """What makes a shape unusable: a dimension that is not above zero, a table that does not rise."""
    if isinstance(shape, StrapTable):
        if len(shape.rows) < 2:
            return (Problem("a strapping table has at least two rows", where, "add the missing rows"),)
        return tuple(
            Problem(
                f"the strapping table does not rise from {number(low)} to {number(high)}",
                where,
                "sort its rows by level and check both figures of these two",
            )
            for (low, less), (high, more) in pairwise(shape.rows)
            if high <= low or more < less
        )
    if isinstance(shape, Rectangle):
        sizes = {"length": shape.length, "width": shape.width, "depth": shape.depth}
    elif isinstance(shape, UprightCylinder):
        sizes = {"diameter": shape.diameter, "depth": shape.depth}
    else:
        sizes = {"length": shape.length, "diameter": shape.diameter}
        if shape.head != "flat":
            sizes["depth of the heads"] = shape.head_depth
    return tuple(
        Problem(f"the {name} is {number(size)}", where, "measure it inside; it is above zero")
        for name, size in sizes.items()
        if size <= ZERO
    )


def level_to_volume(shape: Shape, h: Decimal, where: str = "tank level") -> Decimal | Problem:
    """Units of volume below the level h; a Problem when the shape is unusable or h lies outside the tank."""
    for problem in shape_problems(shape, where):
        return problem
    if not shape.lowest <= h <= shape.highest:
        return Problem(
            f"a level of {number(h)} lies outside the tank, which goes from {number(shape.lowest)} to "
            f"{number(shape.highest)}",
            where,
            "read the mark again, or check the dimensions of the tank",
        )
    return shape.volume(h)


def capacity(shape: Shape) -> Decimal:
    """Units of volume in the full tank, to the brim: what the float allows is usually less."""
    return shape.volume(shape.highest)


def level_limit(shape: Shape, h: Decimal, half_width: Decimal) -> Decimal:
    """Limits ±a of the volume for a level h known to ±half_width: slope x half_width, by the law of propagation.

    Within half_width of an end it is what the tank really holds there, where that is more: at the very bottom of a
    lying cylinder the slope alone would say that the doubt is zero.
    """
    by_slope = CONTEXT.multiply(shape.slope(h), half_width)
    above, below = CONTEXT.add(h, half_width), CONTEXT.subtract(h, half_width)
    if shape.lowest <= below and above <= shape.highest:
        return by_slope
    here = shape.volume(h)
    more = CONTEXT.subtract(shape.volume(min(shape.highest, above)), here)
    less = CONTEXT.subtract(here, shape.volume(max(shape.lowest, below)))
    return max(by_slope, more, less)


def level_reading(
    shape: Shape,
    h: Decimal,
    *,
    resolution_key: str,
    half_width: Decimal | None,
    calibration_key: str,
    relative_limit: Decimal | None,
    where: str = "tank level",
) -> Volume | Problem:
    """The volume below one look at a tank mark, with its doubts; a Problem as in `level_to_volume`.

    half_width: half of what can be told apart on the mark, in the unit of length. relative_limit: stated accuracy of
    the dimensions or the table as a fraction of the volume. Either may be None: nobody stated it.
    """
    volume = level_to_volume(shape, h, where)
    if isinstance(volume, Problem):
        return volume
    limit = None if half_width is None else level_limit(shape, h, half_width)
    share = None if relative_limit is None else CONTEXT.multiply(volume, relative_limit)
    return with_limits(volume, {resolution_key: limit, calibration_key: share})


@lru_cache(maxsize=4096)  # marks are read at the same few steps, night after night
def arctangent(x: Decimal) -> Decimal:
    """atan x for 0 <= x <= 1, in radians, to about 48 digits."""
    for _ in range(_HALVINGS):
        # atan x = 2 atan(x / (1 + sqrt(1 + x^2)))
        x = _FINE.divide(x, _FINE.add(ONE, _FINE.sqrt(_FINE.fma(x, x, ONE))))
    square = _FINE.multiply(x, x).copy_negate()
    power, result = x, x
    for term in range(1, _TERMS):
        power = _FINE.multiply(power, square)
        result = _FINE.add(result, _FINE.divide(power, Decimal(2 * term + 1)))
    return _FINE.multiply(result, Decimal(2**_HALVINGS))


def _half_chord(radius: Decimal, h: Decimal) -> Decimal:
    """Half the width of the water at a level h of a circle."""
    return _FINE.sqrt(_FINE.multiply(h, _FINE.subtract(_FINE.multiply(_TWO, radius), h)))


def _cone_term(m: Decimal, power: int) -> Decimal:
    """m^power acosh(1/m), which is zero at half full (m = 0)."""
    if not m:
        return ZERO
    inverse = _FINE.divide(ONE, m)
    root = _FINE.sqrt(_FINE.subtract(_FINE.multiply(inverse, inverse), ONE))
    return _FINE.multiply(_FINE.power(m, power), _FINE.ln(_FINE.add(inverse, root)))
