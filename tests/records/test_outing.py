"""Two hand-ins of one outing are one run: what both say counts once, what they say differently stays visible."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest

from compliance.records import kinds
from compliance.records.state import State
from compliance.records.views import Change, RunView
from tests.records.writing import DAY, book, cancel, complete, correct, rid, run

T = f"{DAY}T"
METER = {"method": "meter", "meter": "supply meter", "start": "100", "end": "300"}


def outing(name: str, first: str, second: str) -> tuple[str, str, Any]:
    payload = {"first": rid(first), "second": rid(second), "why": "two tablets", "who": "Ruth"}
    return name, kinds.SAME_OUTING, payload


def joined(first: dict[str, Any], second: dict[str, Any], *more: tuple[str, str, Any]) -> RunView:
    """The one run that two hand-ins make."""
    (view,) = book(run("a", **first), run("b", **second), outing("j", "a", "b"), *more).runs
    return view


def differ(view: RunView) -> list[tuple[str, str, Any, Any]]:
    """What the hand-ins said differently: (line, field, what does not stand, what does)."""
    return [(c.line, c.field, c.was, c.now) for c in view.changes if c.kind == kinds.SAME_OUTING]


def test_the_lines_of_the_second_follow_those_of_the_first_with_their_numbers_continued() -> None:
    """Each keeps where it was handed in; the run is that of the first hand-in, received with the last."""
    view = joined(
        {"lines": [("stop", {"site": "Plaza"}), ("remark", {"text": "one"})]},
        {"lines": [("stop", {"site": "Harbor"}), ("remark", {"text": "two"})], "rain": "none"},
    )
    assert [(line.n, line.kind, line.origin) for line in view.lines] == [
        ("1", "stop", None), ("2", "remark", None), ("3", "stop", (rid("b"), "1")), ("4", "remark", (rid("b"), "2")),
    ]  # fmt: skip
    assert (view.record, view.ref, view.seq) == (rid("a"), f"{DAY}-big-blue", 2)
    assert view.received == f"{T}23:03:00-06:00" == view.handed_in
    assert view.get("rain") == "none" and view.changes == ()
    assert view.origin("4") == (rid("b"), "2") and view.origin("2") == (rid("a"), "2")
    assert view.origin("") == (rid("a"), "")
    assert view.outing == rid("j")
    assert [one.ref for one in view.handed_in_as] == [f"{DAY}-big-blue", f"{DAY}-big-blue-2"]


def test_a_run_of_one_hand_in_is_its_own_only_part() -> None:
    """Nothing about it is joined."""
    (view,) = book(run("a")).runs
    assert (view.handed_in_as, view.outing, view.parts) == ((view,), "", ())


def test_an_outing_is_found_by_the_name_and_the_id_of_each_hand_in() -> None:
    """Names that were printed before keep their meaning, and a third run keeps its number."""
    state = book(run("a"), run("b"), run("c"), outing("j", "a", "b"))
    for name in (rid("a"), rid("b"), f"{DAY}-big-blue", f"{DAY}-big-blue-2", rid("b")[:8]):
        found = state.run(name)
        assert found is not None and found.record == rid("a"), name
    third = state.run(f"{DAY}-big-blue-3")
    assert third is not None and third.record == rid("c")
    assert [view.ref for view in state.runs] == [f"{DAY}-big-blue", f"{DAY}-big-blue-3"]


def test_added_lines_keep_their_places() -> None:
    """One that was added after the second's first line, and one before it."""
    add = ("k", kinds.COMPLETE, {"run": rid("b"), "after": "1", "add": {"line": "remark", "fields": {"text": "x"}}})
    early = ("l", kinds.COMPLETE, {"run": rid("b"), "after": "", "add": {"line": "remark", "fields": {"text": "y"}}})
    own = ("m", kinds.COMPLETE, {"run": rid("a"), "after": "1", "add": {"line": "remark", "fields": {"text": "z"}}})
    view = joined({"lines": [("stop", {})]}, {"lines": [("stop", {}), ("stop", {})]}, add, early, own)
    assert [(line.n, line.get("text")) for line in view.lines] == [
        ("1", None), ("1.1", "z"), ("1.2", "y"), ("2", None), ("2.1", "x"), ("3", None),
    ]  # fmt: skip
    assert {change.line for change in view.changes} == {"1.1", "1.2", "2.1"}


def test_a_hand_in_without_lines_comes_first_without_a_gap() -> None:
    """Numbers begin at one."""
    view = joined({}, {"lines": [("stop", {})]})
    assert [line.n for line in view.lines] == ["1"]


def test_a_line_of_the_same_thing_at_the_same_time_counts_once() -> None:
    """Stop, reading and handover; what only the second says fills in, what it says differently is shown."""
    first = [
        ("stop", {"site": "Plaza", "arrived": f"{T}21:00:00-06:00"}),
        ("reading", {"of": "Blue", "shows": "12 in", "at": f"{T}22:00:00-06:00"}),
        ("hand over", {"place": "Plant", "at": f"{T}23:00:00-06:00", "ticket": "A-1"}),
    ]
    second = [
        ("reading", {"of": "Blue", "shows": "12.5 in", "at": f"{T}22:00:00-06:00", "by": "Tom"}),
        ("stop", {"site": "Plaza", "arrived": f"{T}21:00:00-06:00", "area": "5 ft2"}),
        ("stop", {"site": "Harbor", "arrived": f"{T}22:10:00-06:00"}),
        ("hand over", {"place": "Plant", "at": f"{T}23:00:00-06:00", "ticket": "A-1"}),
    ]
    view = joined({"lines": first}, {"lines": second})
    assert [(line.n, line.kind) for line in view.lines] == [
        ("1", "stop"), ("2", "reading"), ("3", "hand over"), ("6", "stop"),
    ]  # fmt: skip
    assert view.lines[0].get("area") == "5 ft2"
    assert (view.lines[1].get("shows"), view.lines[1].get("by")) == ("12 in", "Tom")
    assert differ(view) == [("2", "shows", "12.5 in", "12 in")]
    assert view.parts[1].lines == {"1": "2", "2": "1", "3": "6", "4": "3"}


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"of": "Blue", "shows": "12 in", "at": f"{T}22:00:00-06:00"}, {"of": "Blue", "shows": "12 in"}),
        ({"of": "Blue", "shows": "12 in"}, {"of": "Blue", "shows": "12 in", "at": f"{T}22:00:00-06:00"}),
        ({"of": "Blue", "shows": "12 in"}, {"of": "Blue", "shows": "12 in"}),
    ],
)
def test_the_look_with_which_one_ends_and_the_other_begins_counts_once(
    first: dict[str, Any], second: dict[str, Any]
) -> None:
    """Where no two times say that there were two looks."""
    view = joined(
        {"lines": [("stop", {}), ("reading", {"of": "meter", "shows": "5"}), ("reading", first)]},
        {"lines": [("reading", second), ("stop", {})]},
    )
    assert [line.n for line in view.lines] == ["1", "2", "3", "5"]
    assert view.lines[2].get("at") == (first.get("at") or second.get("at"))


@pytest.mark.parametrize(
    "second",
    [
        {"of": "Blue", "shows": "12 in", "at": f"{T}22:30:00-06:00"},
        {"of": "Blue", "shows": "13 in"},
        {"of": "Heron", "shows": "12 in"},
        {"of": "Blue"},
    ],
)
def test_another_look_stays_a_look_of_its_own(second: dict[str, Any]) -> None:
    """Another time, another figure, another tank, or none."""
    view = joined(
        {"lines": [("reading", {"of": "Blue", "shows": "12 in", "at": f"{T}22:00:00-06:00"})]},
        {"lines": [("reading", second)]},
    )
    assert [line.n for line in view.lines] == ["1", "2"]


def test_one_look_is_not_taken_for_two_and_not_reading_is_no_look() -> None:
    """The second reading of the same figure has no twin left; 'not read' twice is said twice."""
    look, unread = ("reading", {"of": "Blue", "shows": "12 in"}), ("reading", {"of": "Blue", "shows": "not read"})
    assert len(joined({"lines": [look]}, {"lines": [look, look]}).lines) == 2
    assert len(joined({"lines": [unread]}, {"lines": [unread]}).lines) == 2


def test_lines_without_a_time_or_a_name_are_all_kept() -> None:
    """Two fills of the tank are two, unless both say when."""
    full, at = ("tank full", {"tank": "Blue"}), ("tank full", {"tank": "Blue", "at": f"{T}22:00:00-06:00"})
    assert len(joined({"lines": [full]}, {"lines": [full]}).lines) == 2
    assert len(joined({"lines": [at]}, {"lines": [at]}).lines) == 1
    escape = ("escape", {"what": "hose", "at": f"{T}22:00:00-06:00"})
    assert len(joined({"lines": [escape]}, {"lines": [escape]}).lines) == 2


def test_the_second_speaks_for_the_end_and_the_first_for_all_else() -> None:
    """Both values stay visible; a start that only the second has is not that of the outing."""
    view = joined(
        {"end": f"{T}23:00:00-06:00", "where": "aboard", "supply": "yard", "lead": "Rosa"},
        {"end": f"{T}23:50:00-06:00", "where": "Plant", "supply": "bib", "start": f"{T}22:00:00-06:00", "lead": "Tom"},
    )
    assert (view.get("end"), view.get("where")) == (f"{T}23:50:00-06:00", "Plant")
    assert (view.get("supply"), view.get("lead"), view.get("start")) == ("yard", "Rosa", None)
    assert differ(view) == [
        ("", "lead", "Tom", "Rosa"), ("", "where", "aboard", "Plant"),
        ("", "end", f"{T}23:00:00-06:00", f"{T}23:50:00-06:00"), ("", "supply", "bib", "yard"),
        ("", "start", f"{T}22:00:00-06:00", None),
    ]  # fmt: skip
    assert view.changes[0] == Change(
        rid("j"), "same outing", "", "lead", "Tom", "Rosa", "", "two tablets", "Ruth", f"{T}23:04:00-06:00"
    )


@pytest.mark.parametrize(
    ("field", "first", "second", "stands"),
    [
        ("got_away", "saw none", "yes", "yes"),
        ("got_away", "yes", "saw none", "yes"),
        ("got_away", "did not look", "yes", "yes"),
        ("got_away", "yes", "did not look", "yes"),
        ("rain", "none", "some", "some"),
        ("filters", "cleaned", "same", "cleaned"),
        ("drains", "as planned", "not watched", "not watched"),
    ],
)
def test_the_graver_answer_stands(field: str, first: str, second: str, stands: str) -> None:
    """Each was asked about its own part: that one crew saw nothing takes nothing away from what the other saw."""
    view = joined({field: first}, {field: second})
    assert view.get(field) == stands
    assert differ(view) == [("", field, first if stands == second else second, stands)]


def test_what_each_half_saw_holds_for_its_own_stops() -> None:
    """The first saw nothing get away and the second did: a client of the first is not told that water got away there.

    A stop's own answer stands, and for a stop that both entered the graver; what one half alone answered is the run's.
    """
    here = {"site": "Plaza", "arrived": f"{T}21:00:00-06:00"}
    view = joined(
        {"lines": [("stop", here), ("stop", {"site": "Quay"}), ("remark", {"text": "one"})], "got_away": "no",
         "rain": "heavy"},
        {"lines": [("stop", here), ("stop", {"site": "Harbor"}), ("stop", {"site": "Mall", "got_away": "no"})],
         "got_away": "yes"},
    )  # fmt: skip
    assert view.get("got_away") == "yes"
    assert [line.get("got_away") for line in view.lines] == [None, "no", None, "yes", "no"]
    assert {line.get("rain") for line in view.lines} == {None}


def test_two_amounts_are_neither_added_nor_chosen() -> None:
    """Nobody knows whether they are halves or two words for one; until somebody says, nothing stands."""
    view = joined({"used": "200 gal"}, {"used": "250 gal"})
    assert view.get("used") is None
    assert differ(view) == [("", "used", "200 gal", None), ("", "used", "250 gal", None)]


def test_the_same_amount_in_both_counts_once() -> None:
    """It was entered twice."""
    view = joined({"used": "450 gal"}, {"used": "450 gal"})
    assert view.get("used") == "450 gal" and view.changes == ()


def test_readings_that_go_on_where_the_others_end_are_one_measure() -> None:
    """The end of the first and the start of the second are the same look, entered twice."""
    view = joined({"used": METER}, {"used": {**METER, "start": "300.0", "end": "520"}})
    assert view.get("used") == {**METER, "end": "520"}
    assert [was for _, _, was, _ in differ(view)] == [METER, {**METER, "start": "300.0", "end": "520"}]
    mark = {"method": "mark", "tank": "Blue", "before": "empty", "after": "12.5 in"}
    marks = joined({"recovered": mark}, {"recovered": {**mark, "before": "12.5 in", "after": "20 in"}})
    assert marks.get("recovered") == {**mark, "after": "20 in"}


@pytest.mark.parametrize(
    "second",
    [
        "250 gal",
        {**METER, "start": "310", "end": "520"},
        {**METER, "meter": "other meter", "start": "300", "end": "520"},
        {**METER, "start": "300", "old_end": "310", "new_start": "0", "end": "20"},
        {"method": "mark", "tank": "Blue", "before": "300", "after": "empty"},
    ],
)
def test_readings_that_do_not_go_on_stay_two(second: Any) -> None:
    """A gap, another meter, a meter that was changed, another method."""
    assert joined({"used": METER}, {"used": second}).get("used") is None


def test_looks_that_were_not_taken_do_not_meet() -> None:
    """Neither do two counts, which have no ends."""
    unread = {**METER, "end": "not read"}
    assert joined({"used": unread}, {"used": {**METER, "start": "not read", "end": "520"}}).get("used") is None
    counted = {"method": "count", "vessel": "drum", "times": "2"}
    assert joined({"used": counted}, {"used": {**counted, "times": "3"}}).get("used") is None


def test_what_is_completed_or_corrected_of_the_outing_stands() -> None:
    """It is kept with the record that joined them, so that it is not taken for one hand-in's own."""
    said = complete("c", "a", "", "used", "450 gal")
    whole = (said[0], said[1], {**said[2], "outing": rid("j")})
    view = joined({"used": "200 gal"}, {"used": "250 gal"}, whole)
    assert view.get("used") == "450 gal"
    assert [change.now for change in view.changes if change.kind == kinds.COMPLETE] == ["450 gal"]
    fixed = correct("d", "a", "", "where", "Plant", "aboard")
    ended = joined({}, {"where": "aboard"}, (fixed[0], fixed[1], {**fixed[2], "outing": rid("j")}))
    assert ended.get("where") == "Plant"


def test_what_was_said_of_one_hand_in_stays_its_own() -> None:
    """A correction of the second's line and field is found in the outing."""
    view = joined(
        {"lines": [("stop", {})]}, {"lines": [("stop", {"area": "4 ft2"})], "rain": "none"},
        correct("c", "b", "1", "area", "5 ft2", "4 ft2"), correct("d", "b", "", "rain", "some", "none"),
    )  # fmt: skip
    assert (view.lines[1].get("area"), view.get("rain")) == ("5 ft2", "some")
    assert [(change.line, change.field) for change in view.changes] == [("2", "area"), ("", "rain")]


def test_taken_apart_again_each_is_what_it_was() -> None:
    """What was said of the outing becomes the first hand-in's own; a cancelled word counts for neither."""
    said = complete("c", "a", "", "rain", "none")
    whole = (said[0], said[1], {**said[2], "outing": rid("j")})
    entries = (run("a"), run("b"), outing("j", "a", "b"), whole)
    apart = book(*entries, cancel("x", "j"))
    assert [(view.record, view.get("rain")) for view in apart.runs] == [(rid("a"), "none"), (rid("b"), None)]
    assert apart.outings == ()
    assert book(*entries, cancel("x", "c")).runs[0].get("rain") is None


def test_a_hand_in_that_is_cancelled_or_not_there_yet_is_passed_over() -> None:
    """The rest of the outing holds together; one alone stands alone."""
    three = (run("a"), run("b"), run("c"), outing("j", "a", "b"), outing("k", "b", "c"))
    assert [view.record for view in book(*three).runs] == [rid("a")]
    assert [len(view.parts) for view in book(*three).runs] == [3]
    without = book(*three, cancel("x", "b"))
    assert [(view.record, len(view.parts), view.cancelled) for view in without.runs] == [
        (rid("a"), 2, None), (rid("b"), 0, "twice"),
    ]  # fmt: skip
    assert [len(view.parts) for view in book(run("a"), outing("j", "a", "b")).runs] == [0]
    assert [len(view.parts) for view in book(run("a"), outing("j", "a", "a")).runs] == [0]


def test_a_hand_in_follows_one_and_is_followed_by_one() -> None:
    """The earlier record in the book is taken; a circle joins nothing."""
    state = book(run("a"), run("b"), run("c"), outing("j", "a", "b"), outing("k", "a", "c"), outing("l", "c", "b"))
    assert [(view.record, len(view.parts)) for view in state.runs] == [(rid("a"), 2), (rid("c"), 0)]
    circle = book(run("a"), run("b"), outing("j", "a", "b"), outing("k", "b", "a"))
    assert [len(view.parts) for view in circle.runs] == [0, 0]


def test_tickets_files_and_orders_are_found_at_the_run_that_their_hand_in_became() -> None:
    """With the number that the line has there."""
    state = book(
        run("a", lines=[("stop", {})]), run("b", lines=[("hand over", {"place": "Plant"})]), outing("j", "a", "b"),
        ("t", kinds.TICKET, {"fields": {"number": "A-1"}, "handovers": [{"run": rid("b"), "line": "1"}], "who": ""}),
        ("f", kinds.ATTACH, {"record": rid("b"), "line": "1", "name": "p.jpg", "sha256": "0" * 64, "size": 5,
                             "media": "image/jpeg", "what": "photo", "who": "",
                             "copy": {"sha256": "1" * 64, "size": 4}}),
        ("g", kinds.ATTACH, {"record": rid("t"), "line": "", "name": "t.jpg", "sha256": "2" * 64, "size": 5,
                             "media": "image/jpeg", "what": "ticket", "who": ""}),
        ("o", kinds.ORDER, {"tank": "Yard", "runs": [rid("b"), rid("a")], "why": "w", "who": "Ruth"}),
        ("p", kinds.ORDER, {"tank": "Yard", "runs": [rid("x")], "why": "w", "who": "Ruth"}), cancel("z", "p"),
    )  # fmt: skip
    assert [one.fields["number"] for one in state.tickets_of(rid("a"), "2")] == ["A-1"]
    assert [(one.about, one.line, one.copy) for one in state.attachments] == [
        (rid("a"), "2", "1" * 64), (rid("t"), "", ""),
    ]  # fmt: skip
    assert [(order.tank, order.runs, order.who) for order in state.orders] == [("Yard", (rid("a"),), "Ruth")]


def test_a_backup_is_remembered() -> None:
    """When, of which head, how much went along."""
    payload = {"made": f"{T}07:00:00-06:00", "head": "3:ab", "sha256": "0" * 64, "files": 2, "spoilt": 1}
    (one,) = book(("k", kinds.BACKUP, payload)).backups
    assert (one.made, one.head, one.files, one.spoilt) == (f"{T}07:00:00-06:00", "3:ab", 2, 1)


ENTRIES = [
    run("a", used="200 gal", lines=[("stop", {"site": "Plaza"}), ("reading", {"of": "Blue", "shows": "12 in"})]),
    run("b", used="250 gal", rain="some", lines=[("reading", {"of": "Blue", "shows": "12 in"}), ("hand over", {})]),
    outing("j", "a", "b"),
    correct("c", "b", "2", "place", "Plant"),
    ("t", kinds.TICKET, {"fields": {"number": "A-1"}, "handovers": [{"run": rid("b"), "line": "2"}], "who": ""}),
    ("u", kinds.COMPLETE, {"run": rid("a"), "line": "", "field": "used", "value": "450 gal", "who": "office",
                           "outing": rid("j")}),
]  # fmt: skip


@pytest.mark.parametrize("order", list(permutations(range(len(ENTRIES))))[::13])
def test_any_order_of_arrival_gives_the_same_outing(order: tuple[int, ...]) -> None:
    """The second before the first, the ticket before both, the word about the outing before anybody joined it."""

    def said(state: State) -> list[Any]:
        (view,) = state.runs
        changes = sorted((c.record, c.line, c.field, str(c.was), str(c.now)) for c in view.changes)
        tickets = [(one.record, one.handovers) for one in state.tickets]
        return [view.record, view.fields, view.lines, changes, [part.lines for part in view.parts], tickets]

    assert said(book(*(ENTRIES[n] for n in order))) == said(book(*ENTRIES))
    assert said(book(*ENTRIES))[1]["used"] == "450 gal"
