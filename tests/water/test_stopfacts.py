"""What is left at a stop between two shares: a figure only where both were divided alike."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.water.jobs import job_facts
from compliance.water.results import StopFacts
from compliance.water.stopfacts import APART
from compliance.water.volume import Figure, Unknown
from tests.reports.making import Bench, book

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [{"name": "recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"}],
}
Line = Mapping[str, Any]


def night(*lines: Line, **run: Any) -> Bench:
    given = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines"}
    return book(REGISTERS, {**given, **run, "line": list(lines)})


def stop(**fields: Any) -> Line:
    return {"line": "stop", "site": "yard", "job": "eight stops", **fields}


def look(shows: str) -> Line:
    return {"line": "reading", "of": "recovery", "shows": shows}


def dump(amount: str, **fields: str) -> Line:
    return {"line": "hand over", "place": "plant", "amount": amount, **fields}


def stops(bench: Bench) -> tuple[StopFacts, ...]:
    (run,) = bench.night.runs.values()
    return run.stops


def plain(figure: Figure) -> str:
    assert isinstance(figure, Unknown) or figure.best is not None
    return figure.reason if isinstance(figure, Unknown) else format(figure.best.normalize(), "f")


def left(bench: Bench) -> set[str]:
    return {plain(one.not_explained) for one in stops(bench)}


def left_of_job(bench: Bench, job: str = "eight stops") -> str:
    facts = job_facts(bench.state, bench.night, job)
    assert facts is not None
    return plain(facts.not_explained)


def test_shares_over_different_stops_leave_nothing_to_be_told() -> None:
    """580 over eight stops are 72.50 each, 500 over the first four 125 each: -52.50 would be made by the dividing."""
    lines = [look("empty"), *[stop()] * 4, look("500 gal"), *[stop()] * 4, look("520 gal")]
    bench = night(*lines, used="580 gal")
    assert [plain(one.used.figure) for one in stops(bench)] == ["72.5"] * 8
    assert [plain(one.captured.figure) for one in stops(bench)] == ["125"] * 4 + ["5"] * 4
    assert left(bench) == {APART.reason}
    assert {one.divided_apart for one in stops(bench)} == {tuple(f"2026-09-01-big-blue.s{n}" for n in range(1, 9))}


def test_a_job_that_has_all_stops_of_both_knows_what_is_left() -> None:
    """580 - 520 of the eight are 60, however they were divided; of the last one's job nothing can be told."""
    lines = [look("empty"), *[stop()] * 4, look("500 gal"), *[stop()] * 3]
    assert left_of_job(night(*lines, stop(), look("520 gal"), used="580 gal")) == "60"
    apart = night(*lines, stop(job="another"), look("520 gal"), used="580 gal")
    assert left_of_job(apart) == left_of_job(apart, "another") == APART.reason


def test_shares_on_different_bases_leave_nothing_to_be_told() -> None:
    """The stops' own figures weigh what the tank took, and nothing weighs what was used."""
    bench = night(look("empty"), stop(recovered="10 gal"), stop(recovered="30 gal"), look("44 gal"), used="50 gal")
    assert left(bench) == {"3"}
    measured = {"method": "fills", "tank": "recovery", "times": "1"}
    bench = night(look("empty"), stop(recovered=measured), stop(recovered=measured), look("500 gal"), used="900 gal")
    assert [one.captured_basis for one in stops(bench)] == ["own figures"] * 2
    assert left(bench) == {APART.reason}


def test_a_share_raised_to_what_a_draw_took_is_on_no_basis_of_the_used() -> None:
    """200 over two stops, of which the first is raised to the 150 that left before the second was washed."""
    raised = night(look("empty"), stop(), dump("150 gal"), stop(), look("50 gal"), used="220 gal")
    assert [plain(one.captured.figure) for one in stops(raised)] == ["150", "50"]
    assert left(raised) == {APART.reason}


def test_shares_alike_leave_what_they_leave() -> None:
    """220 and 200 over the same two stops: 10 each. One share beside a reading is told too."""
    assert left(night(look("empty"), stop(), stop(), look("200 gal"), used="220 gal")) == {"10"}
    one_read = night(look("empty"), stop(used="120 gal"), stop(used="110 gal"), look("200 gal"))
    assert left(one_read) == {"20", "10"}
