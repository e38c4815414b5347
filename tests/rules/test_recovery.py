"""A threshold is met, not met, or cannot be told; whose it is stands with it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from compliance.rules.scene import Scene
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import Line
from tests.rules.samples import base, found, outcome, scene, with_load, with_run

D = Decimal
LOAD = "2026-09-14-big-blue.l1"
HOUSE = {"name": "recovery ratio", "value": "90 %", "whose": "house policy"}
PERMIT = {"name": "recovery ratio, city", "value": "95 %", "whose": "local permit", "source": "City permit 12"}


def limits(*rows: dict[str, Any]) -> dict[str, Any]:
    return {"limit": list(rows)}


def measured(low: str, high: str) -> Ratio:
    return Ratio((D(low) + D(high)) / 2, D(low), D(high), "measured")


@pytest.mark.parametrize(
    ("ratio", "result"),
    [
        (measured("0.90", "0.94"), "silent"),
        (measured("0.86", "0.8999"), "found: recovery ratio of the run: 88.0 % (between 86.0 % and 90.0 %)"),
        (measured("0.88", "0.92"), "cannot tell: 90.0 % (between 88.0 % and 92.0 %) against 90 %, house policy"),
        (Ratio(D("0.5"), None, None, "stated", "", True), "cannot tell: 50.0 %, stated, no ±"),
        (Ratio(D("0.95"), None, D("0.85"), "at most"), "found: recovery ratio of the run: at most 85.0 %"),
        (Ratio(D("0.95"), D("0.91"), None, "at least"), "silent"),
        (Ratio(D("0.8"), D("0.8"), None, "at least"), "cannot tell: at least 80.0 %"),
        (Ratio(None, D("0.8"), D("0.95"), "between"), "cannot tell: between 80.0 % and 95.0 %"),
        (NoRatio("used was not read"), "cannot tell: no ratio: used was not read"),
    ],
)
def test_the_whole_interval_decides(ratio: Ratio | NoRatio, result: str) -> None:
    """At the limit is met; an interval on both sides, or a figure without ±, cannot be told."""
    made = with_load(scene(limits(HOUSE)), LOAD, stops=(f"{LOAD[:-3]}.s1",))
    assert outcome(with_run(made, ratio=ratio), "recovery-1").startswith(result)


def test_no_limit_is_said() -> None:
    """'None yet' is an answer, an absent limit reads as absent, and neither is a pass."""
    assert outcome(scene({}), "recovery-1") == "silent: no limit on file"
    none_yet = limits({"name": "recovery ratio", "none_yet": "yes"})
    assert outcome(scene(none_yet), "recovery-1") == "silent: no limit on file: none yet"
    unread = limits({"name": "recovery ratio", "none_yet": "no"})
    assert outcome(scene(unread), "recovery-1") == "silent: no limit on file"
    bound = limits({"name": "recovery ratio", "value": ">=80 %", "whose": "house policy"})
    assert outcome(scene(bound), "recovery-1") == "silent: no limit on file"


def test_a_local_permit_goes_before_a_house_policy() -> None:
    """Only the limit that governs is judged, whichever is stricter, and its source is the basis."""
    made = with_run(scene(limits(HOUSE, PERMIT)), ratio=measured("0.91", "0.93"))
    (finding,) = found(made, "recovery-1")
    assert finding.basis == "local permit" and finding.compared_with == "95 %, local permit, City permit 12"
    house = with_run(scene(limits(HOUSE)), ratio=measured("0.86", "0.88"))
    assert found(house, "recovery-1")[0].basis == "house policy"


def test_the_limit_of_the_day_judges_the_day() -> None:
    """A limit that begins later does not judge yet; of two in force the later one does."""
    later = {**HOUSE, "name": "recovery ratio 2027", "value": "99 %", "applies_from": "2027-01-01"}
    this_year = {**HOUSE, "name": "recovery ratio 2026", "value": "95 %", "applies_from": "2026-09-01"}
    made = with_run(scene(limits(HOUSE, later)), ratio=measured("0.91", "0.93"))
    assert outcome(made, "recovery-1") == "silent"
    today = {**this_year, "applies_from": "2026-09-14"}
    made = with_run(scene(limits(HOUSE, today)), ratio=measured("0.91", "0.93"))
    assert outcome(made, "recovery-1").startswith("found")
    made = with_run(scene(limits(HOUSE, later, this_year)), ratio=measured("0.91", "0.93"))
    assert outcome(made, "recovery-1").startswith("found")


def over_nights(scene_: Scene, ratio: Ratio | NoRatio, closed: bool = True) -> Scene:
    """The load ends in the run and holds an earlier run's water too; the run itself has no ratio."""
    record = scene_.state.runs[0].record
    made = with_run(scene_, ratio=NoRatio("the tank was not read at the end of the run"))
    ends = Line(record, "4") if closed else None
    return with_load(made, LOAD, stops=("2026-09-13-big-blue.s1", f"{LOAD[:-3]}.s1"), ratio=ratio, closed=ends)


def test_a_load_over_several_nights_is_judged_where_it_ends() -> None:
    """Where the run has no ratio of its own, its load may have one."""
    made = scene(limits(HOUSE))
    (finding,) = found(over_nights(made, measured("0.80", "0.84")), "recovery-1")
    assert finding.seen == f"recovery ratio of the load {LOAD}: 82.0 % (between 80.0 % and 84.0 %)"
    assert outcome(over_nights(made, measured("0.95", "0.97")), "recovery-1") == "silent"
    open_load = over_nights(made, measured("0.80", "0.84"), closed=False)
    assert outcome(open_load, "recovery-1").startswith("cannot tell: no ratio: the tank was not read")


def test_nothing_is_judged_where_no_ratio_was_to_be() -> None:
    """Recovery not planned, water led away, and a night that was off have no ratio, and no verdict."""
    stop = {**base()["lines"][1], "plan": "recovery not planned"}
    assert outcome(scene(limits(HOUSE), {"lines": [stop]}), "recovery-1") == "does not apply"
    led = {"lines": [base()["lines"][1], {"line": "led away", "place": "Mall cleanout"}]}
    assert outcome(scene(limits(HOUSE), led), "recovery-1") == "does not apply"
    off = {"lines": [], "night": {"where": "no water", "cancelled": "rain"}}
    assert outcome(scene(limits(HOUSE), off), "recovery-1") == "does not apply"


def test_a_measured_night_is_judged_by_its_own_figures() -> None:
    """370 of 400 gal against 90 %: the interval of the base night lies above it."""
    made = scene(limits(HOUSE))
    assert outcome(made, "recovery-1") == "silent"
    (run,) = made.night.runs.values()
    assert isinstance(run.ratio, Ratio) and run.ratio.low is not None and run.ratio.low > D("0.9")
    assert replace(run.ratio).kind == "measured"
