"""What is said of a load: whether it is aboard, and what of it was captured, as its run says it too."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from compliance.water.loadfacts import SAME_READINGS
from compliance.water.results import LoadFacts, RunFacts
from compliance.water.volume import Unknown
from tests.reports.making import book

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [{"name": "recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"}],
}
STOP = {"line": "stop", "site": "yard"}
DUMP = {"line": "hand over", "place": "plant"}


def load(*lines: Mapping[str, Any], **run: Any) -> tuple[LoadFacts, RunFacts]:
    """The one load of one night, and its run."""
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines"}
    found = book(REGISTERS, {**night, **run, "line": list(lines)}).night
    (one,) = found.loads.values()
    return one, next(iter(found.runs.values()))


def test_a_load_handed_over_with_nothing_read_says_what_its_run_says() -> None:
    """Captured was not read, by the run's own word, and whether any of it is aboard is not known."""
    one, run = load(STOP, {**DUMP, "amount": "not read"}, recovered="not read")
    for figure in (one.captured.figure, run.captured.figure, run.stops[0].captured.figure):
        assert isinstance(figure, Unknown)
        assert (figure.kind, figure.reason) == ("not read", "recovered was not read")
    assert (one.now, one.closed) == ("not known", None)


def test_while_the_run_is_silent_the_load_is() -> None:
    """It is still to be recorded."""
    one, run = load(STOP, {**DUMP, "amount": "not read"})
    assert [_kind(one), _kind(run)] == ["not recorded yet"] * 2
    assert one.now == "not known"


def _kind(facts: LoadFacts | RunFacts) -> str:
    assert isinstance(facts.captured.figure, Unknown)
    return facts.captured.figure.kind


EMPTY = {"line": "reading", "of": "recovery", "shows": "empty"}
FULL = {**EMPTY, "shows": "205 gal"}


@pytest.mark.parametrize(
    ("lines", "recovered", "now"),
    [
        ((STOP,), "not read", "aboard"),
        ((STOP, {**DUMP, "amount": "not read"}, STOP), "not read", "aboard"),
        ((STOP, {**DUMP, "amount": "not read", "tank_after": "empty"}), "not read", "empty"),
        ((EMPTY, STOP, {**DUMP, "amount": "150 gal"}), "200 gal", "aboard"),
        ((EMPTY, STOP, {**DUMP, "amount": "200 gal"}), "200 gal", "empty"),
        ((STOP, {**DUMP, "amount": "200 gal"}), "200 gal", "not known"),
        ((STOP, {**DUMP, "amount": "not read", "refused": "gate shut"}), "not read", "aboard"),
    ],
)
def test_a_load_is_aboard_only_while_the_records_say_so(
    lines: tuple[Mapping[str, Any], ...], recovered: str, now: str
) -> None:
    """What was drawn last and not measured may have been all of it, and what figures leave may be nothing."""
    one, _ = load(*lines, recovered=recovered)
    assert one.now == now


@pytest.mark.parametrize(
    ("lines", "left"),
    [
        ((EMPTY, STOP, {**DUMP, "amount": "not read", "tank_after": "empty"}), "not known"),
        ((EMPTY, STOP, {**DUMP, "amount": "190 gal", "tank_after": "empty"}), "not known"),
        ((EMPTY, STOP, FULL, {**DUMP, "amount": "not read", "tank_after": "empty"}), "not known"),
        ((EMPTY, STOP, FULL, {**DUMP, "amount": "190 gal", "tank_after": "empty"}), "15"),
        ((EMPTY, STOP, FULL, {**DUMP, "amount": "not read"}, {**FULL, "shows": "40 gal"}), "not known"),
        ((EMPTY, STOP, FULL, {**FULL, "shows": "200 gal"}, {**DUMP, "amount": "not read", "tank_after": "empty"}), "5"),
    ],
)
def test_a_load_whose_dump_and_captured_are_one_figure_leaves_nothing_that_could_be_told(
    lines: tuple[Mapping[str, Any], ...], left: str
) -> None:
    """0 would be made by working the one out of the other; a look before a measured dump does tell."""
    one, _ = load(*lines, recovered="200 gal")
    figure = one.not_explained
    assert (figure.kind if isinstance(figure, Unknown) else f"{figure.best:.0f}") == left
    if left == "not known":
        assert isinstance(figure, Unknown) and figure.reason == SAME_READINGS.reason
