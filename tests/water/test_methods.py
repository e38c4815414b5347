"""Each way of learning a volume: the figure, its doubts, the line to redo it, and what is said when it cannot be."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest

from compliance.records import fields as table
from compliance.records.answer import NOT_READ
from compliance.records.names import folded
from compliance.records.quantity import stored
from compliance.records.registers import Registers
from compliance.water.methods import SHAPES, Gauges, Who
from compliance.water.results import Known, Line
from compliance.water.volume import Unknown, Volume

AT = Line("night", "4")
WHO = Who("Marisol Vega", "2026-09-14T22:00-06:00")

TANKS = {
    # 66 in × 35 in × 30 in: 66 × 35 = 2,310 square inches, 2,310 / 231 = 10 gal an inch
    "box": {"shape": "rectangle", "length": "66 in", "width": "35 in", "depth": "30 in", "mark_step": "0.5 in",
            "accuracy": "1 %", "capacity": "280 gal", "float_repeat": "6 gal"},
    "drum": {"shape": "upright cylinder", "diameter": "42 in", "depth": "60 in"},
    "barrel": {"shape": "horizontal cylinder", "diameter": "42 in", "length": "77 in"},
    "bag": {"capacity": "100..120 gal"},
    "sack": {},
}  # fmt: skip
INSTRUMENTS = {
    "meter": {"unit": "gal", "step": "1 count", "accuracy": "1.5 %", "rolls_over_at": "1000000 count"},
    "bare meter": {"unit": "ft3"},
    "bucket": {"rate": "5 gal/min", "accuracy": "4 %"},
    "guess": {"rate": "4..6 gal/min"},
    "no flow": {},
    "jug": {"size": "2.5 gal", "accuracy": "2 %"},
    "any jug": {"size": ">=2 gal"},
    "scale": {"unit": "lb", "step": "20 lb", "accuracy": "0.1 %"},
    "kilo scale": {"unit": "kg", "step": "20 kg", "accuracy": "0.1 %"},
    "bare scale": {"unit": "lb"},
    "metric bucket": {"rate": "18.2 L/min"},
    "metric jug": {"size": "20 L"},
}


def gauges(unit: str = "gal") -> Gauges:
    entries = {"tank": TANKS, "instrument": INSTRUMENTS}
    kept = {
        what: {folded(name): {"name": name, **fields} for name, fields in named.items()}
        for what, named in entries.items()
    }
    return Gauges(Registers(kept), unit)


def known(value: Any, unit: str = "gal") -> Known:
    return gauges(unit).known(value, AT, WHO, what="captured")


def volume(found: Known) -> Volume:
    assert isinstance(found.figure, Volume)
    return found.figure


def why(found: Known) -> tuple[str, str]:
    assert isinstance(found.figure, Unknown)
    return found.figure.reason, found.figure.kind


def half_widths(found: Known) -> Mapping[str, float]:
    """The limits ±a of the sources, as they were stated: a contribution is a / √3."""
    return {key: float(part) * math.sqrt(3) for key, part in volume(found).parts.items()}


# ---- what each method says ----------------------------------------------------------------------------------------


def test_two_marks_of_a_straight_tank() -> None:
    """12.5 in - 2.0 in = 10.5 in of 10 gal each; a quarter inch at each end is 2.5 gal, the shape 1 % of what rose."""
    found = known({"method": "mark", "tank": "box", "before": "2.0 in", "after": "12.5 in"})
    assert volume(found).best == 105
    assert found.how.formula == "from 2.0 in (20.00) to 12.5 in (125.00) = 105.00 gal"
    limits = half_widths(found)
    assert limits == pytest.approx({"res:night/4.after": 2.5, "res:night/4.before": -2.5, "cal:box": 1.05})
    assert (found.how.method, found.how.reader, found.how.lines) == ("mark", "Marisol Vega", (AT,))


def test_marks_that_fell_are_what_came_out() -> None:
    """Either way round it is the difference: nothing here says which way the water went."""
    fell = known({"method": "mark", "tank": "box", "before": "12.5 in", "after": "2.0 in"})
    assert volume(fell).best == 105


@pytest.mark.parametrize(
    ("tank", "level", "gallons"),
    [
        ("drum", "10 in", Decimal("59.98")),  # π × 21² × 10 / 231 = 13,854.424 / 231 = 59.976
        ("barrel", "21 in", Decimal("230.91")),  # half of π × 21² × 77 / 231 = 461.814 / 2
        ("barrel", "42 in", Decimal("461.81")),
    ],
)
def test_marks_of_round_tanks(tank: str, level: str, gallons: Decimal) -> None:
    """By the circle's area; nobody stated their marks or shape, so there is no ±."""
    found = known({"method": "mark", "tank": tank, "before": "empty", "after": level})
    assert volume(found).best == gallons
    assert volume(found).expanded() is None


def test_a_level_may_be_a_volume_on_the_sight_glass() -> None:
    """140 gal less 40 gal; how finely the glass reads is not on the register, so no ±."""
    found = known({"method": "mark", "tank": "box", "before": "40 gal", "after": "140 gal"})
    assert (volume(found).best, volume(found).expanded()) == (100, None)


def test_a_level_may_be_a_bound() -> None:
    """At least 100 gal in the tank after it was empty: at least 100 gal came in."""
    found = known({"method": "mark", "tank": "box", "before": "empty", "after": ">=100 gal"})
    assert (volume(found).low, volume(found).high) == (100, None)


def test_fills_to_the_float_share_the_tank_and_not_the_float() -> None:
    """3 × 280; the size is the same each time (3 × 2.8 gal), the float repeats anew (6 gal each)."""
    found = known({"method": "fills", "tank": "box", "times": "3"})
    assert volume(found).best == 840
    assert found.how.formula == "3 × 280.00 gal = 840.00 gal"
    assert half_widths(found) == pytest.approx(
        {"res:night/4#1": 6, "res:night/4#2": 6, "res:night/4#3": 6, "cal:box": 8.4}
    )
    assert volume(known({"method": "fills", "tank": "box", "times": "0"})).best == 0


def test_run_time_times_the_timed_bucket() -> None:
    """5 gal/min for an hour of trigger is 300 gal (common practice, no source); 4 % of the flow is 12 gal."""
    found = known({"method": "time", "flow": "bucket", "minutes": "60 min"})
    assert volume(found).best == 300
    assert half_widths(found) == pytest.approx({"cal:bucket": 12})
    about = known({"method": "time", "flow": "bucket", "minutes": "~1 h"})
    assert (volume(about).best, volume(about).expanded()) == (300, None)


def test_a_counted_vessel() -> None:
    """8 × 2.5 = 20 gal, 2 % of it from the vessel."""
    found = known({"method": "count", "vessel": "jug", "times": "8"})
    assert volume(found).best == 20
    assert half_widths(found) == pytest.approx({"cal:jug": 0.4})


def test_a_scale_in_pounds_and_in_the_books_own_unit() -> None:
    """4,171 lb / 8.3417 lb/gal = 500.0180 gal; × 3.785411784 = 1,892.7741 L: rounded once, so it is not 1,892.78."""
    form = {"method": "weight", "scale": "scale", "gross": "10000 lb", "tare": "5829 lb"}
    gallons, litres = known(form), known(form, "L")
    assert volume(gallons).best == Decimal("500.02")
    assert volume(litres).best == Decimal("1892.77")
    assert litres.how.formula.endswith("; = 1,892.77 L")
    # 10 lb at each end is 10 / 8.3417 = 1.199 gal; 0.1 % of 500.02; 2 % of it for the density
    limits = {"res:night/4.gross": 1.1988, "res:night/4.tare": -1.1988, "cal:scale": 0.50002}
    assert half_widths(gallons) == pytest.approx(limits | {"cal:density of water": -9.9983}, rel=1e-3)
    swapped = known({**form, "gross": "5829 lb", "tare": "10000 lb"}, "L")
    assert why(swapped) == ("gross 5,829 lb is below tare 10,000 lb", "not known")


def test_a_scale_in_kilograms_prints_what_was_read() -> None:
    """520 kg × 2.2046226 lb/kg / 8.3417 lb/gal = 137.43 gal; 10 kg at each end is 22.046 lb, 2.643 gal."""
    form = {"method": "weight", "scale": "kilo scale", "gross": "9000 kg", "tare": "8480 kg"}
    gallons, litres = known(form), known(form, "L")
    assert volume(gallons).best == Decimal("137.43") and volume(litres).best == Decimal("520.23")
    line = "(9,000 - 8,480) kg × 2.2046226 lb/kg / 8.3417 lb/gal = 137.43 gal"
    assert gallons.how.formula.startswith(line) and litres.how.formula.startswith(line)
    limits = {"res:night/4.gross": 2.6429, "res:night/4.tare": -2.6429, "cal:kilo scale": 0.13743}
    assert half_widths(gallons) == pytest.approx(limits | {"cal:density of water": -2.7480}, rel=1e-3)


@pytest.mark.parametrize(
    ("form", "line"),
    [
        ({"method": "weight", "scale": "scale", "gross": "9000 kg", "tare": "18000 lb"},
         "(19,841.6035966 - 18,000) lb / 8.3417 lb/gal = 220.77 gal"),
        ({"method": "time", "flow": "bucket", "minutes": "1000 s"}, "5 gal/min × 16.6666667 min = 83.33 gal"),
        ({"method": "time", "flow": "metric bucket", "minutes": "10 min"}, "4.8079314 gal/min × 10 min = 48.08 gal"),
        ({"method": "count", "vessel": "metric jug", "times": "7"}, "7 × 5.283441 gal = 36.98 gal"),
    ],
)  # fmt: skip
def test_a_converted_figure_is_printed_with_the_digits_of_a_pocket_calculator(form: Any, line: str) -> None:
    """18.2 L/min and 20 L are 4.8079314 gal/min and 5.283441 gal: seven decimals, as the factor of a meter has."""
    assert known(form).how.formula.startswith(line)


def test_a_meter_without_stated_accuracy_has_no_plus_minus() -> None:
    """10 cubic feet of 7.4805 gal."""
    found = known({"method": "meter", "meter": "bare meter", "start": "110", "end": "120"})
    assert (volume(found).best, volume(found).expanded()) == (Decimal("74.81"), None)
    assert known("~450 gal").how.method == "declared" and volume(known("~450 gal")).best == 450


def test_a_scale_without_a_stated_step_has_no_plus_minus() -> None:
    """4,171 lb / 8.3417 lb/gal = 500.02 gal; how near either look came is on no register, so there is no ±."""
    found = known({"method": "weight", "scale": "bare scale", "gross": "10000 lb", "tare": "5829 lb"})
    assert (volume(found).best, volume(found).expanded()) == (Decimal("500.02"), None)


@pytest.mark.parametrize(
    ("new", "of_new"), [({}, 40), ({"new_meter": "bare meter"}, 40 * 1728 / 231)], ids=["the same", "another"]
)
def test_a_meter_that_was_changed_counts_in_two_parts(new: Mapping[str, str], of_new: float) -> None:
    """110 to 150 on the old one and 0 to 40 on the new one, each by its own unit: 80, or 40 + 40 cubic feet.

    Without a name the new one is of the old one's kind. One with no stated accuracy leaves the sum without ±.
    """
    form = {"method": "meter", "meter": "meter", "start": "110", "end": "40", "old_end": "150", "new_start": "0", **new}
    found = known(form)
    assert float(volume(found).best or 0) == pytest.approx(40 + of_new, abs=0.005)
    assert (volume(found).expanded() is None) == bool(new)


def test_a_meter_that_ran_backwards_is_out_of_order() -> None:
    """A register that is not known to roll over cannot show less; the problem is kept with its line."""
    made = gauges()
    found = made.known({"method": "meter", "meter": "bare meter", "start": "120", "end": "110"}, AT, WHO, what="used")
    assert isinstance(found.figure, Unknown)
    ((line, problem),) = made.problems
    assert line == AT and problem.what == found.figure.reason


# ---- what each method says when it cannot ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("form", "reason", "kind"),
    [
        ({"method": "mark", "tank": "box", "before": NOT_READ, "after": "2 in"}, "captured: before was not read",
         "not read"),
        ({"method": "mark", "tank": "sack", "before": "empty", "after": "2 in"},
         "no shape of sack on its register turns 2 in into a volume", "not recorded yet"),
        ({"method": "mark", "tank": "box", "before": "empty", "after": "31 in"}, None, "not known"),
        ({"method": "mark", "tank": "sack", "before": "empty", "after": "full"},
         "the capacity of sack is not on its register", "not recorded yet"),
        ({"method": "fills", "tank": "sack", "times": "2"}, "the capacity of sack is not on its register",
         "not recorded yet"),
        ({"method": "fills", "tank": "bag", "times": "2"}, "the capacity of bag is a range", "not known"),
        ({"method": "time", "flow": "no flow", "minutes": "9 min"}, "no flow of no flow is on its register",
         "not recorded yet"),
        ({"method": "time", "flow": "guess", "minutes": "9 min"}, "the flow of guess is a range", "not known"),
        ({"method": "time", "flow": "bucket", "minutes": NOT_READ}, "captured: minutes was not read", "not read"),
        ({"method": "count", "vessel": "pail", "times": "9"}, "no size of pail is on its register", "not recorded yet"),
        ({"method": "count", "vessel": "any jug", "times": "9"}, "the size of any jug is a range", "not known"),
        ({"method": "meter", "meter": "meter", "start": "1", "end": NOT_READ}, "captured: end was not read",
         "not read"),
        (NOT_READ, "captured was not read", "not read"),
        (None, None, "not recorded yet"),
    ],
)  # fmt: skip
def test_what_is_lacking_is_named_and_nothing_becomes_zero(form: Any, reason: str | None, kind: str) -> None:
    """The reason says which register or reading; the kind says whether anybody can still tell."""
    said, what = why(known(form))
    assert what == kind
    assert reason is None or said == reason


def test_an_area_is_kept_in_square_feet_and_may_be_unknown() -> None:
    """10 square metres are 107.64 square feet."""
    found = gauges().area("10 m2")
    assert isinstance(found, Volume) and found.best is not None
    assert round(found.best, 2) == Decimal("107.64")
    assert isinstance(gauges().area(NOT_READ), Unknown)


def test_a_level_that_was_not_read_is_no_level() -> None:
    """Nor is one that nobody recorded."""
    assert gauges().level(None, NOT_READ, "k", AT)[0] == Unknown("the tank level was not read", "not read")
    found, _ = gauges().level(None, stored("12 in"), "k", AT)
    assert found == Unknown("no shape of the tank on its register turns 12 in into a volume", "not recorded yet")


def test_every_shape_of_the_register_has_its_sizes_its_height_and_its_class() -> None:
    """Each size is a field of a tank and an argument of the class; a shape that was added in one place is told here."""
    named = {choice.value for choice in table.SHAPES} - {"not known"}
    assert set(table.SIZES_OF_SHAPE) == set(table.HEIGHT_OF_SHAPE) == set(SHAPES) == named
    for shape, sizes in table.SIZES_OF_SHAPE.items():
        for size in sizes:
            assert table.field("tank", size).unit == "in"
        made = SHAPES[shape](**{size: Decimal(10) for size in sizes})
        assert made.highest == getattr(made, table.HEIGHT_OF_SHAPE[shape])
