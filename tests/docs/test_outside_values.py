"""Values from outside the project that no room's own tests hold: docs/outside-checks.md names each of these."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from hashlib import sha256
from zoneinfo import ZoneInfo

import pytest

from compliance.intake.moments import Night, check_moment
from compliance.records.fields import field
from compliance.records.problem import Problem
from compliance.records.quantity import Quantity, convert, parse

NEW_YORK = ZoneInfo("America/New_York")


def night(day: str, first: str = "22:00", zone: str = "America/New_York") -> Night:
    return Night(date.fromisoformat(day), time.fromisoformat(first), ZoneInfo(zone))


def moment(raw: str, at: Night) -> datetime:
    """A stored moment as a program reads it."""
    stored = check_moment(raw, at, "at")
    assert isinstance(stored, str), stored
    return datetime.fromisoformat(stored)


def test_a_cubic_metre_holds_its_gallons() -> None:
    """check-values 1: 264.1720523581484 gal, to its last digit."""
    assert round(convert(Decimal(1), "m3", "gal"), 13) == Decimal("264.1720523581484")


def test_a_dilution_is_two_numbers_and_never_a_string() -> None:
    """check-values 9: '1:5' has two readings, so that parts of concentrate and of water are two fields."""
    for name in ("parts", "parts_water"):
        row = field("agent use", name)
        assert row.type == "quantity"
        assert isinstance(parse("1:5", unit=row.unit, where=name), Problem)
    assert parse("5", unit=field("agent use", "parts_water").unit, where="parts_water") == Quantity(
        Decimal(5), Decimal(5), "count"
    )


def test_a_filter_opening_is_a_length_and_a_mesh_is_refused() -> None:
    """check-values 10: the mesh of a woven filter is no sieve number; an opening is in micrometres."""
    row = field("filter stage", "opening")
    assert row.unit == "um"
    assert str(parse("400 microns", unit=row.unit, where="opening")) == "400 um"
    assert isinstance(parse("40 mesh", unit=row.unit, where="opening"), Problem)


def test_sha_256_gives_its_published_examples() -> None:
    """check-values 12: the hash that stands under everything, of 'abc' and of a million times 'a'."""
    assert sha256(b"abc").hexdigest() == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert sha256(b"a" * 10**6).hexdigest() == "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"


@pytest.mark.parametrize(
    ("raw", "same"),
    [
        ("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z"),
        ("1996-12-19 16:39:57-08:00", "1996-12-20T00:39:57Z"),
        ("1996-12-19t16:39:57-08:00", "1996-12-20t00:39:57z"),
        ("2026-09-14T18:50:00-04:00", "2026-09-14T22:50:00Z"),
    ],
)
def test_the_examples_of_rfc_3339_are_read_as_the_moments_they_are(raw: str, same: str) -> None:
    """check-values 13, RFC 3339 5.6 and 5.8: small letters, a space, and one moment in two zones."""
    at = night("2026-09-14")
    assert moment(raw, at) == moment(same, at)


@pytest.mark.parametrize(
    "raw", ["1990-12-31T23:59:60Z", "2026-09-14T24:00:00Z", "1937-01-01T12:00:27.87+00:20", "24:30"]
)
def test_times_that_no_clock_of_ours_shows_are_asked_back(raw: str) -> None:
    """check-values 13: a leap second, hour 24, and an offset of a year before the trade."""
    assert isinstance(check_moment(raw, night("2026-09-14"), "at"), Problem)


def test_an_hour_that_is_left_out_or_occurs_twice_is_asked_back() -> None:
    """check-values 13: RFC 5545 would guess (03:30 EDT, 01:30 EDT); a record is asked which was meant."""
    gap = check_moment("02:30", night("2007-03-10"), "at")
    assert isinstance(gap, Problem) and "did not exist" in gap.what and "03:30" in gap.next_step
    twice = check_moment("01:30", night("2007-11-03"), "at")
    assert isinstance(twice, Problem) and "came twice" in twice.what
    assert "2007-11-04T01:30-04:00" in twice.next_step and "2007-11-04T01:30-05:00" in twice.next_step
    assert moment("2007-11-04T01:30-04:00", night("2007-11-03")).isoformat() == "2007-11-04T01:30:00-04:00"


@pytest.mark.parametrize(
    ("day", "zone", "hours"),
    [
        ("2026-10-31", "America/New_York", 25),
        ("2026-03-07", "America/New_York", 23),
        ("2026-03-07", "America/Phoenix", 24),
        ("2026-09-14", "America/New_York", 24),
    ],
)
def test_a_night_across_a_change_of_clocks_has_its_true_length(day: str, zone: str, hours: int) -> None:
    """check-values 13: the stored offsets give elapsed time, which wall clocks of one zone do not."""
    at = night(day, "22:00", zone)
    shift = hours - 24
    assert moment("04:00", at) - moment("22:00", at) == timedelta(hours=6 + shift)
