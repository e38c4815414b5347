"""Whether two measurements of one thing agree. Nothing is averaged: the office names which of them governs."""

from __future__ import annotations

from decimal import Decimal

from compliance.records.quick import dataclass
from compliance.water.volume import CONTEXT, COVERAGE, ONE, Volume


@dataclass(frozen=True)
class Agreement:
    """e_n: the difference over its expanded uncertainty, signed. agrees: |e_n| <= 1."""

    e_n: Decimal

    @property
    def agrees(self) -> bool:
        """The two are as close as their uncertainties say."""
        return self.e_n.copy_abs() <= ONE


@dataclass(frozen=True)
class CannotTell:
    """No E_n. why: one clause for the reader."""

    why: str


def agreement(a: Volume, b: Volume, k: Decimal = COVERAGE) -> Agreement | CannotTell:
    """E_n = (a - b) / U(a - b), which is / sqrt(U_a^2 + U_b^2) where the two share no source (check-values 3.2).

    'Cannot tell' when the uncertainty of either is unstated, when either is a bound, or when nothing is left of the
    uncertainty of the difference to compare it with.
    """
    for one in (a, b):
        if one.unstated:
            return CannotTell(f"nobody stated the accuracy of {', '.join(sorted(one.unstated))}")
    difference = a - b
    if difference.best is None:
        return CannotTell("a bound is not a measurement to compare with")
    expanded = CONTEXT.multiply(k, difference.u)
    if not expanded:
        return CannotTell("the two have no uncertainty of their own")
    return Agreement(CONTEXT.divide(difference.best, expanded))
