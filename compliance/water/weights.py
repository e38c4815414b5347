"""By what a total is divided over stops that have no figure of their own: used and captured water alike.

A weight is exact (hundredths, square feet, minutes). None says that there is none, which is never a weight of nothing:
a basis counts only where every stop has one.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from compliance.water.timeline import Part
from compliance.water.volume import Figure, Unknown, does_not_apply

Weight = Fraction | int


def summed(weights: Sequence[Weight | None]) -> Weight | None:
    """Their sum, None when one is missing or there is none."""
    found = [weight for weight in weights if weight is not None]
    return sum(found) if found and len(found) == len(weights) else None


def complete(weights: Sequence[Weight | None]) -> list[Weight] | None:
    """The weights when none is missing and they are not all zero, else None."""
    found = [weight for weight in weights if weight is not None]
    return found if len(found) == len(weights) and any(found) else None


def area_given(figure: Figure) -> Fraction | None:
    """An area as it was given, in square feet; None unless it is one figure."""
    return None if isinstance(figure, Unknown) or figure.best is None else Fraction(figure.best)


def area_of(parts: Sequence[Part]) -> Weight | None:
    """The area of a stop in square feet, over its lines; one on which the question does not arise adds none."""
    return summed([area_given(part.area) for part in parts if not does_not_apply(part.area)])


def minutes_of(parts: Sequence[Part]) -> Weight | None:
    """The minutes that a stop took, over its lines; None where one says no time."""
    return summed([part.minutes for part in parts])
