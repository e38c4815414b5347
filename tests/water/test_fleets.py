"""Rigs that share a tank, and in which order their runs came to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from compliance.records import kinds
from compliance.water.fold import calculate
from tests.reports.making import Bench, book

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}, {"name": "Sandpiper"}],
    "tank": [
        {"name": "blue recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"},
        {"name": "yard", "rig": "Big Blue", "role": "holding", "capacity": "2000 gal"},
        {"name": "sand recovery", "rig": "Sandpiper", "role": "recovery", "capacity": "300 gal"},
    ],
}


def night(name: str, rig: str, *lines: Mapping[str, Any], day: str = "2026-09-01", **run: Any) -> dict[str, Any]:
    return {"id": name, "rig": rig, "lead": "Marisol Vega", "date": day, "where": "aboard", "line": list(lines), **run}


def into_the_yard(tank: str, gallons: int, *more: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """A stop of which so much came into a tank, and from there into the yard's."""
    return [
        {"line": "reading", "of": tank, "shows": "empty"},
        {"line": "stop", "site": tank},
        {"line": "reading", "of": tank, "shows": f"{gallons} gal"},
        {"line": "move", "tank": tank, "to": "yard", "amount": f"{gallons} gal", "tank_after": "empty"},
        *more,
    ]


LOCKED = {"line": "stop", "site": "Arcade", "not_worked": "gate locked"}
OUT = {"line": "hand over", "place": "Station", "tank": "yard", "amount": "30 gal"}


def two_rigs() -> Bench:
    """Big Blue brings 100 to the yard; Sandpiper brings 50 and sends 30 off, and nobody says who was first."""
    empty = {"line": "reading", "of": "yard", "shows": "empty"}
    return book(
        REGISTERS,
        night("first", "Big Blue", LOCKED, empty, day="2026-08-31"),
        night("blue", "Big Blue", *into_the_yard("blue recovery", 100), start="20:00"),
        night("sand", "Sandpiper", *into_the_yard("sand recovery", 50, OUT), start="21:00"),
    )


def order(bench: Bench, *records: str) -> Bench:
    """The office says in which order the runs came to the yard's tank."""
    said = {"tank": "yard", "runs": list(records), "why": "the gate's list", "who": "Dana"}
    last = bench.records[-1]
    bench.records.append(replace(last, seq=last.seq + 1, id=f"{last.seq:032x}", kind=kinds.ORDER, payload=said))
    return bench


def sent_off(bench: Bench) -> dict[str, int]:
    """Whose water the 30 were, by site, in hundredths."""
    runs = calculate(bench.state).runs.values()
    return {
        stop.site: sum(piece.amount for piece in stop.pieces or () if piece.way == "handed over")
        for run in runs
        for stop in run.stops
        if stop.worked
    }


def test_water_is_mixed_in_the_order_of_the_nights_until_somebody_says_another() -> None:
    """As they started: 150 in the tank, two parts of three from Big Blue, so 20 and 10 of the 30.

    Sandpiper first: only its 50 are there when the 30 leave, so all 30 are its own. An order that names a single run,
    or runs that are not of these rigs, moves nothing.
    """
    bench = two_rigs()
    ids = {run.rig: run.record for run in calculate(bench.state).runs.values()}
    blue, sand = ids["Big Blue"], ids["Sandpiper"]
    assert sent_off(bench) == {"blue recovery": 2000, "sand recovery": 1000}
    assert sent_off(order(two_rigs(), sand, blue)) == {"blue recovery": 0, "sand recovery": 3000}
    assert sent_off(order(order(two_rigs(), sand, blue), blue, sand)) == sent_off(bench)
    assert sent_off(order(two_rigs(), sand)) == sent_off(bench)
    assert sent_off(order(two_rigs(), "f" * 32, sand, "e" * 32)) == sent_off(bench)


def test_an_order_counts_alike_whenever_it_was_handed_in() -> None:
    """Before the nights that it names, between them and after them: all 30 are Sandpiper's."""
    bench = two_rigs()
    ids = [run.record for run in bench.state.runs][1:]
    *first, last = order(bench, *reversed(ids)).records
    nights = [i for i, record in enumerate(first) if record.kind == kinds.RUN]
    for place in (nights[0], nights[1], nights[2], len(first)):
        records = [*first[:place], last, *first[place:]]
        moved = Bench([replace(record, seq=i) for i, record in enumerate(records, start=1)])
        assert sent_off(moved) == {"blue recovery": 0, "sand recovery": 3000}


def test_a_night_that_says_all_of_nothing_is_gone_took_nothing() -> None:
    """The tank was seen empty before; that 'all of it' went to the station says nothing new of it: there is no load."""
    work = [*into_the_yard("sand recovery", 50)[:3], {**OUT, "tank": "sand recovery", "tank_after": "empty"}]
    bench = book(
        REGISTERS,
        night("one", "Sandpiper", *work),
        night("two", "Sandpiper", LOCKED, day="2026-09-02", where="Station"),
        night("three", "Sandpiper", *work, day="2026-09-03"),
    )
    runs = calculate(bench.state).runs
    assert [len(runs[run.record].loads) for run in bench.state.runs] == [1, 0, 1]


def test_a_night_that_says_water_of_unknown_amount_is_gone_took_it() -> None:
    """Nobody saw the tank empty before it: the same words are then the only word on where that water went."""
    work = into_the_yard("sand recovery", 50)[:3]
    bench = book(
        REGISTERS,
        night("one", "Sandpiper", *work),
        night("two", "Sandpiper", LOCKED, day="2026-09-02", where="Station"),
    )
    assert sent_off(bench) == {"sand recovery": 5000}


def test_a_stop_is_behind_the_supply_meter_of_its_own_rig_and_of_no_other() -> None:
    """Two rigs in one timeline, since they share a tank, and both out at once: 1,000 to 1,080 is Big Blue's stop.

    Sandpiper's stop comes between these readings, and reads its own meter from 500 to 560.
    """
    meters = [
        {"name": f"{rig} supply", "rig": rig, "kind": "meter", "measures": "supply", "unit": "gal", "step": "1"}
        for rig in ("Big Blue", "Sandpiper")
    ]

    def shows(rig: str, count: str) -> dict[str, str]:
        return {"line": "reading", "of": f"{rig} supply", "shows": count}

    bench = book(
        {**REGISTERS, "instrument": meters},
        night("blue", "Big Blue", shows("Big Blue", "1000"), *into_the_yard("blue recovery", 70), start="20:00"),
        night("sand", "Sandpiper", shows("Sandpiper", "500"), *into_the_yard("sand recovery", 50),
              shows("Sandpiper", "560"), start="21:00"),
        night("blue again", "Big Blue", LOCKED, shows("Big Blue", "1080"), day="2026-09-02"),
    )  # fmt: skip
    used = {run.rig: run.used.figure for run in calculate(bench.state).runs.values() if run.date == "2026-09-01"}
    assert {rig: getattr(figure, "best", None) for rig, figure in used.items()} == {"Big Blue": 80, "Sandpiper": 60}
