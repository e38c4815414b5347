"""A figure in one line of a terminal says how it is known."""

from __future__ import annotations

from decimal import Decimal

import pytest

from compliance.cli.figures import amount
from compliance.water.volume import DIVIDED, SHARE, Figure, Unknown, Volume

TEN = Decimal("10.00")


@pytest.mark.parametrize(
    ("figure", "divided", "said"),
    [
        (Unknown("nobody looked", "not read"), False, "not read"),
        (Volume(TEN, TEN, {"cal:meter": Decimal("0.5")}), False, "10.0 ± 1.0 gal"),
        (Volume(TEN, TEN, unstated=frozenset({"declared:a/1"})), False, "10 gal, no ±"),
        (Volume(TEN, TEN, unstated=frozenset({SHARE})), False, "10 gal, worked out"),
        (Volume(TEN, TEN, unstated=frozenset({SHARE})), True, "10.00 gal, worked out"),
        (Volume(TEN, TEN, unstated=frozenset({SHARE, DIVIDED})), False, "10 gal, worked out"),
        (Volume(TEN, TEN, unstated=frozenset({SHARE, "declared:a/1"})), False, "10 gal, partly worked out"),
        (Volume(TEN, TEN, {"cal:meter": Decimal("0.5")}, frozenset({SHARE})), False, "10 gal, partly worked out"),
    ],
)
def test_a_figure_says_how_it_is_known(figure: Figure, divided: bool, said: str) -> None:
    """A ± where each doubt is stated; else whether it was said, or is a share, or has one in it."""
    assert amount(figure, "gal", divided=divided) == said
