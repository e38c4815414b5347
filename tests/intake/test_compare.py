"""What is shown once a figure is in, and the last readings that it is compared with."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.compare import compare_after
from compliance.intake.last import last_readings, went_on
from compliance.intake.question import Setting
from compliance.records.state import State

from .making import NIGHT, NOW, Pages, pages

METER = {"method": "meter", "meter": "Blue supply meter"}
MARK = {"method": "mark", "tank": "Big Blue recovery"}
LOOKED = {"line": "reading", "of": "Big Blue recovery", "shows": "26.5 in"}
STOP = {"line": "stop", "site": "X"}
DUMP = {"line": "hand over", "place": "P", "amount": "400 gal"}
LAST = "The last reading of Blue supply meter was 1450.5 (Monday)"


def state(made: Pages) -> State:
    found = made.state
    assert found is not None
    return found


def setting(**more: Any) -> Setting:
    return Setting(state(pages()), "en", NOW, **more)


def test_the_last_reading_of_everything_is_known() -> None:
    """Of lines and of the run, of tanks and meters, with its day; the later night wins."""
    made = pages(
        {**NIGHT, "line": [
            {"line": "reading", "of": "Blue supply meter", "shows": "1200.5"},
            {"line": "stop", "site": "X", "recovered": {**MARK, "before": "empty", "after": "12 in"}},
            {"line": "hand over", "place": "P", "tank": "Big Blue recovery", "tank_after": "2 in"},
        ], "used": "5 gal"},
    )  # fmt: skip
    assert last_readings(state(made)) == {
        "blue supply meter": "1200.5 (2026-09-14)", "big blue recovery": "2 in (2026-09-14)"
    }  # fmt: skip
    later = {
        **NIGHT,
        "date": "2026-09-16",
        "used": {"method": "meter", "meter": "Blue supply meter", "start": "1", "end": "9"},
    }
    made.take("run", later)
    assert last_readings(state(made))["blue supply meter"] == "9 (2026-09-16)"


def test_what_was_not_read_or_does_not_count_is_no_last_reading() -> None:
    """'not read', a cancelled run, a figure that was never recorded."""
    unread = {**NIGHT, "used": {"method": "meter", "meter": "Blue supply meter", "start": "1", "end": "not read"},
              "line": [{"line": "stop", "site": "X"}, {"line": "reading", "of": "T"},
                       {"line": "move", "tank": "A", "to": "B"}]}  # fmt: skip
    made = pages(unread)
    assert last_readings(state(made)) == {}
    made = pages(NIGHT)
    made.take("cancel", {"run": "2026-09-14-big-blue", "why": "x"})
    assert last_readings(state(made)) == {}


@pytest.mark.parametrize(
    ("lines", "where", "shows"),
    [
        ([LOOKED], "aboard", "26.5 in (2026-09-14)"),
        ([LOOKED, {"line": "stop", "site": "X", "not_worked": "gate locked"}], "aboard", "26.5 in (2026-09-14)"),
        ([LOOKED, {"line": "reading", "of": "Big Blue recovery", "shows": "not read"}], "aboard",
         "26.5 in (2026-09-14)"),
        ([LOOKED, {"line": "hand over", "place": "P", "tank_after": "empty"}], "see lines", "empty (2026-09-14)"),
        ([LOOKED, {"line": "hand over", "place": "P", "amount": {**MARK, "before": "26.5 in", "after": "2 in"}}],
         "see lines", "2 in (2026-09-14)"),
        ([LOOKED, {"line": "tank full"}], "aboard", "full (2026-09-14)"),
        ([LOOKED, {"line": "take on", "amount": "300 gal"}], "aboard", "26.5 in (2026-09-14)"),
        ([LOOKED, {"line": "move", "tank": "Heron recovery", "to": "T", "tank_after": "empty"}], "aboard",
         "26.5 in (2026-09-14)"),
        ([LOOKED, {"line": "escape", "what": "valve", "from_tank": "Heron recovery"}], "aboard",
         "26.5 in (2026-09-14)"),
        ([LOOKED, {"line": "escape", "what": "hose"}], "aboard", "26.5 in (2026-09-14)"),
        ([LOOKED, {"line": "hand over", "place": "P"}], "see lines", None),
        ([LOOKED, {"line": "hand over", "place": "P", "tank_after": "not read"}], "see lines", None),
        ([LOOKED, {"line": "use again", "amount": "100 gal"}], "aboard", None),
        ([LOOKED, {"line": "stop", "site": "X"}], "aboard", None),
        ([LOOKED, {"line": "escape", "what": "valve", "from_tank": "Big Blue recovery"}], "aboard", None),
        ([LOOKED, {"line": "foreign water", "what": "rain"}], "aboard", None),
        ([LOOKED, {"line": "move", "tank": "Heron recovery", "to": "Big Blue recovery"}], "aboard", None),
        ([LOOKED], "North Yard station", None),
    ],
)  # fmt: skip
def test_a_look_at_a_tank_says_nothing_once_water_came_or_went(
    lines: list[dict[str, Any]], where: str, shows: str | None
) -> None:
    """A tank that was emptied is not said to show 26.5 in; what was read afterwards takes its place."""
    made = pages({**NIGHT, "used": "5 gal", "where": where, "line": [STOP, *lines]})
    assert last_readings(state(made)).get("big blue recovery") == shows


@pytest.mark.parametrize(("lines", "shows"), [([STOP], "12 in (2026-09-14)"), ([STOP, DUMP], None)])
def test_levels_of_a_whole_night_stand_unless_water_was_drawn_in_it(
    lines: list[dict[str, Any]], shows: str | None
) -> None:
    """Recovered by the marks of the tank: the mark after it is the last look where nothing was handed over."""
    night = {**NIGHT, "used": "5 gal", "recovered": {**MARK, "before": "empty", "after": "12 in"}}
    made = pages({**night, "where": "see lines" if DUMP in lines else "aboard", "line": lines})
    assert last_readings(state(made)).get("big blue recovery") == shows


def test_a_mark_in_words_is_said_in_the_language_of_the_questions() -> None:
    """'Empty' and 'full' are words and no figures."""
    said = Setting(state(pages()), "es", NOW, {"big blue recovery": "full (2026-09-15)"})
    raw = {"rig": "Big Blue", "line": [{"line": "reading", "of": "Big Blue recovery", "shows": "20 in"}]}
    shown = compare_after("1/shows", "20 in", raw, said)
    assert shown == "La última lectura de Big Blue recovery fue lleno hasta el flotador (2026-09-15)"


def test_a_night_goes_on_from_its_own_lines() -> None:
    """A look after a dump is compared with the look that emptied the tank an hour ago."""
    last = {"big blue recovery": "26.5 in (Monday)"}
    lines = [{"line": "hand over", "place": "P", "tank": "Big Blue recovery", "tank_after": "empty"},
             {"line": "reading", "of": "Big Blue recovery"}]  # fmt: skip
    shown = compare_after("2/shows", "3", {"rig": "Big Blue", "date": "2026-09-15", "line": lines}, setting(last=last))
    assert shown == "The last reading of Big Blue recovery was empty (2026-09-15)"


@pytest.mark.parametrize(
    ("name", "then", "now", "went"),
    [
        ("Turning meter", "999900", "120", "220"),
        ("Turning meter", "14128", "7000", "-7128"),
        ("Blue supply meter", "999900", "120", "-999780"),
        ("A meter on no register", "10", "12 count", "2"),
        ("Yard scale", "500", "100", None),
        ("Blue supply meter", "some", "100", None),
        ("Blue supply meter", "10", "10..12", None),
    ],
)
def test_how_far_a_register_went_is_known_only_of_plain_figures(
    name: str, then: str, now: str, went: str | None
) -> None:
    """The short way round where it rolls over; below zero where it can only have run backwards; no scale."""
    made = pages()
    turning = {"name": "Turning meter", "kind": "meter", "rolls_over_at": "1000000"}
    made.take("registers", {"instrument": [turning]})
    found = went_on(state(made).registers, name, then, now)
    assert (None if found is None else str(found)) == went


@pytest.mark.parametrize(
    ("key", "value", "raw", "shown"),
    [
        ("used/start", "1500", {"used": METER}, f"{LAST}; 49.5 since then"),
        ("used/start", "~1500", {"used": METER}, f"{LAST}; 49.5 since then"),
        ("used/start", ">=1500", {"used": METER}, LAST),
        ("used/end", "1500", {"used": METER}, None),
        ("used/start", "not read", {"used": METER}, None),
        ("used/start", "1500", {"used": "450"}, None),
        ("used/start", "1500", {"used": {"method": "meter", "meter": "Another"}}, None),
        ("recovered/before", "3", {"recovered": MARK},
         "The last reading of Big Blue recovery was empty (Monday)"),
        ("1/shows", "3", {"line": [{"line": "reading", "of": "big blue RECOVERY"}]},
         "The last reading of big blue RECOVERY was empty (Monday)"),
        ("2/shows", "3", {"line": [{"line": "reading", "of": "Big Blue recovery"}]}, None),
        ("used", "450", {"used": "450"}, None),
        ("recovered", "400", {"used": "500", "recovered": "400"}, "That is 80 % of the water used"),
        ("recovered", "<=400", {"used": "500", "recovered": "<=400"}, "That is at most 80 % of the water used"),
        ("recovered/again", "400", {"used": "500", "recovered": "400"}, "That is 80 % of the water used"),
        ("recovered", "400..450", {"used": "500", "recovered": "400..450"}, None),
        ("recovered", "400", {"used": "not read", "recovered": "400"}, None),
        ("recovered", "400", {"recovered": "400"}, None),
        ("rain", "", {}, None),
    ],
)  # fmt: skip
def test_a_figure_is_compared_with_what_it_continues(
    key: str, value: str, raw: dict[str, Any], shown: str | None
) -> None:
    """First looks with the last reading, recovered water with the water used; nothing else."""
    last = {"blue supply meter": "1450.5 (Monday)", "big blue recovery": "empty (Monday)"}
    assert compare_after(key, value, {"rig": "Big Blue", **raw}, setting(last=last)) == shown


def test_what_was_expected_is_shown_with_the_rest() -> None:
    """After the figure, in one line."""
    at = setting(usual={"recovered": "about 90 %"})
    raw = {"rig": "Big Blue", "used": "500", "recovered": "400"}
    assert compare_after("recovered", "400", raw, at) == "Expected: about 90 %. That is 80 % of the water used"


def test_the_last_time_of_the_rig_is_shown_beside_the_figure() -> None:
    """Of the last night that has one for this rig, whether stated or measured; bounds and other rigs say nothing."""
    first = {**NIGHT, "date": "2026-09-10", "used": "400 gal"}
    bound = {**NIGHT, "date": "2026-09-15", "used": ">=5 gal"}
    other = {**NIGHT, "date": "2026-09-16", "rig": "Little Heron", "used": "9 gal"}
    gone = {**NIGHT, "date": "2026-09-17", "used": "1 gal"}
    made = pages(first, NIGHT, {**NIGHT, "date": "2026-09-14", "used": "not read"}, bound, other, gone)
    made.take("cancel", {"run": "2026-09-17-big-blue", "why": "x"})
    at = Setting(state(made), "en", NOW)
    for used in ("455", {**METER, "start": "1500", "end": "1955"}):
        key = "used" if isinstance(used, str) else "used/end"
        assert compare_after(key, "455", {"rig": "big blue", "used": used}, at) == "Last time: 450.50 gal (2026-09-14)"
    assert compare_after("used", "455", {"rig": "The Loaner", "used": "455"}, at) is None
