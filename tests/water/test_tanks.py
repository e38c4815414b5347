"""Levels to volumes: published tables, a general library, and the laws of symmetric tanks."""

from __future__ import annotations

import decimal
import math
from decimal import Decimal

import pytest
from fluids import TANK
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.records.problem import Problem
from compliance.water.tanks import (
    CUBIC_INCHES_PER_GALLON,
    PI,
    Head,
    HorizontalCylinder,
    Rectangle,
    Shape,
    StrapTable,
    UprightCylinder,
    arctangent,
    capacity,
    level_limit,
    level_reading,
    level_to_volume,
    shape_problems,
)
from compliance.water.volume import Volume

D = Decimal
SIZES = st.decimals(min_value=1, max_value=400, places=2)
THOUSANDTHS = st.integers(0, 1000).map(lambda n: D(n).scaleb(-3))
HEADS: tuple[Head, ...] = ("flat", "conical", "ellipsoidal")


def gallons(shape: Shape, h: str | int) -> float:
    volume = level_to_volume(shape, D(h))
    assert isinstance(volume, Decimal)
    return float(volume)


def lying(length: str | int, diameter: str | int, head: Head = "flat", depth: str | int = 0) -> HorizontalCylinder:
    return HorizontalCylinder(D(length), D(diameter), head, D(depth))


# --- published ---------------------------------------------------------------------------------------------


def test_the_example_of_machinerys_handbook_is_reproduced() -> None:
    """31st ed. p. 74 (check-values 2.1): 20 ft x 6 ft, full 'rounded' 4230 gal, half 2115; computed to 3 decimals."""
    tank = lying(240, 72)
    assert gallons(tank, 72) == pytest.approx(4230.134, abs=0.0005)
    assert gallons(tank, 36) == pytest.approx(2115.067, abs=0.0005)
    assert abs(gallons(tank, 72) - 4230) < 0.5 and abs(gallons(tank, 36) - 2115) < 0.5


@pytest.mark.parametrize(
    ("dip", "chart"),
    [
        *((1, 18.0), (2, 50.7), (3, 92.9), (4, 142.5), (6, 260.1), (7, 326.7), (9, 473.2), (10, 552.3)),
        *((16, 1095.0), (24, 1954.2), (96, 9995.7)),
    ],
)
def test_a_published_strapping_chart_is_reproduced_to_a_tenth_of_a_gallon(dip: int, chart: float) -> None:
    """check-values 2.1, example 2: 319 in x 96 in."""
    assert gallons(lying(319, 96), dip) == pytest.approx(chart, abs=0.051)


@pytest.mark.parametrize(
    ("level", "fraction"),
    [
        *((".05", 0.018693), (".10", 0.052044), (".15", 0.094060), (".20", 0.142378), (".25", 0.195501)),
        *((".30", 0.252316), (".35", 0.311919), (".40", 0.373530), (".45", 0.436444), (".50", 0.500000)),
        *((".55", 0.563556), (".60", 0.626470), (".65", 0.688081), (".70", 0.747684), (".75", 0.804499)),
        *((".80", 0.857622), (".85", 0.905940), (".90", 0.947956), (".95", 0.981307), ("1", 1.0)),
    ],
)
def test_the_fraction_table_of_a_lying_cylinder_is_reproduced(level: str, fraction: float) -> None:
    """check-values 2.1, to its six digits."""
    tank = lying(1, 1)
    assert gallons(tank, level) / gallons(tank, 1) == pytest.approx(fraction, abs=6e-7)


@pytest.mark.parametrize(
    ("fraction", "level"),
    [
        *((0.1, ".156475587"), (0.25, ".298013623"), (1 / 3, ".367533957")),
        *((0.75, ".701986377"), (0.9, ".843524413")),
    ],
)
def test_the_levels_of_round_fractions_give_them_back(fraction: float, level: str) -> None:
    """check-values 2.1, the inverse table."""
    tank = lying(1, 1)
    assert gallons(tank, level) / gallons(tank, 1) == pytest.approx(fraction, abs=2e-9)


@pytest.mark.parametrize(
    ("head", "depth", "volumes"),
    [
        ("flat", 0, (1805.1882879544, 3093.2855665526, 5162.8929737767, 6186.5711331055)),
        ("conical", 42, (2041.1923581273, 3648.4906682417, 6180.5407739058, 7296.9813364835)),
        ("ellipsoidal", 42, (2380.9565415578, 4203.6957699307, 7103.4452359214, 8407.3915398614)),
    ],
)
def test_published_volumes_with_heads_are_reproduced(head: Head, depth: int, volumes: tuple[float, ...]) -> None:
    """check-values 2.2: D 108, L 156, a 42 in at 36, 54, 84 and 108 in."""
    tank = lying(156, 108, head, depth)
    for h, expected in zip((36, 54, 84, 108), volumes, strict=True):
        assert gallons(tank, h) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("head", "depth", "volumes"),
    [
        ("flat", 0, (12.6277, 62.0247, 158.6300, 255.2354, 317.2601)),
        ("ellipsoidal", 9, (13.6681, 70.2867, 185.0684, 299.8501, 370.1367)),
        ("ellipsoidal", 18, (14.7085, 78.5487, 211.5067, 344.4648, 423.0134)),
        ("conical", 9, (12.8345, 64.9347, 171.8492, 278.7637, 343.6984)),
    ],
)
def test_a_tank_of_truck_size_is_reproduced(head: Head, depth: int, volumes: tuple[float, ...]) -> None:
    """check-values 2.2: D 36, L 72 in at 3, 9, 18, 27 and 36 in; a half sphere is the ellipsoid of depth D / 2."""
    tank = lying(72, 36, head, depth)
    for h, expected in zip((3, 9, 18, 27, 36), volumes, strict=True):
        assert gallons(tank, h) == pytest.approx(expected, abs=6e-5)


def test_the_head_contributions_of_the_published_example_are_reproduced() -> None:
    """check-values 2.2: at h = 84, cone 508.8239 and ellipsoid 970.27613 gal a head; 1940.55 for the pair."""
    flat = gallons(lying(156, 108), 84)
    assert (gallons(lying(156, 108, "conical", 42), 84) - flat) / 2 == pytest.approx(508.8239, abs=5e-5)
    pair = gallons(lying(156, 108, "ellipsoidal", 42), 84) - flat
    assert pair / 2 == pytest.approx(970.27613, abs=5e-6)
    assert pair == pytest.approx(1940.55, abs=0.005)


def test_full_heads_have_their_published_share_of_the_cube() -> None:
    """check-values 2.2, single head over D cubed: 2:1 ellipsoid pi / 24, half sphere pi / 12."""
    for depth, share in ((D("0.25"), 0.130899694), (D("0.5"), 0.261799388)):
        flat = HorizontalCylinder(D(1), D(1), per_unit=D(1))
        tank = HorizontalCylinder(D(1), D(1), "ellipsoidal", depth, per_unit=D(1))
        assert (float(capacity(tank)) - float(capacity(flat))) / 2 == pytest.approx(share, abs=5e-10)


def test_a_box_is_length_times_width_times_level() -> None:
    """check-values 2.3: 24 x 12 x 8 in is 2304 cubic inches, 9.974025974 gal."""
    box = Rectangle(D(24), D(12), D(8))
    assert gallons(box, 8) == pytest.approx(9.974025974, abs=5e-10)
    assert gallons(box, 4) == pytest.approx(9.974025974 / 2, abs=5e-10)
    assert capacity(box) == box.volume(D(8))


def test_an_upright_cylinder_is_its_bottom_times_the_level() -> None:
    """55 in across and 60 in deep, by the school formula."""
    assert gallons(UprightCylinder(D(55), D(60)), 42) == pytest.approx(math.pi * 27.5**2 * 42 / 231, rel=1e-14)


def test_other_units_need_only_another_divisor() -> None:
    """A box of 100 x 50 x 40 cm is 200 L at 1000 cubic centimetres a litre."""
    assert capacity(Rectangle(D(100), D(50), D(40), per_unit=D(1000))) == 200
    assert CUBIC_INCHES_PER_GALLON == 231


# --- a general library ---------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(SIZES, SIZES, THOUSANDTHS, st.sampled_from(HEADS), st.floats(0.05, 0.5))
def test_lying_tanks_agree_with_a_general_library(
    length: Decimal, diameter: Decimal, part: Decimal, head: Head, depth_share: float
) -> None:
    """Random sizes, heads and levels against `fluids.TANK`."""
    h = diameter * part
    depth = (diameter * D(str(depth_share))).quantize(D("0.001"))
    ours = gallons(HorizontalCylinder(length, diameter, head, depth), str(h))
    a = None if head == "flat" else float(depth)
    kind = None if head == "flat" else head
    theirs = TANK(D=float(diameter), L=float(length), horizontal=True, sideA=kind, sideB=kind, sideA_a=a, sideB_a=a)
    assert ours * 231 == pytest.approx(theirs.V_from_h(float(h)), rel=1e-9, abs=1e-9 * theirs.V_total)


# --- laws ------------------------------------------------------------------------------------------------------


@settings(max_examples=100)
@given(SIZES, SIZES, THOUSANDTHS, st.sampled_from(HEADS))
def test_what_is_below_a_level_and_what_is_above_it_fill_the_tank(
    length: Decimal, diameter: Decimal, part: Decimal, head: Head
) -> None:
    """V(h) + V(D - h) = V(D), and V(D / 2) = V(D) / 2 (check-values 2.3)."""
    tank = HorizontalCylinder(length, diameter, head, D(5))
    h = diameter * part
    whole = capacity(tank)
    assert abs(tank.volume(h) + tank.volume(diameter - h) - whole) < whole * D("1e-27")
    assert abs(tank.volume(diameter / 2) * 2 - whole) < whole * D("1e-27")


SHAPES: tuple[Shape, ...] = (
    Rectangle(D(48), D(36), D(30)),
    UprightCylinder(D(44), D(50)),
    lying(72, 36),
    lying(72, 36, "conical", 9),
    lying(72, 36, "ellipsoidal", 9),
    StrapTable(((D(0), D(5)), (D(10), D(105)), (D(12), D(105)), (D(30), D(225)))),
)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
@given(THOUSANDTHS, THOUSANDTHS)
def test_more_level_is_never_less_water(shape: Shape, one: Decimal, other: Decimal) -> None:
    """dV/dh >= 0 everywhere, and empty is empty."""
    low, high = sorted((shape.highest * one, shape.highest * other))
    assert shape.volume(low) <= shape.volume(high)
    assert shape.slope(low) >= 0
    assert shape.lowest == 0 and shape.volume(D(0)) == (5 if isinstance(shape, StrapTable) else 0)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
@pytest.mark.parametrize("h", [D(3), D("9.5"), D(18), D("27.25")])
def test_the_slope_is_the_rate_at_which_the_volume_grows(shape: Shape, h: Decimal) -> None:
    """Against a central difference in ten-thousandths of an inch."""
    step = D("0.0001")
    rate = (shape.volume(h + step) - shape.volume(h - step)) / (2 * step)
    assert float(shape.slope(h)) == pytest.approx(float(rate), rel=1e-7)


@pytest.mark.parametrize("head", HEADS)
def test_the_slope_of_a_lying_tank_is_zero_at_both_ends_and_widest_half_full(head: Head) -> None:
    """The surface of the water closes at the bottom and at the top."""
    tank = lying(72, 36, head, 9)
    assert tank.slope(D(0)) == tank.slope(D(36)) == 0
    assert tank.slope(D(18)) > tank.slope(D("17.9")) == tank.slope(D("18.1"))


@given(st.integers(0, 10**6))
def test_the_arc_tangent_agrees_with_the_mathematics_library(millionths: int) -> None:
    """And four times that of one is pi, to 47 digits."""
    x = D(millionths) / D(10**6)
    assert float(arctangent(x)) == pytest.approx(math.atan(float(x)), rel=1e-15, abs=1e-300)
    with decimal.localcontext(prec=60):
        assert abs(4 * arctangent(D(1)) - PI) < D("1e-47")


def test_the_ambient_decimal_context_is_never_used() -> None:
    """A caller with one digit of precision and traps gets the same volumes and limits."""

    def work() -> list[object]:
        found: list[object] = [level_limit(shape, D("9.37"), D("0.25")) for shape in SHAPES]
        found += [level_to_volume(shape, D("21.13")) for shape in SHAPES]
        found += [capacity(shape) for shape in SHAPES]
        return found

    expected = work()
    with decimal.localcontext(decimal.Context(prec=1, traps=[decimal.Inexact, decimal.Rounded])):
        assert work() == expected


# --- strapping tables ------------------------------------------------------------------------------------------


def test_a_strapping_table_is_read_along_straight_lines() -> None:
    """A table that starts above the bottom keeps its heel, and its rows come back exactly."""
    table = StrapTable(((D(2), D(15)), (D(5), D(30)), (D(6), D(31)), (D(9), D(81))))
    assert [level_to_volume(table, D(h)) for h in (2, 5, 6, 9)] == [15, 30, 31, 81]
    assert level_to_volume(table, D("3.5")) == D("22.5")
    assert table.slope(D(5)) == 5 and table.slope(D("5.5")) == 1
    assert isinstance(level_to_volume(table, D(1)), Problem)


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        (Rectangle(D(0), D(-1), D(8)), ["the length is 0", "the width is -1"]),
        (UprightCylinder(D(20), D(0)), ["the depth is 0"]),
        (lying(72, 0), ["the diameter is 0"]),
        (lying(72, 36, "conical", 0), ["the depth of the heads is 0"]),
        (StrapTable(((D(0), D(0)),)), ["a strapping table has at least two rows"]),
        (
            StrapTable(((D(0), D(0)), (D(5), D(9)), (D(5), D(12)), (D(7), D(11)))),
            [
                "the strapping table does not rise from 5 to 5",
                "the strapping table does not rise from 5 to 7",
            ],
        ),
        (lying(72, 36, "ellipsoidal", 9), []),
        (StrapTable(((D(0), D(0)), (D(5), D(9)), (D(6), D(9)))), []),
    ],
)
def test_an_unusable_shape_says_every_fault(shape: Shape, said: list[str]) -> None:
    """Problems are values, all of them at once; a level of such a tank is the first of them."""
    problems = shape_problems(shape, "tank of rig Heron")
    assert [problem.what for problem in problems] == said
    if said:
        assert level_to_volume(shape, D(0), "tank of rig Heron") == problems[0]
        assert problems[0].where == "tank of rig Heron"


def test_a_level_outside_the_tank_is_a_problem_that_names_its_ends() -> None:
    """Above the brim or below the bottom: the mark or the dimensions are wrong."""
    for h in ("36.01", "-0.01"):
        problem = level_to_volume(lying(72, 36), D(h), "run 12, line 4")
        assert isinstance(problem, Problem)
        assert problem.what == f"a level of {h} lies outside the tank, which goes from 0 to 36"
        assert problem.where == "run 12, line 4"


# --- doubts ----------------------------------------------------------------------------------------------------


def test_a_mark_known_to_a_quarter_inch_has_the_volume_of_a_quarter_inch_as_its_limit() -> None:
    """Half full, 72 x 36 in: 0.25 in x 72 x 36 / 231 = 2.805 gal, and 1 % of the volume for the dimensions."""
    look = level_reading(
        lying(72, 36),
        D(18),
        resolution_key="res:7",
        half_width=D("0.25"),
        calibration_key="cal:tank",
        relative_limit=D("0.01"),
    )
    assert isinstance(look, Volume)
    assert float(look.best or 0) == pytest.approx(158.6300, abs=5e-5)
    parts = {key: float(part) * math.sqrt(3) for key, part in look.parts.items()}
    assert parts == pytest.approx({"res:7": 0.25 * 72 * 36 / 231, "cal:tank": 1.586300}, abs=1e-5)


def test_at_the_very_bottom_the_doubt_is_what_the_step_would_hold() -> None:
    """The surface is zero there, so that the slope alone would say there is no doubt."""
    tank = lying(72, 36)
    assert tank.slope(D(0)) == 0
    assert level_limit(tank, D(0), D("0.25")) == tank.volume(D("0.25")) > 0
    assert level_limit(tank, D(36), D("0.25")) == pytest.approx(tank.volume(D("0.25")), abs=D("1e-25"))


def test_accuracies_that_nobody_stated_stay_unstated() -> None:
    """Two levels of one tank still share the tank."""
    look = level_reading(
        lying(72, 36),
        D(9),
        resolution_key="res:7",
        half_width=None,
        calibration_key="cal:tank",
        relative_limit=None,
    )
    assert isinstance(look, Volume)
    assert look.unstated == {"res:7", "cal:tank"} and not look.parts


def test_a_level_reading_outside_the_tank_is_a_problem() -> None:
    """The same one as for the bare level."""
    look = level_reading(
        lying(72, 36),
        D(40),
        resolution_key="res:7",
        half_width=D("0.25"),
        calibration_key="cal:tank",
        relative_limit=None,
        where="run 12, line 4",
    )
    assert look == level_to_volume(lying(72, 36), D(40), "run 12, line 4")
