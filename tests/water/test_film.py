"""Film, evaporation and rain: published constants, ranges, and the sentence that calls them assumptions."""

from __future__ import annotations

import decimal
from decimal import Decimal

import pytest

from compliance.water.film import (
    EVAPORATION_ASSUMED,
    EVAPORATION_CEILING,
    FILM_ASSUMED,
    GALLONS_PER_SQ_FT_INCH,
    evaporation,
    film,
    film_range,
    rain,
)
from compliance.water.volume import Figure, Unknown, at_least, exact, stated, with_limits

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
    assert float(film(D(1000), (D(0), D(inches))).high) == pytest.approx(gallons, abs=6e-4)


def test_the_film_is_a_range_that_starts_at_nothing_and_says_that_it_is_assumed() -> None:
    """0 to 0.10 in: on 1,000 sq ft 0 to 62.34 gal (regulation-2 section 11)."""
    allowance = film(D(1000))
    assert allowance.low == 0
    assert float(allowance.high) == pytest.approx(62.338, abs=5e-4)
    assert allowance.assumption == FILM_ASSUMED
    assert "assumption" in FILM_ASSUMED and "0.10 in" in FILM_ASSUMED


def test_the_film_range_stands_in_hundredths() -> None:
    """On a declared 1,000 sq ft, as on a measured one; a figure either way needs no ± of the area."""
    assert film_range(stated(D(1000), "office")) == film_range(exact(D(1000))) == ("0.00", "62.34")


@pytest.mark.parametrize("area", [Unknown("not measured", "not known"), at_least(D(5)), exact(D(0)), exact(D(-1))])
def test_without_one_area_above_zero_there_is_no_film_range(area: Figure) -> None:
    """Not zero to zero: nothing is said."""
    assert film_range(area) is None


def test_another_range_is_named_in_its_assumption() -> None:
    """The house's own figure does not borrow the published source."""
    allowance = film(D(100), (D("0.01"), D("0.05")))
    assert allowance.assumption == "assumption: between 0.01 and 0.05 in of water stays on the surface"
    assert float(allowance.low) == pytest.approx(0.62338, abs=5e-6)


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
        assert 1 - float(film(D(1), (D(0), D(inches))).high) / q == pytest.approx(ceiling, abs=6e-4)


def test_the_evaporation_ceiling_is_the_energy_of_a_full_sun() -> None:
    """check-values 6.2: 36.0623 gal on 1,000 sq ft in an hour; half of both is a quarter."""
    allowance = evaporation(D(1000), D(1))
    assert allowance.low == 0 and allowance.assumption == EVAPORATION_ASSUMED
    assert float(allowance.high) == pytest.approx(36.0623, abs=5e-5)
    assert float(evaporation(D(500), D("0.5")).high) == pytest.approx(36.0623 / 4, abs=5e-5)
    assert float(EVAPORATION_CEILING) * 1000 == pytest.approx(36.0623, abs=5e-5)


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
    fallen = rain(exact(D(area)), exact(D(inches))).best
    assert fallen is not None and float(fallen) == pytest.approx(gallons, abs=within)


def test_rain_carries_the_doubts_of_its_gauge_and_of_the_area() -> None:
    """A declared area leaves it without ±; a bound of rain leaves a bound."""
    gauge = with_limits(D("0.30"), {"res:gauge": D("0.05")})
    fallen = rain(stated(D(1000), "the office"), gauge)
    assert fallen.unstated == {"the office"} and fallen.parts
    assert float(fallen.best or 0) == pytest.approx(187.013, abs=5e-4)
    assert rain(exact(D(1000)), at_least(D(1))).high is None


def test_the_ambient_decimal_context_is_never_used() -> None:
    """A caller with one digit of precision and traps gets the same ranges."""
    expected = (film(D("1234.5")), evaporation(D("1234.5"), D("1.75")))
    with decimal.localcontext(decimal.Context(prec=1, traps=[decimal.Inexact, decimal.Rounded])):
        assert (film(D("1234.5")), evaporation(D("1234.5"), D("1.75"))) == expected
