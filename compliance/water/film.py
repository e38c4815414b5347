"""What may stay on a surface.

It is never recorded as water: it stands beside a 'not explained' that it might explain. No measured film for vacuumed
pavement was found, so the range is an assumption; `check.film` in the word lists is the sentence that says so.
"""

from __future__ import annotations

from decimal import Decimal

from compliance.records.quantity import convert
from compliance.water.volume import CONTEXT, ZERO, Figure, Unknown, from_hundredths, hundredths

GALLONS_PER_SQ_FT_INCH = CONTEXT.divide(Decimal(144), Decimal(231))
"""One inch of water on one square foot, in US gallons (check-values 1): 0.62337..."""

FILM_INCHES = (ZERO, Decimal("0.10"))
"""Water left on hard pavement. Published depths are for rain: 0.05 to 0.15 in on large paved areas, 0.10 in
recommended (Denver-area drainage criteria, Table 2-1, 1984; regulation-2 section 11, check-values 6.1); curve numbers
of 97 to 100 measured on asphalt and concrete point to 0 to 0.06 in. A vacuum head pulls and does not wait, so nothing
at all is the lower end."""


def on_area(area_sq_ft: Decimal, inches: Decimal) -> Decimal:
    """US gallons of water that stands so many inches deep on so many square feet."""
    return CONTEXT.multiply(CONTEXT.multiply(area_sq_ft, inches), GALLONS_PER_SQ_FT_INCH)


def film_range(area: Figure, unit: str = "gal") -> tuple[str, str] | None:
    """The film on an area in square feet as two figures of `unit`, to the hundredth; None unless it is one figure."""
    if isinstance(area, Unknown) or area.best is None or area.best <= ZERO:
        return None
    least, most = (convert(on_area(area.best, inches), "gal", unit) for inches in FILM_INCHES)
    return str(from_hundredths(hundredths(least))), str(from_hundredths(hundredths(most)))
