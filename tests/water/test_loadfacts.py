"""What is said of a load: whether it is aboard, and what of it was captured, as its run says it too."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from compliance.water.loadfacts import NOBODY_LOOKED, SAME_LOOK, SAME_READINGS
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


NOT_WORKED = {**STOP, "not_worked": "gate shut"}
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


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        ((EMPTY, STOP), NOBODY_LOOKED),
        ((EMPTY, STOP, {**DUMP, "amount": "150 gal"}), NOBODY_LOOKED),
        ((EMPTY, STOP, FULL), SAME_LOOK),
        ((EMPTY, STOP, {**DUMP, "amount": "150 gal"}, {**FULL, "shows": "40 gal"}), SAME_READINGS),
    ],
)
def test_what_is_aboard_by_the_other_figures_leaves_nothing_that_could_be_told(
    lines: tuple[Mapping[str, Any], ...], why: Unknown
) -> None:
    """The 200 gal that a crew says came in are aboard only because they came in: no look bears that out."""
    one, _ = load(*lines, recovered="200 gal")
    assert one.not_explained == why


def test_an_interval_without_a_look_hides_nothing_that_another_one_shows() -> None:
    """200 gal by the crew's word are aboard; the next look shows 205, and the word that follows hides none of that."""
    one, _ = load(EMPTY, STOP, recovered="200 gal")
    assert one.not_explained == NOBODY_LOOKED
    nights = [
        {"id": name, "rig": "Big Blue", "lead": "Marisol Vega", "date": day, "where": "aboard", **more}
        for name, day, more in (
            ("a", "2026-09-01", {"recovered": "200 gal", "line": [EMPTY, STOP]}),
            ("b", "2026-09-02", {"recovered": "50 gal", "line": [FULL, STOP]}),
        )
    ]
    (both,) = book(REGISTERS, *nights).night.loads.values()
    assert not isinstance(both.not_explained, Unknown) and both.not_explained.best == -5


def test_water_of_which_nobody_says_where_it_is_is_not_called_aboard() -> None:
    """200 gal were captured; that no line tells of a handover does not make them still aboard."""
    one, run = load(EMPTY, STOP, recovered="200 gal", where="not known")
    reason = "where the water is, is not known"
    assert (one.now, one.why, [draw.way for draw in one.draws]) == ("not known", reason, ["not known where"])
    for figure in (one.closing, one.not_explained):
        assert isinstance(figure, Unknown) and (figure.kind, figure.reason) == ("not known", reason)
    assert isinstance(run.aboard_after, Unknown) and run.stops[0].pieces is None
    assert not isinstance(run.captured.figure, Unknown) and run.captured.figure.best == 200


@pytest.mark.parametrize("shows", ["empty", "50 gal", "200 gal"])
def test_the_next_look_tells_how_much_of_it_was_gone(shows: str) -> None:
    """200 gal by the crew's word, and nobody knows where: what the tank lacks of it the next day had left it."""
    base = {"rig": "Big Blue", "lead": "Marisol Vega"}
    first = {**base, "id": "a", "date": "2026-09-01", "where": "not known", "recovered": "200 gal"}
    look = {**EMPTY, "shows": shows}
    nights = book(
        REGISTERS,
        {**first, "line": [EMPTY, STOP]},
        {**base, "id": "b", "date": "2026-09-02", "where": "no water", "line": [look, NOT_WORKED]},
    ).night
    (one,) = nights.loads.values()
    (draw,) = one.draws
    left = {"empty": 0, "50 gal": 50, "200 gal": 200}[shows]
    assert not isinstance(draw.known.figure, Unknown)
    assert (draw.way, draw.known.how.method, draw.known.figure.best) == ("not known where", "levels", 200 - left)
    pieces = {piece.way: piece.amount for piece in next(iter(nights.runs.values())).stops[0].pieces or ()}
    assert pieces == {way: n for way, n in (("not known where", (200 - left) * 100), ("aboard", left * 100)) if n}


@pytest.mark.parametrize("after", [FULL, {**DUMP, "amount": "200 gal"}])
def test_a_look_or_a_line_after_the_work_tells_where_the_water_is(after: Mapping[str, Any]) -> None:
    """It is in the tank as it was read, or it was handed over; the answer 'not known' takes nothing of that back."""
    one, _ = load(EMPTY, STOP, after, recovered="200 gal", where="not known")
    assert "not known where" not in [draw.way for draw in one.draws]
