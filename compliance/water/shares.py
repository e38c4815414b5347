"""Whole hundredths to owners: dividing what was captured, and mixing what is drawn from a tank.

Both keep sums exact to the last hundredth. `divide` splits one amount once. `Mix` follows a tank whose water
belongs to several owners: complete mixing, the physical answer (check-values 11), in integers.

Why not simpler: rounding each draw by itself drifts by tens of gallons over a season, redoing it on the running
total takes water back from an owner, and exact fractions reach hundreds of digits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import NamedTuple


def divide(total: int, weights: Sequence[Fraction | int]) -> list[int]:
    """Hundredths of `total` in proportion to weights >= 0, by largest remainder, ties to the earlier.

    The sum is `total` exactly and each share lies within one hundredth of the exact one. Weights that are all
    zero divide equally. ValueError for a negative weight, or for nobody to divide a non-zero total among.
    """
    if any(weight < 0 for weight in weights):
        raise ValueError("a weight is not negative")
    if not weights:
        if total:
            raise ValueError("there is nobody to divide among")
        return []
    if not any(weights):
        weights = [1] * len(weights)
    common = lcm(*(weight.denominator for weight in weights))
    whole = [int(weight * common) for weight in weights]
    shares, remainders = [], []
    for weight in whole:
        share, remainder = divmod(total * weight, sum(whole))
        shares.append(share)
        remainders.append(remainder)
    left = total - sum(shares)
    for i in sorted(range(len(shares)), key=lambda i: (-remainders[i], i))[:left]:
        shares[i] += 1
    return shares


class Draw(NamedTuple):
    """What a draw leaves and takes.

    mix: the tank after. parts: (owner, hundredths) of each owner that gave any, in owner order. overdrawn:
    hundredths asked for beyond what was there, which belong to nobody.
    """

    mix: Mix
    parts: tuple[tuple[str, int], ...]
    overdrawn: int


@dataclass(frozen=True, slots=True)
class Mix:
    """A mixed tank, in hundredths. `Mix()` is empty.

    owners: in the order of their first water. base: each owner's water at the last addition. drawn: what each
    has given since. Shares are kept against this running total, so rounding does not add up over the draws.
    """

    owners: tuple[str, ...] = ()
    base: tuple[int, ...] = ()
    drawn: tuple[int, ...] = ()

    @property
    def contents(self) -> tuple[tuple[str, int], ...]:
        """(owner, hundredths) of each owner with water in the tank."""
        left = ((owner, had - gave) for owner, had, gave in zip(self.owners, self.base, self.drawn, strict=True))
        return tuple((owner, amount) for owner, amount in left if amount)

    @property
    def amount(self) -> int:
        """Hundredths in the tank."""
        return sum(self.base) - sum(self.drawn)

    def add(self, owner: str, amount: int) -> Mix:
        """The tank after an owner's water went in. ValueError for a negative amount; zero changes nothing."""
        if amount < 0:
            raise ValueError("water taken out is drawn, not added")
        if not amount:
            return self
        contents = dict(self.contents)
        contents[owner] = contents.get(owner, 0) + amount
        return Mix(tuple(contents), tuple(contents.values()), (0,) * len(contents))

    def draw(self, amount: int) -> Draw:
        """Take mixed water out: each owner is topped up towards its exact share of all drawn since the last
        addition, the largest shortfall first, ties to the earlier owner.

        No owner gives more than it has or takes any back. ValueError for a negative amount.
        """
        if amount < 0:
            raise ValueError("water put in is added, not drawn")
        taken = min(amount, self.amount)
        given = self._top_up(taken)
        drawn = tuple(before + now for before, now in zip(self.drawn, given, strict=True))
        parts = tuple((owner, now) for owner, now in zip(self.owners, given, strict=True) if now)
        return Draw(Mix(self.owners, self.base, drawn), parts, amount - taken)

    def _top_up(self, amount: int) -> list[int]:
        """Whole hundredths from each owner. A shortfall is counted in units of 1 / sum(base) hundredths, so that
        it stays an integer.
        """
        whole = sum(self.base)
        target = sum(self.drawn) + amount
        shortfall = [target * had - gave * whole for had, gave in zip(self.base, self.drawn, strict=True)]
        given = [max(0, short // whole) for short in shortfall]
        left = amount - sum(given)
        rest = [short - now * whole for short, now in zip(shortfall, given, strict=True)]
        for i in sorted(range(len(rest)), key=lambda i: (-rest[i], i))[: max(0, left)]:
            given[i] += 1
        # owners who are ahead of their share have nothing taken back, so others may have to wait for theirs
        while left < 0:
            i = min((i for i in range(len(rest)) if given[i]), key=lambda i: (rest[i], -i))
            given[i] -= 1
            rest[i] += whole
            left += 1
        return given
