"""On what basis an interval is divided among its stops, and what a draw in between shows of it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest

from compliance.water.results import Night, StopFacts
from compliance.water.volume import Unknown
from tests.reports.making import book

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [{"name": "recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"}],
    "instrument": [{"name": "jug", "kind": "vessel", "size": "5 gal"}],
}
EMPTY = {"line": "reading", "of": "recovery", "shows": "empty"}


def water(*lines: Mapping[str, Any], **run: Any) -> Night:
    given = {"id": "night", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard"}
    return book(REGISTERS, {**given, "start": "20:00", "line": list(lines), **run}).night


def stops(night: Night) -> tuple[StopFacts, ...]:
    (run,) = night.runs.values()
    return run.stops


def stop(site: str, **fields: Any) -> dict[str, Any]:
    return {"line": "stop", "site": site, **fields}


def jugs(times: int) -> dict[str, str]:
    return {"method": "count", "vessel": "jug", "times": str(times)}


def reading(gallons: int) -> dict[str, str]:
    return {"line": "reading", "of": "recovery", "shows": f"{gallons} gal"}


def out(gallons: int, **fields: Any) -> dict[str, Any]:
    return {"line": "hand over", "place": "Station", "tank": "recovery", "amount": f"{gallons} gal", **fields}


def captured(night: Night) -> list[Decimal | str | None]:
    figures = [one.captured.figure for one in stops(night)]
    return [figure.kind if isinstance(figure, Unknown) else figure.best for figure in figures]


BY_USE = [{"used": jugs(10)}, {"used": jugs(30)}]
BY_AREA = [{"area": "1000 ft2"}, {"area": "2000 ft2"}]
BY_TIME = [{"arrived": "20:10", "left": "20:50"}, {"arrived": "21:00", "left": "22:20"}]
STATED = [{"used": "50 gal"}, {"used": "190 gal"}]


@pytest.mark.parametrize(
    ("known", "basis", "shares"),
    [
        ([BY_USE, BY_AREA, BY_TIME], "metered use", [60, 180]),  # 50 and 150 of 240: one and three parts of four
        ([BY_AREA, BY_TIME], "area", [80, 160]),
        ([BY_TIME], "time", [80, 160]),  # 40 and 80 min
        ([STATED, BY_AREA], "area", [80, 160]),  # what somebody said is no measured use
        ([STATED], "equal parts", [120, 120]),
        ([], "equal parts", [120, 120]),
    ],
)
def test_the_first_basis_that_every_stop_has_divides(known: list[Any], basis: str, shares: list[int]) -> None:
    """240 in one look, two stops: by measured use, else by area, else by time, else equally."""
    first, second = ({key: value for basis in known for key, value in basis[i].items()} for i in (0, 1))
    night = water(EMPTY, stop("Quay", **first), stop("Arcade", **second), reading(240))
    assert [one.captured_basis for one in stops(night)] == [basis, basis]
    assert captured(night) == shares


@pytest.mark.parametrize("lacking", [0, 1])
def test_a_basis_that_one_stop_lacks_is_none_for_the_others(lacking: int) -> None:
    """One area of two: no weight is put in its place, and both are divided by their time."""
    fields = [{**area, **time} for area, time in zip(BY_AREA, BY_TIME, strict=True)]
    del fields[lacking]["area"]
    night = water(EMPTY, stop("Quay", **fields[0]), stop("Arcade", **fields[1]), reading(240))
    assert [one.captured_basis for one in stops(night)] == ["time", "time"]


def test_a_hundredth_that_does_not_divide_goes_to_the_earlier_stop() -> None:
    """100.00 among three: 33.34, 33.33 and 33.33, which are 100.00 again."""
    night = water(EMPTY, stop("Quay"), stop("Arcade"), stop("Garage"), reading(100))
    assert captured(night) == [Decimal("33.34"), Decimal("33.33"), Decimal("33.33")]


def test_a_stop_on_two_lines_brings_its_share_line_by_line() -> None:
    """Quay 60, Arcade 100, 50 drawn, Quay 40 more, 150 left: 200 were captured, by use 100 of each.

    At the draw 60 of Quay and 100 of Arcade were in the tank: 50 × 60 / 160 = 18.75, and 31.25 of Arcade. With all of
    Quay before the draw it would have been 25 and 25.
    """
    night = water(
        EMPTY, stop("Quay", used=jugs(12)), stop("Arcade", used=jugs(20)), out(50),
        stop("Quay", used=jugs(8), continued="yes"), reading(150),
    )  # fmt: skip
    assert captured(night) == [100, 100]
    gave = {one.site: [p.amount for p in one.pieces or () if p.way == "handed over"] for one in stops(night)}
    assert gave == {"Quay": [1875], "Arcade": [3125]}


def test_an_area_that_was_said_on_the_first_line_of_a_stop_counts_for_all_of_it() -> None:
    """On its second line the question does not arise, which takes the area of neither stop away: 1,000 to 3,000."""
    night = water(
        EMPTY, stop("Quay", area="1000 ft2"), stop("Arcade", area="3000 ft2"),
        stop("Quay", area="not applicable", continued="yes"), reading(200),
    )  # fmt: skip
    assert captured(night) == [50, 150]


def test_a_stop_alone_on_two_lines_brings_its_share_line_by_line_too() -> None:
    """Arcade 100 are in the tank; then Quay, 50 drawn, Quay again, 250 left: 200 are Quay's, 120 and 80 by use.

    At the draw 100 of Arcade and 120 of Quay were in the tank: 50 × 120 / 220 = 27.27. With all of Quay before the draw
    it would have been 33.33.
    """
    night = water(
        EMPTY, stop("Arcade"), reading(100), stop("Quay", used=jugs(12)), out(50),
        stop("Quay", used=jugs(8), continued="yes"), reading(250),
    )  # fmt: skip
    assert captured(night) == [100, 200]
    gave = {one.site: [p.amount for p in one.pieces or () if p.way == "handed over"] for one in stops(night)}
    assert gave == {"Arcade": [2273], "Quay": [2727]}


def test_a_draw_that_took_more_than_the_basis_gives_raises_the_stops_before_it() -> None:
    """By area 50 and 150 of 200; 80 were drawn before the second stop began, so the first brought 80 and it 120."""
    night = water(EMPTY, stop("Quay", area="1000 ft2"), out(80), stop("Arcade", area="3000 ft2"), reading(120))
    assert captured(night) == [80, 120]
    assert [[p.amount for p in one.pieces or ()] for one in stops(night)] == [[8000], [12000]]


def test_a_dump_that_nobody_read_in_the_middle_of_a_stop_leaves_both_sides_undivided() -> None:
    """70 came after it, of Arcade and of the rest of Quay; what of it is Quay's hangs on what is unknown."""
    night = water(
        EMPTY, stop("Quay", area="1000 ft2"),
        {"line": "hand over", "place": "Station", "tank": "recovery", "amount": "not read", "tank_after": "empty"},
        stop("Arcade", area="1000 ft2"), stop("Quay", continued="yes"), reading(70),
    )  # fmt: skip
    assert [isinstance(one.captured.figure, Unknown) for one in stops(night)] == [True, True]
    assert [one.pieces for one in stops(night)] == [None, None]
