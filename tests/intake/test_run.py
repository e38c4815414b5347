"""A night through the validator."""

from __future__ import annotations

from typing import Any

from hypothesis import HealthCheck, given, settings

from compliance.intake.run import check_run

from .making import NIGHT, NOW, pages
from .strategies import runs


def checked(raw: dict[str, Any], **more: Any) -> Any:
    return check_run({**raw, **more}, state=pages().state, where="night.toml", now=NOW)


def test_a_night_is_stored_with_its_units_times_and_spellings() -> None:
    """What was typed becomes the stored form, and stays beside it where it differs."""
    found = checked(NIGHT)
    assert found.problems == ()
    assert found.event_time == "2026-09-14T21:00:00-06:00"
    assert found.payload["who"] == "Rosa Iglesias"
    assert found.payload["fields"]["rig"] == "Big Blue"
    assert found.payload["fields"]["used"]["end"] == "1450.5"
    lines = found.payload["lines"]
    assert [line["n"] for line in lines] == ["1", "2", "3", "4"]
    assert lines[3]["fields"] == {
        "place": "North Yard station", "amount": "410 gal", "at": "2026-09-15T05:10:00-06:00",
    }  # fmt: skip
    assert found.payload["typed"]["4/amount"] == "410 gallons"
    assert found.payload["typed"]["4/at"] == "05:10"
    assert found.payload["typed"]["rig"] == "big blue"


def test_silence_stays_silence() -> None:
    """A field left out, blank or null is in no payload."""
    found = checked(NIGHT, recovered=None, rain="", remark="  ", got_away=None)
    assert not {"recovered", "rain", "remark", "got_away"} & set(found.payload["fields"])


def test_every_problem_comes_at_once() -> None:
    """A night with five faults gives five problems and no payload."""
    found = checked({"rigg": "Big Blue", "date": "14/9/2026", "rain": "drizzle", "line": [{"line": "stop"}]})
    assert found.payload is None
    assert [p.what for p in found.problems] == [
        "'rigg' is not a field of 'run'",
        "'14/9/2026' is not written as dates are here, the year first",
        "'drizzle' is not an answer here",
        "'Rig' is missing",
        "'Crew lead' is missing",
        "'Where the water is' is missing",
        "'Site' is missing",
    ]
    assert found.problems[0].next_step == "did you mean 'rig'?"


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(runs())
def test_what_is_stored_says_what_was_said_and_nothing_else(raw: dict[str, Any]) -> None:
    """Round trip: every answer is in the payload, no key is invented, and the payload is a valid entry of itself."""
    found = checked(raw)
    assert found.problems == ()
    payload = found.payload
    said = {key for key, value in raw.items() if value not in (None, [])} - {"line"}
    assert set(payload["fields"]) == said
    assert [line["line"] for line in payload["lines"]] == [line["line"] for line in raw["line"]]
    for line, stored in zip(raw["line"], payload["lines"], strict=True):
        assert set(stored["fields"]) == {key for key, value in line.items() if value not in (None, [])} - {"line"}
    again = checked({**payload["fields"], "line": [{"line": x["line"], **x["fields"]} for x in payload["lines"]]})
    assert again.problems == ()
    assert (again.payload["fields"], again.payload["lines"]) == (payload["fields"], payload["lines"])
    assert again.payload["typed"] == {}


def test_the_first_figures_of_the_questions_are_kept() -> None:
    """Path by path, each a text of one line."""
    found = checked(NIGHT, first={"used/start": "999", "4/amount": "600 gal"})
    assert found.payload["first"] == {"used/start": "999", "4/amount": "600 gal"}
    assert "first" not in checked(NIGHT).payload
    wrong = checked(NIGHT, first={"used/start": "9\n9", "../x": "1"})
    assert [problem.where for problem in wrong.problems] == ["night.toml, first, used/start", "night.toml, first"]


def test_a_night_has_at_most_500_lines() -> None:
    """Beyond that it is no night."""
    found = checked(NIGHT, line=[{"line": "stop", "site": "X"}] * 501)
    assert found.problems[0].what == "501 lines are more than the 500 that are taken"


def test_who_handed_in_is_the_one_that_is_named() -> None:
    """'who', or who keyed it, or the lead; a claim, never a log-in."""
    assert checked(NIGHT, who="tom adlow").payload["who"] == "Tom Adlow"
    assert checked(NIGHT, keyed_by="Tom Adlow").payload["who"] == "Tom Adlow"
    assert checked(NIGHT).payload["who"] == "Rosa Iglesias"


def test_times_count_from_the_first_that_is_given() -> None:
    """Without a start it is the first of a line, a drain of it included; all later ones follow it."""
    drains = [{"name": "NE", "on": "22:10", "off": "00:40"}, "x"]
    line = {"line": "stop", "site": "Fernwood Plaza", "drain_list": drains}
    raw = {key: value for key, value in NIGHT.items() if key not in ("start", "line")}
    good = {**line, "drain_list": drains[:1]}
    found = checked(raw, line=[good], end="01:15")
    drain = found.payload["lines"][0]["fields"]["drain_list"][0]
    assert (drain["on"], drain["off"]) == ("2026-09-14T22:10:00-06:00", "2026-09-15T00:40:00-06:00")
    assert found.payload["fields"]["end"] == "2026-09-15T01:15:00-06:00"
    assert found.payload["typed"]["1/drain_list/1/off"] == "00:40"
    assert found.event_time == "2026-09-14"
    assert checked(raw, line=[line]).problems[0].what == "a list is not a list of entries"


def test_a_full_time_sets_the_day_that_others_count_from() -> None:
    """A first time with its date is the beginning, whatever its offset."""
    found = checked(NIGHT, start="2026-09-14T23:30-05:00", end="00:10", line=NIGHT["line"][2:3])
    assert found.payload["fields"]["end"] == "2026-09-15T00:10:00-06:00"


def test_a_night_ahead_of_the_clock_is_noted_and_not_refused() -> None:
    """The clock of a device may be the one that is wrong."""
    found = checked(NIGHT, date="2026-10-05")
    assert found.problems == ()
    assert found.notes == ("night.toml: the date 2026-10-05 lies ahead of this clock, which says 2026-10-01",)


def test_more_than_the_tank_holds_is_noted() -> None:
    """Only where the capacity is known, an amount was named, and nothing left the tank on the way."""
    stop = [{"line": "stop", "site": "Fernwood Plaza"}]
    over = checked(NIGHT, line=stop, recovered="600 gal")
    assert over.notes == (
        "night.toml: recovered 600 gal is more than the tank holds (525 gal); look at the figure again",
    )
    for raw in (
        {"line": stop, "recovered": "500 gal"},
        {"line": stop, "recovered": "<=600 gal"},
        {"line": stop, "recovered": "not read"},
        {"line": stop, "recovered": "600 gal", "rig": "Little Heron"},
        {"recovered": "600 gal"},
        {"line": stop, "recovered": {"method": "fills", "tank": "Big Blue recovery", "times": "2"}},
    ):
        assert checked(NIGHT, **raw).notes == ()


def test_a_tank_of_unread_capacity_holds_nobody_back() -> None:
    """'not read' on the register is no limit."""
    made = pages()
    made.take("registers", {"tank": [{"name": "Heron recovery", "capacity": "not read"}]})
    raw = {**NIGHT, "rig": "Little Heron", "line": NIGHT["line"][1:2], "recovered": "600 gal"}
    assert check_run(raw, state=made.state, where="", now=NOW).notes == ()


def test_the_id_and_the_time_of_the_hand_in_come_with_the_entry() -> None:
    """Any text as an id; a moment with its date."""
    found = checked(NIGHT, id="case 2", handed_in="2026-09-15T06:40-06:00", kind="run")
    assert (found.id_text, found.device_time) == ("case 2", "2026-09-15T06:40:00-06:00")
    wrong = checked(NIGHT, id="two\nlines", handed_in="soon")
    assert [problem.where for problem in wrong.problems] == ["night.toml, handed_in", "night.toml, id"]


def test_a_run_that_was_not_cancelled_needs_a_stop() -> None:
    """'not applicable' is no reason to have none."""
    assert checked(NIGHT, cancelled="storm", line=[]).problems == ()
    assert checked(NIGHT, cancelled="not applicable", line=[]).problems[0].what == "no stop was given"
