"""Impossible readings, meters that moved on their own, and water that went nowhere by the records."""

from __future__ import annotations

from typing import Any

import pytest

from tests.rules.samples import base, found, outcome, read, scene


def led(amount: str | None, **night: Any) -> dict[str, Any]:
    """The night of water-10's samples with another amount led away, None for no such line."""
    made = read("water-10", "fail")
    first, second = made["lines"]
    lines = [first] if amount is None else [first, {**second, "amount": amount}]
    return {**made, "lines": lines, "night": {**made["night"], **night}}


def test_an_impossible_mark_is_said_and_used_nowhere() -> None:
    """It names the tank and what it could hold; the other figures of the night stand."""
    (finding,) = found(scene(read("water-8", "fail")), "water-8")
    assert "99" in finding.seen and finding.lines[0].line == "4"
    backwards = {"method": "meter", "meter": "supply meter", "start": "1400", "end": "1000"}
    assert outcome(scene({"night": {"used": backwards}}), "water-8") == "silent"
    assert outcome(scene({"night": {"used": backwards}}), "water-4").startswith("found")


@pytest.mark.parametrize(
    ("start", "result"), [("1400", "silent"), ("1405", "silent"), ("1406", "found"), ("not read", "silent")]
)
def test_a_meter_may_move_by_a_few_counts(start: str, result: str) -> None:
    """A rinse at the yard is no night that is missing; a reading that nobody took tells nothing."""
    second = read("water-9", "fail")
    second["nights"][0]["used"]["start"] = start
    assert outcome(scene(second), "water-9").startswith(result)


def test_a_meter_is_held_against_the_last_run_that_read_it() -> None:
    """A night in between without the meter hides nothing."""
    second = read("water-9", "fail")
    silent = {"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00", "used": "200 gal", "recovered": "190 gal"}
    last = {**second["nights"][0], "date": "2026-09-16", "handed_in": "2026-09-17T06:40-06:00"}
    (finding,) = found(scene({"nights": [silent, last]}), "water-9")
    assert finding.seen == (
        "'supply meter' showed 1400 at the end of 2026-09-14-big-blue, and 1450 when this run began"
    )


@pytest.mark.parametrize(
    ("amount", "night", "result"),
    [
        (None, {}, "found: 400"),
        ("0 gal", {}, "found"),
        ("1 gal", {}, "silent"),
        ("not read", {}, "silent"),
        (None, {"used": "not read"}, "cannot tell: what was used is not known"),
        (None, {"used": "0 gal"}, "does not apply"),
    ],
)
def test_water_that_was_not_to_be_recovered_went_somewhere(
    amount: str | None, night: dict[str, Any], result: str
) -> None:
    """An amount that nobody read is an answer; no line is none."""
    assert outcome(scene(led(amount, **night)), "water-10").startswith(result)


def test_a_stop_that_was_not_worked_used_nothing() -> None:
    """It is not asked where its water went."""
    made = led(None)
    made["lines"].append({"line": "stop", "site": "Fish Quay", "not_worked": "gate locked"})
    assert len(found(scene(made), "water-10")) == 1


def test_solids_and_drain_down_are_no_concern_elsewhere() -> None:
    """A place that is not on file, or that takes wash water, is not this rule's."""
    for place in ("North Plant", "the yard", None):
        line = {"line": "solids", "what": "silt", "amount": "1 gal", **({} if place is None else {"place": place})}
        assert outcome(scene({"lines": [*base()["lines"], line]}), "place-5") == "silent"
    line = {"line": "solids", "what": "silt", "amount": "1 gal", "place": "Dock Street inlet"}
    (finding,) = found(scene({"lines": [*base()["lines"], line]}), "place-5")
    assert finding.seen == "silt, taken out of a tank, went to 'Dock Street inlet', a storm drain"


def aboard(*lines: dict[str, Any], **night: Any) -> str:
    """What water-11 says of the base night's stop with these lines after it, its water said to be aboard."""
    made = {"lines": [*base()["lines"][:2], *lines], "night": {"where": "aboard", **night}}
    return outcome(scene(made), "water-11")


def test_water_aboard_is_in_a_tank() -> None:
    """By a look at the end, or by what left; a look that shows some, and no look, say nothing against it."""
    dump = base()["lines"][3]
    empty = {"line": "reading", "of": "Big Blue recovery", "shows": "empty"}
    said = "found: where the water is: 'aboard'; at the end every tank is empty"
    assert aboard(dump) == f"{said}, handed over to 'North Plant'"
    assert aboard(empty) == said
    assert aboard({**dump, "tank_after": "13 in"}) == "silent"
    assert aboard({**empty, "shows": "13 in"}) == "silent"
    assert aboard({**dump, "tank_after": "not read", "amount": "not read"}, recovered="not read") == (
        "cannot tell: nobody looked into the tank at the end"
    )
    assert aboard(dump, where="see lines").startswith("does not apply")
    assert aboard(empty, recovered="0 gal") == "does not apply"
