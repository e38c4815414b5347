"""Volumes against published budgets, a general library, simulation, and the laws that they must keep."""

from __future__ import annotations

import decimal
import math
import random
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from compliance.water.shown import shown
from compliance.water.volume import (
    CONTEXT,
    ROOT_3,
    Figure,
    Unknown,
    UnknownKind,
    Volume,
    at_least,
    at_most,
    between,
    exact,
    from_hundredths,
    hundredths,
    minus,
    plus,
    reading,
    stated,
    total,
    total_of,
    with_limits,
)
from tests.water.amounts import FIGURES, volumes

D = Decimal
FACTORS = st.decimals(min_value=-20, max_value=20, places=3, allow_nan=False)


@contextmanager
def hostile_ambient_context() -> Iterator[None]:
    """An ambient context in which any arithmetic that is not exact in one digit raises."""
    with decimal.localcontext(decimal.Context(prec=1, traps=[decimal.Inexact, decimal.Rounded])):
        yield


def one_look(x: Decimal, name: str, meter: str = "hose meter", limit: str | None = "0.015") -> Volume:
    return reading(
        x,
        resolution_key=f"res:{name}",
        half_width=D("0.5"),
        calibration_key=f"cal:{meter}",
        relative_limit=None if limit is None else D(limit),
    )


def standard(x: str, u: str, key: str) -> Volume:
    return with_limits(D(x), {key: CONTEXT.multiply(D(u), ROOT_3)})


# --- a single figure -------------------------------------------------------------------------------------


def test_a_reading_has_a_rectangular_part_for_its_resolution_and_its_calibration() -> None:
    """Limits of half a gallon and of 1.5 % of 12,480 become a / sqrt(3) each (GUM 4.3.7, from memory)."""
    look = one_look(D(12480), "dawn")
    assert dict(look.parts).keys() == {"cal:hose meter", "res:dawn"}
    assert float(dict(look.parts)["res:dawn"]) == pytest.approx(0.5 / math.sqrt(3), rel=1e-15)
    assert float(dict(look.parts)["cal:hose meter"]) == pytest.approx(187.2 / math.sqrt(3), rel=1e-15)
    assert look.is_point and look.best == 12480


def test_an_accuracy_that_nobody_stated_leaves_no_plus_or_minus() -> None:
    """The known half of the doubt would be printed as if it were all of it."""
    look = one_look(D(470), "dawn", limit=None)
    assert look.unstated == {"cal:hose meter"}
    assert look.u > 0
    assert look.expanded() is None
    assert shown(look).plus_minus is None


def test_a_declared_figure_has_a_source_and_no_plus_or_minus() -> None:
    """A declared 450 is a figure, with its source named and no accuracy."""
    said = stated(D(450), "lead")
    assert (said.best, said.unstated, said.parts) == (450, {"lead"}, {})
    assert said.expanded() is None


def test_an_exact_figure_has_an_uncertainty_of_zero_and_not_an_unstated_one() -> None:
    """A count of fourteen is fourteen."""
    assert exact(D(14)).expanded() == 0
    assert not exact(D(14)).parts and not exact(D(14)).unstated


def test_bounds_and_ranges_have_no_best_figure() -> None:
    """The middle of a range would be an estimate."""
    assert at_least(D(500)) == Volume(D(500), None)
    assert at_most(D(500)) == Volume(None, D(500))
    assert between(D(500), D(400)) == Volume(D(400), D(500))
    for bound in (at_least(D(500)), at_most(D(500)), between(D(400), D(500))):
        assert bound.best is None and not bound.is_point
    assert at_least(D(500), "lead").unstated == {"lead"}


# --- published budgets -----------------------------------------------------------------------------------


def test_the_end_gauge_budget_of_the_gum_is_reproduced() -> None:
    """GUM H.1 (check-values 3.1): l = l_s + d - l_s (dalpha theta + alpha_s dtheta), u_c = 31.66388 nm."""
    length = D(50000623)
    standard_gauge = standard("50000623", "25", "cal:standard")
    difference = total(
        (exact(D(215)), standard("0", "5.8", "d0"), standard("0", "3.9", "d1"), standard("0", "6.7", "d2"))
    )
    assert float(difference.u) == pytest.approx(9.682, abs=0.001)
    theta = standard("-0.1", "0.41", "theta")  # the swing of the bath, 0.35, and its mean, 0.2, together
    d_alpha = with_limits(D(0), {"dalpha": D("1e-6")})
    alpha = with_limits(D("11.5e-6"), {"alpha": D("2e-6")})
    d_theta = with_limits(D(0), {"dtheta": D("0.05")})
    heat = (d_alpha.times(theta) + alpha.times(d_theta)).scale(-length)
    result = standard_gauge + difference + heat
    by_source = dict(result.parts)
    assert result.best == D(50000838)
    assert abs(float(by_source["dtheta"])) == pytest.approx(16.599, abs=0.001)
    assert abs(float(by_source["dalpha"])) == pytest.approx(2.88679, abs=0.0001)
    assert float(result.u) == pytest.approx(31.66388, abs=0.001)


def test_the_calibration_solution_of_eurachem_is_reproduced() -> None:
    """EURACHEM/CITAC A1 (check-values 3.1): c = 1000 m P / V = 1002.69972 mg/L, u = 0.8351992."""
    mass = standard("100.28", "0.05", "m")
    purity = with_limits(D("0.9999"), {"P": D("0.0001")})
    flask = total(
        (
            exact(D(100)),
            with_limits(D(0), {"flask": CONTEXT.multiply(D("0.1"), CONTEXT.divide(ROOT_3, CONTEXT.sqrt(D(6))))}),
            standard("0", "0.02", "repeat"),
            with_limits(D(0), {"temperature": D("0.084")}),
        )
    )
    assert float(flask.u) == pytest.approx(0.0664730521840743, rel=1e-14)
    c = mass.times(purity).scale(D(1000)).over(flask)
    assert c.best is not None and float(c.best) == pytest.approx(1002.69972, abs=1e-5)
    assert float(c.u) == pytest.approx(0.8351992, abs=3e-7)


def test_the_default_coverage_factor_is_that_of_a_large_number_of_degrees_of_freedom() -> None:
    """NIST TN 1297 Table B.1, last row: 95.45 % at k = 2.000."""
    assert standard("0", "1", "a").expanded() == pytest.approx(D(2), abs=D("1e-30"))
    assert math.erf(2 / math.sqrt(2)) == pytest.approx(0.9545, abs=5e-5)


def test_four_rectangular_sources_have_the_standard_deviation_that_a_simulation_finds() -> None:
    """JCGM 101 9.2 (check-values 3.3): four rectangular sources of sd 1 give sd 2, and 95 % within 3.88."""
    added = total(with_limits(D(0), {f"s{i}": ROOT_3}) for i in range(4))
    dice = random.Random(20240)
    trials = sorted(sum(dice.uniform(-(3**0.5), 3**0.5) for _ in range(4)) for _ in range(40000))
    spread = math.sqrt(sum(x * x for x in trials) / len(trials))
    assert float(added.u) == pytest.approx(2.0, rel=1e-15)
    assert spread == pytest.approx(float(added.u), rel=0.015)
    assert trials[int(0.975 * len(trials))] == pytest.approx(3.8794067, abs=0.06)
    assert (expanded := added.expanded()) is not None and trials[-1] > float(expanded)


def test_a_night_with_shared_and_private_doubts_agrees_with_a_simulation() -> None:
    """Rate x time minus a metered amount, both through one meter, against 40,000 random nights."""
    rate = with_limits(D("5.1"), {"cal:bucket": D("0.2"), "cal:meter": D("0.05")})
    hours = with_limits(D(90), {"res:clock": D(2)})
    other = with_limits(D(300), {"cal:meter": D(6), "res:dial": D("0.5")})
    rest = rate.times(hours) - other
    dice = random.Random(7)
    trials = []
    for _ in range(40000):
        meter = dice.uniform(-1, 1)
        r = 5.1 + dice.uniform(-0.2, 0.2) + 0.05 * meter
        t = 90 + dice.uniform(-2, 2)
        trials.append(r * t - (300 + 6 * meter + dice.uniform(-0.5, 0.5)))
    mean = sum(trials) / len(trials)
    spread = math.sqrt(sum((x - mean) ** 2 for x in trials) / len(trials))
    assert mean == pytest.approx(float(rest.best or 0), abs=0.3)
    assert spread == pytest.approx(float(rest.u), rel=0.015)


# --- against a general library ---------------------------------------------------------------------------


@settings(max_examples=200, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["a", "b", "c"]), st.integers(1, 900), st.integers(0, 90)),
        min_size=2,
        max_size=5,
    ),
    st.lists(st.sampled_from(["+", "-", "*", "/"]), min_size=4, max_size=4),
)
def test_propagation_agrees_with_a_general_library(figures: list[tuple[str, int, int]], operators: list[str]) -> None:
    """Random chains of + - x /, sources shared between terms, against the package `uncertainties`."""
    theirs_of = {key: ufloat(0, 1) for key in "abc"}
    key, x, u = figures[0]
    ours = standard(str(x), str(u), key)
    theirs = x + u * theirs_of[key]
    for (key, x, u), operator in zip(figures[1:], operators, strict=False):
        next_ours = standard(str(x), str(u), key)
        next_theirs = x + u * theirs_of[key]
        if operator == "+":
            ours, theirs = ours + next_ours, theirs + next_theirs
        elif operator == "-":
            ours, theirs = ours - next_ours, theirs - next_theirs
        elif operator == "*":
            ours, theirs = ours.times(next_ours), theirs * next_theirs
        else:
            ours, theirs = ours.over(next_ours), theirs / next_theirs
    assert ours.best is not None
    scale = abs(theirs.nominal_value) + theirs.std_dev + 1
    assert float(ours.best) == pytest.approx(theirs.nominal_value, rel=1e-9, abs=1e-9 * scale)
    assert float(ours.u) == pytest.approx(theirs.std_dev, rel=1e-9, abs=1e-9 * scale)


# --- laws ------------------------------------------------------------------------------------------------


@given(FIGURES)
def test_a_reading_minus_itself_has_no_uncertainty(x: Decimal) -> None:
    """The same look cannot disagree with itself."""
    look = one_look(x, "dawn")
    assert look - look == exact(D(0))


@given(st.integers(0, 99999), st.integers(1, 5000))
def test_two_readings_of_one_meter_have_the_calibration_error_of_what_went_through(old: int, gone: int) -> None:
    """Shared calibration correlates: 1.5 % of the difference, never of the two registers."""
    used = one_look(D(old + gone), "end") - one_look(D(old), "start")
    assert float(dict(used.parts)["cal:hose meter"]) == pytest.approx(gone * 0.015 / math.sqrt(3), rel=1e-12)
    assert float(used.u) == pytest.approx(math.sqrt((gone * 0.015) ** 2 / 3 + 2 * 0.25 / 3), rel=1e-12)


def test_two_meters_with_the_same_accuracy_do_not_correlate() -> None:
    """Two instruments of one kind err each in its own way."""
    same = one_look(D(400), "1") + one_look(D(400), "2")
    other = one_look(D(400), "1") + one_look(D(400), "2", meter="second meter")
    assert same.u > other.u
    assert float(same.u**2 - other.u**2) == pytest.approx(2 * 6.0**2 / 3, rel=1e-9)


@given(st.lists(st.integers(0, 10**6), min_size=3, max_size=9))
def test_inner_readings_cancel_when_adjacent_intervals_are_summed(registers: list[int]) -> None:
    """A month read nightly is as uncertain as the same month read twice."""
    looks = [one_look(D(x), str(i)) for i, x in enumerate(registers)]
    nightly = total(after - before for before, after in pairwise(looks))
    assert nightly.best == (looks[-1] - looks[0]).best
    assert {key for key in nightly.parts if key.startswith("res:")} == {
        "res:0",
        f"res:{len(registers) - 1}",
    }
    assert float(nightly.u) == pytest.approx(float((looks[-1] - looks[0]).u), rel=1e-20)


def test_changing_one_stated_accuracy_changes_exactly_the_results_that_used_it() -> None:
    """Four figures of a night; only the two that rest on the hose meter move."""

    def night(hose_limit: str) -> dict[str, Volume]:
        used = one_look(D(980), "b", limit=hose_limit) - one_look(D(500), "a", limit=hose_limit)
        captured = one_look(D(450), "d", meter="tank") - one_look(D(20), "c", meter="tank")
        ticket = stated(D(430), "receiver")
        return {"used": used, "captured": captured, "unexplained": used - captured, "accepted": ticket}

    before, after = night("0.015"), night("0.03")
    assert {name for name in before if before[name] != after[name]} == {"used", "unexplained"}
    assert all(before[name].best == after[name].best for name in before)


@given(volumes(), volumes(), volumes())
def test_sums_do_not_depend_on_order_or_grouping(a: Volume, b: Volume, c: Volume) -> None:
    """Bounds, contributions and unstated names alike."""
    assert close(a + b, b + a)
    assert close((a + b) + c, a + (b + c))
    assert close(total([a, b, c]), total([c, a, b]))
    assert close(a - b, a + -b)
    back = -a
    assert -back == a


@given(volumes(), volumes(), FACTORS)
def test_scaling_distributes_over_sums(a: Volume, b: Volume, factor: Decimal) -> None:
    """Also by a negative factor, which swaps the bounds."""
    together, apart = (a + b).scale(factor), a.scale(factor) + b.scale(factor)
    if factor:
        assert close(together, apart)
    else:
        assert together == apart == exact(D(0))


@given(volumes(), volumes())
def test_a_product_contains_the_products_of_all_that_its_factors_contain(a: Volume, b: Volume) -> None:
    """Open sides and signs included."""
    product = a.times(b)
    for x in samples(a):
        for y in samples(b):
            assert product.low is None or product.low <= x * y
            assert product.high is None or x * y <= product.high
    assert product.low is None or product.high is None or product.low <= product.high


def samples(volume: Volume) -> list[Decimal]:
    low = volume.low if volume.low is not None else (volume.high or D(0)) - 10**7
    high = volume.high if volume.high is not None else (volume.low or D(0)) + 10**7
    return [low, high, (low + high) / 2]


def close(a: Volume, b: Volume) -> bool:
    def near(x: Decimal | None, y: Decimal | None) -> bool:
        if x is None or y is None:
            return x is y
        return abs(x - y) < D("1e-20")

    keys = {*a.parts, *b.parts}
    mine, yours = dict(a.parts), dict(b.parts)
    return (
        near(a.low, b.low)
        and near(a.high, b.high)
        and all(near(mine.get(key, D(0)), yours.get(key, D(0))) for key in keys)
        and a.unstated == b.unstated
    )


def test_parts_hold_no_zeros_and_know_no_order() -> None:
    """Two volumes that mean the same are the same."""
    volume = with_limits(D(1), {"res:2": D(3), "cal:a": D(1), "res:1": D(0)})
    assert volume.parts.keys() == {"cal:a", "res:2"}
    again = with_limits(D(1), {"cal:a": D(1), "res:2": D(3)})
    assert (volume, hash(volume), volume.u) == (again, hash(again), again.u)
    assert with_limits(D(5), {}, frozenset(("lead",))).unstated == {"lead"}


def test_the_product_of_a_bound_and_a_figure_is_a_bound() -> None:
    """At least two hours at five gallons a minute, and at most none of an unknown number of fills."""
    rate = with_limits(D(5), {"cal:bucket": D("0.1")})
    assert rate.times(at_least(D(120))).low == 600 and rate.times(at_least(D(120))).high is None
    assert at_least(D(3)).scale(D(-2)) == at_most(D(-6))
    assert at_least(D(3)).times(exact(D(0))) == exact(D(0))
    # the sensitivity to the rate is taken at the larger end of the time
    doubtful = rate.times(between(D(60), D(120)))
    assert float(doubtful.u) == pytest.approx(120 * 0.1 / math.sqrt(3), rel=1e-12)
    assert Volume(None, None).times(rate) == Volume(None, None)


def test_dividing_keeps_bounds_and_refuses_what_is_not_one_figure() -> None:
    """Callers ask first whether the divisor is zero; forgetting it is an error of the program."""
    assert at_least(D(10)).over(exact(D(4))) == at_least(D("2.5"))
    assert at_least(D(10)).over(exact(D(-4))) == at_most(D("-2.5"))
    assert between(D(10), D(20)).over(exact(D(-4))) == between(D(-5), D("-2.5"))
    assert stated(D(10), "lead").over(stated(D(4), "office")).unstated == {"lead", "office"}
    for divisor in (exact(D(0)), at_least(D(1))):
        with pytest.raises(ValueError, match="one figure"):
            exact(D(1)).over(divisor)


def test_the_ambient_decimal_context_is_never_used() -> None:
    """A caller with one digit of precision and traps gets the same figures."""

    def work() -> tuple[object, ...]:
        a = one_look(D("12480.25"), "a")
        b = one_look(D("12010.75"), "b")
        used = a - b
        scaled = used.scale(D("-0.333"))
        product = used.times(with_limits(D("5.123"), {"cal:x": D("0.777")})).over(b)
        return (
            *(used, scaled, product, used.u, used.expanded(), shown(product), shown(-product)),
            *(total([a, b, product]), hundredths(D("12.345678")), from_hundredths(1234567)),
            *(plus(a, b), minus(a, b), between(D("1.25"), D("3.75")).times(at_least(D("-7.77")))),
        )

    expected = work()
    with hostile_ambient_context():
        assert work() == expected


# --- not knowing -----------------------------------------------------------------------------------------

KINDS: tuple[UnknownKind, ...] = ("not read", "not known", "not recorded yet", "not applicable")


@given(st.lists(st.one_of(FIGURES, st.sampled_from(KINDS)), max_size=6))
def test_a_sum_with_an_unknown_in_it_is_unknown(entries: list[Decimal | UnknownKind]) -> None:
    """Never zero, never the sum of the rest; the kind that no later record can fill is the one named."""
    figures: list[Figure] = [
        exact(entry) if isinstance(entry, Decimal) else Unknown(f"entry {i}", entry) for i, entry in enumerate(entries)
    ]
    result = total_of(figures)
    kinds = [figure.kind for figure in figures if isinstance(figure, Unknown)]
    if kinds:
        assert isinstance(result, Unknown)
        assert result.kind == min(kinds, key=KINDS.index)
        assert result in figures
    else:
        assert result == total(figure for figure in figures if isinstance(figure, Volume))


def test_figures_that_do_not_apply_are_left_out_only_when_asked() -> None:
    """And a sum of nothing but such figures does not apply either: it is not zero."""
    none = Unknown("no rain gauge on this rig", "not applicable")
    unread = Unknown("gauge not read", "not read")
    assert total_of([exact(D(5)), none]) == none
    assert total_of([exact(D(5)), none], skip_not_applicable=True) == exact(D(5))
    assert total_of([none, none], skip_not_applicable=True) == none
    assert total_of([exact(D(5)), none, unread], skip_not_applicable=True) == unread
    assert total_of([]) == exact(D(0))


def test_differences_with_an_unknown_are_unknown_on_either_side() -> None:
    """A dump nobody read makes what is left unknown, and so does an unread start."""
    unread = Unknown("dump at stop 3 not read", "not read")
    assert minus(exact(D(5)), unread) == unread
    assert minus(unread, exact(D(5))) == unread
    assert minus(exact(D(5)), exact(D(2))) == exact(D(3))
    assert plus(unread, exact(D(5))) == unread
    assert plus(exact(D(2)), exact(D(5))) == exact(D(7))


# --- kept --------------------------------------------------------------------------------------


def test_hundredths_round_a_half_to_the_even_neighbour() -> None:
    """In one step: rounding a long figure twice would turn 0.0049999... into a cent."""
    assert [hundredths(D(x)) for x in ("0.005", "0.015", "-0.005", "-0.015", "470", "12.345")] == [
        *(0, 2, 0, -2, 47000, 1234),
    ]
    assert hundredths(D("0.00" + "4" + "9" * 60)) == 0
    assert hundredths(D("0.005" + "0" * 60 + "1")) == 1


@given(st.integers(-(10**15), 10**15))
def test_hundredths_and_back_is_exact(n: int) -> None:
    """What is kept is what is read back."""
    assert hundredths(from_hundredths(n)) == n
