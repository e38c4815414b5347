"""Scene finds what a rule asks for, and leaves out what is not to be judged."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from compliance.rules.scene import Limit
from compliance.rules.subjects import Entry, figure, moment
from tests.rules.samples import base, scene, with_state

NIGHT = {"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00"}


def test_runs_from_long_before_the_book_was_begun_are_not_judged() -> None:
    """A week before that day is the first that counts: the last nights are what a new owner hands in first."""
    made = scene({"nights": [NIGHT]})
    assert [run.ref for run in made.runs] == ["2026-09-14-big-blue", "2026-09-15-big-blue"]
    later = with_state(made, opens_on="2026-09-22")
    assert [run.ref for run in later.runs] == ["2026-09-15-big-blue"]


def test_cancelled_runs_are_not_judged() -> None:
    """A run that a record takes back is there for the reader, and for no rule."""
    cancel = {"kind": "cancel", "run": "2026-09-14-big-blue", "why": "entered twice", "who": "Priya Lund"}
    assert scene({"amends": [cancel]}).runs == ()


def test_runs_that_the_calculator_does_not_know_are_left_out() -> None:
    """A scene may hold a part of the book."""
    made = scene({"nights": [NIGHT]})
    record = made.state.runs[0].record
    runs = {key: facts for key, facts in made.night.runs.items() if key != record}
    part = type(made)(made.state, replace(made.night, runs=runs), made.today)
    assert [run.ref for run in part.runs] == ["2026-09-15-big-blue"]
    assert part.stop("2026-09-14-big-blue.s1") is None and part.handover(record, "4") is None


def test_neighbours_are_runs_of_the_same_rig_in_order() -> None:
    """Before and after go outwards from a run, over other rigs' nights and cancelled ones."""
    rig = {"rig": [{"name": "Heron"}]}
    nights = [
        {"date": f"2026-09-{day}", "rig": name, "handed_in": "2026-09-19T06:40-06:00"}
        for day, name in ((15, "Heron"), (16, "Big Blue"), (17, "Big Blue"))
    ]
    cancel = {"kind": "cancel", "run": "2026-09-16-big-blue", "why": "entered twice", "who": "Priya Lund"}
    made = scene(rig, {"nights": nights})
    first, heron, second, third = made.runs
    assert [run.ref for run in made.before(third)] == [second.ref, first.ref]
    assert [run.ref for run in made.after(first)] == [second.ref, third.ref]
    assert list(made.before(heron)) == list(made.after(heron)) == []
    fewer = scene(rig, {"nights": nights, "amends": [cancel]})
    assert [run.ref for run in fewer.after(fewer.runs[0])] == [third.ref]


def test_a_run_added_out_of_order_is_found_where_it_stands() -> None:
    """A night that is looked at before it is handed in may stand at the end."""
    made = scene({"nights": [NIGHT, {**NIGHT, "date": "2026-09-16"}]})
    early, *later = made.state.runs
    added = with_state(made, runs=(*later, early))
    run = added.run(early)
    assert run is not None and [one.ref for one in added.before(run)] == ["2026-09-16-big-blue", "2026-09-15-big-blue"]
    assert list(added.after(run)) == []
    between = with_state(made, runs=(later[0], early, later[1]))
    run = between.run(early)
    assert run is not None and [one.ref for one in between.after(run)] == ["2026-09-16-big-blue"]


def test_things_are_found_by_name() -> None:
    """A stop by its ref, a handover by its line; what is not there is None."""
    made = scene({})
    run = made.runs[0]
    assert made.stop("2026-09-14-big-blue.s1") == run.stops[0]
    assert made.stop("2026-09-14-big-blue.s2") is None and made.stop("earlier loads") is None
    assert made.handover(run.view.record, "4") == run.handovers[0]
    assert made.handover(run.view.record, "3") is None and made.handover("nobody", "4") is None
    assert run.handovers[0].ref == "2026-09-14-big-blue/4"


def test_a_handover_that_only_the_run_names_has_no_line() -> None:
    """Its ref ends with the stroke, and its day is that of the run's end."""
    made = scene({"lines": base()["lines"][:3], "night": {"where": "North Plant"}})
    (handover,) = made.runs[0].handovers
    assert (handover.ref, handover.day, handover.led_away) == ("2026-09-14-big-blue", "2026-09-15", False)
    assert handover.get("permission") is None and handover.draw is not None
    lines = scene({"night": {"where": "North Plant"}}).runs[0].handovers
    assert [one.n for one in lines] == ["4"], "a line says it better than the run"


def test_without_a_time_the_day_of_the_run_is_the_day() -> None:
    """Neither a line without 'at' nor a run without an end invents a day."""
    assert scene({"without": ["4.at"]}).runs[0].handovers[0].day == "2026-09-14"
    made = scene({"lines": base()["lines"][:3], "night": {"where": "North Plant"}, "without": ["end"]})
    assert made.runs[0].handovers[0].day == "2026-09-14"


def test_a_load_opened_by_an_earlier_run_belongs_to_it() -> None:
    """The whole book sees each load once; a single run sees the loads that it touches."""
    open_night = {"lines": base()["lines"][:3], "night": {"where": "aboard"}}
    closing = {**NIGHT, "lines": base()["lines"][1:]}
    closing["lines"][1]["shows"] = "30 in"
    made = scene(open_night, {"nights": [closing]})
    first, second = made.runs
    assert [load.ref for load in made.loads_of(first, opened_here=True)] == ["2026-09-14-big-blue.l1"]
    assert list(made.loads_of(second, opened_here=True)) == []
    (load,) = made.loads_of(second, opened_here=False)
    assert (load.ref, load.day, load.run) == ("2026-09-14-big-blue.l1", "2026-09-14", first)
    assert len(load.at) == 2
    gone = type(made)(
        made.state, replace(made.night, runs={second.view.record: made.night.runs[second.view.record]}), made.today
    )
    assert list(gone.loads_of(gone.runs[0], opened_here=False)) == []


def test_an_open_load_stands_at_its_first_line() -> None:
    """Nothing closes it yet."""
    made = scene({"lines": base()["lines"][:3], "night": {"where": "aboard"}})
    (load,) = made.loads_of(made.runs[0], opened_here=True)
    assert len(load.at) == 1


def test_a_continued_stop_is_one_stop() -> None:
    """What one of its parts says, the stop says; the first part goes first."""
    first = {**base()["lines"][1], "left": "22:00", "surface": "deck"}
    again = {"line": "stop", "site": "Alder Mall", "continued": "yes", "left": "23:30"}
    (stop,) = scene({"lines": [first, again], "night": {"where": "aboard"}}).runs[0].stops
    assert [part.n for part in stop.parts] == ["1", "2"] and stop.get("surface") == "deck"
    assert str(stop.get("left"))[11:16] == "22:00" and stop.get("plan") is None


def test_an_entry_without_a_run_has_no_day() -> None:
    """The business stands for the whole book."""
    entry = Entry("business", {"name": "Bluebank Wash Recovery"}, None)
    assert (entry.ref, entry.day, entry.at) == ("business Bluebank Wash Recovery", "", ())


def test_a_limit_reads_with_its_source() -> None:
    """Value, unit, whose it is and where it stands."""
    limit = Limit("days aboard", Decimal("4.0"), "days", "local permit", "City code 19", "")
    assert str(limit) == "4 days, local permit, City code 19"
    assert str(replace(limit, source="")) == "4 days, local permit"


def test_small_answers() -> None:
    """What is no moment and no figure is told apart from what is."""
    assert moment("2026-09-14") is None and moment(None) is None and moment("2026-09-14T20:00:00-06:00") is not None
    assert figure("not read") is None and figure("2 ft", "in") is not None
