"""Late, long aboard, out of order."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.rules.scene import Scene
from tests.rules.samples import base, found, outcome, scene, with_load, with_state

LOAD = "2026-09-14-big-blue.l1"


# ---- time-1 --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("received", "result"),
    [
        ("2026-09-18T02:30:00-06:00", "silent"),
        ("2026-09-18T02:30:01-06:00", "found: handed in on 2026-09-18, 3 days after the run"),
        ("2026-09-18T08:30:01Z", "found"),
        ("2026-09-20T02:30:00-06:00", "found: handed in on 2026-09-20, 5 days after the run"),
        ("2026-09-15", "cannot tell: the record has no time of receipt"),
    ],
)
def test_three_days_from_the_end_of_the_run(received: str, result: str) -> None:
    """The run ended at 02:30; the offset of either clock does not matter."""
    made = scene({})
    (run,) = made.state.runs
    late = type(run)(**{**vars(run), "received": received})
    assert outcome(with_state(made, runs=(late,)), "time-1").startswith(result)


@pytest.mark.parametrize(("handed_in", "result"), [("2026-09-18T00:00", "silent"), ("2026-09-18T00:01", "found")])
def test_without_an_end_the_day_counts_to_midnight(handed_in: str, result: str) -> None:
    """A run whose end nobody wrote down ended with its day, at the latest that can be held against nobody."""
    night = {"night": {"handed_in": f"{handed_in}-06:00"}, "without": ["end"]}
    assert outcome(scene(night), "time-1").startswith(result)


# ---- time-2 --------------------------------------------------------------------------------------------------


def aboard(today: str, *limits: dict[str, Any]) -> Scene:
    """The base night's water, never handed over."""
    return scene({"lines": base()["lines"][:3], "night": {"where": "aboard"}, "today": today, "limit": list(limits)})


@pytest.mark.parametrize(("today", "result"), [("2026-09-21", "silent"), ("2026-09-22", "found: water taken on 2026-")])
def test_without_a_limit_a_week_is_looked_at(today: str, result: str) -> None:
    """Seven days are the house's habit, and beyond them it is a question, never a fault."""
    made = aboard(today)
    assert outcome(made, "time-2").startswith(result)
    for finding in found(made, "time-2"):
        assert (finding.severity, finding.basis) == ("look at", "practice")
        assert finding.compared_with == "at most 7 days: no limit on file; common practice, no source"
        assert finding.seen == "water taken on 2026-09-14 is still aboard after 8 days"


def test_water_that_may_be_aboard_is_looked_at_as_such() -> None:
    """It was handed over unread, and nobody looked into the tank: that it is still aboard would be too much."""
    lines = [
        *base()["lines"][1:3],
        {"line": "hand over", "place": "Port Alder receiving station", "amount": "not read"},
    ]
    night = {"where": "see lines", "recovered": "not read"}
    made = scene({"lines": lines, "night": night, "today": "2026-09-22"})
    assert found(made, "time-2")[0].seen == "water taken on 2026-09-14 may still be aboard after 8 days"


@pytest.mark.parametrize(
    ("value", "whose", "result"),
    [("4 days", "local permit", "found"), ("6 days", "local permit", "silent"), ("96 h", "house policy", "found")],
)
def test_the_limit_on_file_governs(value: str, whose: str, result: str) -> None:
    """Beyond it the water is not met, on the word of whoever set it."""
    made = aboard("2026-09-20", {"name": "days aboard", "value": value, "whose": whose})
    assert outcome(made, "time-2").startswith(result)
    for finding in found(made, "time-2"):
        assert (finding.severity, finding.basis) == ("not met", whose)


def handed_over(at: str, **permission: str) -> dict[str, Any]:
    rows = [{"name": "SD-0417", **permission}]
    return {"line": {"4": {"at": at}}, "permission": rows, "night": {"end": at}}


@pytest.mark.parametrize(
    ("at", "result"),
    [("2026-09-18T21:00-06:00", "silent"), ("2026-09-18T21:30-06:00", "found: water taken on 2026-09-14 was handed")],
)
def test_the_permission_of_the_place_goes_first(at: str, result: str) -> None:
    """Four days to the minute, from arrival at the stop to the handover."""
    made = scene(handed_over(at, longest_aboard="4 days"))
    assert outcome(made, "time-2").startswith(result)
    for finding in found(made, "time-2"):
        assert finding.compared_with == "at most 4 days: 4 days, local permit, permission 'SD-0417'"
        assert [line.line for line in finding.lines] == ["2", "4"]


def test_a_permission_without_a_number_leaves_it_to_the_limit() -> None:
    """No figure in the permission, and the book's own limit is used."""
    limit = {"limit": [{"name": "days aboard", "value": "2 days", "whose": "house policy"}]}
    made = scene(handed_over("2026-09-18T21:30-06:00"), limit)
    assert found(made, "time-2")[0].basis == "house policy"
    bound = scene(handed_over("2026-09-18T21:30-06:00", longest_aboard=">=4 days"), limit)
    assert found(bound, "time-2")[0].basis == "house policy"


def test_where_only_days_are_known_days_are_counted() -> None:
    """Without an arrival, the day of the run stands for it; without a time of handover, its day."""
    untimed = {"without": ["2.arrived", "2.left", "4.at"]}
    limit = {"limit": [{"name": "days aboard", "value": "0 days", "whose": "house policy"}]}
    assert outcome(scene(limit, untimed), "time-2") == "silent"
    assert outcome(scene(limit, {"without": ["2.arrived", "2.left"]}), "time-2").startswith("found")


def test_the_oldest_water_counts() -> None:
    """Where the owners are known, the age is that of the oldest that still has a part."""
    second = {"date": "2026-09-18", "handed_in": "2026-09-19T06:40-06:00", "lines": base()["lines"][1:]}
    second["lines"][1]["shows"] = "30 in"
    first = {"lines": base()["lines"][:3], "night": {"where": "aboard"}, "nights": [second]}
    limit = {"limit": [{"name": "days aboard", "value": "3 days", "whose": "house policy"}]}
    made = scene(first, limit)
    (load,) = made.night.loads.values()
    assert outcome(made, "time-2").startswith("found: water taken on 2026-09-14 was handed over")
    (draw,) = load.draws
    younger = {"2026-09-14-big-blue.s1": 0, "2026-09-18-big-blue.s1": 42857}
    fresh = type(draw)(draw.way, draw.line, draw.load, draw.place, draw.known, younger)
    assert outcome(with_load(made, load.name, draws=(fresh,)), "time-2") == "silent"
    unknown = type(draw)(draw.way, draw.line, draw.load, draw.place, draw.known, None)
    assert outcome(with_load(made, load.name, draws=(unknown,)), "time-2").startswith("found")


def test_other_draws_are_no_handover() -> None:
    """Water used again, or moved, did not leave us; a load without any stop's water has no age."""
    again = {"line": "use again", "amount": "20 gal", "at": "23:58"}
    made = scene({"lines": [*base()["lines"][:3], again, base()["lines"][3]]})
    assert outcome(made, "time-2") == "silent"
    heel = scene(
        {"lines": [{**base()["lines"][0], "shows": "5 in"}], "night": {"where": "aboard", "cancelled": "rain"}}
    )
    assert outcome(heel, "time-2") == "does not apply"


# ---- time-3 --------------------------------------------------------------------------------------------------


def night(day: int, clock: str) -> str:
    return f"2026-09-{day}T{clock}-06:00"


@pytest.mark.parametrize(
    ("sample", "words"),
    [
        ({"night": {"end": night(14, "19:00")}, "without": ["2.left"]}, "the run ended"),
        (
            {"line": {"2": {"arrived": night(14, "19:50")}}},
            "stop 1 (2026-09-14 19:50) began before the run (2026-09-14 20:00)",
        ),
        ({"night": {"end": night(14, "23:00")}}, "stop 1 was left (2026-09-14 23:50) after the run ended"),
        ({"line": {"4": {"at": night(14, "20:30")}}}, "hand over (2026-09-14 20:30) before the stop above it"),
        (
            {"line": {"2": {"drain_list": [{"name": "inlet", "method": "mat", "on": night(14, "22:00"),
                                            "off": night(14, "21:30"), "seen": "none seen"}]}}},
            "the drain 'inlet' was opened (2026-09-14 21:30) before it was closed",
        ),
    ],
)  # fmt: skip
def test_each_contradiction_is_told(sample: dict[str, Any], words: str) -> None:
    """Both times are printed, and the line on which the later one stands is named."""
    (finding,) = found(scene(sample), "time-3")
    assert words in finding.seen


def test_a_stop_before_the_one_above_it() -> None:
    """The order of the lines is the order of the work."""
    stop = base()["lines"][1]
    earlier = {**stop, "site": "Fish Quay", "arrived": night(14, "20:30"), "left": night(14, "20:45")}
    untimed = {key: value for key, value in stop.items() if key not in ("arrived", "left")}
    made = scene({"lines": [stop, untimed, earlier], "night": {"where": "aboard"}})
    (finding,) = found(made, "time-3")
    assert finding.seen == "stop 3 (2026-09-14 20:30) began before the stop above it"
    assert [line.line for line in finding.lines] == ["3"]


def test_times_that_are_equal_or_unknown_are_in_order() -> None:
    """Arriving as the run starts is no contradiction, and what was not recorded contradicts nothing."""
    assert outcome(scene({"line": {"2": {"arrived": night(14, "20:00")}}}), "time-3") == "silent"
    assert outcome(scene({"without": ["start", "end", "2.arrived", "2.left", "4.at"]}), "time-3") == "silent"


def test_a_reading_is_not_bound_to_its_place() -> None:
    """Lines are merged by number, and a reading noted later is no contradiction."""
    assert outcome(scene({"line": {"3": {"at": night(14, "20:30")}}}), "time-3") == "silent"


# ---- time-4 --------------------------------------------------------------------------------------------------


def second(**more: Any) -> dict[str, Any]:
    """A second night of the rig."""
    return {"nights": [{"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00", **more}]}


def test_the_same_readings_twice_are_one_night_handed_in_twice() -> None:
    """Whatever the clock says; readings between which nothing went through tell nothing."""
    same = {"method": "meter", "meter": "SUPPLY meter", "start": "1000", "end": "1400"}
    (finding,) = found(scene(second(used=same)), "time-4")
    assert finding.about == "2026-09-15-big-blue"
    assert finding.seen == "2026-09-14-big-blue read the same meter from 1000 to 1400 too"
    still = {**same, "start": "1400"}
    assert found(scene(second(used=still), {"night": {"used": still}}), "time-4") == ()


def test_without_times_and_readings_nothing_can_overlap() -> None:
    """A stated amount on a night without hours is no sign of anything; hours of one night alone are none either."""
    bare = scene({"night": {"used": "400 gal"}, "without": ["start", "end"]})
    assert outcome(bare, "time-4").startswith("does not apply")
    unread = {"method": "meter", "meter": "supply meter", "start": "1000", "end": "not read"}
    assert outcome(scene({"night": {"used": unread}, "without": ["end"]}), "time-4").startswith("does not apply")
    assert found(scene(second(used="400 gal"), {"without": ["end"]}), "time-4") == ()


def test_an_outing_of_a_week_ago_is_over() -> None:
    """The same readings a week later are another slip, which water-9 or a look at the book will find."""
    same = {"method": "meter", "meter": "supply meter", "start": "1000", "end": "1400"}
    late = {"nights": [{"date": "2026-09-22", "handed_in": "2026-09-23T06:40-06:00", "used": same}]}
    assert found(scene(late), "time-4") == ()
