"""What single lines of a run do to the tanks: whose water moves, and where it is found again."""

from __future__ import annotations

from typing import Any

from compliance.water.results import UNNAMED, Night
from compliance.water.volume import Unknown, Volume
from tests.reports.making import book

BUSINESS = {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"}
TANKS = [
    {"name": "recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"},
    {"name": "holding", "rig": "Big Blue", "role": "holding", "capacity": "900 gal"},
    {"name": "fresh", "rig": "Big Blue", "role": "fresh", "capacity": "400 gal"},
]
EMPTY = {"line": "reading", "of": "recovery", "shows": "empty"}


def water(*lines: dict[str, Any], tanks: list[dict[str, Any]] = TANKS, **run: Any) -> Night:
    """One night of one rig, worked out."""
    registers = {"business": BUSINESS, "rig": [{"name": "Big Blue"}], "tank": tanks}
    if not tanks:
        del registers["tank"]
    given = {"id": "night", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard", **run}
    return book(registers, {**given, "line": list(lines)}).night


def stop(**fields: Any) -> dict[str, Any]:
    return {"line": "stop", "site": "Arcade", **fields}


def reading(shows: str, of: str = "recovery") -> dict[str, Any]:
    return {"line": "reading", "of": of, "shows": shows}


def amount(figure: Any) -> Any:
    """The number of a figure; of an answer, its kind."""
    return figure.kind if isinstance(figure, Unknown) else figure.best


def test_a_rig_without_a_tank_on_the_register_has_one_whatever_a_line_calls_it() -> None:
    """'poly tank' and 'the white one' are the same tank: 120 in all, of which 80 left and 40 stayed."""
    night = water(
        reading("empty", "poly tank"), stop(), reading("120 gal", "the white one"),
        {"line": "hand over", "place": "Station", "tank": "poly tank", "amount": "80 gal"}, tanks=[],
    )  # fmt: skip
    (load,) = night.loads.values()
    assert (amount(load.captured.figure), amount(load.handed_over), amount(load.closing)) == (120, 80, 40)


def test_a_look_into_the_fresh_tank_is_no_look_at_wash_water() -> None:
    """350 of fresh water stand aboard; the load is the 90 of the recovery tank, and no load is made of the 350."""
    night = water(EMPTY, reading("350 gal", "fresh"), stop(), reading("90 gal"), reading("260 gal", "fresh"))
    (load,) = night.loads.values()
    assert (amount(load.captured.figure), amount(load.closing)) == (90, 90)


def test_fresh_water_let_into_the_recovery_tank_is_nobodys_wash_water() -> None:
    """130 in the tank, 30 of them from the fresh tank: 100 were captured, and 30 are foreign."""
    night = water(
        EMPTY, stop(), {"line": "move", "tank": "fresh", "to": "recovery", "amount": "30 gal"}, reading("130 gal")
    )
    (load,) = night.loads.values()
    assert (amount(load.captured.figure), amount(load.foreign)) == (100, 30)


def test_recovered_water_moved_into_the_fresh_tank_is_used_again() -> None:
    """100 captured, 40 of them back into the fresh tank: 60 are left, and 40 were used again."""
    night = water(
        EMPTY, stop(), reading("100 gal"), {"line": "move", "tank": "recovery", "to": "fresh", "amount": "40 gal"},
        reading("60 gal"),
    )  # fmt: skip
    (load,) = night.loads.values()
    assert (amount(load.captured.figure), amount(load.used_again), amount(load.closing)) == (100, 40, 60)
    assert amount(load.not_explained) == 0


def test_water_moved_from_a_tank_to_itself_went_nowhere() -> None:
    """The figures are those of the night without the line; were it a draw, its 40 would be captured twice."""
    lines = (EMPTY, stop(), reading("100 gal"))
    nowhere = {"line": "move", "tank": "recovery", "to": "recovery", "amount": "40 gal"}
    (with_it,) = water(*lines[:2], nowhere, lines[2]).loads.values()
    (without,) = water(*lines).loads.values()
    assert amount(with_it.captured.figure) == amount(without.captured.figure) == 100
    assert (with_it.draws, amount(with_it.moved_in)) == ((), 0)


def test_a_move_that_nobody_read_is_told_by_the_tank_that_received_it() -> None:
    """The holding tank rose from nothing to 70 with nothing else put in: so 70 left the recovery tank.

    That tank has 30 now, so 30 + 70 = 100 were captured. Both loads carry the same 70.
    """
    night = water(
        EMPTY, reading("empty", "holding"), stop(),
        {"line": "move", "tank": "recovery", "to": "holding", "amount": "not read"},
        reading("30 gal"), reading("70 gal", "holding"),
    )  # fmt: skip
    recovery, holding = sorted(night.loads.values(), key=lambda load: load.tank, reverse=True)
    assert (amount(recovery.captured.figure), amount(recovery.otherwise_out)) == (100, 70)
    assert (amount(holding.moved_in), amount(holding.closing)) == (70, 70)
    (draw,) = recovery.draws
    assert isinstance(draw.known.figure, Volume) and draw.known.how.method == "levels"


def test_the_level_of_one_tank_cannot_tell_two_amounts() -> None:
    """Two moves into it that nobody read: 70 in all, and neither is known."""
    move = {"line": "move", "tank": "recovery", "to": "holding", "amount": "not read"}
    night = water(
        EMPTY, reading("empty", "holding"), stop(), move, move, reading("30 gal"), reading("70 gal", "holding")
    )
    recovery = next(load for load in night.loads.values() if load.draws)
    assert [amount(draw.known.figure) for draw in recovery.draws] == ["not read", "not read"]
    assert amount(recovery.captured.figure) == "not read"


def test_what_got_away_or_was_led_away_at_a_stop_that_was_not_worked_is_not_lost() -> None:
    """The pump was tried at the gate, 25 went to the lawn and 5 into the street: no wash, and water all the same."""
    night = water(
        stop(not_worked="pump would not prime"), {"line": "led away", "place": "lawn", "amount": "25 gal"},
        {"line": "escape", "what": "hose burst", "amount": "5 gal"},
    )  # fmt: skip
    (run,) = night.runs.values()
    assert (amount(run.led_away), amount(run.escaped)) == (25, 5)


def test_water_that_a_night_without_work_says_it_recovered_is_in_the_tank_and_nobodys() -> None:
    """30 said, no stop worked and no look at the tank: a load of 30 that no stop has. Of none said, no load."""
    locked = stop(not_worked="gate locked")
    night = water(locked, recovered="30 gal")
    (load,), (run,) = night.loads.values(), night.runs.values()
    assert load.contents == {UNNAMED: 3000}
    assert (amount(load.captured.figure), run.stops[0].pieces) == (0, ())
    for nothing in ({"recovered": "0 gal"}, {}):
        assert not water(locked, **nothing).loads
