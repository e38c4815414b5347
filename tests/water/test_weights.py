"""By what a total is divided: exact weights, and no weight where one is missing."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from compliance.water.volume import Figure, Unknown, at_least, exact
from compliance.water.weights import Weight, area_given, complete, summed


@pytest.mark.parametrize(
    ("weights", "total", "basis"),
    [
        ([2, Fraction(1, 2)], Fraction(5, 2), [2, Fraction(1, 2)]),
        ([2, 0], 2, [2, 0]),
        ([0, 0], 0, None),
        ([2, None], None, None),
        ([], None, None),
    ],
)
def test_one_missing_weight_is_none_for_all_and_nothing_alone_is_no_basis(
    weights: list[Weight | None], total: Weight | None, basis: list[Weight] | None
) -> None:
    """2 and a half are 2.5; 2 and 'nobody said' are no sum; 0 and 0 are a sum by which nothing is divided."""
    assert (summed(weights), complete(weights)) == (total, basis)


@pytest.mark.parametrize(
    ("figure", "area"),
    [
        (exact(Decimal("1200.5")), Fraction(2401, 2)),
        (at_least(Decimal(1200)), None),
        (Unknown("nobody measured it", "not recorded yet"), None),
    ],
)
def test_only_an_area_that_is_one_figure_is_a_weight(figure: Figure, area: Fraction | None) -> None:
    """At least 1,200 square feet may be any number of them."""
    assert area_given(figure) == area
