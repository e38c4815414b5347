"""The recovery ratio: captured / applied, as far as it is known.

The interval is Fieller's, the exact one for a ratio of two normal quantities, and takes into account what the two
share: a meter that reads 2 % high and measured both does not move their ratio. A stated figure gives a ratio without
±, a bound gives a bound, and where no honest ratio exists the answer says why.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final, Literal

from compliance.records.quick import dataclass
from compliance.water.film import GALLONS_PER_SQ_FT_INCH
from compliance.water.volume import CONTEXT, COVERAGE, ONE, SHARES, ZERO, Figure, Unknown, Volume, exact

RatioKind = Literal["measured", "stated", "worked out", "at most", "at least", "between"]
Judgement = Literal["met", "not met", "cannot tell"]

_TENTH: Final = Decimal("0.1")
_RESIDUE: Final = Decimal("1e-12")
STATED = "stated, no ±"
DIVIDED = "worked out, no ±"
"""Nobody stated the figure: it is a share of a measured one."""
RAIN = "rain of unknown amount is in what was captured"
ALL_OF_IT = "not distinguishable from all of it"


@dataclass(frozen=True)
class Ratio:
    """A ratio as a fraction (0.95).

    value: the figure, or the bound; None for a range. low, high: the interval at the coverage asked for; for a bound
    only that side, for a stated or worked-out figure neither. no_plus_minus: a source of unstated accuracy is in it, so
    that its bounds carry no ± either. note: for the reader, '' when there is nothing to add.
    """

    value: Decimal | None
    low: Decimal | None
    high: Decimal | None
    kind: RatioKind
    note: str = ""
    no_plus_minus: bool = False


def in_percent(fraction: Decimal, rounding: str = ROUND_HALF_EVEN) -> Decimal:
    """A fraction in percent, to a tenth, as it is printed.

    rounding: of the module `decimal`; a bound is rounded outwards, 'at least' with ROUND_FLOOR, 'at most' with
    ROUND_CEILING, so that no more is said than is known.
    """
    percent = CONTEXT.multiply(fraction, Decimal(100))
    if rounding != ROUND_HALF_EVEN:
        percent = CONTEXT.quantize(percent, _RESIDUE)  # the last of 34 digits moves no bound by a tenth
    return percent.quantize(_TENTH, rounding, CONTEXT)


@dataclass(frozen=True)
class NoRatio:
    """There is no honest ratio. why: one clause for the reader."""

    why: str


def recovery_ratio(
    captured: Figure,
    applied: Figure,
    *,
    k: Decimal = COVERAGE,
    rain_unknown: bool = False,
    led_away: bool = False,
    not_planned: bool = False,
) -> Ratio | NoRatio:
    """captured / applied with its interval at coverage factor k.

    rain_unknown: rain of unknown amount went into the tank with the wash water. led_away: some of the wash water never
    was to enter it. not_planned: recovery was not planned.
    """
    if not_planned:
        return NoRatio("recovery was not planned")
    if led_away:
        return NoRatio("water was led away and did not go through the tank")
    if isinstance(captured, Unknown):
        return NoRatio(f"what was captured is {captured.kind}: {captured.reason}")
    if isinstance(applied, Unknown):
        return NoRatio(f"what was applied is {applied.kind}: {applied.reason}")
    if applied.high == ZERO and not applied.parts:
        return NoRatio("no water was applied")
    if applied.high is not None and not _above_zero(applied, applied.high, k):
        return NoRatio("the water applied is not distinguishable from zero")
    notes = []
    unstated = captured.unstated | applied.unstated
    no_plus_minus, shares = bool(unstated), unstated <= SHARES
    if no_plus_minus:
        notes.append(DIVIDED if shares else STATED)
    if rain_unknown:
        notes.append(RAIN)
        captured = Volume(None, captured.high, captured.parts, captured.unstated)
    lower, upper = _ends(captured, applied, k)
    kind: RatioKind
    if captured.is_point and applied.is_point:
        kind = "measured" if not no_plus_minus else "worked out" if shares else "stated"
    elif lower.value is None and upper.value is None:
        return NoRatio("what is known are bounds that leave any ratio possible")
    elif lower.value is None:
        kind = "at most"
    elif upper.value is None:
        kind = "at least"
    else:
        kind = "between"
    value = None if kind == "between" else upper.value if lower.value is None else lower.value
    low, high = lower.limit, upper.limit
    if kind in ("stated", "worked out"):
        low, high = None, None
    elif no_plus_minus:
        low, high = lower.value, upper.value
    elif low is not None and high is not None and low <= ONE <= high:
        notes.append(ALL_OF_IT)
    return Ratio(value, low, high, kind, "; ".join(notes), no_plus_minus)


def judge(ratio: Ratio | NoRatio, threshold: Decimal) -> Judgement:
    """Whether a ratio reaches a threshold: only when the whole of its interval lies on one side (JCGM 106, from
    memory). A figure of unstated accuracy has no interval, so that nothing can be told.
    """
    if isinstance(ratio, NoRatio) or ratio.no_plus_minus:
        return "cannot tell"
    if ratio.low is not None and ratio.low >= threshold:
        return "met"
    if ratio.high is not None and ratio.high < threshold:
        return "not met"
    return "cannot tell"


def applied_depth(applied: Figure, area_sq_ft: Figure) -> Volume | NoRatio:
    """Applied water, in US gallons, over the washed area, in inches: how deep it would have stood.

    It stands beside every ratio, which can only be low where little was used.
    """
    if isinstance(applied, Unknown):
        return NoRatio(f"what was applied is {applied.kind}: {applied.reason}")
    if isinstance(area_sq_ft, Unknown):
        return NoRatio(f"the area is {area_sq_ft.kind}: {area_sq_ft.reason}")
    if area_sq_ft.best is None or area_sq_ft.best <= ZERO:
        return NoRatio("the area is not one figure above zero")
    return applied.over(area_sq_ft).over(exact(GALLONS_PER_SQ_FT_INCH))


@dataclass(frozen=True)
class _End:
    """One end of a ratio: the bare quotient, and its Fieller limit on that side. Both None when that side is open."""

    value: Decimal | None
    limit: Decimal | None


_OPEN = _End(None, None)


def _ends(captured: Volume, applied: Volume, k: Decimal) -> tuple[_End, _End]:
    """The lower and the upper end of captured / applied."""
    low, high = captured.low, captured.high
    below = applied.high if low is not None and low >= ZERO else applied.low
    above = applied.low if high is not None and high >= ZERO else applied.high
    if low is not None and (low, below) == (high, above):
        return _limits(captured, low, applied, below, k)
    lower = _OPEN if low is None else _limits(captured, low, applied, below, k)[0]
    upper = _OPEN if high is None else _limits(captured, high, applied, above, k)[1]
    return lower, upper


def _above_zero(volume: Volume, end: Decimal, k: Decimal) -> bool:
    return end > CONTEXT.multiply(k, volume.u)


def _limits(captured: Volume, a: Decimal, applied: Volume, b: Decimal | None, k: Decimal) -> tuple[_End, _End]:
    """Fieller: the roots r of (b^2 - k^2 u_b^2) r^2 - 2 (a b - k^2 u_ab) r + (a^2 - k^2 u_a^2) = 0, smaller first."""
    if b is None or not _above_zero(applied, b, k):
        return _OPEN, _OPEN
    u_aa, u_bb = _covariance(captured, captured), _covariance(applied, applied)
    u_ab = _covariance(captured, applied)
    k2 = CONTEXT.multiply(k, k)
    square = CONTEXT.subtract(CONTEXT.multiply(b, b), CONTEXT.multiply(k2, u_bb))
    middle = CONTEXT.subtract(CONTEXT.multiply(a, b), CONTEXT.multiply(k2, u_ab))
    # a quarter of the discriminant over k^2; its first part, u^2 of b captured - a applied, cannot go below zero
    spread = (captured.scale(b) - applied.scale(a)).u
    joint = CONTEXT.subtract(CONTEXT.multiply(u_aa, u_bb), CONTEXT.multiply(u_ab, u_ab))
    under = CONTEXT.subtract(CONTEXT.multiply(spread, spread), CONTEXT.multiply(k2, joint))
    root = CONTEXT.multiply(k, CONTEXT.sqrt(max(ZERO, under)))
    value = CONTEXT.divide(a, b)
    low, high = CONTEXT.subtract(middle, root), CONTEXT.add(middle, root)
    return _End(value, CONTEXT.divide(low, square)), _End(value, CONTEXT.divide(high, square))


def _covariance(x: Volume, y: Volume) -> Decimal:
    result = ZERO
    for key in sorted(x.parts.keys() & y.parts.keys()):
        result = CONTEXT.fma(x.parts[key], y.parts[key], result)
    return result
