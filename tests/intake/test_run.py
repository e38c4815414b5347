"""A night through the validator."""

from __future__ import annotations

from typing import Any

from compliance.intake.run import check_run

from .making import NIGHT, NOW, pages


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
        "'14/9/2026' is not a date that can be read in one way only",
        "'drizzle' is not an answer here",
        "'Rig' is missing",
        "'Crew lead' is missing",
        "'Where the water is' is missing",
        "'Site' is missing",
    ]
    assert found.problems[0].next_step == "did you mean 'rig'?"
