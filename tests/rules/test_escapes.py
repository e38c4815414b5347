"""An escape is told in full: where it reached, how much, and that nobody knows where nobody does."""

from __future__ import annotations

from typing import Any

import pytest

from tests.rules.samples import base, found, outcome, scene

STOP = base()["lines"][1]


def escape(**fields: Any) -> dict[str, Any]:
    return {"line": "escape", "what": "hose burst", **fields}


def night(*lines: dict[str, Any], **fields: Any) -> dict[str, Any]:
    return {"lines": list(lines), "night": {"where": "aboard", "recovered": "300 gal", **fields}}


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"reached": "storm drain", "amount": "~5 gal"}, "hose burst: it reached a storm drain; amount: ~5 gal"),
        ({"reached": "gutter or street", "amount": "not read"}, "it reached the gutter or street; amount not read"),
        ({"reached": "soil"}, "it reached no storm drain that anybody saw (soil); amount not recorded yet"),
        ({"reached": "not known"}, "where it reached is not known; amount not recorded yet"),
        ({"reached": "not read"}, "where it reached is not known; amount not recorded yet"),
        ({}, "where it reached is not recorded; amount not recorded yet"),
    ],
)
def test_an_escape_says_where_and_how_much(fields: dict[str, Any], words: str) -> None:
    """Unknown is said in words; nothing reads as zero."""
    (finding,) = found(scene(night(STOP, escape(**fields), got_away="yes")), "escape-1")
    assert words in finding.seen and " 0" not in finding.seen
    assert finding.severity == "act now" and finding.about == "2026-09-14-big-blue.s1"
    assert [one.line for one in finding.lines] == ["2"]


def test_a_measured_escape_points_to_its_line() -> None:
    """A measure is read on the line, where its readings stand."""
    amount = {"method": "count", "vessel": "drum", "times": "1"}
    (finding,) = found(scene(night(STOP, escape(reached="soil", amount=amount))), "escape-1")
    assert "amount: measured, on the line" in finding.seen


def test_one_finding_a_stop() -> None:
    """Several facts about one stop make one finding; another stop has its own."""
    drains = [{"name": "inlet", "method": "berm", "seen": "seen entering"}]
    first = {**STOP, "drain_list": drains, "got_away": "yes"}
    second = {**STOP, "site": "Fish Quay", "got_away": "yes"}
    findings = found(scene(night(first, escape(reached="storm drain"), escape(), second, got_away="yes")), "escape-1")
    assert [one.about for one in findings] == ["2026-09-14-big-blue.s1", "2026-09-14-big-blue.s2"]
    assert findings[0].seen.count(";") == 5 and "inlet" in findings[0].seen
    assert [one.line for one in findings[0].lines] == ["2", "3", "1"]
    assert findings[1].seen == "water got away; where it reached is not recorded; amount not known"


def test_the_run_says_it_when_no_stop_does() -> None:
    """'Water got away: yes' on the run alone is a finding about the run."""
    (finding,) = found(scene({"night": {"got_away": "yes"}}), "escape-1")
    assert finding.about == "2026-09-14-big-blue" and "amount not known" in finding.seen


def test_an_escape_of_a_run_without_work_is_about_the_run() -> None:
    """Water can get away in the yard, with every stop called off."""
    off = {"lines": [escape(reached="pavement only")], "night": {"where": "no water", "cancelled": "rain"}}
    (finding,) = found(scene(off), "escape-1")
    assert finding.about == "2026-09-14-big-blue" and [one.line for one in finding.lines] == ["1"]


def test_not_having_looked_is_no_pass() -> None:
    """'Did not look', or silence, cannot be told; one silent stop is enough."""
    assert outcome(scene({"night": {"got_away": "did not look"}}), "escape-1").startswith("cannot tell")
    assert outcome(scene({"without": ["got_away"]}), "escape-1").startswith("cannot tell")
    seen = {**STOP, "got_away": "saw none"}
    rest: dict[str, Any] = {"night": {"where": "aboard"}, "without": ["got_away"]}
    assert outcome(scene({"lines": [seen, {**seen, "site": "Fish Quay"}], **rest}), "escape-1") == "silent"
    one = outcome(scene({"lines": [seen, {**STOP, "site": "Fish Quay"}], **rest}), "escape-1")
    assert one.startswith("cannot tell")


def test_without_work_there_is_nothing_to_watch() -> None:
    """A run that was off is not asked."""
    off = {"lines": [], "night": {"where": "no water", "cancelled": "rain"}}
    assert outcome(scene(off), "escape-1") == "does not apply"
