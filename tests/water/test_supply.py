"""What a supply meter says between two readings: which stops drew it, and what was let go of it."""

from __future__ import annotations

from compliance.water.lines import timelines
from compliance.water.methods import Gauges
from compliance.water.supply import SupplySpan, let_go, supply_spans
from tests.reports.making import Bench
from tests.water.nights import best, meter, night, stop

FRESH = {"line": "let go", "what": "unused fresh water"}


def spans(bench: Bench) -> list[SupplySpan]:
    gauges = Gauges(bench.state.registers, bench.state.unit)
    return [span for timeline in timelines(gauges, bench.state.runs) for span in supply_spans(timeline, gauges)]


def test_a_span_holds_the_stops_between_its_readings_and_what_was_let_go_there() -> None:
    """1,000 to 1,120 over stop 1 with 20 let go; 1,120 to 1,300 over stop 2. What came before the first is in none."""
    bench = night({**FRESH, "amount": "30 gal"}, meter("1000"), stop(), {**FRESH, "amount": "20 gal"}, meter("1120"),
                  stop(n=2), meter("1300"))  # fmt: skip
    first, second = spans(bench)
    assert [best(one.known.figure) for one in (first, second)] == [120, 180]
    assert [len(one.stops) for one in (first, second)] == [1, 1] and first.stops != second.stops
    assert [[best(known.figure) for known in one.let_go] for one in (first, second)] == [[20], []]
    assert first.known.how.formula == "1,120 - 1,000 = 120 gal"


def test_what_a_meter_moved_while_nobody_worked_is_of_no_stop() -> None:
    """Three readings and a stop between the last two: one span."""
    (span,) = spans(night(meter("1000"), meter("1080"), stop(), meter("1200")))
    assert best(span.known.figure) == 120


def test_water_let_go_that_does_not_apply_is_left_out_and_unread_water_is_not() -> None:
    """'Not read' is an amount that nobody knows; 'not applicable' is no amount."""
    bench = night(stop(), {**FRESH, "amount": "not read"}, {**FRESH, "amount": "not applicable"})
    run = bench.state.runs[0]
    assert [line.n for line in run.lines if line.n in let_go(Gauges(bench.state.registers, "gal"), run)] == ["2"]
