"""What may stay on a surface or go into the air, and what the sky may add.

None of this is ever recorded as water: it stands beside a 'not explained' that it might explain. No measured film
for vacuumed pavement was found, so the ranges are assumptions, and each comes with the sentence that says so.
"""

from __future__ import annotations

from decimal import Decimal

from compliance.records.quantity import convert
from compliance.records.quick import dataclass
from compliance.water.volume import CONTEXT, ZERO, Figure, Unknown, Volume, from_hundredths, hundredths

GALLONS_PER_SQ_FT_INCH = CONTEXT.divide(Decimal(144), Decimal(231))
"""One inch of water on one square foot, in US gallons (check-values 1): 0.62337..."""

FILM_INCHES = (ZERO, Decimal("0.10"))
"""Water left on hard pavement. Published depths are for rain: 0.05 to 0.15 in on large paved areas, 0.10 in
recommended (Denver-area drainage criteria, Table 2-1, 1984; regulation-2 section 11, check-values 6.1); curve numbers
of 97 to 100 measured on asphalt and concrete point to 0 to 0.06 in. A vacuum head pulls and does not wait, so nothing
at all is the lower end."""

SUN_WATTS_PER_M2 = Decimal(1000)
HEAT_OF_EVAPORATION_MJ_PER_KG = Decimal("2.45")
_MM_PER_INCH = Decimal("25.4")
_MJ_PER_WATT_HOUR = Decimal("0.0036")


def _ceiling() -> Decimal:
    # 1 kg on 1 m2 is 1 mm
    mm = CONTEXT.divide(CONTEXT.multiply(SUN_WATTS_PER_M2, _MJ_PER_WATT_HOUR), HEAT_OF_EVAPORATION_MJ_PER_KG)
    return CONTEXT.multiply(CONTEXT.divide(mm, _MM_PER_INCH), GALLONS_PER_SQ_FT_INCH)


EVAPORATION_CEILING = _ceiling()
"""US gallons a square foot and hour when all of a full sun goes into evaporation (check-values 6.2): 0.03606..."""

FILM_ASSUMED = (
    "assumption: between 0 and 0.10 in of water stays on the surface; published depths are for rain on pavement "
    "(Denver-area drainage criteria, Table 2-1, 1984), none was measured for vacuum recovery"
)
EVAPORATION_ASSUMED = (
    "assumption: between nothing and all the heat of a full sun (1,000 W/m2, 2.45 MJ/kg) goes into evaporation; "
    "pavement that is already hot can exceed this for a while"
)


@dataclass(frozen=True)
class Allowance:
    """A range in US gallons and the assumption behind it."""

    low: Decimal
    high: Decimal
    assumption: str


def film(area_sq_ft: Decimal, inches: tuple[Decimal, Decimal] = FILM_INCHES) -> Allowance:
    """Water that may stay on a surface of so many square feet. inches: another range, lower end first."""
    low, high = (CONTEXT.multiply(CONTEXT.multiply(area_sq_ft, deep), GALLONS_PER_SQ_FT_INCH) for deep in inches)
    if inches == FILM_INCHES:
        return Allowance(low, high, FILM_ASSUMED)
    return Allowance(low, high, f"assumption: between {inches[0]} and {inches[1]} in of water stays on the surface")


def film_range(area: Figure, unit: str = "gal") -> tuple[str, str] | None:
    """The film on an area in square feet as two figures of `unit`, to the hundredth; None unless it is one figure."""
    if isinstance(area, Unknown) or area.best is None or area.best <= ZERO:
        return None
    found = film(area.best)
    low, high = (str(from_hundredths(hundredths(convert(end, "gal", unit)))) for end in (found.low, found.high))
    return low, high


def evaporation(area_sq_ft: Decimal, hours: Decimal) -> Allowance:
    """Water that may evaporate from a wet surface of so many square feet in so many hours."""
    at_most = CONTEXT.multiply(CONTEXT.multiply(EVAPORATION_CEILING, area_sq_ft), hours)
    return Allowance(ZERO, at_most, EVAPORATION_ASSUMED)


def rain(area_sq_ft: Volume, inches: Volume) -> Volume:
    """US gallons that fall on a contained area, both figures with their doubts (check-values 5)."""
    return area_sq_ft.times(inches).scale(GALLONS_PER_SQ_FT_INCH)
