"""What is shown once a figure is in, and the last readings that it is compared with."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.compare import compare_after
from compliance.intake.last import last_readings
from compliance.intake.question import Setting
from compliance.records.state import State

from .making import NIGHT, NOW, Pages, pages

METER = {"method": "meter", "meter": "Blue supply meter"}
MARK = {"method": "mark", "tank": "Big Blue recovery"}
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
