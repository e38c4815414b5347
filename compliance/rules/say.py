"""Figures and lists in the words of a finding."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from compliance.water.ratio import Ratio, in_percent
from compliance.water.shown import shown
from compliance.water.volume import CONTEXT, HUNDREDTH, Figure, Unknown


def amount(figure: Figure, unit: str) -> str:
    """'450 ± 12 gal', or which kind of no figure it is."""
    if isinstance(figure, Unknown):
        return figure.kind
    return f"{shown(figure).text} {unit}" + (", no ± stated" if figure.unstated else "")


def plain(x: Decimal) -> str:
    """A number to a hundredth, without zeros that say nothing."""
    text = f"{CONTEXT.quantize(x, HUNDREDTH):,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(x: Decimal, rounding: str = ROUND_HALF_EVEN) -> str:
    """A fraction as a percentage, to a tenth. rounding: see `ratio.in_percent`."""
    return f"{in_percent(x, rounding):f} %"


def ratio(one: Ratio) -> str:
    """A ratio with its interval, as far as it has one."""
    if one.kind in ("stated", "worked out"):
        return f"{percent(one.value or Decimal(0))}, {one.kind}, no ±"
    if one.kind == "measured" and one.low is not None and one.high is not None and one.value is not None:
        return f"{percent(one.value)} (between {percent(one.low)} and {percent(one.high)})"
    if one.high is None:
        return f"at least {percent(one.low or Decimal(0), ROUND_FLOOR)}"
    if one.low is None:
        return f"at most {percent(one.high, ROUND_CEILING)}"
    return f"between {percent(one.low, ROUND_FLOOR)} and {percent(one.high, ROUND_CEILING)}"


def listed(words: Sequence[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
