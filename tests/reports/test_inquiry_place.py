"""How near two places are: addresses by their letters, coordinates on the ellipsoid."""

from __future__ import annotations

from decimal import Decimal

import pytest

from compliance.reports.inquiry_place import (
    ALONG,
    FAR_ALONG,
    OTHER,
    SAME,
    UNKNOWN,
    Address,
    address_of,
    alike,
    feet_between,
    named_in,
)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("212 Canal Street, Port Alder", Address(212, "canal", "street")),
        ("212b Canal St.", Address(212, "canal", "street")),
        ("Calle Canal 212", Address(212, "canal", "street")),
        ("Canal St and Tern St", Address(None, "canal", "street")),
        ("behind the dock, 212 Canal Street", Address(212, "canal", "street")),
        ("4 N. 1st Ave", Address(4, "north first", "avenue")),
        ("15 St. Anne's Rd", Address(15, "st annes", "road")),
        ("60 Copperleaf Row", Address(60, "copperleaf", "row")),
    ],
)
def test_an_address_is_read_whatever_its_spelling(typed: str, read: Address) -> None:
    """Number, telling words, type of street; English and Spanish."""
    assert address_of(typed) == read


@pytest.mark.parametrize("typed", ["", "Port Alder", "by the bakery", ",", "the"])
def test_words_without_a_street_are_no_address(typed: str) -> None:
    """They are compared by name."""
    assert address_of(typed) is None


@pytest.mark.parametrize(
    ("one", "other", "answer"),
    [
        ("212 Canal St", "212 Canal Street, Port Alder", SAME),
        ("212 Canel St", "212 Canal Street", SAME),
        ("214 Canal St", "212 Canal Street", ALONG),
        ("Canal Street", "212 Canal Street", ALONG),
        ("900 Canal Street", "212 Canal Street", FAR_ALONG),
        ("33 Tern Street", "33 Lantern Street", OTHER),
        ("1 Mole Road", "1 Pole Road", OTHER),
        ("1 Copperleef Raw Lane", "1 Copperleaf Row Lane", SAME),
        ("Port Alder", "212 Canal Street", UNKNOWN),
        ("212 Canal Street", "", UNKNOWN),
    ],
)
def test_streets_are_alike_by_a_letter_more_or_less(one: str, other: str, answer: str) -> None:
    """One letter in five, two in nine; short names are not stretched."""
    assert alike(address_of(one), address_of(other)) == answer


def test_a_place_told_in_words_is_found_by_its_name() -> None:
    """Every telling word of the name has to be there."""
    assert named_in("the gutter by the alder oven bakary", "Alder Oven Bakery")
    assert not named_in("the gutter by the bakery", "Alder Oven Bakery")
    assert not named_in("the street", "The Street")


def test_a_distance_is_the_one_that_the_library_documents() -> None:
    """The worked example of its documentation, Wellington to Salamanca: 19959679.267 m, at 0.3048 m a foot."""
    metres = Decimal("19959679.26735382")
    assert feet_between("-41.32, 174.81", "40.96, -5.50") == (metres / Decimal("0.3048")).quantize(Decimal("0.1"))


def test_a_minute_of_latitude_is_about_a_nautical_mile() -> None:
    """6076 ft, within the flattening of the Earth; the same place is no distance away."""
    assert abs(feet_between("45.0, 0", "45.0166666667, 0") - Decimal(6076)) < 5
    assert feet_between("40.5, -105.1", "40.5, -105.1") == 0
