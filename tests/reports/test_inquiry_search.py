"""What the records say of a place and a time, rig by rig; where nothing is written down they cannot say."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from compliance.records import kinds
from compliance.records.problem import Problem
from compliance.records.state import State
from compliance.reports.inquiry_found import ALIKE, ELSEWHERE, NEAR, OFF, SILENT, UNSURE, Found
from compliance.reports.inquiry_search import _stop_of, asked_of, days_of, search
from compliance.reports.inquiry_time import MAY, NO, YES, line_times, windows
from compliance.water.fold import calculate
from tests.intake.making import REGISTERS, Pages
from tests.water.histories import history

SITES = [
    {"name": "Alder Oven", "address": "212 Canal Street, Port Alder", "position": "40.5000, -105.1000"},
    {"name": "Fish Counter", "address": "15 Slip Street", "position": "40.5300, -105.1000"},
    {"name": "The Yard"},
]
STOP = {"line": "stop", "site": "Alder Oven", "arrived": "21:20", "left": "23:40"}
RUN = {"rig": "Big Blue", "lead": "Rosa Iglesias", "date": "2026-09-03", "where": "aboard", "start": "20:00"}
ASKED = {"address": "214 Canal St", "first": "2026-09-03T18:00", "until": "2026-09-04T06:00"}
ZONE = ZoneInfo("America/Denver")


def book(*runs: dict[str, Any], **registers: Any) -> Pages:
    made = Pages()
    made.take("registers", {**REGISTERS, "site": SITES, **registers})
    for run in runs:
        made.take(kinds.RUN, run)
    return made


def state(made: Pages) -> State:
    found = made.state
    assert found is not None
    return found


def found(made: Pages, said: Any = None, now: datetime = datetime(2026, 9, 25, tzinfo=UTC), **asked: Any) -> Found:
    made.take(kinds.INQUIRY, asked or ASKED)
    inquiry = state(made).inquiries[-1]
    wanted = asked_of(inquiry, state(made))
    assert not isinstance(wanted, Problem)
    return search(state(made), wanted, said=said or {}, entered="2026-09-24", size=9, root="r", now=now)


def verdicts(answer: Found) -> dict[str, str]:
    return {one.rig: one.verdict for one in answer.says}


def run(*lines: dict[str, Any], **fields: Any) -> dict[str, Any]:
    return {**RUN, **fields, "line": list(lines)}


def test_a_rig_is_near_elsewhere_off_or_without_a_record() -> None:
    """One near on the same street, one off for rain; one of which nothing is written down, so nothing is said."""
    made = book(run(STOP), run(rig="Little Heron", where="no water", cancelled="rain"), rig=[
        {"name": "Big Blue"}, {"name": "Little Heron"}, {"name": "Slate Gull"}, {"name": "Grey Tern"},
    ])  # fmt: skip
    made.take(kinds.RUN, run({**STOP, "site": "Fish Counter"}, rig="Grey Tern"))
    answer = found(made)
    assert verdicts(answer) == {"Big Blue": NEAR, "Little Heron": OFF, "Slate Gull": SILENT, "Grey Tern": ELSEWHERE}
    (spot,) = answer.near
    assert spot.how == (("same street", "212 Canal Street, Port Alder"),)
    assert (spot.when, spot.feet) == (YES, None)
    assert answer.rigs(OFF)["Little Heron"][0].why == "rain"
    assert not answer.not_over
    assert answer.before_book  # it was begun in October


def test_a_cancelled_run_is_no_record_of_work() -> None:
    """It is told with the rig of which these records cannot say."""
    made = book(run(STOP))
    made.take(kinds.CANCEL, {"record": "2026-09-03-big-blue", "why": "entered by mistake"})
    answer = found(made)
    (says,) = answer.rigs(SILENT)["Big Blue"]
    assert [one.cancelled for one in says.runs] == ["entered by mistake"]
    assert answer.near == answer.other == ()


def test_a_night_goes_on_after_midnight() -> None:
    """A stop of the third is there on the morning of the fourth, and no longer in the evening."""
    made = book(run({**STOP, "arrived": "23:30", "left": "02:10"}))
    span = {"first": "2026-09-04T01:00", "until": "2026-09-04T02:00"}
    assert [spot.when for spot in found(made, **{**ASKED, **span}).near] == [YES]
    late = {"first": "2026-09-04T20:00", "until": "2026-09-04T23:00"}
    answer = found(made, **{**ASKED, **late})
    assert verdicts(answer)["Big Blue"] == SILENT
    assert [spot.when for spot in answer.other] == [NO]


@pytest.mark.parametrize(
    ("lines", "when"),
    [
        ([{"line": "stop", "site": "Alder Oven"}], MAY),
        ([{"line": "stop", "site": "Alder Oven", "arrived": "21:20"}], YES),
        ([{"line": "stop", "site": "Alder Oven", "left": "21:20"}], YES),
        ([{"line": "reading", "of": "Big Blue recovery", "shows": "10 in", "at": "23:00"},
          {"line": "stop", "site": "Alder Oven"}], NO),
        ([{"line": "stop", "site": "Alder Oven"},
          {"line": "reading", "of": "Big Blue recovery", "shows": "10 in", "at": "20:30"}], NO),
    ],
)  # fmt: skip
def test_a_stop_without_times_is_between_the_readings_around_it(lines: list[dict[str, Any]], when: str) -> None:
    """Where these do not settle it, it may have been then."""
    span = {"first": "2026-09-03T21:00", "until": "2026-09-03T22:30"}
    answer = found(book(run(*lines)), **{**ASKED, **span})
    assert {spot.when for spot in (*answer.near, *answer.other)} == {when}


@pytest.mark.parametrize(("more", "verdict"), [({}, SILENT), ({"end": "2026-09-04T03:00"}, UNSURE)])
def test_what_a_rig_did_after_its_last_line_is_not_known(more: dict[str, Any], verdict: str) -> None:
    """Nothing is written down of the early morning; where the run ended later, nobody said where the rig was."""
    made = book(run({**STOP, "site": "Fish Counter"}, **more))
    span = {"first": "2026-09-04T01:00", "until": "2026-09-04T02:00"}
    assert verdicts(found(made, **{**ASKED, **span}))["Big Blue"] == verdict


def test_a_time_of_which_nothing_places_a_rig_is_not_told_as_elsewhere() -> None:
    """It had left the very place that was asked about an hour before, and its tank was read while it still was out."""
    reading = {"line": "reading", "of": "Big Blue recovery", "shows": "10 in", "at": "2026-09-04T00:10"}
    dump = {"line": "hand over", "place": "Somewhere", "amount": "90 gal", "at": "2026-09-04T00:20"}
    span = {"first": "2026-09-04T00:00", "until": "2026-09-04T00:30"}
    for line in (reading, dump):
        answer = found(book(run(STOP, line)), **{**ASKED, **span})
        assert verdicts(answer)["Big Blue"] == UNSURE
        assert [spot.line.n for spot in answer.other] == ["1"]
    there = {**STOP, "site": "Fish Counter", "arrived": "2026-09-04T00:05", "left": "2026-09-04T00:25"}
    assert verdicts(found(book(run(STOP, there)), **{**ASKED, **span}))["Big Blue"] == ELSEWHERE


def test_a_stop_that_nobody_worked_is_told_and_is_not_near() -> None:
    """The rig was out, and elsewhere."""
    answer = found(book(run({**STOP, "not_worked": "gate locked"}, {**STOP, "site": "Fish Counter"})))
    assert verdicts(answer)["Big Blue"] == ELSEWHERE
    assert [spot.worked for spot in answer.other] == [False]


@pytest.mark.parametrize("lines", [[{**STOP, "site": "The Yard"}], [{**STOP, "site": "somewhere"}]])
def test_a_stop_without_an_address_may_have_been_anywhere(lines: list[dict[str, Any]]) -> None:
    """On the register without one, or on none."""
    assert verdicts(found(book(run(*lines))))["Big Blue"] == UNSURE


def test_coordinates_are_compared_by_their_distance() -> None:
    """Within the radius it is near, beyond it elsewhere; a site without coordinates cannot be told."""
    span = {"first": ASKED["first"], "until": ASKED["until"], "position": "40.5005, -105.1000"}
    made = book(run(STOP), run({**STOP, "site": "Fish Counter"}, rig="Little Heron"))
    answer = found(made, **span)
    assert verdicts(answer) == {"Big Blue": NEAR, "Little Heron": ELSEWHERE}
    assert [(spot.feet is not None and round(spot.feet), spot.how[0][0]) for spot in answer.near] == [
        (182, "coordinates")
    ]
    assert verdicts(found(made, **span, radius="100 ft"))["Big Blue"] == ELSEWHERE
    assert verdicts(found(book(run({**STOP, "site": "The Yard"})), **span))["Big Blue"] == UNSURE


def test_a_site_and_a_drain_are_asked_for_by_their_names() -> None:
    """A drain is found by its words; without a list of drains a stop cannot be told from the one asked about."""
    span = {"first": ASKED["first"], "until": ASKED["until"]}
    drains = [{"name": "curb inlet, Canal Street", "seen": "seen entering"}]
    made = book(run({**STOP, "drain_list": drains}), run(STOP, rig="Little Heron"))
    assert verdicts(found(made, **span, site="alder oven")) == {"Big Blue": NEAR, "Little Heron": NEAR}
    answer = found(made, **span, drain="the curb inlet on Canal Street")
    assert verdicts(answer) == {"Big Blue": NEAR, "Little Heron": UNSURE}
    assert answer.near[0].heard
    assert verdicts(found(made, **span, site="Fish Counter")) == {"Big Blue": ELSEWHERE, "Little Heron": ELSEWHERE}


SPAN = {"first": ASKED["first"], "until": ASKED["until"]}


@pytest.mark.parametrize(
    ("asked", "verdict"), [("Aldr Oven", NEAR), ("Alder", UNSURE), ("The bakery", UNSURE), ("Alder Oven", NEAR)]
)
def test_a_site_on_no_register_is_never_told_as_another_one(asked: str, verdict: str) -> None:
    """A name can be spelled in two ways: it is compared as a place told in words, and settles nothing else."""
    assert verdicts(found(book(run(STOP)), **SPAN, site=asked))["Big Blue"] == verdict


def test_a_stop_whose_site_is_on_no_register_may_be_the_one_asked_about() -> None:
    """Nobody wrote down where it is."""
    made = book(run({**STOP, "site": "Oven, back door"}))
    assert verdicts(found(made, **SPAN, site="Alder Oven"))["Big Blue"] == UNSURE
    assert verdicts(found(made, **SPAN, site="The Yard"))["Big Blue"] == UNSURE
    assert verdicts(found(book(run(STOP)), **SPAN, site="The Yard"))["Big Blue"] == ELSEWHERE


def test_what_is_near_a_site_is_found_by_its_address_and_by_its_coordinates() -> None:
    """Its neighbour is no other place, though it has another name."""
    door = {"name": "Next door", "address": "216 Canal St"}
    across = {"name": "Across", "position": "40.5005, -105.1000"}
    made = book(run({**STOP, "site": "Next door"}), run({**STOP, "site": "Across"}, rig="Little Heron"), site=[
        *SITES, door, across
    ])  # fmt: skip
    answer = found(made, **SPAN, site="Alder Oven")
    assert verdicts(answer) == {"Big Blue": NEAR, "Little Heron": NEAR}
    assert {spot.how[0][0] for spot in answer.near} == {"same street", "coordinates"}
    assert verdicts(found(made, **SPAN, site="Fish Counter")) == {"Big Blue": ELSEWHERE, "Little Heron": ELSEWHERE}


def test_what_got_away_stands_first_and_drains_before_other_stops() -> None:
    """Whatever rig and time."""
    escape = {"line": "escape", "what": "hose came off", "at": "22:00"}
    made = book(
        run(STOP),
        run({**STOP, "drain_list": [{"name": "inlet"}]}, rig="Grey Tern"),
        run(STOP, escape, rig="Slate Gull"),
    )
    assert [spot.rig for spot in found(made).near] == ["Slate Gull", "Grey Tern", "Big Blue"]


def test_water_that_got_away_behind_a_handover_is_told_of_its_place_and_of_the_stop_that_the_account_gives_it_to() -> (
    None
):
    """The last stop worked before it, else the first worked, else the first; and each escape of one stop alone."""
    escape = {"line": "escape", "what": "dripped", "at": "23:55"}
    over = {"line": "hand over", "place": "North Yard station", "amount": "10 gal", "at": "23:50"}
    off = {"line": "stop", "site": "Fish Counter", "not_worked": "locked"}
    place = [{"name": "North Yard station", "address": "40 Canal Street"}]

    def told(*lines: dict[str, Any], address: str = "214 Canal St") -> dict[str, list[str]]:
        answer = found(book(run(*lines), place=place, permission=[]), **{**ASKED, "address": address})
        return {f"{spot.line.kind} {spot.line.n}": [line.n for line in spot.escapes] for spot in answer.near}

    assert told(STOP, over, escape) == {"stop 1": ["3"]}
    assert told(STOP, over, escape, address="60 Canal Street") == {"hand over 2": ["3"]}
    assert told(STOP, off, escape) == {"stop 1": ["3"]}
    assert told(escape, STOP, over, address="60 Canal Street") == {"hand over 3": []}
    assert told({**escape, "at": "20:10"}, off, STOP) == {"stop 3": ["1"]}
    assert told(STOP, {**STOP, "site": "Fish Counter"}, over, escape) == {"stop 1": []}


def test_a_place_in_words_is_found_by_the_name_of_the_site() -> None:
    """And a handover at a place on the street is near as well."""
    places = [{"name": "North Yard station", "address": "40 Canal Street"}]
    over = {"line": "hand over", "place": "North Yard station", "amount": "10 gal", "at": "23:50"}
    made = book(run(STOP, over), place=places, permission=[])
    answer = found(made, **{**ASKED, "address": "the gutter by the alder oven"})
    assert [spot.how for spot in answer.near] == [(("name", "Alder Oven"),)]
    answer = found(made, **{**ASKED, "address": "60 Canal Street"})
    assert [spot.line.kind for spot in answer.near] == ["hand over"]


def test_a_word_in_a_remark_is_told_and_places_nothing() -> None:
    """It stands among the others: of a line, and of the run as a whole."""
    made = book(run({**STOP, "site": "Fish Counter"}))
    record = state(made).runs[0].record
    answer = found(
        made, said={record: [("1", "foam in the yard"), ("", "foam all night")]}, **{**ASKED, "words": "foam"}
    )
    assert verdicts(answer)["Big Blue"] == ELSEWHERE
    assert answer.near == ()
    assert [spot.how for spot in answer.other] == [(("words", "foam in the yard"),), (("words", "foam all night"),)]


def test_only_words_place_nothing_and_no_rig_is_near() -> None:
    """Where no place is known every rig that went out is 'elsewhere' from nothing: see the words."""
    made = book(run(STOP))
    span = {"first": ASKED["first"], "until": ASKED["until"], "words": "foam"}
    assert verdicts(found(made, **span))["Big Blue"] == UNSURE


def test_a_month_of_thursdays_is_answered_day_by_day() -> None:
    """Each with its own answer; the first day of a span may lie before the book, the last one still to come."""
    made = book(run(STOP), run(STOP, date="2026-09-04"))
    span = {"first": "2026-09-01", "until": "2026-09-30", "weekday": "Thursday"}
    answer = found(made, now=datetime(2026, 9, 20, tzinfo=UTC), **{**ASKED, **span})
    said = [(one.window.start.day, one.verdict) for one in answer.says if one.rig == "Big Blue"]
    assert said == [(3, NEAR), (10, SILENT), (17, SILENT), (24, SILENT)]
    assert answer.not_over


def test_old_rows_of_these_days_are_told_beside() -> None:
    """By the site's address, or by a word; never as a run."""
    made = book()
    rows = [("Alder Oven", "", "2026-09-03"), ("Fish Counter", "foam", "2026-09-03"), ("Alder Oven", "", "2026-08-03"),
            ("Fish Counter", "", "2026-09-03")]  # fmt: skip
    for n, (site, remark, day) in enumerate(rows):
        made.records.append(old_row(len(made.records) + 1, n, site, remark, day))
    answer = found(made, **{**ASKED, "words": "foam"})
    assert [(row.row, how) for row, how in answer.old] == [(0, "same street"), (1, "words")]


def old_row(seq: int, n: int, site: str, remark: str, day: str) -> Any:
    from compliance.records.envelope import Record

    at = "2026-09-20T08:00:00-06:00"
    payload = {
        "fields": {"date": day, "site": site, "remark": remark},
        "file": "f",
        "sha256": "",
        "sheet": "s",
        "row": n,
        "mapping": "d" * 64,
    }
    return Record(seq, f"{seq:032x}", kinds.OLD_ROW, 1, day, at, at, payload)


@pytest.mark.parametrize(
    ("fields", "what"),
    [
        ({"address": "214 Canal St", "first": "2026-09-03"}, "it is not known which time is asked about"),
        ({"first": "2026-09-03", "until": "2026-09-04"}, "it is not known which place is asked about"),
        ({**ASKED, "weekday": "Monday"}, "no such day lies in the time that is asked about"),
    ],
)
def test_a_question_without_time_or_place_is_not_searched(fields: dict[str, Any], what: str) -> None:
    """It says what is missing."""
    made = book()
    made.take(kinds.INQUIRY, fields)
    problem = asked_of(state(made).inquiries[0], state(made))
    assert isinstance(problem, Problem)
    assert problem.what == what


def test_the_runs_of_two_days_before_may_still_be_out() -> None:
    """So they are read as well."""
    made = book()
    made.take(kinds.INQUIRY, ASKED)
    asked = asked_of(state(made).inquiries[0], state(made))
    assert not isinstance(asked, Problem)
    assert days_of(asked) == ("2026-09-01", "2026-09-04")


def test_times_that_contradict_each_other_settle_nothing() -> None:
    """A stop between a later and an earlier reading may have been at any time of the night."""
    made = book(run(
        {"line": "reading", "of": "Big Blue recovery", "shows": "10 in", "at": "2026-09-03T23:00"},
        {"line": "stop", "site": "Alder Oven"},
        {"line": "reading", "of": "Big Blue recovery", "shows": "10 in", "at": "2026-09-03T21:00"},
        end="2026-09-04T02:00",
    ))  # fmt: skip
    night = state(made).runs[0]
    times = line_times(night, night.lines[1], ZONE)
    assert (times.low.hour, times.high.hour) == (20, 2)


def test_a_day_on_which_clocks_are_changed_is_as_long_as_it_was() -> None:
    """25 hours on the first of November 2026."""
    (day,) = windows("2026-10-30T00:00:00-06:00", "2026-11-02T00:00:00-07:00", "Sunday", ZONE)
    assert (day.end.astimezone(UTC) - day.start.astimezone(UTC)).total_seconds() == 25 * 3600


def test_an_address_that_is_only_alike_is_told_and_is_no_match() -> None:
    """Another direction, kind of street or a slip: neither near nor elsewhere, for nobody can say which is meant."""
    made = book(run(STOP))
    for asked in ("212 N Canal St", "212 Canal Avenue", "212 Canel St"):
        answer = found(made, **{**ASKED, "address": asked})
        assert verdicts(answer)["Big Blue"] == ALIKE
        (spot,) = answer.near
        assert (spot.how, spot.matched) == ((("like street", "212 Canal Street, Port Alder"),), False)


def test_a_stop_in_another_town_was_elsewhere() -> None:
    """The same street and number, where the register knows both towns."""
    sites = [*SITES, {"name": "Fernhill Oven", "address": "214 Canal Street, Fernhill"}]
    made = book(run(STOP), site=sites)
    assert verdicts(found(made, **{**ASKED, "address": "214 Canal St, Fernhill"}))["Big Blue"] == ELSEWHERE
    assert verdicts(found(made, **{**ASKED, "address": "214 Canal St, Port Alder"}))["Big Blue"] == NEAR


def test_a_match_stands_before_what_is_only_alike() -> None:
    """With both, the rig was near."""
    sites = [{"name": "Alder Oven", "address": "212 Canal Avenue"}, {"name": "Fish Counter", "address": "216 Canal St"}]
    answer = found(book(run(STOP, {**STOP, "site": "Fish Counter", "arrived": "23:45", "left": "23:50"}), site=sites))
    assert verdicts(answer)["Big Blue"] == NEAR
    assert [spot.name for spot in answer.near] == ["Fish Counter", "Alder Oven"]


def test_stops_that_cannot_be_compared_with_the_place_are_told_as_such() -> None:
    """Coordinates that no site has, a place without a street; other drains at a stop say nothing of that one."""
    nowhere = {**STOP, "site": "The Yard", "drain_list": [{"name": "inlet"}]}
    for asked in ({"position": "40.5, -105.1"}, {"address": "by the bakery"}, {"drain": "arcade drain"}):
        span = {"first": ASKED["first"], "until": ASKED["until"], **asked}
        answer = found(book(run(nowhere)), **span)
        assert (verdicts(answer)["Big Blue"], answer.nowhere) == (UNSURE, True)
    assert not found(book(run(STOP, nowhere)), **{**ASKED, "address": "7 Elm St"}).nowhere
    assert not found(book()).nowhere


@pytest.mark.parametrize("seed", range(12))
def test_an_escape_is_told_of_the_stop_to_which_the_account_gives_it(seed: int) -> None:
    """A search reads no water, so it finds the stop by the lines alone: it is the one that the calculator finds."""
    state = history(seed, 12).state
    night = calculate(state)
    given = {
        (at.record, at.line): {line.line for line in stop.lines}
        for run in night.runs.values()
        for stop in run.stops
        for at in stop.escapes
    }
    checked = 0
    for view in state.runs:
        for n, line in enumerate(view.lines):
            if line.kind == "escape" and (view.record, line.n) in given:
                owner = _stop_of(view, n)
                assert owner is not None and owner.n in given[view.record, line.n]
                checked += 1
    assert checked == len(given) > 0
