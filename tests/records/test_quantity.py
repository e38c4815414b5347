"""Numbers with units: what people write, what is kept, and what is asked back."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.records.problem import Problem
from compliance.records.quantity import (
    GALLON_L,
    SPELLINGS,
    UNITS,
    Quantity,
    convert,
    parse,
    stored,
    unit_named,
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit", "kept"),
    [
        ("450", "gal", "450 gal"),
        ("450.50 gallons", "gal", "450.50 gal"),
        (" 12.5 in. ", "in", "12.5 in"),
        ("~450 gal", "gal", "~450 gal"),
        ("about 450", "gal", "~450 gal"),
        ("Unos 450 galones", "gal", "~450 gal"),
        ("at least 500", "gal", ">=500 gal"),
        ("AL MENOS 500", "gal", ">=500 gal"),
        ("≤ 500 L", "gal", "<=500 L"),
        ("at most 500 gal", "gal", "<=500 gal"),
        ("400..500 gal", "gal", "400..500 gal"),
        ("400 to 500", "gal", "400..500 gal"),
        ("400 a 500 galones", "gal", "400..500 gal"),
        ("1,250.5 gal", "gal", "1250.5 gal"),
        ("1.125", "in", "1.125 in"),
        ("0.125 gal", "gal", "0.125 gal"),
        (".5 in", "in", "0.5 in"),
        ("3 veces", "count", "3 count"),
        ("7.1", "pH", "7.1 pH"),
        ('12"', "in", "12 in"),
        ("2 micron", "um", "2 um"),
        ("5 gpm", "L/min", "5 gal/min"),
        ("4 pies cuadrados", "ft2", "4 ft2"),
    ],
)
def test_a_quantity_keeps_its_digits_and_its_unit(text: str, unit: str, kept: str) -> None:
    """The stored form has the figure as typed, one spelling of the unit, and one mark for bounds."""
    read = parse(text, unit=unit, where="here")
    assert isinstance(read, Quantity)
    assert str(read) == kept
    assert stored(str(read)) == read


@pytest.mark.parametrize(
    ("text", "unit", "what"),
    [
        ("1,250", "gal", "'1,250' can be read in two ways"),
        ("1.250 gal", "gal", "'1.250' can be read in two ways"),
        ("450,5", "gal", "'450,5' can be read in two ways"),
        ("1234567890123456", "gal", "'1234567890123456' has more than 15 digits"),
        ("nan", "gal", "'nan' is not a number with a unit"),
        ("inf", "gal", "'inf' is not a number with a unit"),
        ("1e3", "gal", "'e3' is not a unit known here"),
        ("", "gal", "'' is not a number with a unit"),
        ("450 furlongs", "gal", "'furlongs' is not a unit known here"),
        ("450 in", "gal", "'450 in' is a length, a volume is asked for"),
        ("-5", "gal", "'-5' is below 0"),
        ("500..400", "gal", "'500..400' is not a range"),
        ("~400..500", "gal", "'~400..500' is not a range"),
        ("٤٥٠", "gal", "'٤٥٠' is not a number with a unit"),
    ],
)
def test_what_is_no_quantity_is_said(text: str, unit: str, what: str) -> None:
    """Ambiguous, impossible and foreign figures are each refused with their reason."""
    read = parse(text, unit=unit, where="here")
    assert isinstance(read, Problem)
    assert read.what == what
    assert read.where == "here"
    assert read.next_step


def test_a_quantity_may_be_allowed_below_zero() -> None:
    """Without a least figure a negative one is read."""
    read = parse("-5 gal", unit="gal", where="", least=None)
    assert isinstance(read, Quantity)
    assert read.point == -5


def test_a_bound_has_no_point() -> None:
    """Only an ordinary figure is one number; each side of a bound converts by itself."""
    assert stored(">=500 gal").point is None
    low = stored(">=500 gal").in_unit("L")
    high = stored("<=500 gal").in_unit("L")
    assert low.high is None
    assert high.low is None
    assert low.low == high.high
    assert stored("~5 gal").about
    assert stored("5 gal").dimension == "volume"


@pytest.mark.parametrize("text", ["450", "450 gallons", "some gal", ""])
def test_only_stored_forms_are_read_back(text: str) -> None:
    """A payload holds what `parse` wrote, and nothing else is guessed at."""
    with pytest.raises(ValueError, match="not a stored quantity"):
        stored(text)


def test_units_of_two_dimensions_do_not_convert() -> None:
    """A volume is no length."""
    with pytest.raises(ValueError, match="gal is a volume, in is a length"):
        convert(Decimal(1), "gal", "in")


def test_the_us_gallon_is_231_cubic_inches() -> None:
    """231 in3 of 25.4 mm each: 3.785411784 L, exactly."""
    assert Fraction("3.785411784") == GALLON_L
    assert convert(Decimal(1), "gal", "L") == Decimal("3.785411784")


@pytest.mark.parametrize(
    "unit", [unit for unit in UNITS if UNITS[unit][0] not in ("percent", "pH", "opening", "number")]
)
def test_every_factor_agrees_with_a_general_library(unit: str) -> None:
    """Each unit of the table against pint, which was written by others."""
    names = {"L": "liter", "gal": "gallon", "fl oz": "fluid_ounce", "qt": "quart", "days": "day", "in": "inch",
             "gal/min": "gallon/minute", "gal/h": "gallon/hour", "L/min": "liter/minute", "m3": "m**3", "ft3": "ft**3",
             "m2": "m**2", "ft2": "ft**2"}  # fmt: skip
    base = next(name for name, (dimension, _) in UNITS.items() if dimension == UNITS[unit][0])
    theirs = pint.UnitRegistry().Quantity(1, names.get(unit, unit)).to(names.get(base, base)).magnitude
    assert float(UNITS[unit][1]) == pytest.approx(float(theirs), rel=1e-12)


@pytest.mark.parametrize("spelling", SPELLINGS)
def test_every_spelling_leads_to_a_unit(spelling: str) -> None:
    """No spelling stands for a unit that is not there."""
    assert unit_named(spelling.upper()) in UNITS
    assert unit_named(f" {spelling}. ") in UNITS


@given(
    number=st.decimals(0, 10**9, places=2, allow_nan=False),
    units=st.sampled_from([(a, b) for a in UNITS for b in UNITS if UNITS[a][0] == UNITS[b][0]]),
)
def test_converting_there_and_back_loses_nothing_that_matters(number: Decimal, units: tuple[str, str]) -> None:
    """Each pair of units of one dimension, to 1 part in 10^25."""
    unit, other = units
    back = convert(convert(number, unit, other), other, unit)
    assert abs(back - number) <= number * Decimal(10) ** -25


@given(
    low=st.decimals(0, 10**6, places=2, allow_nan=False),
    more=st.decimals(0, 10**6, places=2, allow_nan=False),
    unit=st.sampled_from(sorted(UNITS)),
    form=st.sampled_from(["point", "about", "at least", "at most", "between"]),
)
def test_what_is_stored_reads_back_as_itself(low: Decimal, more: Decimal, unit: str, form: str) -> None:
    """Any quantity written down is the same when it is read."""
    quantity = {
        "point": Quantity(low, low, unit), "about": Quantity(low, low, unit, about=True),
        "at least": Quantity(low, None, unit), "at most": Quantity(None, low, unit),
        "between": Quantity(low, low + more + 1, unit),
    }[form]  # fmt: skip
    assert stored(str(quantity)) == quantity
