"""What a run and its stops used, by each way of knowing it, and what stands beside it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest

from compliance.water.fold import calculate
from compliance.water.ratio import NoRatio
from compliance.water.results import RunFacts, StopFacts
from compliance.water.volume import Unknown, Volume, total_of
from tests.reports.making import book
from tests.water.nights import REGISTERS, START, best, facts, meter, night, stop


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


@pytest.mark.parametrize(
    ("whole", "line"),
    [
        ({"method": "meter", "meter": "supply", "start": "1000", "end": "1300"}, "1,300 - 1,000 = 300 gal; "),
        ("300 gal", "300 gal; "),
    ],
)
def test_what_the_other_stops_leave_of_a_total_can_be_redone(whole: Any, line: str) -> None:
    """300 in all, 60 and 40 of them at stops 1 and 2: the third has 200, by the reading of the 300."""
    _, _, run = facts(night(stop(used="60 gal"), stop(n=2, used="40 gal"), stop(n=3), used=whole))
    known = run.stops[2].used
    assert used(run.stops[2]) == 200
    left = "what the other stops leave: 300.00 - 60.00 - 40.00 = 200.00"
    assert (known.how.method, known.how.formula) == ("sum", line + left)
    assert known.how.reader == run.used.how.reader


def test_water_used_again_that_only_the_levels_tell_is_known_to_the_stop_and_the_run_too() -> None:
    """100 in, 10 at the second stop, 40 left: 70 went through the gun again, and 20 + 70 were applied there."""
    _, made, run = facts(
        night(
            {"line": "reading", "of": "recovery", "shows": "empty"}, stop(used="120 gal", recovered="100 gal"),
            {"line": "use again", "amount": "not read"}, stop(n=2, used="20 gal", recovered="10 gal"),
            {"line": "reading", "of": "recovery", "shows": "40 gal"},
        )
    )  # fmt: skip
    (load,) = made.loads.values()
    (read,) = run.stops[1].readings["used again"]
    figures = [load.used_again, run.used_again, run.stops[1].used_again, read.figure]
    assert [isinstance(one, Volume) and one.best for one in figures] == [70] * 4
    assert read.how.formula == "0.00 + 110.00 - 40.00 = 70.00"
    assert isinstance(run.applied, Volume) and run.applied.best == 210


def test_a_total_below_what_the_stops_say_is_shared_by_nobody() -> None:
    """50 in all cannot leave anything to the second stop when the first alone says 60."""
    _, _, run = facts(night(stop(used="60 gal"), stop(n=2), used="50 gal"))
    assert [used(one) for one in run.stops] == [60, "not known"]


def test_a_bound_is_no_weight_and_no_share() -> None:
    """'At least 300' may be any amount: the stops get none of it."""
    _, _, run = facts(night(stop(), stop(n=2), used=">=300 gal"))
    assert [used(one) for one in run.stops] == ["not known", "not known"]
    _, _, one = facts(night(stop(), used=">=300 gal"))
    assert one.stops[0].used.figure == one.used.figure
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
    assert [(used(one), one.used_basis) for one in same.stops] == [(Decimal("150.50"), "equal parts")] * 2


EMPTY = {"line": "reading", "of": "recovery", "shows": "empty"}


def rest_of(found: RunFacts | StopFacts) -> tuple[Decimal | None, Decimal | None] | str:
    figure = found.not_explained
    return figure.kind if isinstance(figure, Unknown) else (figure.low, figure.high)


def test_rain_that_nobody_measured_is_never_taken_for_nothing() -> None:
    """300 used, 250 captured, 250 handed over: 50 is left over, and whatever the rain brought on top of it."""
    figures = {"used": "300 gal", "recovered": "250 gal"}
    _, _, dry = facts(night(EMPTY, stop(**figures), rain="none"))
    _, _, wet = facts(night(EMPTY, stop(**figures), rain="some"))
    assert (rest_of(dry), rest_of(dry.stops[0])) == ((50, 50), (50, 50))
    assert (rest_of(wet), rest_of(wet.stops[0])) == ((50, None), (50, None))
    assert "rain, of an amount not read" in [line.label for line in wet.balance]
    assert "rain, of an amount not read" not in [line.label for line in dry.balance]


def test_water_that_was_seen_to_get_away_is_never_taken_for_nothing() -> None:
    """By the crew's answer or by what was seen at a drain: without a line of it its amount is not recorded yet."""
    figures = {"used": "300 gal", "recovered": "250 gal"}
    drain = {"name": "inlet", "method": "cover mat", "seen": "seen entering"}
    for bench in (
        night(EMPTY, stop(**figures), got_away="yes"),
        night(EMPTY, stop(**figures, got_away="yes")),
        night(EMPTY, stop(**figures, drain_list=[drain]), got_away="saw none"),
    ):
        _, _, run = facts(bench)
        assert (rest_of(run), rest_of(run.stops[0])) == ("not recorded yet", "not recorded yet")
        assert [line.label for line in run.balance].count("got away") == 1
        assert "the other figures leave 50.00" in str(run.not_explained)
    _, _, told = facts(
        night(EMPTY, stop(**figures), {"line": "escape", "what": "mat", "amount": "5 gal"}, got_away="yes")
    )
    assert rest_of(told) == (45, 45)
    _, _, two = facts(
        night(EMPTY, stop(**figures, got_away="saw none"), stop(n=2, used="9 gal", recovered="9 gal"), got_away="yes")
    )
    assert [rest_of(one) for one in two.stops] == [(50, 50), "not recorded yet"]


def test_water_that_is_only_said_to_be_gone_has_no_plus_minus() -> None:
    """A mark says what was recovered, with ±; that all of it went to the place is a word, and no look."""
    tank = {**REGISTERS["tank"][0], "shape": "rectangle", "length": "66 in", "width": "35 in", "depth": "50 in",
            "mark_step": "0.5 in", "accuracy": "1 %"}  # fmt: skip
    registers = {**REGISTERS, "tank": [tank], "place": [{"name": "station", "kind": "receiving station"}]}
    recovered = {"method": "mark", "tank": "recovery", "before": "empty", "after": "30 in"}
    raw = {
        "id": "n",
        "date": "2026-09-01",
        **START,
        "where": "station",
        "recovered": recovered,
        "line": [EMPTY, stop()],
    }
    _, made, run = facts(book(registers, raw))
    captured, (load,) = run.captured.figure, made.loads.values()
    (draw,) = load.draws
    assert isinstance(captured, Volume) and captured.best == 300 and captured.expanded() is not None
    assert isinstance(draw.known.figure, Volume) and draw.known.figure.best == 300
    assert draw.known.figure.expanded() is None


def test_what_got_away_belongs_to_a_stop_that_was_worked() -> None:
    """No water ran at a stop that nobody worked; where none was worked the first has it, and the run too."""
    escape = {"line": "escape", "what": "hose burst", "amount": "5 gal"}
    off = stop(n=2, not_worked="gate locked")
    worked = stop(used="300 gal", recovered="250 gal")
    for lines in ((EMPTY, worked, off, escape), (EMPTY, off, escape, worked)):
        _, _, run = facts(night(*lines))
        assert {one.site: one.escaped for one in run.stops}["site 1"] == run.escaped
        assert (rest_of(run), rest_of(next(one for one in run.stops if one.worked))) == ((45, 45), (45, 45))
    _, _, idle = facts(night(EMPTY, off, escape))
    assert isinstance(idle.escaped, Volume) and idle.escaped.best == 5


def test_a_silent_night_takes_nothing_from_the_next() -> None:
    """The tank is unknown after a night without figures; what the next night says of itself stands all the same."""
    silent = {"id": "one", "date": "2026-09-01", **START, "line": [EMPTY, stop()]}
    told = {"id": "two", "date": "2026-09-02", **START, "recovered": "45 gal", "line": [stop()]}
    first, second = calculate(book(REGISTERS, silent, told).state).runs.values()
    assert isinstance(second.captured.figure, Volume) and second.captured.figure.best == 45
    assert second.stops[0].captured == second.captured and second.stops[0].pieces is None
    assert isinstance(first.captured.figure, Unknown) and first.captured.figure.kind == "not recorded yet"


def test_did_not_read_stays_did_not_read() -> None:
    """A mark of which one end was not read is an answer: nobody is asked again."""
    mark = {"method": "mark", "tank": "recovery", "before": "not read", "after": "24 in"}
    _, _, run = facts(night(stop(), recovered=mark))
    assert isinstance(run.captured.figure, Unknown) and run.captured.figure.kind == "not read"
    assert run.captured.figure.reason == "recovered: before was not read"


def let_go(amount: Any = None) -> dict[str, Any]:
    return {"line": "let go", "what": "unused fresh water"} | ({} if amount is None else {"amount": amount})


WHOLE = {"method": "meter", "meter": "supply", "start": "1000", "end": "1300"}


def test_water_let_go_was_used_by_the_run_and_by_no_stop() -> None:
    """300 drawn and 60 let go: the stop used 240, which is what was applied, and 60 is a term of the balance."""
    _, _, run = facts(night(stop(), let_go("60 gal"), used=WHOLE))
    assert (used(run), used(run.stops[0])) == (300, 240)
    assert run.stops[0].used.how.formula == "1,300 - 1,000 = 300 gal; 300.00 - 60.00 = 240.00"
    assert isinstance(run.applied, Volume)
    assert best(run.applied) == 240
    assert [best(line.known.figure) for line in run.balance if line.label == "let go"] == [60]


def test_water_let_go_between_two_readings_is_in_what_the_meter_says() -> None:
    """1,000 to 1,120 over stop 1, 20 of them let go; 30 before the first reading and none of it in the 120."""
    _, _, run = facts(
        night(let_go("30 gal"), meter("1000"), stop(), let_go("20 gal"), meter("1120"), stop(n=2), meter("1300"))
    )
    assert [used(one) for one in run.stops] == [100, 180]
    assert (used(run), best(run.applied)) == (300, 280)
    assert [best(line.known.figure) for line in run.balance if line.label == "let go"] == [20]


def test_water_let_go_that_nobody_read_leaves_what_was_applied_unread() -> None:
    """300 by the meter stands; the stop's part, and with it the ratio, is 'not read'."""
    _, _, run = facts(night(stop(), let_go("not read"), used=WHOLE))
    assert (used(run), used(run.stops[0])) == (300, "not read")
    assert isinstance(run.applied, Unknown)
    assert isinstance(run.not_explained, Unknown)


def test_a_run_that_is_the_sum_of_its_stops_has_no_water_let_go_in_it() -> None:
    """120 at the stop are applied; 60 let go are told, and are no term of a balance that begins with the 120."""
    _, _, run = facts(night(stop(used="120 gal"), let_go("60 gal")))
    assert (used(run), best(run.applied), best(run.let_go)) == (120, 120, 60)
    assert not [line for line in run.balance if line.label == "let go"]


def test_stops_and_what_was_let_go_together_stand_beside_the_whole() -> None:
    """300 by the meter; 240 said of the stop and 60 let go are 300 too."""
    _, _, run = facts(night(stop(used="240 gal"), let_go("60 gal"), used=WHOLE))
    assert [best(one.known.figure) for one in run.used_beside] == [300]


def test_water_let_go_that_the_meter_never_saw_is_no_term() -> None:
    """The meter stands behind the fresh tank: what is let go out of it does not apply."""
    _, _, run = facts(night(stop(), let_go("not applicable"), used=WHOLE))
    assert (used(run.stops[0]), best(run.applied)) == (300, 300)


def test_rain_at_one_stop_is_in_the_share_of_every_stop_between_the_same_looks() -> None:
    """Two stops before one look, rain at the second: both are at most; a third behind the look is not."""
    level = {"line": "reading", "of": "recovery", "shows": "200 gal"}
    empty = {"line": "reading", "of": "recovery", "shows": "empty"}
    dry, wet = {"rain": "none"}, {"rain": "some"}
    _, _, run = facts(night(empty, stop(**dry), stop(n=2, **wet), level, stop(n=3, **dry)))
    assert [one.rained for one in run.stops] == [True, True, False]


def joined(first: Mapping[str, Any], second: Mapping[str, Any]) -> RunFacts:
    """One outing of two hand-ins; unless said, stop 1 of 1,000 ft2 in the first, stop 2 of 3,000 ft2 in the second."""
    begun = {"id": "a", "date": "2026-09-01", **START, "line": [stop(area="1000 ft2")], **first}
    ended = {"id": "b", "date": "2026-09-01", **START, "line": [stop(n=2, area="3000 ft2")], **second}
    names = {"first": "2026-09-01-big-blue", "second": "2026-09-01-big-blue-2"}
    said = {
        "kind": "same outing",
        "id": "j",
        **names,
        "why": "two tablets",
        "who": "Ruth Ames",
        "handed_in": "2026-09-02T09:00-06:00",
    }
    return facts(book(REGISTERS, begun, ended, said))[2]


def span(start: str, end: str) -> dict[str, str]:
    return {"method": "meter", "meter": "supply", "start": start, "end": end}


def test_each_half_of_an_outing_keeps_what_its_own_look_says() -> None:
    """1,000 to 1,200 by the one tablet and 1,200 to 1,300 by the other: 200 and 100, whatever the areas."""
    run = joined({"used": span("1000", "1200")}, {"used": span("1200", "1300")})
    assert used(run) == 300
    assert [(used(one), one.used_basis) for one in run.stops] == [(200, "measured"), (100, "measured")]


def test_water_let_go_in_one_half_is_taken_from_that_half() -> None:
    """60 of the second half's 100 were let go: its stop used 40, the other all of its 200."""
    second = {"used": span("1200", "1300"), "line": [stop(n=2), let_go("60 gal")]}
    run = joined({"used": span("1000", "1200")}, second)
    assert [used(one) for one in run.stops] == [200, 40]


def test_one_figure_for_both_halves_is_shared_by_area() -> None:
    """400 on one tablet only, or on both alike, is of the outing: 100 and 300 by 1,000 and 3,000 ft2."""
    whole = span("1000", "1400")
    for second in ({}, {"used": whole}):
        assert [used(one) for one in joined({"used": whole}, second).stops] == [100, 300]


def test_a_stop_that_stands_in_both_halves_has_no_half_of_its_own() -> None:
    """Both tablets entered stop 1 alike, so nobody knows which look is of it: 300 are shared by area."""
    same = stop(area="1000 ft2", arrived="2026-09-01T20:00-06:00")
    run = joined(
        {"used": span("1000", "1200"), "line": [same]},
        {"used": span("1200", "1300"), "line": [same, stop(n=2, area="2000 ft2")]},
    )
    assert [(used(one), one.used_basis) for one in run.stops] == [(100, "area"), (200, "area")]


def test_less_than_nothing_captured_has_no_ratio() -> None:
    """The tank went down while nobody drew any: the readings are looked at, and no percentage is made of them."""
    down = {"line": "reading", "of": "recovery", "shows": "100 gal"}
    up = {"line": "reading", "of": "recovery", "shows": "140 gal"}
    _, _, run = facts(night(up, stop(used="300 gal"), down))
    assert isinstance(run.captured.figure, Volume) and run.captured.figure.best == -40
    assert run.ratio == NoRatio("the readings give less than nothing captured")
    (only,) = run.stops
    assert (only.captured_basis, only.divided) == ("stated", False)  # as it was read: nothing of it was divided


COARSE: Mapping[str, Any] = {
    **REGISTERS,
    "instrument": [
        {"name": "supply", "rig": "Big Blue", "kind": "meter", "measures": "supply", "unit": "gal", "step": "200",
         "accuracy": "0.5 %"},
    ],
}  # fmt: skip


def supply(start: str, end: str) -> dict[str, str]:
    return {"method": "meter", "meter": "supply", "start": start, "end": end}


def test_the_end_of_one_night_and_the_start_of_the_next_are_two_looks() -> None:
    """0 to 5,000 to 10,000 in steps of 200, 0.5 %: 2 × √((50 ÷ √3)² + 4 × (100 ÷ √3)²) = 238.0 (docs/methods.md).

    With one look for the 5,000 it would be 2 × √((50 ÷ √3)² + 2 × (100 ÷ √3)²) = 173.2.
    """
    two = [
        {"id": day, **START, "date": f"2026-09-0{day}", "used": supply(start, end), "line": [stop()]}
        for day, start, end in (("1", "0", "5000"), ("2", "5000", "10000"))
    ]
    found = calculate(book(COARSE, *two).state)
    total = total_of(run.used.figure for run in found.runs.values())
    assert isinstance(total, Volume) and total.best == 10000
    assert round(total.expanded() or 0, 1) == Decimal("238.0")


def test_the_same_readings_are_no_second_method() -> None:
    """1,000 to 1,120 to 1,300 between the lines, 1,000 to 1,300 on the run: one meter, one pair of looks, 300 once."""
    between = (meter("1000"), stop(), meter("1120"), stop(n=2), meter("1300"))
    _, _, run = facts(night(*between, used=supply("1000", "1300")))
    assert (used(run), run.used_beside) == (300, ())


def test_stops_that_were_read_one_after_the_other_are_no_second_method() -> None:
    """120 and 180 are the two halves of the run's 300: the look at 1,120 ends one and begins the other."""
    halves = (stop(used=supply("1000", "1120")), stop(n=2, used=supply("1120", "1300")))
    _, _, run = facts(night(*halves, used=supply("1000", "1300")))
    assert (used(run), run.used_beside) == (300, ())


def test_another_look_at_the_same_meter_is_a_second_reading() -> None:
    """1,310 at the hand-in is not the 1,300 of the last line: 310 governs, 300 stands beside it."""
    between = (meter("1000"), stop(), meter("1300"))
    _, _, run = facts(night(*between, used=supply("1000", "1310")))
    assert used(run) == 310
    assert [one.known.figure.best for one in run.used_beside if isinstance(one.known.figure, Volume)] == [300]


def test_two_words_for_one_amount_are_two_words() -> None:
    """300 said of the run and 300 said beside it: nothing was read, so nothing shows that it was read once."""
    _, _, run = facts(night(stop(), used="300 gal", used_also="300 gal"))
    assert [one.known.figure.best for one in run.used_beside if isinstance(one.known.figure, Volume)] == [300]


def test_a_reading_of_a_name_that_is_a_tanks_is_a_look_at_the_tank() -> None:
    """An instrument that was given the same name by mistake takes no look away, and stops no book."""
    twin = {"name": "recovery", "rig": "Big Blue", "kind": "meter", "measures": "supply", "unit": "gal"}
    registers = {**REGISTERS, "instrument": [*REGISTERS["instrument"], twin]}
    look = {"line": "reading", "of": "recovery", "shows": "140 gal"}
    raw = {"id": "n", "date": "2026-09-01", **START, "used": "200 gal", "line": [EMPTY, stop(), look]}
    _, _, run = facts(book(registers, raw))
    assert isinstance(run.captured.figure, Volume) and run.captured.figure.best == 140


def test_water_of_a_night_without_a_stop_is_in_its_balance() -> None:
    """A night that was called off may still have led water away, or lost some: the run has it, as no stop can."""
    lines = [
        {"line": "led away", "place": "lawn", "amount": "25 gal"},
        {"line": "escape", "what": "hose", "amount": "5 gal"},
    ]
    raw = {"id": "n", "date": "2026-09-01", **START, "where": "no water", "cancelled": "storm", "line": [EMPTY, *lines]}
    _, _, run = facts(book(REGISTERS, raw))
    assert isinstance(run.led_away, Volume) and isinstance(run.escaped, Volume)
    assert (run.led_away.best, run.escaped.best) == (25, 5)
    assert [line.label for line in run.balance if line.sign < 0] == ["led away", "got away", "aboard at the end"]
    assert rest_of(run) == (-30, -30)
