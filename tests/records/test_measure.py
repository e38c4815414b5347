"""How a volume was learned: every method there and back, and what is wrong with one."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.records.measure import METHODS, Measure, check_level, check_measure, read_measure
from compliance.records.problem import Problem
from compliance.records.quantity import Quantity

GOOD: dict[str, dict[str, Any]] = {
    "declared": {"amount": "~450 gal"},
    "meter": {
        "meter": "Blue supply meter",
        "start": "1000.0",
        "end": 1450,
        "old_end": "1200",
        "new_start": "0",
        "new_meter": "Blue second meter",
    },
    "mark": {"tank": "Big Blue recovery", "before": "empty", "after": "12.5 in"},
    "fills": {"tank": "Big Blue recovery", "times": "2"},
    "time": {"flow": "Bucket test", "minutes": "95"},
    "count": {"vessel": "Blue drum", "times": "3"},
    "weight": {"scale": "Yard scale", "gross": "4200 lb", "tare": "1800"},
    "ticket": {"ticket": "NY-2231", "amount": "430 gal"},
}


def problems(value: Any) -> list[str]:
    return [problem.what for problem in check_measure(value, unit="gal", where="here")[1]]


@pytest.mark.parametrize("method", METHODS)
def test_every_method_is_stored_and_read_back(method: str) -> None:
    """What `check_measure` writes, `read_measure` reads, key by key."""
    form, wrong = check_measure({"method": method, **GOOD[method]}, unit="gal", where="here")
    assert wrong == []
    measure = read_measure(form)
    assert isinstance(measure, Measure)
    assert measure.method == method
    assert set(measure.values) == set(GOOD[method])
    for key in METHODS[method]:
        value = measure.values[key.name]
        assert isinstance(value, str) == (key.holds in ("ref", "text") or value == "empty")


def test_a_register_keeps_every_digit_as_it_was_read() -> None:
    """1000.0 stays 1000.0: the last digit tells how finely the register can be read."""
    form, _ = check_measure({"method": "meter", **GOOD["meter"]}, unit="gal", where="here")
    assert (form["start"], form["end"]) == ("1000.0", "1450")
    measure = read_measure(form)
    assert isinstance(measure, Measure)
    assert str(measure.values["start"]) == "1000.0 count"


@pytest.mark.parametrize(
    ("value", "form"),
    [("450", "450 gal"), ("450 L", "450 L"), ("not read", "not read"), ("not applicable", "not applicable")],
)
def test_a_text_is_a_declared_amount_or_an_answer(value: str, form: str) -> None:
    """Somebody's word, or that nobody looked."""
    assert check_measure(value, unit="gal", where="here") == (form, [])
    read = read_measure(form)
    assert read == form if isinstance(read, str) else read.method == "declared"


def test_a_bare_amount_is_in_the_unit_of_the_book() -> None:
    """In a book of litres, 450 are litres, in a table of a method too."""
    assert check_measure("450", unit="L", where="")[0] == "450 L"
    assert check_measure({"amount": "450"}, unit="L", where="")[0] == {"method": "declared", "amount": "450 L"}


def test_a_reading_that_was_not_made_is_written_as_such() -> None:
    """'not read' stands where the figure would."""
    form, wrong = check_measure(
        {"method": "meter", "meter": "M", "start": "nope", "end": "1450"},
        unit="gal",
        where="here",
        speak=lambda text: "not read" if text == "nope" else text,
    )
    assert wrong == []
    measure = read_measure(form)
    assert isinstance(measure, Measure)
    assert measure.values["start"] == "not read"


@pytest.mark.parametrize(
    ("value", "what"),
    [
        (["450"], ["an amount is a text like '450 gal' or a table with a method"]),
        ("some", ["'some' is not a number with a unit"]),
        ({"method": "guess"}, ["'guess' is not a method known here"]),
        ({"method": ["meter"]}, ["['meter'] is not a method known here"]),
        ({"method": "fills", "tank": "T"}, ["the method 'fills' needs 'times'"]),
        (
            {"method": "count", "vessel": "V", "times": "x", "size": "5"},
            ["'size' does not belong to the method 'count'", "'x' is not a number with a unit"],
        ),
        ({"method": "fills", "tank": "T", "times": True}, ["true is not a text or a whole number"]),
        ({"method": "fills", "tank": "T", "times": 1.5}, ["1.5 is not a text or a whole number"]),
        ({"method": "fills", "tank": "T", "times": "~2"}, ["a register shows one number"]),
        ({"method": "fills", "tank": "T", "times": ">=2"}, ["a register shows one number"]),
        ({"method": "mark", "tank": "T", "before": "half", "after": "full"}, ["'half' is not a tank level"]),
        ({"method": "weight", "scale": "S", "gross": "10 gal", "tare": "1"},
         ["'10 gal' is a volume, a mass is asked for"]),
    ],
)  # fmt: skip
def test_all_that_is_wrong_with_a_measure_is_said(value: Any, what: list[str]) -> None:
    """Each fault of a table, in the order of its keys."""
    assert problems(value) == what


@pytest.mark.parametrize(
    ("text", "level"),
    [("Empty", "empty"), ("FULL", "full"), ("12.5", "12.5 in"), ("140 gal", "140 gal"), ("3 ft", "3 ft")],
)
def test_a_level_is_a_mark_a_length_or_a_volume(text: str, level: str) -> None:
    """A bare number is inches."""
    assert check_level(text, "here") == level


def test_a_level_that_is_none_says_what_is() -> None:
    """The next step names all four forms."""
    refused = check_level("7 lb", "here")
    assert isinstance(refused, Problem)
    assert "'empty' or 'full'" in refused.next_step


@given(amount=st.decimals(0, 10**6, places=2, allow_nan=False), about=st.booleans())
def test_a_declared_amount_is_the_same_read_back(amount: Any, about: bool) -> None:
    """Any amount a person may name."""
    text = f"{'~' if about else ''}{amount} gal"
    form, wrong = check_measure(text, unit="gal", where="here")
    assert wrong == []
    measure = read_measure(form)
    assert isinstance(measure, Measure)
    assert measure.values == {"amount": Quantity(amount, amount, "gal", about)}
