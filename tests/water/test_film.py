"""Film and rain on an area: published constants, and the range that a film lies in."""

from __future__ import annotations

import decimal
from decimal import Decimal

import pytest

from compliance.water.film import FILM_INCHES, GALLONS_PER_SQ_FT_INCH, film_range, on_area
from compliance.water.volume import Figure, Unknown, at_least, exact, stated

D = Decimal


def test_an_inch_on_a_square_foot_is_144_over_231_gallons() -> None:
    """check-values 1: 0.6233766233766234."""
    assert float(GALLONS_PER_SQ_FT_INCH) == pytest.approx(0.6233766233766234, rel=1e-16)


@pytest.mark.parametrize(
    ("inches", "gallons"),
    [("0.02", 12.468), ("0.05", 31.169), ("0.06", 37.403), ("0.10", 62.338), ("0.15", 93.507)],
)
def test_published_depths_give_their_gallons_on_a_thousand_square_feet(inches: str, gallons: float) -> None:
    """check-values 6.1, to a thousandth (its last figure, exactly 93.50649, is printed as 93.507)."""
    assert float(on_area(D(1000), D(inches))) == pytest.approx(gallons, abs=6e-4)


def test_the_film_is_a_range_that_starts_at_nothing() -> None:
    """0 to 0.10 in: on 1,000 sq ft 0 to 62.34 gal (regulation-2 section 11)."""
    low, high = (float(on_area(D(1000), inches)) for inches in FILM_INCHES)
    assert low == 0 and high == pytest.approx(62.338, abs=5e-4)


def test_the_film_range_stands_in_hundredths() -> None:
    """On a declared 1,000 sq ft, as on a measured one; a figure either way needs no ± of the area."""
    assert film_range(stated(D(1000), "office")) == film_range(exact(D(1000))) == ("0.00", "62.34")


@pytest.mark.parametrize("area", [Unknown("not measured", "not known"), at_least(D(5)), exact(D(0)), exact(D(-1))])
def test_without_one_area_above_zero_there_is_no_film_range(area: Figure) -> None:
    """Not zero to zero: nothing is said."""
    assert film_range(area) is None


@pytest.mark.parametrize(
    ("inches", "ceilings"),
    [
        ("0.01", (0.875, 0.938, 0.969, 0.979)),
        ("0.02", (0.751, 0.875, 0.938, 0.958)),
        ("0.05", (0.377, 0.688, 0.844, 0.896)),
    ],
)
def test_the_film_caps_the_ratio_that_a_thin_application_can_reach(inches: str, ceilings: tuple[float, ...]) -> None:
    """regulation-2 section 11: 1 - 0.6234 d / q at q = 0.05, 0.10, 0.20 and 0.30 gal/sq ft."""
    for q, ceiling in zip((0.05, 0.10, 0.20, 0.30), ceilings, strict=True):
        assert 1 - float(on_area(D(1), D(inches))) / q == pytest.approx(ceiling, abs=6e-4)


@pytest.mark.parametrize(
    ("area", "inches", "gallons", "within"),
    [
        ("5000", "0.5", 1558.4416, 5e-5),
        ("1000", "1", 623.3766, 5e-5),
        ("2000", "0.25", 311.6883, 5e-5),
        ("21780", "1", 13577, 0.5),  # half an acre, as printed
        ("43560", "1", 27154, 0.5),  # an acre, as printed
        ("43560", "1", 27154.285714, 5e-6),
    ],
)
def test_published_rain_volumes_are_reproduced(area: str, inches: str, gallons: float, within: float) -> None:
    """check-values 5 and 1; the wrong 27,658 gal an acre-inch of some pages is not among them."""
    assert float(on_area(D(area), D(inches))) == pytest.approx(gallons, abs=within)


def test_the_ambient_decimal_context_is_never_used() -> None:
    """A caller with one digit of precision and traps gets the same range."""
    expected = film_range(exact(D("1234.5")), "L")
    with decimal.localcontext(decimal.Context(prec=1, traps=[decimal.Inexact, decimal.Rounded])):
        assert film_range(exact(D("1234.5")), "L") == expected
