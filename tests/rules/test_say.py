"""Figures in a finding say what is known of them, and no more."""

from __future__ import annotations

from decimal import Decimal

import pytest

from compliance.rules.say import amount, listed, plain, ratio
from compliance.water.ratio import Ratio
from compliance.water.volume import Unknown, Volume

D = Decimal


def test_amounts() -> None:
    """A figure has its ± or says that nobody stated one; no figure is called by its kind."""
    assert amount(Volume(D("371.43"), D("371.43"), {"cal:t": D("2.975")}), "gal") == "371.4 ± 6.0 gal"
    assert amount(Volume(D(300), D(300), unstated=frozenset({"declared"})), "gal") == "300 gal, no ± stated"
    assert amount(Unknown("nobody looked", "not read"), "gal") == "not read"


@pytest.mark.parametrize(
    ("number", "text"), [("10", "10"), ("2.50", "2.5"), ("1234.567", "1,234.57"), ("100", "100"), ("0.004", "0")]
)
def test_plain_numbers(number: str, text: str) -> None:
    """No zeros that say nothing."""
    assert plain(D(number)) == text


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (Ratio(D("0.9"), D("0.88"), D("0.92"), "measured"), "90.0 % (between 88.0 % and 92.0 %)"),
        (Ratio(D("0.9"), None, None, "stated"), "90.0 %, stated, no ±"),
        (Ratio(D("0.9"), None, None, "worked out"), "90.0 %, worked out, no ±"),
        (Ratio(D("0.9"), None, D("0.92"), "at most"), "at most 92.0 %"),
        (Ratio(D("0.9"), D("0.88"), None, "at least"), "at least 88.0 %"),
        (Ratio(None, D("0.88"), D("0.92"), "between"), "between 88.0 % and 92.0 %"),
        (Ratio(D("0.9"), None, D("0.9203"), "at most"), "at most 92.1 %"),
        (Ratio(D("0.9"), D("0.8899"), None, "at least"), "at least 88.9 %"),
        (Ratio(None, D("0.8899"), D("0.9201"), "between"), "between 88.9 % and 92.1 %"),
    ],
)
def test_ratios(one: Ratio, text: str) -> None:
    """Each kind of ratio reads as what it is."""
    assert ratio(one) == text


def test_lists() -> None:
    """Commas, and 'and' before the last."""
    assert [listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])] == ["a", "a and b", "a, b and c"]
