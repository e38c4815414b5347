"""Figures that do not sit together are said with their ±; whatever lies within it is not."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from compliance.rules.scene import Scene
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import Line
from compliance.water.volume import Figure, Volume
from tests.rules.figures import LOAD, UNREAD, D, about, known, ratio, stated
from tests.rules.samples import base, found, outcome, scene, with_load, with_run

# ---- water-1 -------------------------------------------------------------------------------------------------


def level(figure: Figure) -> Scene:
    made = scene({})
    interval = made.night.loads[LOAD].intervals[0]
    return with_load(made, LOAD, intervals=(replace(interval, level_after=figure),), draws=())


@pytest.mark.parametrize(
    ("figure", "result"),
    [
        (about("506"), "silent"),
        (about("506.01"), "found: aboard: 506 gal"),
        (about("512", "6"), "silent"),
        (about("512.1", "6"), "found"),
        (stated("507"), "found: aboard: 507 gal, no ± stated"),
        (Volume(D(600), None), "found: aboard: at least 600 gal"),
        (Volume(None, D(600)), "silent"),
        (UNREAD, "silent"),
    ],
)
def test_over_the_float_and_its_repeat(figure: Figure, result: str) -> None:
    """500 gal at a float that repeats within 6: a level above both, with its own ± taken off, is too much."""
    assert outcome(level(figure), "water-1").startswith(result)


def test_an_amount_drawn_at_once_counts_too() -> None:
    """900 gal handed over in one go were never in a tank of 500."""
    night = {"lines": base()["lines"][1:2], "night": {"where": "North Plant", "recovered": "900 gal"}}
    before = {"lines": [*base()["lines"]]}
    assert outcome(scene(before, night), "water-1").startswith("silent")
    opened = {"lines": [base()["lines"][0], base()["lines"][1]], "night": night["night"]}
    (finding,) = found(scene(opened), "water-1")
    assert finding.seen == "handed over: 900 gal, no ± stated"


@pytest.mark.parametrize("capacity", [None, ">=500 gal", "not read"])
def test_without_a_capacity_nothing_can_be_told(capacity: str | None) -> None:
    """A tank on no register, or of unknown size, is never overfull on paper."""
    made = scene({"tank": [{"name": "Big Blue recovery", "capacity": capacity or "500 gal"}]})
    if capacity is None:
        made = with_load(made, LOAD, tank="some tank")
    assert outcome(made, "water-1") == "cannot tell: no capacity of the tank is on file"


def test_a_float_of_unknown_repeat_is_taken_as_exact() -> None:
    """Nobody's word about the float adds nothing to the capacity."""
    made = level(about("500.5"))
    tank = {"tank": [{"name": "Big Blue recovery", "float_repeat": "not read"}]}
    made = Scene(scene(tank).state, made.night, made.today)
    assert outcome(made, "water-1").startswith("found")


# ---- water-2 -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("found_", "result"),
    [
        (ratio("1.02", "0.99", "1.05"), "silent"),
        (ratio("1.02", "1", "1.05"), "silent"),
        (ratio("1.02", "1.0001", "1.05"), "found: recovery ratio 102.0 % (between 100.0 % and 105.0 %)"),
        (Ratio(D("1.25"), None, None, "stated"), "cannot tell"),
        (Ratio(D("1.26"), None, None, "stated"), "found: recovery ratio 126.0 %"),
        (Ratio(D("1.3"), D("1.3"), None, "at least"), "cannot tell"),
        (NoRatio("used was not read"), "does not apply"),
    ],
)
def test_above_one_with_the_whole_interval(found_: Ratio | NoRatio, result: str) -> None:
    """An interval that reaches one is 'not distinguishable from all of it'."""
    assert outcome(with_run(scene({}), ratio=found_), "water-2").startswith(result)


# ---- water-3 -------------------------------------------------------------------------------------------------


def left(figure: Figure, *samples: dict[str, Any], **facts: Any) -> str:
    return outcome(with_run(scene(*samples), not_explained=figure, **facts), "water-3")


@pytest.mark.parametrize(
    ("figure", "result"),
    [
        (about("130", "6"), "silent"),
        (about("130.68", "6"), "silent"),
        (about("130.69", "6"), "found: not explained: 130.7 ± 6.0 gal"),
        (about("-6", "6"), "silent"),
        (about("-6.1", "6"), "found: not explained: -6.1 ± 6.0 gal: more came out than went in"),
        (stated("300"), "cannot tell: a figure behind it has no ±"),
        (UNREAD, "cannot tell: what is not explained is not read"),
    ],
)
def test_beyond_its_own_interval_and_the_film(figure: Figure, result: str) -> None:
    """2,000 ft2 may hold 0 to 124.68 gal of film; the ± is added on either side."""
    assert left(figure, ratio=ratio("0.9", "0.8", "1.0")).startswith(result)


def test_a_film_is_in_the_unit_of_the_book() -> None:
    """In a book of litres the range is in litres already and is not turned into litres again."""
    made = with_run(scene({}), not_explained=about("300", "6"), film=("0.00", "124.68"), ratio=ratio("0.9", "0.8", "1"))
    litres = replace(made, state=replace(made.state, business={**made.state.business, "unit": "L"}))
    assert outcome(litres, "water-3").startswith("found: not explained: 300.0 ± 6.0 L")


def test_one_fact_is_told_once() -> None:
    """More recovered than applied is the other rule's finding."""
    assert left(about("-30", "6"), ratio=ratio("1.1", "1.05", "1.15")) == "does not apply"


def test_rain_explains_what_came_in() -> None:
    """With rain about, water that came in is no puzzle."""
    for said in ("some", "heavy", "not known"):
        assert left(about("-30", "6"), {"night": {"rain": said}}).startswith("cannot tell: rain")
    assert left(about("-30", "6"), {"line": {"2": {"rain": "some"}}}).startswith("cannot tell: rain")


def test_without_an_area_there_is_no_film_to_compare() -> None:
    """No area, no judgement."""
    assert left(about("300", "6"), film=None).startswith("cannot tell: no area")


@pytest.mark.parametrize(
    "line",
    [
        {"line": "escape", "what": "hose burst", "reached": "soil"},
        {"line": "led away", "place": "Mall cleanout"},
        {"line": "foreign water", "what": "rain"},
    ],
)
def test_water_of_unknown_amount_is_no_puzzle(line: dict[str, Any]) -> None:
    """What got away unmeasured is in 'not explained', and the rule says that it cannot tell."""
    lines = [*base()["lines"], line]
    assert left(about("300", "6"), {"lines": lines}).startswith("cannot tell: water of unknown amount")


def test_an_escape_that_is_only_said_counts_as_unknown() -> None:
    """'Got away: yes', or a drain seen entering, is water of unknown amount; a measured escape is not."""
    assert left(about("300", "6"), {"night": {"got_away": "yes"}}).startswith("cannot tell")
    drains = [{"name": "inlet", "method": "none", "seen": "seen entering"}]
    assert left(about("300", "6"), {"line": {"2": {"drain_list": drains}}}).startswith("cannot tell")
    escape = {"line": "escape", "what": "hose burst", "reached": "soil", "amount": "5 gal"}
    lines = {"lines": [*base()["lines"], escape], "night": {"got_away": "yes"}}
    assert left(about("300", "6"), lines).startswith("found")


def test_nothing_is_asked_where_recovery_was_not_planned() -> None:
    """Water that was never to come back is not missing; nor is it where nobody worked."""
    stop = {**base()["lines"][1], "plan": "recovery not planned"}
    assert left(about("300", "6"), {"lines": [stop], "night": {"where": "no water"}}) == "does not apply"
    off = {"lines": [], "night": {"where": "no water", "cancelled": "rain"}}
    assert left(about("300", "6"), off) == "does not apply"


# ---- water-4 -------------------------------------------------------------------------------------------------


def test_less_than_nothing_beyond_the_interval() -> None:
    """A captured figure of -5 ± 6 may be zero; -7 ± 6 may not."""
    assert outcome(with_run(scene({}), captured=known(about("-5", "6"))), "water-4") == "silent"
    (finding,) = found(with_run(scene({}), captured=known(about("-7", "6"))), "water-4")
    assert finding.seen == "recovered: -7.0 ± 6.0 gal" and finding.lines == (Line("r", "1"),)


def test_stops_and_intervals_are_looked_at() -> None:
    """Each figure below zero is told with where it stands, and only the run's own."""
    made = scene({})
    facts = made.night.runs[made.state.runs[0].record]
    stop = replace(facts.stops[0], used=known(about("-9")))
    load = made.night.loads[LOAD]
    interval = replace(load.intervals[0], captured=known(Volume(None, D("-1"))))
    other = replace(interval, stops=("2026-09-13-big-blue.s1",), captured=known(about("-2")))
    idle = replace(interval, stops=())
    made = with_load(with_run(made, stops=(stop,)), LOAD, intervals=(interval, other, idle))
    (finding,) = found(made, "water-4")
    assert finding.seen == "used at stop 1: -9 gal and recovered between two looks at the tank: at most -1 gal"


def meter(start: str, end: str, **more: str) -> dict[str, str]:
    return {"method": "meter", "meter": "supply meter", "start": start, "end": end, **more}


def shows(figure: str, of: str = "supply meter") -> dict[str, str]:
    return {"line": "reading", "of": of, "shows": figure}


@pytest.mark.parametrize(
    ("used", "result"),
    [
        (meter("1000", "1400"), "silent"),
        (meter("1000", "1000"), "silent"),
        (meter("1000.5", "1000.4"), "found: 'supply meter' showed 1000.5, then 1000.4"),
        (meter("1000", "20", old_end="1300", new_start="0"), "silent"),
        (meter("1000", "20", old_end="900", new_start="0"), "found: 'supply meter' showed 1000, then 900"),
        (meter("1000", "20", old_end="1300", new_start="30"), "found: 'supply meter' showed 30, then 20"),
        (meter("not read", "20"), "silent"),
    ],
)
def test_a_register_does_not_run_backwards(used: dict[str, str], result: str) -> None:
    """Over a change of meter each of the two is looked at by itself."""
    assert outcome(scene({"night": {"used": used}}), "water-4").startswith(result)


def test_a_register_that_rolls_over_may() -> None:
    """Where the register is known to come back to zero, nothing is said."""
    rolls = {"instrument": [{"name": "supply meter", "rolls_over_at": "10000"}]}
    assert outcome(scene(rolls, {"night": {"used": meter("9900", "200")}}), "water-4") == "silent"
    typo = scene(rolls, {"night": {"used": meter("1000", "990")}})
    assert outcome(typo, "water-4") == "found: 'supply meter' showed 1000, then 990"


def test_readings_and_measures_of_one_meter_are_one_row() -> None:
    """Lines count in their order, between the run's own start and end."""
    lines = base()["lines"]
    row = {"lines": [shows("1000"), *lines, shows("not read"), shows("1300")], "night": {"used": meter("1000", "1400")}}
    assert outcome(scene(row), "water-4") == "silent"
    stop = {**lines[1], "used": meter("1350", "1390")}
    assert outcome(scene({"lines": [lines[0], stop, *lines[2:], shows("1340")]}), "water-4").startswith(
        "found: 'supply meter' showed 1390, then 1340"
    )


def test_the_run_before_is_looked_at_too() -> None:
    """The figure at which a meter stopped is the least at which it starts again."""
    night = {"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00"}
    recovered = {"method": "meter", "meter": "recovery meter", "start": "370", "end": "740"}
    follows = {"nights": [{**night, "used": meter("1400", "1800"), "recovered": recovered}]}
    assert found(scene(follows), "water-4") == ()
    backwards = {"nights": [{**night, "used": meter("1390", "1800"), "recovered": recovered}]}
    (finding,) = found(scene(backwards), "water-4")
    assert finding.about == "2026-09-15-big-blue" and "showed 1400, then 1390" in finding.seen


def test_a_meter_on_no_register_is_followed_by_its_name() -> None:
    """A bare name is enough to see that it went down."""
    used = {"method": "meter", "meter": "client's meter", "start": "50", "end": "40"}
    assert outcome(scene({"night": {"used": used}}), "water-4").startswith('found: "client\'s meter" showed 50')
