"""Coordinates and distances as people write them."""

from __future__ import annotations

import pytest

from compliance.intake.position import read_position, read_radius
from compliance.records.problem import Problem


@pytest.mark.parametrize(
    ("typed", "stored"),
    [("40.5123, -105.10", "40.5123, -105.10"), ("40.5123 -105.1", "40.5123, -105.1"), ("-33;151", "-33, 151")],
)
def test_coordinates_keep_their_digits(typed: str, stored: str) -> None:
    """Latitude first; a comma, a semicolon or a space between."""
    assert read_position(typed, "here") == stored


@pytest.mark.parametrize("typed", ["", "Canal Street", "40.5", "105.1, 40.5", "90.1, 0", "10, 181", "40,5, -105,1"])
def test_what_is_no_place_is_refused(typed: str) -> None:
    """A latitude beyond the pole is most likely the longitude."""
    assert isinstance(read_position(typed, "here"), Problem)


@pytest.mark.parametrize(("typed", "stored"), [("300", "300 ft"), ("100 m", "100 m"), ("50 pies", "50 ft")])
def test_a_bare_distance_is_in_feet(typed: str, stored: str) -> None:
    """Any unit of length is kept."""
    assert read_radius(typed, "here") == stored


@pytest.mark.parametrize("typed", ["0 ft", "60000 ft", ">=300 ft", "300 gal", "near"])
def test_a_distance_that_cannot_be_looked_around_is_refused(typed: str) -> None:
    """Nothing, more than ten miles, a bound, another dimension, no number."""
    assert isinstance(read_radius(typed, "here"), Problem)
