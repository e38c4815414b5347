"""The largest figure of each dimension that can be meant.

Practice, no source: far above any mobile rig, far below what a slipped key or a pasted telephone number makes.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from compliance.records.problem import Problem
from compliance.records.quantity import Quantity

LARGEST: Final[Mapping[str, tuple[Decimal, str]]] = {
    "volume": (Decimal(1_000_000), "gal"),
    "length": (Decimal(1_000), "in"),
    "area": (Decimal(10_000_000), "ft2"),
    "mass": (Decimal(200_000), "lb"),
    "time": (Decimal(3_660), "days"),
    "flow": (Decimal(10_000), "gal/min"),
    "percent": (Decimal(1_000), "%"),
    "pH": (Decimal(14), "pH"),
    "opening": (Decimal(100_000), "um"),
    "number": (Decimal(10) ** 12, "count"),
}


def too_large(quantity: Quantity, where: str) -> Problem | None:
    """The problem with a figure that cannot be meant, or None."""
    largest, unit = LARGEST[quantity.dimension]
    there = quantity.in_unit(unit)
    figure = max(side for side in (there.low, there.high) if side is not None)
    if figure <= largest:
        return None
    return Problem(f"{quantity} is more than can be meant (at most {largest:,} {unit})", where, "check the figure")
