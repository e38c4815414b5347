"""What a reader sees of a volume lies within what is known of it, and says no more."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given

from compliance.water.shown import shown
from compliance.water.volume import Volume, at_least, at_most, between, exact, stated, with_limits
from tests.water.amounts import volumes

D = Decimal


@pytest.mark.parametrize(
    ("value", "limit", "text"),
    [
        ("470", "5.9", "470.0 ± 6.8"),
        ("470.26", "10.74", "470 ± 12"),
        ("12480", "591", "12,480 ± 680"),
        ("12486.1", "591", "12,490 ± 680"),
        ("473", "86.3", "470 ± 100"),  # 99.65 has three figures once rounded
        ("0.123", "0.0004", "0.12 ± 0.01"),  # no finer than it is kept, and never '± 0'
        ("-0.04", "8.7", "0 ± 10"),
        ("-12.4", "2.6", "-12.4 ± 3.0"),
    ],
)
def test_a_figure_is_shown_to_two_figures_of_its_own_uncertainty(value: str, limit: str, text: str) -> None:
    """k = 2, so ± is 2 a / sqrt(3)."""
    assert shown(with_limits(D(value), {"cal:a": D(limit)})).text == text


@pytest.mark.parametrize(
    ("volume", "pieces"),
    [
        (stated(D("450.4"), "lead"), ("450",)),
        (exact(D("0")), ("0",)),
        (exact(D("0.25")), ("0.25",)),
        (exact(D("12480")), ("12,480",)),
        (exact(D("1234567890123")), ("1,234,567,890,123",)),
        (at_least(D("1250.2")), ("at least", "1,250")),
        (at_most(D("1250.2")), ("at most", "1,251")),
        (at_least(D("32.57")), ("at least", "32")),
        (at_most(D(1250) + D("1e-25")), ("at most", "1,250")),
        (between(D(400), D("500.5")), ("between", "400", "and", "501")),
        (Volume(None, None), ("any amount",)),
        (
            at_least(D(500)) + with_limits(D(0), {"cal:a": D("10.74")}),
            ("at least", "500", "±", "12"),
        ),
        (at_most(D(500)) + with_limits(D(0), {"cal:a": D("10.74")}), ("at most", "500", "±", "12")),
        (Volume(None, None) + with_limits(D(0), {"cal:a": D("10.74")}), ("any amount",)),
    ],
)
def test_bounds_and_figures_without_plus_or_minus_are_shown_in_whole_units(
    volume: Volume, pieces: tuple[str, ...]
) -> None:
    """Below one unit hundredths are shown, so that a quarter gallon of agent does not read as none."""
    assert shown(volume).pieces == pieces


@given(volumes())
def test_what_is_shown_lies_within_its_own_rounding(volume: Volume) -> None:
    """A shown figure is never farther from the kept one than half the last place of its ±, or half a unit.

    A bound never says more than is known, and at most one last place less.
    """
    printed = shown(volume)
    for kept, rounded in ((volume.low, printed.low), (volume.high, printed.high)):
        if printed.pieces == ("any amount",) or kept is None:
            assert rounded is None
        else:
            assert rounded is not None
            slack = D("0.5") if printed.plus_minus is None else max(D("0.005"), printed.plus_minus / 20)
            if volume.is_point:
                assert abs(kept - rounded) <= slack
            else:
                outwards = kept - rounded if kept is volume.low else rounded - kept
                assert -D("0.005") <= outwards <= 2 * slack
