"""The office says that two hand-ins are one outing, and in which order runs came to a shared tank."""

from __future__ import annotations

from typing import Any

from compliance.intake.handin import next_ref
from compliance.intake.joining import check_order, check_outing
from compliance.records import kinds
from compliance.records.state import State
from compliance.records.views import RunView

from .making import NIGHT, NOW, Pages, pages

FIRST = {**NIGHT, "where": "aboard", "used": "200 gal", "line": NIGHT["line"][:2]}
SECOND = {**NIGHT, "where": "see lines", "used": "250 gal", "line": NIGHT["line"][2:], "rain": "some", "start": "23:50"}
A, B = "2026-09-14-big-blue", "2026-09-14-big-blue-2"
SAID = {"first": A, "second": B, "why": "two tablets", "who": "Ruth Okafor"}


def two(first: dict[str, Any] = FIRST, second: dict[str, Any] = SECOND) -> Pages:
    return pages(first, second)


def state(book: Pages) -> State:
    found = book.state
    assert found is not None
    return found


def outing(book: Pages, **more: Any) -> Any:
    return check_outing({**SAID, **more}, state=state(book), where="here", now=NOW)


def joined(book: Pages | None = None) -> tuple[Pages, RunView]:
    """A book in which the two are joined, and the run that they make."""
    made = book or two()
    made.take(kinds.SAME_OUTING, SAID)
    run = state(made).run(A)
    assert run is not None
    return made, run


def test_two_hand_ins_are_joined_by_their_records() -> None:
    """The notes say what the two say differently, and which of it stands."""
    book = two()
    checked = outing(book)
    runs = {run.ref: run.record for run in state(book).runs}
    assert checked.problems == ()
    assert checked.payload == {"first": runs[A], "second": runs[B], "why": "two tablets", "who": "Ruth Okafor"}
    assert list(checked.notes) == [
        "Where the water is: 'see lines' stands; also said: 'aboard'",
        "Start: '2026-09-14T21:00:00-06:00' stands; also said: '2026-09-14T23:50:00-06:00'",
        "Used (fresh water drawn): '200 gal' or '250 gal'; neither stands until it is completed for the whole outing",
    ]


def test_measures_and_lines_that_differ_are_told_in_words() -> None:
    """A line by its number; a start that only the second has is not that of the outing."""
    stop = {"line": "stop", "site": "Fernwood Plaza", "arrived": "2026-09-14T21:20"}
    first = {**FIRST, "used": NIGHT["used"], "line": [{**stop, "surface": "brick"}]}
    second = {**SECOND, "used": "250 gal", "line": [{**stop, "surface": "paving"}], "where": "aboard"}
    first.pop("start")
    notes = outing(two(first, second)).notes
    assert "Surface, line 1: 'brick' stands; also said: 'paving'" in notes
    assert "Start: '2026-09-14T23:50:00-06:00' is not that of the outing" in notes
    assert any(
        "method meter, meter Blue supply meter, start 1000.0, end 1450.5 or '250 gal'; neither" in n for n in notes
    )


def test_an_amount_that_only_one_of_the_two_says_is_told() -> None:
    """It counts for the stops of both; not told where the other washed nowhere, or neither says an amount."""
    silent = {name: value for name, value in SECOND.items() if name not in ("used", "recovered")}
    stop = {"line": "stop", "site": "Fernwood Plaza"}
    told = f"Used (fresh water drawn): only {A} says it, '200 gal', and it stands for the whole outing; if it is of"
    one = {**silent, "line": [stop]}
    assert [note for note in outing(two(FIRST, one)).notes if note.startswith(told)]
    turned = outing(two(one, FIRST), first=A, second=B).notes
    assert [note for note in turned if note.startswith(told.replace(A, B))]
    for other in ({**one, "line": [{**stop, "not_worked": "gate locked"}]}, {**one, "used": "not read"}):
        assert not [note for note in outing(two(FIRST, other)).notes if "Used" in note and "only" in note]
    unread = outing(two({**FIRST, "used": "not read"}, one)).notes
    assert not [note for note in unread if "Used" in note and "only" in note]


def test_readings_that_go_on_from_each_other_are_no_difference() -> None:
    """One meter, read at the end of the first and at the beginning of the second."""
    meter = {"method": "meter", "meter": "Blue supply meter"}
    first = {**FIRST, "used": {**meter, "start": "1000.0", "end": "1450.5"}, "where": "aboard"}
    second = {**FIRST, "used": {**meter, "start": "1450.5", "end": "1700.0"}, "line": NIGHT["line"][2:]}
    book = two(first, second)
    assert outing(book).notes == ()
    _, run = joined(book)
    assert run.get("used") == {**meter, "start": "1000.0", "end": "1700.0"}


def test_which_began_first_is_said_only_where_both_wrote_it_down() -> None:
    """Two cards without a start say nothing of it; two starts do, and two days."""
    bare = {name: value for name, value in FIRST.items() if name != "start"}
    assert not any("began" in note for note in outing(two(bare, {**bare, "line": NIGHT["line"][2:]})).notes)
    assert not any("began" in note for note in outing(two(bare, SECOND)).notes)
    assert not any("began" in note for note in outing(two(FIRST, {**SECOND, "start": "not read"})).notes)
    assert not any("began" in note for note in outing(two()).notes)
    assert f"here: {A} began before {B}; look whether they are the right way round" in (
        outing(two(), first=B, second=A).notes
    )
    next_day = {**bare, "date": "2026-09-15"}
    notes = outing(two(bare, next_day), first="2026-09-15-big-blue", second=A).notes
    assert f"here: {A} is of the day before 2026-09-15-big-blue; look whether they are the right way round" in notes


def test_joined_runs_show_as_one_and_joining_them_again_changes_nothing() -> None:
    """By the names that both had."""
    book, run = joined()
    assert [line.n for line in run.lines] == ["1", "2", "3", "4"]
    again = outing(book)
    assert (again.payload, again.problems) == (None, ())
    assert again.notes == ("here: the book says so already",)
    same = outing(book, second=A)
    assert [problem.what for problem in same.problems] == [f"{A} is not joined to itself"]


def test_a_third_hand_in_follows_the_last() -> None:
    """Whichever of the names of the outing is given."""
    book, _ = joined()
    book.take("run", {**FIRST, "id": "third", "where": "aboard", "line": [{"line": "stop", "site": "Pier"}]})
    checked = outing(book, second="2026-09-14-big-blue-3")
    assert checked.payload is not None
    last = state(book).run(A)
    assert last is not None and checked.payload["first"] == last.parts[-1].view.record
    book.take(kinds.SAME_OUTING, {**SAID, "second": "2026-09-14-big-blue-3"})
    assert [line.n for line in state(book).runs[0].lines] == ["1", "2", "3", "4", "5"]


def test_a_cancelled_run_is_joined_to_nothing() -> None:
    """It does not count."""
    book = two()
    book.take("cancel", {"run": B, "why": "twice"})
    assert [problem.what for problem in outing(book).problems] == [f"{B} is cancelled"]


def test_water_that_went_somewhere_in_between_needs_its_line_first() -> None:
    """Else the handover would be lost behind the second's answer; at the same place as the second's it is not."""
    first = {**FIRST, "where": "North Yard station"}
    (problem,) = outing(two(first)).problems
    assert problem.what == f"{A} says that its water went to 'North Yard station', and no line of it says when"
    assert outing(two(first, {**SECOND, "where": "North Yard station"})).problems == ()
    handed = [*FIRST["line"], {"line": "hand over", "place": "North Yard station"}]
    assert outing(two({**first, "line": handed})).problems == ()


def test_hand_ins_the_wrong_way_round_are_worth_a_look() -> None:
    """Nothing is decided by clocks, but they may be told."""
    notes = outing(two(), first=B, second=A).notes
    assert notes[0] == f"here: {A} began before {B}; look whether they are the right way round"


def test_what_is_said_of_a_joined_run_is_written_down_by_its_hand_in() -> None:
    """Line, ticket, file, forgotten line: so that it holds whether the two are joined or not."""
    book, run = joined()
    second = run.parts[1].view.record
    (ticket,) = book.take("ticket", {"number": "NY-1", "handovers": [{"run": A, "line": "4"}]})
    assert ticket.payload["handovers"] == [{"run": second, "line": "2"}]
    (line,) = book.take(
        "correct", {"run": A, "line": "4", "field": "amount", "value": "400 gal", "reason": "keyed wrong"}
    )
    assert (line.payload["run"], line.payload["line"], line.payload.get("outing")) == (second, "2", None)
    (added,) = book.take("complete", {"run": A, "add_after": "4", "line_values": {"line": "remark", "text": "late"}})
    assert (added.payload["run"], added.payload["after"]) == (second, "2")
    (begun,) = book.take("complete", {"run": A, "add_after": "0", "line_values": {"line": "remark", "text": "first"}})
    assert (begun.payload["run"], begun.payload["after"]) == (run.record, "")
    made = state(book)
    assert [one.n for one in made.runs[0].lines] == ["0.1", "1", "2", "3", "4", "4.1"]
    assert made.tickets_of(run.record, "4")[0].fields["number"] == "NY-1"
    assert made.runs[0].lines[4].get("amount") == "400 gal"
    again = {"number": "NY-1", "handovers": [{"run": A, "line": "4"}]}
    assert book.take("ticket", again) == []


def test_a_field_of_the_outing_is_completed_once_for_all() -> None:
    """What was in doubt between the two is settled by a completion, and corrected like any other afterwards."""
    book, run = joined()
    (said,) = book.take("complete", {"run": A, "field": "used", "value": "450 gal"})
    assert said.payload["outing"] == run.outing
    assert state(book).runs[0].get("used") == "450 gal"
    book.take("correct", {"run": B, "field": "used", "value": "460 gal", "reason": "keyed wrong"})
    assert state(book).runs[0].get("used") == "460 gal"
    book.take("correct", {"run": A, "field": "where", "value": "aboard", "reason": "keyed wrong"})
    assert state(book).runs[0].get("where") == "aboard"


def test_a_hand_in_of_an_outing_is_cancelled_by_its_own_name() -> None:
    """It is told that the other stays; the join can be cancelled too, which takes the two apart."""
    from compliance.intake.amend import check_cancel

    book, run = joined()
    raw = {"run": B, "why": "keyed twice", "who": "Ruth Okafor"}
    checked = check_cancel(raw, state=state(book), where="here", now=NOW)
    assert checked.payload is not None and checked.payload["record"] == run.parts[1].view.record
    assert checked.notes == (f"here: this is one hand-in of an outing; what was joined to it stays: {A}",)
    short = {**raw, "run": run.parts[1].view.record[:31]}
    (problem,) = check_cancel(short, state=state(book), where="here", now=NOW).problems
    assert problem.what.startswith("2 records begin with")
    book.take("cancel", {"record": run.outing, "why": "two outings after all"})
    assert [one.ref for one in state(book).runs] == [A, B]


def test_the_next_run_of_the_day_is_named_behind_the_hand_ins() -> None:
    """A name that was given once is not given again."""
    book, _ = joined()
    assert next_ref({"rig": "Big Blue", "date": "2026-09-14"}, state(book)) == "2026-09-14-big-blue-3"


YARD = {"tank": "big blue recovery", "why": "seen at the yard", "who": "Ruth Okafor"}


def order(book: Pages, *runs: str, **more: Any) -> Any:
    return check_order({**YARD, "runs": list(runs), **more}, state=state(book), where="here", now=NOW)


def test_runs_are_put_in_order_at_a_tank() -> None:
    """By their records; the later order governs, and the same one again changes nothing."""
    heron = {**FIRST, "rig": "Little Heron", "line": [
        {"line": "stop", "site": "Pier", "recovered": {"method": "mark", "tank": "Heron recovery", "before": "empty",
                                                       "after": "full"}},
        {"line": "move", "tank": "Heron recovery", "to": "Big Blue recovery"},
    ]}  # fmt: skip
    book = pages(FIRST, heron)
    names = ["2026-09-14-little-heron", A]
    checked = order(book, *names)
    records = {run.ref: run.record for run in state(book).runs}
    assert checked.problems == () and checked.notes == ()
    assert checked.payload == {
        "tank": "Big Blue recovery", "runs": [records[name] for name in names], "why": "seen at the yard",
        "who": "Ruth Okafor",
    }  # fmt: skip
    book.take(kinds.ORDER, {**YARD, "runs": names})
    assert order(book, *names).payload is None
    assert order(book, *reversed(names)).payload is not None
    assert [one.runs for one in state(book).orders] == [tuple(records[name] for name in names)]
    fresh = order(book, *names, tank="Big Blue fresh")
    assert fresh.notes == tuple(f"here: {name} names 'Big Blue fresh' on no line" for name in names)


def test_an_order_of_runs_that_are_not_there_names_each() -> None:
    """And too long a list is no list."""
    assert [p.what for p in order(two(), "2026-01-01-x", "2026-01-02-y").problems] == [
        "no run is called '2026-01-01-x'", "no run is called '2026-01-02-y'",
    ]  # fmt: skip
    assert order(two(), *["x"] * 501).problems[0].what == "'runs' is a list, not a list of runs"


def test_two_halves_have_the_figures_of_the_night_handed_in_at_once() -> None:
    """The calculator sees one run: what was captured, from which stop, and where it went, to the hundredth."""
    from decimal import Decimal

    from compliance.water.fold import calculate
    from compliance.water.volume import Figure, Volume

    tank = {"shape": "rectangle", "length": "66 in", "width": "50 in", "depth": "35 in", "mark_step": "0.5 in"}

    def book(*nights: dict[str, Any]) -> Pages:
        made = pages()
        made.take("registers", {"tank": [{"name": "Big Blue recovery", "accuracy": "1 %", **tank}]})
        for night in nights:
            made.take("run", night)
        return made

    look = {"line": "reading", "of": "Big Blue recovery"}
    lines = [
        {**look, "shows": "empty", "at": "21:05"}, {"line": "stop", "site": "Fernwood Plaza", "used": "200 gal"},
        {**look, "shows": "10 in", "at": "22:30"}, {"line": "stop", "site": "Dock Street Market", "used": "180 gal"},
        {**look, "shows": "17 in", "at": "23:50"},
        {"line": "hand over", "place": "North Yard station", "tank_after": "empty", "at": "05:10"},
    ]  # fmt: skip
    base = {"rig": "Big Blue", "lead": "Rosa Iglesias", "date": "2026-09-14", "where": "see lines", "start": "21:00"}
    whole = book({**base, "line": lines})
    half = book({**base, "where": "aboard", "line": lines[:3]}, {**base, "line": lines[2:]})
    half.take(kinds.SAME_OUTING, SAID)
    one, two_ = calculate(state(whole)), calculate(state(half))
    (a,), (b,) = one.runs.values(), two_.runs.values()

    def told(figure: Figure) -> tuple[Any, Any]:
        assert isinstance(figure, Volume)
        return figure.best, figure.expanded()  # the looks have other names: a line is numbered by its hand-in

    assert told(a.captured.figure) == told(b.captured.figure) == (Decimal("242.86"), told(a.captured.figure)[1])
    assert a.ref == b.ref and list(one.loads) == list(two_.loads) and len(b.stops) == 2
    for mine, other in zip(a.stops, b.stops, strict=True):
        assert mine.ref == other.ref and told(mine.captured.figure) == told(other.captured.figure)
        assert told(mine.used.figure) == told(other.used.figure)
    (load,), (other_load,) = one.loads.values(), two_.loads.values()
    assert told(load.handed_over) == told(other_load.handed_over) and load.stops == other_load.stops
