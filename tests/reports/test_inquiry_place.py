"""How near two places are: addresses as they are written, coordinates on the ellipsoid."""

from __future__ import annotations

from decimal import Decimal

import pytest

from compliance.reports.inquiry_place import (
    ALONG,
    FAR_ALONG,
    LIKE,
    OTHER,
    SAME,
    UNKNOWN,
    Address,
    address_of,
    alike,
    feet_between,
    named_in,
    towns_of,
)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("212 Canal Street, Port Alder", Address(212, "canal", "street")),
        ("212b Canal St.", Address(212, "canal", "street")),
        ("Calle Canal 212", Address(212, "canal", "street")),
        ("Canal St and Tern St", Address(None, "canal", "street", cross="tern")),
        ("corner of Canal and Tern St", Address(None, "canal", "street", cross="tern")),
        ("behind the dock, 212 Canal Street", Address(212, "canal", "street")),
        ("the alley behind 212 Canal Street", Address(212, "canal", "street")),
        ("in the gutter on Canal Street by the bakery", Address(None, "canal", "street")),
        ("frente a la Calle Canal 212", Address(212, "canal", "street")),
        ("4 N. 1st Ave", Address(4, "first", "avenue", "north")),
        ("123 N. Main St", Address(123, "main", "street", "north")),
        ("123 Main Street North", Address(123, "main", "street", "north")),
        ("123 north main street apt 4", Address(123, "main", "street", "north")),
        ("123-125 Main St", Address(123, "main", "street")),
        ("123 1/2 Main St", Address(123, "main", "street")),
        ("No. 12 Main St, Suite 5", Address(12, "main", "street")),
        ("214 Canal St Port Alder 00000", Address(214, "canal", "street")),
        ("5 North Street", Address(5, "north", "street")),
        ("12 Court Street", Address(12, "court", "street")),
        ("Highway 50", Address(None, "50", "highway")),
        ("4500 Hwy 50", Address(4500, "50", "highway")),
        ("County Road 12", Address(None, "county 12", "road")),
        ("Avenue of the Oaks", Address(None, "oaks", "avenue")),
        ("9 Broadway W", Address(9, "broadway", "", "west")),
        ("15 St. Anne's Rd", Address(15, "st annes", "road")),
        ("60 Copperleaf Row", Address(60, "copperleaf", "row")),
    ],
)
def test_an_address_is_read_whatever_its_spelling(typed: str, read: Address) -> None:
    """Number, telling words, type and direction of street, the other street of a corner; English and Spanish."""
    assert address_of(typed) == read


@pytest.mark.parametrize("typed", ["", "Port Alder", "by the bakery", ",", "the", "the alley", "214", "foam and suds"])
def test_words_without_a_street_are_no_address(typed: str) -> None:
    """They are compared by name."""
    assert address_of(typed) is None


@pytest.mark.parametrize(
    ("one", "other", "answer"),
    [
        ("212 Canal St", "212 Canal Street, Port Alder", SAME),
        ("123 N. Main St", "123 North Main Street", SAME),
        ("123 Main St N", "123 North Main Street", SAME),
        ("214 Canal St", "212 Canal Street", ALONG),
        ("123 1/2 N Main", "125 North Main Street", ALONG),
        ("Canal Street", "212 Canal Street", ALONG),
        ("Tern St & Canal St", "212 Canal Street", ALONG),
        ("900 Canal Street", "212 Canal Street", FAR_ALONG),
        ("33 Tern Street", "33 Lantern Street", OTHER),
        ("1 Mole Road", "1 Pole Road", OTHER),
        ("Port Alder", "212 Canal Street", UNKNOWN),
        ("the back alley", "212 Canal Street", UNKNOWN),
        ("the side street by the bakery", "212 Canal Street", UNKNOWN),
        ("Canal Place", "12 Canal Pl", ALONG),
        ("12 Elm Place", "212 Canal Street", OTHER),
        ("212 Canal Street", "", UNKNOWN),
    ],
)
def test_streets_are_the_same_by_name_kind_and_direction(one: str, other: str, answer: str) -> None:
    """Abbreviations are written out; house numbers say how far along."""
    assert alike(address_of(one), address_of(other)) == answer


@pytest.mark.parametrize(
    ("one", "other", "answer"),
    [
        ("212 Canel St", "212 Canal Street", LIKE),
        ("212 Canal Stret", "212 Canal Street", LIKE),
        ("214 Cannal Stret, Port Alder", "212 Canal Street, Port Alder", LIKE),
        ("40 Tern Avenu", "40 Tern Ave", LIKE),
        ("212 Coral Stret", "212 Canal Street", OTHER),
        ("212 Canal Stret", "612 Canal Street", FAR_ALONG),
        ("1 Copperleef Raw Lane", "1 Copperleaf Row Lane", LIKE),
        ("123 Main St", "123 N Main St", LIKE),
        ("212 Canal Avenue", "212 Canal Street", LIKE),
        ("912 Canel Avenue", "212 Canal Street", FAR_ALONG),
        ("123 S Main St", "123 N Main St", OTHER),
        ("5 112th Avenue", "5 113th Avenue", OTHER),
        ("Highway 50", "Highway 36", OTHER),
    ],
)
def test_a_street_that_is_only_alike_is_never_the_same(one: str, other: str, answer: str) -> None:
    """A slip, another kind of street, a direction on one side; contrary directions and other figures are others."""
    assert alike(address_of(one), address_of(other)) == answer
    assert alike(address_of(other), address_of(one)) == answer


def test_a_street_of_the_same_name_in_another_town_is_another_street() -> None:
    """Where both towns are known from the register; what stands behind a comma may be no town."""
    towns = towns_of(("212 Canal Street, Port Alder", "9 Quay St, Fernhill, Tamarack County", "the dock", "3 Elm St,"))
    assert towns == {"port alder", "fernhill"}

    def kind(one: str, other: str) -> str:
        return alike(address_of(one, towns), address_of(other, towns))

    assert kind("212 Canal St, Fernhill", "212 Canal Street, Port Alder") == OTHER
    assert kind("212 Canal St Port Alder", "212 Canal Street, Port Alder") == SAME
    assert kind("212 Canal St, by the bakery", "212 Canal Street, Port Alder") == SAME


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


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("Calle del Muelle 120 Nte", Address(120, "muelle", "street", "north")),
        ("Avda. Alamos 77 S", Address(77, "alamos", "avenue", "south")),
        ("Calle del Muelle #120 Poniente", Address(120, "muelle", "street", "west")),
        ("120-B Calle del Muelle", Address(120, "muelle", "street")),
        ("45 Main St #4", Address(45, "main", "street")),
        ("213\u00bd Canal St", Address(213, "canal", "street")),
        ("frente al 120 de la calle del Muelle", Address(120, "muelle", "street")),
        ("Calle Muelle esq. Alamos", Address(None, "muelle", "street")),
        ("212 Avenue C", Address(212, "c", "avenue")),
        ("Highway 50 W", Address(None, "50", "highway", "west")),
        ("Suite 4, 212 Canal St", Address(212, "canal", "street")),
        ("Unit #4, 212 Canal St", Address(212, "canal", "street")),
        ("Unit 4 212 Canal St", Address(212, "canal", "street")),
        ("Dock 4, 212 Canal St", Address(212, "canal", "street")),
        ("mile marker 12 on Canal Street", Address(None, "canal", "street")),
    ],
)
def test_a_house_is_told_from_its_rooms_and_a_direction_may_stand_behind_the_number(typed: str, read: Address) -> None:
    """As people here write addresses, in English and Spanish."""
    assert address_of(typed) == read


@pytest.mark.parametrize("typed", ["Pier 9", "dock 4", "Bodega 12", "Suite 4"])
def test_a_number_of_a_pier_or_a_room_is_none_of_a_house(typed: str) -> None:
    """It tells of no street, and so of no other one."""
    assert address_of(typed) is None
    assert alike(address_of(typed), address_of("212 Canal Street")) == UNKNOWN


@pytest.mark.parametrize(
    ("one", "other", "answer"),
    [
        ("120 Calle del Muelle Noth", "120 Calle del Muelle Norte", LIKE),
        ("1500 US Hwy 50", "1500 Hwy 50 W", LIKE),
        ("1500 US 50 West", "1500 Hwy 50 W", LIKE),
        ("12 5 Ave", "12 5th Ave", LIKE),
        ("12 Quinta Avenida", "12 5th Ave", LIKE),
        ("12 5ta Avenida", "12 5th Ave", LIKE),
        ("9 Saint Brigid Sq", "9 St. Brigid Sq", LIKE),
        ("300 Doctor Martin Ruiz Blvd", "300 Dr. Martin Ruiz Blvd", LIKE),
        ("300 Martin Ruiz Blvd", "300 Dr. Martin Ruiz Blvd", LIKE),
        ("212 Canal Port Alder", "212 Canal Street, Port Alder", LIKE),
        ("200 block of Canal St", "212 Canal Street", LIKE),
        ("212 Old Canal Road", "212 Canal Street", LIKE),
        ("900 Old Canal Road", "212 Canal Street", FAR_ALONG),
        ("212 Avenue C", "212 Avenue B", OTHER),
        ("600 E 10th St", "600 W 10th St", OTHER),
        ("600 W 12th St", "600 W 10th St", OTHER),
        ("14 County Road 12", "14 County Road 14", OTHER),
        ("212 Tern Street", "212 Canal Street", OTHER),
    ],
)
def test_a_name_of_which_more_was_written_is_no_other_street(one: str, other: str, answer: str) -> None:
    """'Another street' makes an answer say that a rig was elsewhere: it is said only where the names differ."""
    assert alike(address_of(one), address_of(other)) == answer
    assert alike(address_of(other), address_of(one)) == answer
