"""What is told of one run as a whole."""

from __future__ import annotations

from typing import Any

from compliance.water.results import RunFacts
from compliance.water.volume import NOTHING, Unknown
from tests.reports.making import book

REGISTERS = {"business": {"name": "B", "unit": "gal", "zone": "America/Denver"}, "rig": [{"name": "Big Blue"}]}


def run_of(*lines: dict[str, Any], **fields: Any) -> RunFacts:
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "no water", **fields}
    (run,) = book(REGISTERS, {**night, "line": list(lines)}).night.runs.values()
    return run


UNPLANNED = {"line": "stop", "site": "lawn", "plan": "recovery not planned"}


def test_where_no_recovery_was_planned_captured_does_not_apply() -> None:
    """As of each of its stops: that is no 0 gal, and asks no ratio."""
    run = run_of(UNPLANNED, used="30 gal")
    assert run.captured.figure == run.stops[0].captured.figure == Unknown("recovery was not planned", "not applicable")


def test_where_nobody_worked_nothing_was_captured() -> None:
    """The rig went out and came back: that is a zero, since nothing was washed."""
    assert run_of({"line": "stop", "site": "lawn", "not_worked": "gate locked"}).captured.figure == NOTHING


def test_what_the_run_says_was_recovered_stands_though_none_was_planned() -> None:
    """A figure that somebody wrote down is an answer."""
    captured = run_of(UNPLANNED, recovered="12 gal", where="aboard").captured
    assert captured.how.method == "declared" and not isinstance(captured.figure, Unknown)


TANK = {"name": "box", "rig": "Big Blue", "role": "recovery", "capacity": "280 gal"}


def how_aboard(*nights: dict[str, Any]) -> list[str]:
    """How each night knows what was aboard at its start and at its end."""
    fields = {"rig": "Big Blue", "lead": "Marisol Vega", "where": "aboard"}
    made = book(
        {**REGISTERS, "tank": [TANK], "place": [{"name": "Plant"}]},
        *({"id": f"n{i}", "date": f"2026-09-0{i}", **fields, **night} for i, night in enumerate(nights, 1)),
    )
    runs = made.night.runs.values()
    return [line.known.how.method for run in runs for line in run.balance if line.label.startswith("aboard")]


def test_what_nobody_read_at_the_end_of_a_night_is_worked_out_and_not_called_a_level() -> None:
    """Empty, then 85 gal that the crew says: 85 gal aboard is no look at the tank, that night and at the next start."""
    empty = {"line": "reading", "of": "box", "shows": "empty"}
    stop = {"line": "stop", "site": "dock", "used": "95 gal", "recovered": "85 gal"}
    assert how_aboard({"line": [empty, stop]}) == ["levels", "worked out"]
    assert how_aboard({"line": [empty, stop]}, {"line": [stop]}) == ["levels", "worked out", "worked out", "worked out"]
    looked = {"line": "reading", "of": "box", "shows": "80 gal"}
    assert how_aboard({"line": [empty, stop, looked]}, {"line": [stop]}) == ["levels", "levels", "levels", "worked out"]
    assert how_aboard({"line": [empty, stop]}, {"line": [looked, stop]})[2:] == ["levels", "worked out"]


def test_a_tank_that_is_empty_by_the_word_where_the_water_is_was_not_read() -> None:
    """All of it is at the plant, says the crew: 0 gal aboard, declared, that night and at the next start."""
    gone: dict[str, Any] = {"where": "Plant", "line": [{"line": "stop", "site": "dock", "recovered": "85 gal"}]}
    assert how_aboard(gone)[-1] == "declared"
    assert how_aboard(gone, gone)[1:] == ["declared"] * 3
    looked = {"line": "reading", "of": "box", "shows": "empty"}
    assert how_aboard(gone, {"line": [looked, gone["line"][0]]})[1:] == ["declared", "levels", "worked out"]
