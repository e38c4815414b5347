"""What nobody recorded is one finding a run; an answer is never missing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from compliance.records.fields import GROUPS
from compliance.rules import missing
from compliance.rules.missing import ELSEWHERE, NEEDS, WANTED, label
from compliance.rules.rule import Missing
from compliance.rules.run import Report, check
from compliance.water.results import How, Known
from compliance.water.volume import Unknown
from tests.rules.samples import HERE, base, found, outcome, read_file, scene, whole, whole_scene, with_run, with_state

EVERYTHING = read_file(HERE / "everything.toml")
Take = Callable[[dict[str, Any]], dict[str, Any]]


def run_field(whole: dict[str, Any]) -> dict[str, Any]:
    night: dict[str, Any] = whole["night"]
    return night


def second(n: int) -> Take:
    return lambda whole: whole["nights"][0]["lines"][n - 1]


def entry(what: str, name: str) -> Take:
    return lambda whole: next(one for one in whole[what] if one["name"] == name)


WHERE: dict[str, Take] = {
    "run": run_field,
    "stop": lambda whole: whole["lines"][1],
    "drain": lambda whole: whole["lines"][1]["drain_list"][0],
    "agent use": lambda whole: whole["lines"][1]["agents"][0],
    "filter stage": lambda whole: whole["lines"][1]["filter_list"][0],
    "reading": lambda whole: whole["lines"][0],
    "hand over": second(8),
    "take on": second(1),
    "use again": second(3),
    "escape": second(4),
    "led away": second(5),
    "move": second(6),
    "solids": second(7),
    "ticket": lambda whole: whole["tickets"][0],
    "business": lambda whole: whole["business"],
    "tank": entry("tank", "Big Blue recovery"),
    "place": entry("place", "North Plant"),
    "permission": entry("permission", "SD-0417"),
    "site": entry("site", "Alder Mall"),
    "agent": entry("agent", "Foamcut 7"),
}
"""Where one of each group stands in everything.toml."""

NEEDED = [(group, row.name) for group, rows in GROUPS.items() for row in rows if row.need in NEEDS]


def everything() -> dict[str, Any]:
    return whole(EVERYTHING)


def without(group: str, name: str) -> dict[str, Any]:
    """The record with one field left out, and with whatever else would answer its question."""
    made = everything()
    WHERE[group](made).pop(name)
    match group, name:
        case "run", "recovered":  # levels are an answer
            made["lines"] = [line for line in made["lines"] if line["line"] != "reading"]
            made["tickets"] = []
        case "run", "filters":
            made["lines"][1].pop("filter_list")
        case "run", "agent_use":
            made["lines"][1].pop("agents")
        case "run", "drains":
            made["lines"][1].pop("drain_list")
        case "stop", "client":
            next(one for one in made["site"] if one["name"] == "Alder Mall").pop("client")
        case (("hand over" | "led away"), "permission"):
            place = WHERE[group](made)["place"]
            made["permission"] = [one for one in made["permission"] if one["place"] != place]
            made["lines"] = [line for line in made["lines"] if line.get("place") != place]
            made["night"]["where"] = "aboard"
            made["tickets"] = []
        case _:
            pass
    return made


@pytest.fixture
def always_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every field is asked for, whatever the day of the night."""
    monkeypatch.setattr(missing, "SINCE", {})


def test_a_field_that_came_later_is_missed_from_its_first_day_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """The night before it stays as complete as it was."""
    for first, missed in (("2026-09-14", 1), ("2026-09-15", 0)):
        monkeypatch.setattr(missing, "SINCE", {**missing.SINCE, ("run", "rain"): first})
        assert len(found(scene({"without": ["rain"]}), "missing-1")) == missed


@pytest.mark.usefixtures("always_asked")
def test_with_everything_nothing_is_missing() -> None:
    """The full record is missing nothing, so that each test below is about one field."""
    assert found(whole_scene(everything()), "missing-1", "missing-2", "register-1", "register-2") == ()


def test_every_group_with_needed_fields_is_in_the_full_record() -> None:
    """A new group with a needed field has to be added here."""
    assert {group for group, _ in NEEDED} == set(WHERE)


@pytest.mark.usefixtures("always_asked")
@pytest.mark.parametrize(("group", "name"), NEEDED, ids=lambda one: one)
def test_every_needed_field_is_missed(group: str, name: str) -> None:
    """Each field of the table with a need is named by some rule when it is left out."""
    rules = [ELSEWHERE[group, name]] if (group, name) in ELSEWHERE else ["missing-1", "register-2"]
    findings = found(whole_scene(without(group, name)), *rules)
    if (group, name) in ELSEWHERE:
        assert [one.rule for one in findings] == rules
        return
    missing = [(one.group, one.field) for finding in findings for one in finding.missing]
    assert (group, name) in missing
    assert len(findings) == 1, "one finding, whatever is missing"


def test_answers_without_a_value_are_not_missing() -> None:
    """'Not read' and 'not applicable' answer every question of the crew."""
    answers = dict.fromkeys(("used", "recovered", "got_away", "drains", "agent_use", "filters"), "not read")
    assert found(scene({"night": {**answers, "rain": "not applicable"}}), "missing-1") == ()


def test_one_finding_a_run_in_order_of_need() -> None:
    """However much is missing, there is one finding, and the crew's part of it comes first."""
    bare = {"lines": [{"line": "stop", "site": "Alder Mall"}], "night": {"where": "aboard"}}
    left_out = {"without": ["start", "end", "used", "recovered", "rain", "drains", "got_away", "agent_use", "filters"]}
    (finding,) = found(scene(bare, left_out), "missing-1")
    order = [list(NEEDS).index(one.need) for one in finding.missing]
    assert order == sorted(order) and len(finding.missing) == 13
    assert finding.seen.startswith("asked of the crew: Used (fresh water drawn) (run)")
    assert "completed by the office: Start (run), End (run), Area (line 1)" in finding.seen
    assert finding.seen.endswith("awaited on a page: Arrived (line 1), Left (line 1), Surface (line 1)")


def test_lines_are_told_together() -> None:
    """A field that is missing on several lines is named once."""
    two = [{"line": "stop", "site": "Alder Mall"}, {"line": "stop", "site": "Fish Quay"}]
    (finding,) = found(scene({"lines": two, "night": {"where": "aboard"}}), "missing-1")
    assert "Area (lines 1 and 2)" in finding.seen


@pytest.mark.parametrize("name", ["got_away", "drains", "agent_use", "filters", "rain", "supply"])
def test_stops_may_answer_for_the_run(name: str) -> None:
    """What every stop answers is not asked of the run again, and one silent stop leaves the question open."""
    answers: dict[str, Any] = {
        "got_away": "saw none",
        "drains": "none there",
        "agent_use": "none used",
        "filter_list": [{"what": "sock", "opening": "400 um", "done": "same"}],
        "rain": "none",
        "supply": "client's bib",
    }
    key = "filter_list" if name == "filters" else name
    stop = {**base()["lines"][1], key: answers[key]}
    silent = {**stop, "site": "Fish Quay"}
    silent.pop(key)
    silent.pop("agents")
    night = {"without": [name]}
    both = {"lines": [stop, {**stop, "site": "Fish Quay"}], "night": {"where": "aboard"}}
    assert found(scene(both, night), "missing-1") == ()
    one = {"lines": [stop, silent], "night": {"where": "aboard"}}
    (finding,) = found(scene(one, night), "missing-1")
    assert [missing.field for missing in finding.missing] == [name]


def test_lists_answer_the_question_they_detail() -> None:
    """A drain by drain list, or a list of products, answers 'drains' and 'cleaning agent'."""
    drains = [{"name": "inlet", "method": "none", "seen": "not watched"}]
    night = {"line": {"2": {"drain_list": drains}}, "without": ["drains", "agent_use"]}
    assert found(scene(night), "missing-1") == ()


def test_an_unprotected_drain_has_no_times() -> None:
    """On and off are asked only where something was put on."""
    drains = [{"name": "inlet", "method": "cover mat", "seen": "none seen"}]
    (finding,) = found(scene({"line": {"2": {"drain_list": drains}}}), "missing-1")
    assert [one.field for one in finding.missing] == ["on", "off"]


def test_what_is_missing_in_a_list_says_in_which_entry() -> None:
    """So that the question can name it, and the answer finds it."""
    whole_drain = {"name": "a", "method": "mat", "seen": "none seen", "on": "21:00", "off": "22:00"}
    drains = [whole_drain, {**whole_drain, "name": "b"}]
    del drains[1]["off"]
    stop = {**base()["lines"][1], "drain_list": drains}
    made = {"line": {"2": stop}, "tickets": [{"number": "T-1", "handovers": [{"run": "2026-09-14-big-blue"}]}]}
    (finding,) = found(scene(made), "missing-1")
    assert [(one.field, one.line, one.within) for one in finding.missing if one.group == "drain"] == [
        ("off", "2", "drain_list/2")
    ]
    ticket = scene(made).state.tickets[0]
    assert {one.within for one in finding.missing if one.group == "ticket"} == {ticket.record}


def test_an_escape_line_answers_got_away() -> None:
    """Who writes an escape down has said that water got away."""
    made = everything()
    made["night"].pop("got_away")
    made["nights"][0].pop("got_away")
    findings = found(whole_scene(made), "missing-1")
    assert [one.about for one in findings] == ["2026-09-14-big-blue"], "only the night without an escape line"


def test_take_on_answers_where_the_water_came_from() -> None:
    """The place of a 'take on' line is asked on the line."""
    made = everything()
    made["night"].pop("supply")
    assert [one.about for one in found(whole_scene(made), "missing-1")] == ["2026-09-14-big-blue"]


def test_recovery_that_was_not_planned_needs_no_figure() -> None:
    """Where no stop was to recover water, 'recovered' is not asked."""
    stop = {**base()["lines"][1], "plan": "recovery not planned"}
    night = {"lines": [stop], "night": {"where": "no water"}, "without": ["recovered"]}
    assert found(scene(night), "missing-1") == ()


def test_a_run_that_only_empties_a_tank_is_asked_for_its_times() -> None:
    """A morning on which no stop was worked has no drains, no agent and no rain to tell."""
    stop = {"line": "stop", "site": "Alder Mall", "not_worked": "gate locked"}
    left_out = ["used", "recovered", "got_away", "drains", "agent_use", "filters", "rain", "supply", "end"]
    (finding,) = found(scene({"lines": [stop], "night": {"where": "no water"}, "without": left_out}), "missing-1")
    assert [one.field for one in finding.missing] == ["end"]


def test_a_run_that_was_off_is_asked_nothing() -> None:
    """A night that was called off has nothing to complete."""
    left_out = ["used", "recovered", "got_away", "drains", "agent_use", "filters", "rain", "supply", "start", "end"]
    off = {"lines": [], "night": {"where": "no water", "cancelled": "thunderstorm"}, "without": left_out}
    assert found(scene(off), "missing-1") == ()


def test_job_and_site_tell_the_client() -> None:
    """The client is read off the job where the site does not tell."""
    job = {"job": [{"name": "quay wash", "client": "Alder Mall Owners"}], "site": [{"name": "Bare Lot"}]}
    stop = {"line": {"2": {"site": "Bare Lot", "job": "quay wash"}}}
    assert found(scene(job, stop), "missing-1") == ()
    (finding,) = found(scene(job, {"line": {"2": {"site": "Bare Lot"}}}), "missing-1")
    assert [one.field for one in finding.missing] == ["client"]


def test_a_tank_read_next_needs_no_level_afterwards() -> None:
    """A reading right after the handover says what the line left out."""
    lines = base()["lines"]
    left = lines[3].pop("tank_after")
    (finding,) = found(scene({"lines": lines}), "missing-1")
    assert [one.field for one in finding.missing] == ["amount", "tank_after"]
    reading = {"line": "reading", "of": "Big Blue recovery", "shows": left}
    assert found(scene({"lines": [*lines, reading]}), "missing-1") == ()


def test_a_refused_handover_has_nothing_to_complete() -> None:
    """A place that took nothing wrote no ticket and had no connection."""
    line = {"line": "hand over", "place": "North Plant", "refused": "gate shut"}
    assert found(scene({"lines": [*base()["lines"][:3], line]}), "missing-1") == ()


def test_a_place_named_by_the_run_is_asked_for_connection_and_time() -> None:
    """A page wants both; the three-number night cannot have said them."""
    night = {"lines": base()["lines"][:3], "night": {"where": "North Plant"}}
    (finding,) = found(scene(night), "missing-1")
    assert [(one.field, one.line) for one in finding.missing] == [("connection", ""), ("at", "")]


def test_a_ticket_is_asked_for_what_a_ticket_says() -> None:
    """Accepted gallons and the receiver stand on a ticket, except on one that refuses."""
    ticket = {"number": "T-100", "handovers": [{"run": "2026-09-14-big-blue", "line": "4"}]}
    (finding,) = found(scene({"tickets": [ticket]}), "missing-1")
    assert "Accepted (ticket T-100), Received by (ticket T-100)" in finding.seen
    assert found(scene({"tickets": [{**ticket, "refused": "solids"}]}), "missing-1") == ()


def test_labels_come_from_the_field_table() -> None:
    """A missing field is called what the page calls it."""
    assert label(Missing("run", "rain", "truck")) == "Rain"
    assert all(row.need in NEEDS for rows in WANTED.values() for row in rows)


# ---- missing-2 -----------------------------------------------------------------------------------------------


def test_a_destination_is_not_asked_when_no_water_was_recovered() -> None:
    """Nothing recovered goes nowhere, whether it is known to be nothing or was not to be recovered."""
    stop = {**base()["lines"][1], "plan": "recovery not planned"}
    not_planned = {"lines": [stop], "night": {"where": "not known"}, "without": ["recovered"]}
    assert outcome(scene(not_planned), "missing-2") == "does not apply"
    unread = scene({"lines": [stop], "night": {"where": "not known"}})
    unread = with_run(unread, captured=Known(Unknown("the tank was not read", "not read"), How("none")))
    assert outcome(unread, "missing-2") == "does not apply"


def test_a_destination_is_asked_when_water_may_have_been_recovered() -> None:
    """Not having read the tank is no reason not to say where the water went."""
    night = {"lines": base()["lines"][1:2], "night": {"where": "not known", "recovered": "not read"}}
    assert outcome(scene(night), "missing-2").endswith("how much was recovered is not read")
    silent = {"lines": base()["lines"][1:2], "night": {"where": "not known"}, "without": ["recovered"]}
    assert outcome(scene(silent), "missing-2").endswith("how much was recovered is not recorded yet")


def test_an_absent_destination_reads_as_absent() -> None:
    """A night from an old file may not say where the water is; that is not 'not known'."""
    made = scene({})
    (run,) = made.state.runs
    fields = {name: value for name, value in run.fields.items() if name != "where"}
    assert outcome(with_state(made, runs=(replace(run, fields=fields),)), "missing-2").startswith(
        "found: where the water is: not recorded yet; recovered: 371.4"
    )
    assert outcome(scene({"night": {"where": "not known"}}), "missing-2").startswith("found: where the water is: 'not ")


def test_rules_about_gaps_ran() -> None:
    """The samples above are looked at by the rules that they are about."""
    report = check(scene({}), only=["missing-1", "missing-2"])
    assert isinstance(report, Report) and [count.asked for count in report.counts] == [1, 1]


def test_an_answer_that_promises_a_list_is_asked_for_it() -> None:
    """'Used' wants the product, 'cleaned' the stage or part; jugs counted for the night answer the first."""

    def lacking(*more: dict[str, Any]) -> list[tuple[str, str]]:
        made = scene({"lines": [base()["lines"][0], stop, *base()["lines"][2:]]}, *more)
        return [(one.field, one.line) for finding in found(made, "missing-1") for one in finding.missing]

    stop = {name: value for name, value in base()["lines"][1].items() if name != "agents"}
    assert lacking({"night": {"agent_use": "used"}}) == [("agents", "2")]
    assert lacking({"night": {"agent_use": "none used"}}) == []
    stop["agent_use"] = "used"
    assert lacking({"night": {"agent_use": "none used"}}) == [("agents", "2")]
    assert lacking({"night": {"agent_use": "none used", "filters": "cleaned"}}) == [
        ("agents", "2"),
        ("filter_list", "2"),
    ]
    assert lacking({"night": {"filters": "cleaned", "sock": "cleaned"}}) == [("agents", "2")]
    jugs = {"line": "agent jugs", "agent": "Foamcut 7", "jugs": "1"}
    counted = scene({"lines": [base()["lines"][0], stop, *base()["lines"][2:], jugs]})
    assert found(counted, "missing-1") == ()


def test_nought_recovered_has_no_destination() -> None:
    """'0 gal' is a figure: there is no water of which the place could be missing."""
    lines = [line for line in base()["lines"] if line["line"] == "stop"]
    made = scene({"night": {"where": "not known", "recovered": "0 gal"}, "lines": lines})
    assert outcome(made, "missing-2") == "does not apply"
