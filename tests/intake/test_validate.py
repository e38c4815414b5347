"""The one door of the validator, by kind."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from compliance.intake.fromfile import Read, read_entry
from compliance.intake.validate import FILE_KINDS, check

from .making import NIGHT, NOW, Pages, pages

SAMPLES = Path(__file__).parent.parent.parent / "sample_jobs"


@pytest.mark.parametrize("kind", FILE_KINDS)
def test_every_kind_of_file_is_looked_at(kind: str) -> None:
    """An empty entry of any kind is told what it needs; one of no registers at all has nothing in it."""
    found = check(kind, {}, state=pages().state, where="f", now=NOW)
    assert all(checked.problems for checked in found)
    assert bool(found) == (kind != "registers")


def test_a_kind_that_is_none_leads_to_the_nearest() -> None:
    """Whatever a file calls itself."""
    problem = check("tickets", {}, state=None, where="f", now=NOW)[0].problems[0]
    assert (problem.what, problem.next_step) == ("'tickets' is not a kind of entry", "did you mean 'ticket'?")


@pytest.mark.parametrize("kind", ["ticket", "correct", "complete", "cancel", "accept"])
def test_what_refers_to_records_needs_a_book(kind: str) -> None:
    """Without one it cannot be looked up."""
    problem = check(kind, {}, state=None, where="f", now=NOW)[0].problems[0]
    assert problem.what == f"there is no book in which a {kind!r} could be looked up"


def test_a_night_may_be_looked_at_without_a_book() -> None:
    """Names are kept as typed, times are in the zone of the clock, volumes in US gallons."""
    found = check("run", NIGHT, state=None, where="f", now=NOW)[0]
    assert found.problems == ()
    assert found.payload is not None
    assert found.payload["fields"]["start"] == "2026-09-14T21:00:00+00:00"
    assert found.payload["lines"][3]["fields"]["amount"] == "410 gal"


def test_every_sample_file_has_no_problem() -> None:
    """The cases of the sample jobs, one after the other as they are handed in."""
    made = Pages()
    files = [SAMPLES / "registers.toml", *sorted(SAMPLES.glob("case-*/[0-9]*.toml"))]
    assert len(files) > 10
    for path in files:
        read = read_entry(str(path))
        assert isinstance(read, Read)
        assert made.take(read.kind, read.raw)


def test_a_night_of_eight_stops_is_looked_at_in_three_milliseconds() -> None:
    """The best of several, so that a busy machine does not decide."""
    stops = [{**NIGHT["line"][1], "used": "50 gal", "rain": "none", "surface": "brick"} for _ in range(8)]
    raw = {**NIGHT, "line": stops}
    state = pages().state
    best = 1.0
    for _ in range(20):
        start = time.perf_counter()
        check("run", raw, state=state, where="f", now=NOW)
        best = min(best, time.perf_counter() - start)
    assert best < 0.003
