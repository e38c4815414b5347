"""What a run and its stops used, by each way of knowing it, and what stands beside it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from compliance.records.state import State
from compliance.water.fold import calculate
from compliance.water.results import Night, RunFacts, StopFacts
from compliance.water.volume import Unknown, Volume
from tests.reports.making import Bench, book

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [
        {"name": "recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"},
        {"name": "fresh", "rig": "Big Blue", "role": "fresh", "capacity": "400 gal"},
    ],
    "instrument": [
        {"name": "supply", "rig": "Big Blue", "kind": "meter", "measures": "supply", "unit": "gal", "step": "1",
         "accuracy": "2 %"},
        {"name": "bucket", "kind": "flow test", "rate": "5 gal/min", "accuracy": "4 %"},
    ],
}  # fmt: skip
START = {"rig": "Big Blue", "lead": "Marisol Vega", "where": "aboard", "handed_in": "2026-09-02T08:00-06:00"}


def night(*lines: Mapping[str, Any], **run: Any) -> Bench:
    given = {"id": "night", "date": "2026-09-01", **START, **run}
    return book(REGISTERS, {**given, "line": list(lines)})


def meter(shows: str) -> dict[str, str]:
    return {"line": "reading", "of": "supply", "shows": shows}


def stop(**fields: Any) -> dict[str, Any]:
    return {"line": "stop", "site": f"site {fields.pop('n', 1)}", **fields}


def facts(bench: Bench) -> tuple[State, Night, RunFacts]:
    made = calculate(bench.state)
    (run,) = made.runs.values()
    return bench.state, made, run


def used(found: RunFacts | StopFacts) -> Decimal | str | None:
    figure = found.used.figure
    return figure.kind if isinstance(figure, Unknown) else figure.best


def test_a_meter_read_between_stops_gives_the_run_the_sum_of_its_spans() -> None:
    """1,000 to 1,120 over stop 1 and 1,120 to 1,300 over stop 2: 120 + 180 = 300, which the ends give too.

    The reading in between is added and taken away, so its rounding is in neither; 2 % is of the whole 300.
    """
    _, _, run = facts(night(meter("1000"), stop(), meter("1120"), stop(n=2), meter("1300")))
    assert [used(one) for one in run.stops] == [120, 180]
    assert used(run) == 300
    assert run.used.how.formula == "1,120 - 1,000 = 120 gal; 1,300 - 1,120 = 180 gal"
    assert isinstance(run.used.figure, Volume)
    _, _, whole = facts(night(stop(), used={"method": "meter", "meter": "supply", "start": "1000", "end": "1300"}))
    assert isinstance(whole.used.figure, Volume)
    assert run.used.figure.expanded() == whole.used.figure.expanded()


def test_a_second_method_stands_beside_and_changes_nothing() -> None:
    """300 by the meter, 65 min × 5 gal/min = 325 by the bucket: both ±, so E_n says whether they agree.

    U of the meter: a = 0.5 and 0.5 and 6, U = 2 × √(36.5 / 3) = 6.98; of the bucket a = 13, U = 15.01;
    E_n = 25 / √(6.98² + 15.01²) = 1.51.
    """
    whole = {"method": "meter", "meter": "supply", "start": "1000", "end": "1300"}
    also = {"method": "time", "flow": "bucket", "minutes": "65 min"}
    _, _, run = facts(night(stop(), used=whole, used_also=also))
    assert used(run) == 300
    (beside,) = run.used_beside
    assert isinstance(beside.known.figure, Volume)
    assert (beside.known.figure.best, beside.en) == (325, "1.51")
    _, _, told = facts(night(stop(), used=whole, used_also="320 gal"))
    assert [one.en for one in told.used_beside] == [None]


def test_a_total_is_shared_by_area_and_a_stop_with_a_figure_keeps_it() -> None:
    """300 in all, 60 of them at stop 1; the other 240 by 3,000 and 1,000 ft2: 180 and 60, worked out."""
    _, _, run = facts(
        night(
            stop(used="60 gal"), stop(n=2, area="3000 ft2"), stop(n=3, area="1000 ft2"),
            used={"method": "meter", "meter": "supply", "start": "1000", "end": "1300"},
        )
    )  # fmt: skip
    assert [used(one) for one in run.stops] == [60, 180, 60]
    assert [one.used_basis for one in run.stops] == ["stated", "area", "area"]
    shared = run.stops[1].used.figure
    assert isinstance(shared, Volume) and shared.expanded() is None


def test_a_total_below_what_the_stops_say_is_shared_by_nobody() -> None:
    """50 in all cannot leave anything to the second stop when the first alone says 60."""
    _, _, run = facts(night(stop(used="60 gal"), stop(n=2), used="50 gal"))
    assert [used(one) for one in run.stops] == [60, "not known"]


def test_a_bound_is_no_weight_and_no_share() -> None:
    """'At least 300' may be any amount: the stops get none of it."""
    _, _, run = facts(night(stop(), stop(n=2), used=">=300 gal"))
    assert [used(one) for one in run.stops] == ["not known", "not known"]
    _, _, alone = facts(night(stop(used={"method": "time", "flow": "bucket", "minutes": ">=30 min"})))
    assert isinstance(alone.stops[0].used.figure, Volume)
    assert (alone.stops[0].used.figure.low, alone.stops[0].used.figure.high) == (150, None)


def test_time_and_equal_shares_when_no_area_is_known() -> None:
    """Two hours and one hour: 200 and 100 of 300; without times, half each."""
    at = [("21:00", "23:00"), ("23:00", "24:00")]
    timed = [stop(n=n, arrived=a, left=b.replace("24", "00")) for n, (a, b) in enumerate(at)]
    _, _, run = facts(night(*timed, used="300 gal", start="20:00"))
    assert [(used(one), one.used_basis) for one in run.stops] == [(200, "time"), (100, "time")]
    _, _, same = facts(night(stop(), stop(n=2), used="301 gal"))
    assert [(used(one), one.used_basis) for one in same.stops] == [(Decimal("150.50"), "equal")] * 2
