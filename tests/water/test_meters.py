"""Registers, run times, counts and weights: the figure, its doubts, and the line to redo it by hand."""

from __future__ import annotations

import decimal
import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.records.problem import Problem
from compliance.water.meters import (
    DENSITY_ASSUMED,
    Look,
    Measured,
    Register,
    across_a_change,
    count,
    register_difference,
    run_time,
    weight,
)
from compliance.water.volume import CONTEXT, Volume, at_least, between, exact, stated, with_limits

D = Decimal
HOSE = Register("hose meter", half_width=D("0.5"), relative_limit=D("0.015"), rolls_over_at=D(1_000_000))
PLAIN = replace(HOSE, rolls_over_at=None)
SCALE = Register("yard scale", half_width=D(10), relative_limit=D("0.001"), unit="lb")


def measured(result: Measured | Problem) -> Measured:
    assert isinstance(result, Measured)
    return result


def between_looks(register: Register, start: str, end: str) -> Measured | Problem:
    return register_difference(register, Look(D(start), "start"), Look(D(end), "end"), "run 12, line 4")


def limits(volume: Volume) -> dict[str, float]:
    return {key: float(part) * math.sqrt(3) for key, part in volume.parts.items()}


# --- registers -------------------------------------------------------------------------------------------------


def test_a_register_difference_has_the_line_to_redo_it() -> None:
    """12,480 - 12,010 = 470 gal; half a gallon at each end and 1.5 % of what went through."""
    result = measured(between_looks(PLAIN, "12010", "12480"))
    assert result.volume.best == 470
    assert result.formula == "12,480 - 12,010 = 470 gal"
    assert result.method == "meter" and result.assumptions == ()
    assert limits(result.volume) == pytest.approx({"res:end": 0.5, "res:start": -0.5, "cal:hose meter": 470 * 0.015})


def test_a_limit_is_taken_of_what_the_register_shows() -> None:
    """check-values 3.4: 98 shown where 100 flowed is 2.00 % of the true and 2.04 % of the shown volume.

    A limit stated of what is shown, 2 / 98, reaches just to the 100; one stated of what flowed, 2 %, is taken of the
    98 as well and stops at 99.96, which is short by 0.04 % of the amount: less than half a step at either end.
    """
    for limit, reaches in (("0.020408163265306", 100), ("0.02", 99.96)):
        register = replace(PLAIN, relative_limit=D(limit))
        shown = measured(between_looks(register, "1000", "1098")).volume
        assert shown.best == 98
        assert 98 + limits(shown)["cal:hose meter"] == pytest.approx(reaches, abs=1e-9)
        assert reaches > 100 - limits(shown)["res:end"]


def test_the_digits_that_were_read_stay_in_the_line() -> None:
    """A zero at the end was read too."""
    assert measured(between_looks(PLAIN, "12010.50", "12480.0")).formula == "12,480.0 - 12,010.50 = 469.5 gal"
    assert measured(between_looks(PLAIN, "12010", "12010")).formula == "12,010 - 12,010 = 0 gal"


def test_a_register_that_rolled_over_is_counted_on() -> None:
    """120 + 1,000,000 - 999,900 = 220, with the calibration error of 220 gal and not of a million."""
    result = measured(between_looks(HOSE, "999900", "120"))
    assert result.volume.best == 220
    assert result.formula == "120 + 1,000,000 - 999,900 = 220 gal"
    assert limits(result.volume)["cal:hose meter"] == pytest.approx(220 * 0.015)


def test_a_digit_read_wrong_is_no_roll_over() -> None:
    """9,800 and then 9,790 would be 999,990 gal through the hose: it is said, and nothing of it is a figure."""
    problem = between_looks(HOSE, "9800", "9790")
    assert isinstance(problem, Problem)
    assert "999,990 would have gone through, half or more of what it counts" in problem.what
    assert isinstance(between_looks(HOSE, "500002", "1"), Measured)
    assert isinstance(between_looks(HOSE, "500000", "0"), Problem)


@given(st.integers(0, 999_999), st.integers(0, 499_999))
def test_rolling_over_changes_nothing_about_what_went_through(start: int, gone: int) -> None:
    """For any start and any amount below half a turn."""
    result = measured(between_looks(HOSE, str(start), str((start + gone) % 1_000_000)))
    straight = measured(between_looks(PLAIN, str(start), str(start + gone)))
    assert result.volume == straight.volume


def test_a_register_that_ran_backwards_is_a_problem() -> None:
    """Never a negative amount, and never a roll-over that nobody recorded."""
    problem = between_looks(PLAIN, "12480", "12010")
    assert isinstance(problem, Problem)
    assert problem.what == "hose meter ran backwards, from 12,480 to 12,010"
    assert problem.where == "run 12, line 4"


@pytest.mark.parametrize(("start", "end"), [("1000000", "5"), ("5", "1000000"), ("-1", "5"), ("5", "-1")])
def test_a_figure_that_the_register_cannot_show_is_a_problem(start: str, end: str) -> None:
    """At or beyond its turn, or below zero."""
    problem = between_looks(HOSE, start, end)
    assert isinstance(problem, Problem) and "cannot show" in problem.what


def test_a_meter_in_cubic_feet_gives_gallons_and_shows_both() -> None:
    """63 cubic feet are 471.27 gal (check-values 1: 1728 / 231 gal a cubic foot)."""
    feet = replace(PLAIN, unit="ft3", half_width=D("0.05"), factor=CONTEXT.divide(D(1728), D(231)), result_unit="gal")
    result = measured(between_looks(feet, "1605", "1668"))
    assert result.formula == "1,668 - 1,605 = 63 ft3; × 7.4805195 = 471.27 gal"
    assert float(result.volume.best or 0) == pytest.approx(63 * 1728 / 231, rel=1e-15)
    assert limits(result.volume)["res:end"] == pytest.approx(0.05 * 1728 / 231)


def test_an_accuracy_that_nobody_stated_leaves_the_difference_without_plus_or_minus() -> None:
    """The resolution is known, the calibration is not."""
    result = measured(between_looks(replace(PLAIN, relative_limit=None), "12010", "12480"))
    assert result.volume.unstated == {"cal:hose meter"}
    assert result.volume.expanded() is None


def test_a_change_of_meter_adds_what_each_counted() -> None:
    """(12,100 - 12,010) + (380 - 0) = 470 gal, each with its own calibration."""
    new = replace(PLAIN, name="new meter", relative_limit=D("0.01"))
    looks = [Look(D(x), name) for x, name in ((12010, "a"), (12100, "b"), (0, "c"), (380, "d"))]
    result = measured(across_a_change(PLAIN, looks[0], looks[1], new, looks[2], looks[3]))
    assert result.volume.best == 470
    assert result.formula == "(12,100 - 12,010) + (380 - 0) = 470 gal"
    assert limits(result.volume)["cal:hose meter"] == pytest.approx(90 * 0.015)
    assert limits(result.volume)["cal:new meter"] == pytest.approx(380 * 0.01)


def test_a_meter_that_was_changed_for_one_of_another_unit_counts_each_in_its_own() -> None:
    """40 gal on the old one, and 40 cubic feet of 1728 / 231 gal on the new one: 299.22, and 339.22 together.

    Each keeps its own doubts: 1.5 % of 40 gal, and 2 % and half a foot at either end, in gallons.
    """
    factor = CONTEXT.divide(D(1728), D(231))
    feet = Register("new meter", half_width=D("0.5"), relative_limit=D("0.02"), unit="ft3", factor=factor)
    looks = [Look(D(shows), name) for shows, name in (("110", "a"), ("150", "b"), ("0", "c"), ("40", "d"))]
    result = measured(across_a_change(PLAIN, looks[0], looks[1], feet, looks[2], looks[3]))
    assert result.formula == ("150 - 110 = 40 gal; 40 - 0 = 40 ft3; × 7.4805195 = 299.22 gal; 40 + 299.22 = 339.22 gal")
    assert float(result.volume.best or 0) == pytest.approx(40 + 40 * 1728 / 231)
    cubic = 1728 / 231
    assert limits(result.volume) == pytest.approx(
        {"cal:hose meter": 0.6, "res:a": -0.5, "res:b": 0.5,
         "cal:new meter": 0.8 * cubic, "res:c": -0.5 * cubic, "res:d": 0.5 * cubic}
    )  # fmt: skip
    other = measured(across_a_change(feet, looks[0], looks[1], PLAIN, looks[2], looks[3]))
    assert other.volume.best == result.volume.best


@pytest.mark.parametrize(
    ("readings", "where"),
    [((12010, 12000, 0, 380), "run 12, old meter"), ((12010, 12100, 5, 3), "run 12, new meter")],
)
def test_a_change_of_meter_says_which_of_the_two_ran_backwards(readings: tuple[int, ...], where: str) -> None:
    """Each part is checked by itself."""
    a, b, c, d = (Look(D(x), str(i)) for i, x in enumerate(readings))
    problem = across_a_change(PLAIN, a, b, PLAIN, c, d, "run 12")
    assert isinstance(problem, Problem) and problem.where == where


# --- run time and counts -----------------------------------------------------------------------------------------


def test_a_run_time_carries_the_doubts_of_its_flow_and_of_its_minutes() -> None:
    """95 minutes of 5.17 gal a minute are 491.15 gal, u from the two relative parts."""
    flow = with_limits(D("5.17"), {"cal:flow test": D("0.12")})
    result = run_time(flow, with_limits(D(95), {"res:minutes": D(2)}))
    assert result.volume.best == D("491.15") and result.method == "time"
    relative = math.hypot(0.12 / 5.17, 2 / 95) / math.sqrt(3)
    assert float(result.volume.u) == pytest.approx(491.15 * relative, rel=1e-8)


def test_five_gallons_a_minute_is_three_hundred_an_hour() -> None:
    """Common practice, no source."""
    result = run_time(with_limits(D("5.0"), {"cal:flow test": D("0.25")}), exact(D(60)))
    assert result.volume.best == 300
    assert result.formula == "5.0 gal/min × 60 min = 300 gal"


def test_two_run_times_share_the_doubt_of_their_flow_test() -> None:
    """What the test had wrong, it had wrong both times."""
    flow = with_limits(D(5), {"cal:flow test": D("0.25")})
    both = run_time(flow, exact(D(60))).volume + run_time(flow, exact(D(30))).volume
    assert limits(both) == pytest.approx({"cal:flow test": 90 * 0.25})


def test_a_bound_of_time_gives_a_bound_of_volume() -> None:
    """'At least 90 minutes' is at least 450 gal, and the line says so."""
    result = run_time(exact(D(5)), at_least(D(90)))
    assert result.volume == at_least(D(450))
    assert result.formula == "5 gal/min × at least 90 min = at least 450 gal"


def test_a_count_of_vessels_is_exact_in_its_number() -> None:
    """14 pails of 5 gal within 0.1: they are all the same pail, so the limit is 1.4 gal."""
    result = count(exact(D(14)), with_limits(D(5), {"cal:pail": D("0.1")}))
    assert result.formula == "14 × 5 gal = 70 gal"
    assert limits(result.volume) == pytest.approx({"cal:pail": 1.4})
    assert result.method == "count"


def test_fills_to_the_float_are_a_count_by_another_name() -> None:
    """A declared range of fills stays a range."""
    result = count(between(D(2), D(3)), stated(D(180), "cal:tank"), method="fills")
    assert (result.volume.low, result.volume.high, result.volume.unstated) == (360, 540, {"cal:tank"})
    assert result.formula == "between 2 and 3 × 180 gal = between 360 and 540 gal"
    assert result.method == "fills"


# --- weight ------------------------------------------------------------------------------------------------------


def test_a_weight_is_divided_by_the_density_and_says_that_it_was_assumed() -> None:
    """(12,100 - 10,180) lb / 8.3417 lb/gal = 230.17 gal, within 10 lb a look, 0.1 % of the load, 2 % of density."""
    result = measured(weight(SCALE, Look(D(12100), "gross"), Look(D(10180), "tare")))
    assert result.formula == "(12,100 - 10,180) lb / 8.3417 lb/gal = 230.17 gal"
    assert result.method == "weight" and result.assumptions == (DENSITY_ASSUMED,)
    assert limits(result.volume) == pytest.approx(
        {
            "res:gross": 10 / 8.3417,
            "res:tare": -10 / 8.3417,
            "cal:yard scale": 1920 * 0.001 / 8.3417,
            "cal:density of water": -1920 / 8.3417**2 * 0.1668,
        }
    )


def test_the_assumed_density_is_the_common_value_within_two_percent() -> None:
    """check-values 1: 62.4 lb/ft3 = 8.341667 lb/gal."""
    result = measured(weight(SCALE, Look(D("83.417"), "gross"), Look(D(0), "tare")))
    assert result.volume.best == 10
    assert abs(8.3417 - 62.4 * 231 / 1728) < 0.00005
    assert abs(limits(result.volume)["cal:density of water"]) == pytest.approx(0.2, abs=0.0005)


def test_a_measured_density_needs_no_assumption() -> None:
    """In kilograms a litre, a heavy load."""
    scale = replace(SCALE, unit="kg", result_unit="L")
    result = measured(weight(scale, Look(D(2060), "g"), Look(D(1030), "t"), exact(D("1.03")), ""))
    assert result.formula == "(2,060 - 1,030) kg / 1.03 kg/L = 1,000 L"
    assert result.assumptions == ()


def test_a_tank_that_was_empty_weighs_the_same_twice() -> None:
    """Equal weights are no water, not a fault."""
    result = measured(weight(SCALE, Look(D(10180), "gross"), Look(D(10180), "tare")))
    assert result.volume.best == 0
    assert result.formula == "(10,180 - 10,180) lb / 8.3417 lb/gal = 0 gal"


@pytest.mark.parametrize(
    ("gross", "tare", "said"),
    [
        (900, 1000, "gross 900 lb is below tare 1,000 lb"),
        (-5, 0, "the gross weight is -5"),
        (5, -1, "the tare weight is -1"),
    ],
)
def test_weights_that_cannot_be_are_a_problem(gross: int, tare: int, said: str) -> None:
    """Swapped tickets above all."""
    problem = weight(SCALE, Look(D(gross), "g"), Look(D(tare), "t"), where="ticket 88")
    assert isinstance(problem, Problem)
    assert (problem.what, problem.where) == (said, "ticket 88")


def test_the_ambient_decimal_context_is_never_used() -> None:
    """A caller with one digit of precision and traps gets the same volumes and lines."""

    def work() -> list[object]:
        flow = with_limits(D("5.1414"), {"cal:flow test": D("0.1124")})
        return [
            between_looks(HOSE, "999900.25", "120.75"),
            run_time(flow, exact(D("95.5"))),
            weight(SCALE, Look(D(12100), "gross"), Look(D(10180), "tare")),
            between_looks(replace(PLAIN, unit="ft3", factor=D("7.4805194805")), "1605.5", "1668.75"),
        ]

    expected = work()
    with decimal.localcontext(decimal.Context(prec=1, traps=[decimal.Inexact, decimal.Rounded])):
        assert work() == expected
