"""Whether two methods agree about one thing, and when nobody can tell."""

from __future__ import annotations

from decimal import Decimal

import pytest

from compliance.water.compare import Agreement, CannotTell, agreement
from compliance.water.volume import CONTEXT, ROOT_3, Volume, at_least, between, exact, stated, with_limits

D = Decimal


def figure(x: str, u: str, key: str) -> Volume:
    """A volume with the standard uncertainty u."""
    return with_limits(D(x), {key: CONTEXT.multiply(D(u), ROOT_3)})


@pytest.mark.parametrize(
    ("a", "b", "e_n", "agrees"),
    [
        (("470", "3"), ("480", "4"), -1.0, True),  # U = 6 and 8, together 10
        (("480", "4"), ("470", "3"), 1.0, True),
        (("470", "3"), ("480.1", "4"), -1.01, False),
        (("470", "3"), ("470", "4"), 0.0, True),
        (("500", "3"), ("470", "4"), 3.0, False),
    ],
)
def test_the_difference_is_measured_by_its_own_uncertainty(
    a: tuple[str, str], b: tuple[str, str], e_n: float, agrees: bool
) -> None:
    """E_n = (x - X) / sqrt(U_a^2 + U_b^2), satisfactory up to 1 (check-values 3.2), k = 2, by hand."""
    result = agreement(figure(*a, "cal:meter"), figure(*b, "cal:tank"))
    assert isinstance(result, Agreement)
    assert float(result.e_n) == pytest.approx(e_n)
    if abs(e_n) != 1:  # at the edge the last digit of a root decides
        assert result.agrees is agrees


def test_an_e_n_of_one_still_agrees() -> None:
    """Satisfactory up to and including 1, on either side."""
    assert Agreement(D(1)).agrees and Agreement(D(-1)).agrees
    assert not Agreement(D("1.001")).agrees and not Agreement(D("-1.001")).agrees


def test_two_figures_of_one_instrument_are_compared_by_what_they_do_not_share() -> None:
    """A meter that reads high reads high both times: only the resolutions are left, U = 2 sqrt(0.5)."""
    a = figure("470", "20", "cal:meter") + figure("0", "0.5", "res:1")
    b = figure("472", "20", "cal:meter") + figure("0", "0.5", "res:2")
    result = agreement(a, b)
    assert isinstance(result, Agreement)
    assert float(result.e_n) == pytest.approx(-2 / (2 * 0.5**0.5))
    assert not result.agrees


def test_the_coverage_factor_is_a_parameter() -> None:
    """Half of it doubles E_n."""
    a, b = figure("470", "3", "cal:meter"), figure("480", "4", "cal:tank")
    narrow = agreement(a, b, k=D(1))
    assert isinstance(narrow, Agreement) and float(narrow.e_n) == pytest.approx(-2.0)


@pytest.mark.parametrize(
    ("a", "b", "why"),
    [
        (
            stated(D(450), "the lead"),
            figure("470", "3", "cal:meter"),
            "nobody stated the accuracy of the lead",
        ),
        (
            figure("470", "3", "cal:meter"),
            stated(D(450), "the lead"),
            "nobody stated the accuracy of the lead",
        ),
        (at_least(D(450)), figure("470", "3", "cal:meter"), "a bound is not a measurement to compare with"),
        (
            figure("470", "3", "cal:meter"),
            between(D(400), D(500)),
            "a bound is not a measurement to compare with",
        ),
        (exact(D(5)), exact(D(5)), "the two have no uncertainty of their own"),
        (
            figure("5", "1", "cal:meter"),
            figure("5", "1", "cal:meter"),
            "the two have no uncertainty of their own",
        ),
    ],
)
def test_where_an_uncertainty_is_missing_nobody_can_tell(a: Volume, b: Volume, why: str) -> None:
    """An unstated accuracy, a bound, or nothing to compare the difference with."""
    assert agreement(a, b) == CannotTell(why)
