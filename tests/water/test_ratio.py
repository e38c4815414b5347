"""The recovery ratio: published intervals, simulation, and the nights on which there is none."""

from __future__ import annotations

import decimal
import math
import random
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from compliance.water.film import GALLONS_PER_SQ_FT_INCH
from compliance.water.ratio import (
    ALL_OF_IT,
    DIVIDED,
    RAIN,
    STATED,
    NoRatio,
    Ratio,
    applied_depth,
    in_percent,
    judge,
    recovery_ratio,
)
from compliance.water.volume import (
    CONTEXT,
    ROOT_3,
    SHARE,
    Figure,
    Unknown,
    Volume,
    at_least,
    at_most,
    between,
    exact,
    stated,
    with_limits,
)

D = Decimal
Z_95 = D("1.959963984540054")


def figure(x: str | int, u: str | int, key: str) -> Volume:
    """A volume with the standard uncertainty u."""
    return with_limits(D(x), {key: CONTEXT.multiply(D(u), ROOT_3)})


def ratio_of(captured: Figure, applied: Figure, **options: bool | Decimal) -> Ratio:
    result = recovery_ratio(captured, applied, **options)  # type: ignore[arg-type]
    assert isinstance(result, Ratio)
    return result


def rounded(x: Decimal | None, digits: int = 7) -> float | None:
    return None if x is None else round(float(x), digits)


# --- measured ----------------------------------------------------------------------------------------------------


def test_the_published_ratio_has_its_exact_interval_and_not_the_first_order_one() -> None:
    """check-values 3.3: 950 ± 15 over 1000 ± 20 is .95, exact 95 % [.9039573, .9989667], delta [.9025543, .9974457]."""
    ratio = ratio_of(figure(950, 15, "cal:tank"), figure(1000, 20, "cal:meter"), k=Z_95)
    assert (ratio.kind, ratio.value, ratio.note, ratio.no_plus_minus) == ("measured", D("0.95"), "", False)
    assert rounded(ratio.low) == 0.9039573
    assert rounded(ratio.high) == 0.9989667
    first_order = figure(950, 15, "a").over(figure(1000, 20, "b"))
    assert float(first_order.u) == pytest.approx(0.024207437, abs=5e-10)
    assert float(first_order.u * Z_95) == pytest.approx(0.9974457 - 0.95, abs=5e-8)


@pytest.mark.parametrize(("a", "ua", "b", "ub"), [(950, 15, 1000, 20), (300, 40, 500, 60), (120, 3, 90, 8)])
def test_the_interval_holds_what_integration_of_the_two_normals_says(a: int, ua: int, b: int, ub: int) -> None:
    """The chance of a ratio beyond each limit is 2.5 %, by quadrature over the denominator (scipy)."""
    ratio = ratio_of(figure(a, ua, "x"), figure(b, ub, "y"), k=Z_95)

    def chance_below(limit: float) -> float:
        value, _ = integrate.quad(
            lambda y: stats.norm.cdf(limit * y, a, ua) * stats.norm.pdf(y, b, ub),
            b - 9 * ub,
            b + 9 * ub,
            limit=200,
        )
        return float(value)

    assert chance_below(float(ratio.low or 0)) == pytest.approx(0.025, abs=1e-6)
    assert chance_below(float(ratio.high or 0)) == pytest.approx(0.975, abs=1e-6)


def test_a_ratio_with_a_shared_meter_agrees_with_a_simulation() -> None:
    """40,000 nights: 12 gal of one meter's error in both, 8 and 10 gal of their own."""
    captured = figure(450, 12, "cal:meter") + figure(0, 8, "res:1")
    applied = figure(500, 12, "cal:meter") + figure(0, 10, "res:2")
    ratio = ratio_of(captured, applied, k=Z_95)
    dice = random.Random(3)
    nights = []
    for _ in range(40000):
        meter = dice.gauss(0, 12)
        nights.append((450 + meter + dice.gauss(0, 8)) / (500 + meter + dice.gauss(0, 10)))
    nights.sort()
    assert nights[1000] == pytest.approx(float(ratio.low or 0), abs=0.0015)
    assert nights[39000] == pytest.approx(float(ratio.high or 0), abs=0.0015)


def test_an_error_in_proportion_that_both_share_leaves_the_ratio_alone() -> None:
    """One meter, 2 % high, measured both: the ratio does not move."""
    ratio = ratio_of(figure(450, 9, "cal:meter"), figure(500, 10, "cal:meter"))
    assert ratio.value == D("0.9")
    assert rounded(ratio.low, 12) == rounded(ratio.high, 12) == 0.9
    apart = ratio_of(figure(450, 9, "cal:meter"), figure(500, 10, "cal:other"))
    assert apart.low is not None and apart.low < D("0.88")


@given(st.integers(-50, 2000), st.integers(0, 60), st.integers(100, 2000), st.integers(0, 45), st.booleans())
def test_the_figure_lies_within_its_interval_and_a_larger_k_widens_it(
    a: int, ua: int, b: int, ub: int, shared: bool
) -> None:
    """For any figures, correlated or not."""
    captured, applied = figure(a, ua, "x"), figure(b, ub, "x" if shared else "y")
    narrow, wide = (ratio_of(captured, applied, k=k) for k in (D(1), D(2)))
    slack = D("1e-25")
    assert narrow.value == wide.value == CONTEXT.divide(D(a), D(b))
    for ratio in (narrow, wide):
        assert ratio.low is not None and ratio.high is not None and ratio.value is not None
        assert ratio.low - slack <= ratio.value <= ratio.high + slack
    assert wide.low is not None and narrow.low is not None and wide.low <= narrow.low + slack
    assert wide.high is not None and narrow.high is not None and wide.high >= narrow.high - slack


def test_two_exact_figures_have_an_interval_of_one_point() -> None:
    """Fourteen pails of fourteen and a half: nothing is rounded into a doubt."""
    ratio = ratio_of(exact(D(13)), exact(D(14)))
    assert ratio.kind == "measured"
    assert rounded(ratio.low, 15) == rounded(ratio.high, 15) == round(13 / 14, 15)


def test_an_interval_that_holds_one_is_not_an_error() -> None:
    """check-values 3.3: not distinguishable from all of it, which is said beside it."""
    ratio = ratio_of(figure(990, 15, "a"), figure(1000, 20, "b"))
    assert ratio.note == ALL_OF_IT
    assert ratio_of(exact(D(14)), exact(D(14))).note == ALL_OF_IT
    assert ratio_of(figure(1200, 15, "a"), figure(1000, 20, "b")).note == ""


# --- stated and bounds -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("captured", "applied"),
    [
        (stated(D(450), "lead"), stated(D(600), "lead")),
        (figure(450, 5, "cal:tank"), stated(D(600), "lead")),
        (stated(D(450), "lead"), figure(600, 5, "cal:meter")),
    ],
)
def test_stated_figures_give_a_ratio_without_plus_or_minus(captured: Volume, applied: Volume) -> None:
    """One unstated accuracy is enough; the other one's ± would be taken for all of it."""
    assert ratio_of(captured, applied) == Ratio(D("0.75"), None, None, "stated", STATED, True)


def test_rain_of_unknown_amount_makes_the_ratio_at_most() -> None:
    """The tank holds the wash water and the rain: 450 of 600, of which some was never applied."""
    measured = ratio_of(figure(450, 5, "a"), figure(600, 5, "b"))
    ratio = ratio_of(figure(450, 5, "a"), figure(600, 5, "b"), rain_unknown=True)
    assert ratio == Ratio(D("0.75"), None, measured.high, "at most", RAIN)
    said = ratio_of(stated(D(450), "lead"), stated(D(600), "lead"), rain_unknown=True)
    assert said == Ratio(D("0.75"), None, D("0.75"), "at most", f"{STATED}; {RAIN}", True)


@pytest.mark.parametrize(
    ("captured", "applied", "expected"),
    [
        (at_least(D(450)), exact(D(600)), ("at least", "0.75", "0.75", None)),
        (at_most(D(450)), exact(D(600)), ("at most", "0.75", None, "0.75")),
        (exact(D(450)), at_least(D(600)), ("at most", "0.75", None, "0.75")),
        (exact(D(450)), at_most(D(600)), ("at least", "0.75", "0.75", None)),
        (between(D(300), D(450)), exact(D(600)), ("between", None, "0.5", "0.75")),
        (exact(D(300)), between(D(400), D(600)), ("between", None, "0.5", "0.75")),
        (between(D(300), D(450)), between(D(500), D(600)), ("between", None, "0.5", "0.9")),
        (at_least(D(450)), at_most(D(600)), ("at least", "0.75", "0.75", None)),
        (at_most(D(450)), at_least(D(600)), ("at most", "0.75", None, "0.75")),
        (between(D(-60), D(-30)), between(D(400), D(600)), ("between", None, "-0.15", "-0.05")),
        (exact(D(300)), between(D(0), D(600)), ("at least", "0.5", "0.5", None)),
        (exact(D(0)), at_most(D(600)), ("at least", "0", "0", None)),
        (exact(D(0)), at_least(D(600)), ("at most", "0", None, "0")),
    ],
)
def test_bounds_give_bounds(
    captured: Volume, applied: Volume, expected: tuple[str, str | None, str | None, str | None]
) -> None:
    """The end of each that makes the ratio smallest, and largest, as far as they are known."""
    kind, value, low, high = expected
    ratio = ratio_of(captured, applied)
    assert ratio.kind == kind
    for found, wanted in ((ratio.value, value), (ratio.low, low), (ratio.high, high)):
        assert (found is None) == (wanted is None)
        if found is not None and wanted is not None:
            assert abs(found - D(wanted)) < D("1e-30")


def test_a_bound_over_a_measured_amount_is_widened_by_its_uncertainty() -> None:
    """At least 450 of 600 ± 10: at least 0.75, and with k = 2 at least 450 / 620."""
    ratio = ratio_of(at_least(D(450)), figure(600, 10, "cal:meter"))
    assert ratio.value == D("0.75")
    assert float(ratio.low or 0) == pytest.approx(450 / 620, rel=1e-12)


def test_bounds_over_a_stated_amount_say_that_they_have_no_plus_or_minus() -> None:
    """The bound is kept, and nothing can be judged by it."""
    ratio = ratio_of(between(D(300), D(450)), stated(D(600), "lead"))
    assert ratio == Ratio(None, D("0.5"), D("0.75"), "between", STATED, True)


# --- none --------------------------------------------------------------------------------------------------------

UNREAD = Unknown("tank mark at dawn not read", "not read")


@pytest.mark.parametrize(
    ("captured", "applied", "options", "why"),
    [
        (exact(D(1)), exact(D(2)), {"not_planned": True}, "recovery was not planned"),
        (
            exact(D(1)),
            exact(D(2)),
            {"led_away": True},
            "water was led away and did not go through the tank",
        ),
        (UNREAD, exact(D(2)), {}, "what was captured is not read: tank mark at dawn not read"),
        (exact(D(2)), UNREAD, {}, "what was applied is not read: tank mark at dawn not read"),
        (exact(D(2)), exact(D(0)), {}, "no water was applied"),
        (exact(D(2)), stated(D(0), "lead"), {}, "no water was applied"),
        (exact(D(2)), figure(0, 1, "a"), {}, "the water applied is not distinguishable from zero"),
        (exact(D(2)), figure(10, 5, "a"), {}, "the water applied is not distinguishable from zero"),
        (exact(D(2)), exact(D(-3)), {}, "the water applied is not distinguishable from zero"),
        (exact(D(2)), Volume(None, None), {}, "what is known are bounds that leave any ratio possible"),
        (at_least(D(2)), at_least(D(3)), {}, "what is known are bounds that leave any ratio possible"),
        (
            at_least(D(2)),
            exact(D(3)),
            {"rain_unknown": True},
            "what is known are bounds that leave any ratio possible",
        ),
    ],
)
def test_where_no_honest_ratio_exists_the_answer_says_why(
    captured: Figure, applied: Figure, options: dict[str, bool], why: str
) -> None:
    """The plan comes first, then what is unknown, then what cannot be divided by."""
    result = recovery_ratio(captured, applied, **options)  # type: ignore[arg-type]
    assert result == NoRatio(why)
    assert judge(result, D("0.9")) == "cannot tell"


def test_an_applied_amount_just_beyond_its_uncertainty_still_has_a_ratio() -> None:
    """The edge of 'not distinguishable': 10.01 against U = 10."""
    assert isinstance(recovery_ratio(exact(D(2)), figure("10.01", 5, "a")), Ratio)


# --- judged ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ratio", "answer"),
    [
        (Ratio(D("0.95"), D("0.90"), D("0.99"), "measured"), "met"),
        (Ratio(D("0.95"), D("0.89"), D("0.99"), "measured"), "cannot tell"),
        (Ratio(D("0.85"), D("0.80"), D("0.90"), "measured"), "cannot tell"),
        (Ratio(D("0.85"), D("0.80"), D("0.89"), "measured"), "not met"),
        (Ratio(D("0.99"), None, None, "stated", STATED, True), "cannot tell"),
        (Ratio(D("0.95"), D("0.92"), None, "at least"), "met"),
        (Ratio(D("0.85"), D("0.80"), None, "at least"), "cannot tell"),
        (Ratio(D("0.85"), None, D("0.88"), "at most"), "not met"),
        (Ratio(D("0.95"), None, D("0.97"), "at most"), "cannot tell"),
        (Ratio(None, D("0.95"), D("0.99"), "between"), "met"),
        (Ratio(None, D("0.95"), D("0.99"), "between", STATED, True), "cannot tell"),
    ],
)
def test_a_threshold_is_met_or_not_only_by_the_whole_interval(ratio: Ratio, answer: str) -> None:
    """At 0.90; touching it from above is met."""
    assert judge(ratio, D("0.90")) == answer


# --- applied depth -----------------------------------------------------------------------------------------------


def test_the_applied_depth_stands_in_inches() -> None:
    """regulation-2 section 11: 0.006 gal on a square foot is 0.0096 in."""
    depth = applied_depth(figure(6, 0, "a"), exact(D(1000)))
    assert isinstance(depth, Volume) and depth.best is not None
    assert round(float(depth.best), 4) == 0.0096
    assert depth.best == CONTEXT.divide(D("0.006"), GALLONS_PER_SQ_FT_INCH)


def test_the_applied_depth_carries_the_doubts_of_both() -> None:
    """1 % and 2 % make 2.24 %; a declared area leaves it without ±."""
    depth = applied_depth(figure(500, 5, "a"), figure(2000, 40, "b"))
    assert isinstance(depth, Volume) and depth.best is not None
    assert float(depth.u) == pytest.approx(float(depth.best) * math.hypot(0.01, 0.02), rel=1e-12)
    said = applied_depth(figure(500, 5, "a"), stated(D(2000), "office"))
    assert isinstance(said, Volume) and said.expanded() is None


@pytest.mark.parametrize(
    ("applied", "area", "why"),
    [
        (UNREAD, exact(D(5)), "what was applied is not read: tank mark at dawn not read"),
        (exact(D(5)), Unknown("site not measured", "not known"), "the area is not known: site not measured"),
        (exact(D(5)), exact(D(0)), "the area is not one figure above zero"),
        (exact(D(5)), at_least(D(10)), "the area is not one figure above zero"),
    ],
)
def test_without_an_area_or_an_amount_there_is_no_depth(applied: Figure, area: Figure, why: str) -> None:
    """And the reason is said."""
    assert applied_depth(applied, area) == NoRatio(why)


def test_the_ambient_decimal_context_is_never_used() -> None:
    """A caller with one digit of precision and traps gets the same ratio."""

    def work() -> list[object]:
        captured = figure("451.37", "7.3", "a")
        applied = figure("507.91", "9.1", "a") + figure(0, "3.3", "b")
        return [
            recovery_ratio(captured, applied),
            judge(recovery_ratio(captured, applied), D("0.875")),
            recovery_ratio(captured, applied, rain_unknown=True),
            applied_depth(applied, stated(D("1999.5"), "office")),
        ]

    expected = work()
    with decimal.localcontext(decimal.Context(prec=1, traps=[decimal.Inexact, decimal.Rounded])):
        assert work() == expected


@pytest.mark.parametrize(
    ("fraction", "rounding", "percent"),
    [
        ("0.93749", decimal.ROUND_HALF_EVEN, "93.7"),
        ("0.93749", decimal.ROUND_CEILING, "93.8"),
        ("0.93799", decimal.ROUND_FLOOR, "93.7"),
        ("0.9370000000000000000000000000000001", decimal.ROUND_CEILING, "93.7"),
        ("-0.0001", decimal.ROUND_FLOOR, "-0.1"),
    ],
)
def test_a_bound_in_percent_is_rounded_outwards(fraction: str, rounding: str, percent: str) -> None:
    """To a tenth; what is left of 34 digits moves nothing."""
    assert in_percent(D(fraction), rounding) == D(percent)


def test_a_share_of_a_measured_figure_gives_a_ratio_that_nobody_stated() -> None:
    """It was worked out and has no ±; with a stated figure beside it, it is as stated as that one is."""
    share, measured = stated(D(80), SHARE), with_limits(D(100), {"cal:a": D(2)})
    assert ratio_of(share, measured) == Ratio(D("0.8"), None, None, "worked out", DIVIDED, True)
    assert ratio_of(share, stated(D(100), "the card")).kind == "stated"
