"""Rules are put to everything they are about, counted, and never pass by not having run."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from compliance.records.problem import Problem
from compliance.records.views import Acceptance
from compliance.rules.catalogue import ALL, named
from compliance.rules.rule import SEVERITIES, Finding, Rule
from compliance.rules.run import Report, check, check_run, for_crew
from compliance.rules.scene import Scene
from tests.cases import case_folders, expected_of, state_of
from tests.rules.samples import base, read, records, scene, scene_of, whole, with_state

RUN = "2026-09-14-big-blue"
BAD: dict[str, Any] = {
    "line": {"2": {"old_paint": "yes", "site": "Fish Quay"}, "4": {"place": "Mall cleanout", "ph": "1.5"}},
    "night": {"got_away": "yes"},
    "without": ["rain", "4.connection"],
}
"""A night with a fault of every severity."""


def report(found: Report | Problem) -> Report:
    assert isinstance(found, Report), found
    return found


def test_most_urgent_first() -> None:
    """Severity, then day, then what it is about."""
    findings = report(check(scene(BAD))).findings
    assert {one.severity for one in findings} == {"act now", "not met", "missing"}
    keys = [(SEVERITIES.index(one.severity), one.day, one.about) for one in findings]
    assert keys == sorted(keys)


def test_counts_add_up() -> None:
    """For each rule, applied is silent, cannot tell and found together; the rest did not apply."""
    made = report(check(scene(BAD)))
    assert len(made.counts) == len(ALL)
    for count in made.counts:
        assert count.applied == count.silent + count.cannot_tell + count.found <= count.asked
    assert made.applied == sum(count.applied > 0 for count in made.counts)
    silent = [count.rule for count in made.counts if count.applied and not count.found]
    assert made.silent == len(silent) and "paint-1" not in silent and "water-1" in silent and "ticket-2" not in silent
    assert made.silent < made.applied < len(made.counts)
    assert len(made.untold) == sum(count.cannot_tell for count in made.counts)
    notes = {count.rule: count.notes for count in made.counts}
    assert notes["recovery-1"] == (("no limit on file", 1),)


@pytest.mark.parametrize("only", [["ph-1", "no-such-rule"], ["PH-1"], []])
def test_an_unknown_or_empty_choice_is_a_problem(only: list[str]) -> None:
    """A misspelt rule must not read as a clean result."""
    for found in (check(scene({}), only=only), check_run(scene({}), RUN, only=only)):
        assert isinstance(found, Problem) and found.next_step


def test_no_rules_is_a_problem() -> None:
    """A catalogue that lost its rules finds nothing, and says so."""
    assert isinstance(check(scene({}), rules=()), Problem)


def test_a_choice_by_id_or_slug() -> None:
    """Both names of a rule choose it, and only it runs."""
    for name in ("ph-2", "ph-in-hazardous-waste-range"):
        made = report(check(scene(BAD), only=[name]))
        assert [one.rule for one in made.findings] == ["ph-2"] and len(made.counts) == 1


def test_an_unknown_run_is_a_problem() -> None:
    """A run that is not there is not clean."""
    found = check_run(scene({}), "2026-01-01-nobody")
    assert isinstance(found, Problem) and "2026-01-01-nobody" in found.what


def test_one_run_gives_what_the_book_gives_of_it() -> None:
    """Checked alone or with the book, a run has the same findings, and no other run's."""
    nights = {"nights": [{"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00", "rain": "not read"}]}
    made = scene(BAD, nights)
    everything = report(check(made)).findings
    parts = [report(check_run(made, run.ref)).findings for run in made.runs]
    assert sorted(map(str, everything)) == sorted(str(one) for part in parts for one in part)
    assert report(check_run(made, made.state.runs[0].record)).findings == parts[0]


def test_a_cancelled_run_is_checked_and_finds_nothing() -> None:
    """Every rule ran, and none was asked anything."""
    cancel = {"kind": "cancel", "run": RUN, "why": "entered twice", "who": "Priya Lund"}
    made = report(check_run(scene(BAD, {"amends": [cancel]}), RUN))
    assert made.findings == () and len(made.counts) == len(ALL)
    assert sum(count.asked for count in made.counts) == 0


def test_a_rule_waits_for_its_first_day() -> None:
    """Nights from before a rule applies are not judged by it."""
    late = tuple(replace(rule, applies_from="2026-09-15") for rule in ALL if rule.id == "paint-1")
    assert report(check(scene(BAD), rules=late)).findings == ()
    due = tuple(replace(rule, applies_from="2026-09-14") for rule in ALL if rule.id == "paint-1")
    assert len(report(check(scene(BAD), rules=due)).findings) == 1


# ---- accepted ------------------------------------------------------------------------------------------------


def accepted(*acceptances: tuple[str, str, str]) -> Report:
    rows = tuple(Acceptance("r", rule, about, "agreed", until, "Ruth Okafor") for rule, about, until in acceptances)
    return report(check(with_state(scene(BAD), acceptances=rows)))


@pytest.mark.parametrize("name", ["paint-1", "old-paint-disturbed"])
def test_an_accepted_finding_still_shows(name: str) -> None:
    """It stays in the list with who, why and until when, and no longer counts as open."""
    made = accepted((name, f"{RUN}.s1", "2026-09-20"))
    (finding,) = (one for one in made.findings if one.rule == "paint-1")
    assert finding.accepted is not None and finding.accepted.who == "Ruth Okafor"
    assert finding not in made.not_accepted and len(made.not_accepted) == len(made.findings) - 1


@pytest.mark.parametrize(
    "row",
    [
        ("paint-1", f"{RUN}.s1", "2026-09-19"),
        ("paint-1", f"{RUN}.s2", "2026-12-31"),
        ("escape-1", f"{RUN}.s1", "2026-12-31"),
    ],
)
def test_an_acceptance_ends_and_covers_nothing_else(row: tuple[str, str, str]) -> None:
    """Past its day, about another stop or another rule, it does not count."""
    assert all(one.accepted is None for one in accepted(row).findings if one.rule == "paint-1")


# ---- for the crew --------------------------------------------------------------------------------------------


def test_the_crew_hears_three_things_at_most() -> None:
    """The most urgent three, in its language, with where."""
    findings = report(check(scene(BAD))).findings
    english, spanish = for_crew(findings), for_crew(findings, "es")
    assert len(english) == len(spanish) == 3
    assert english[0] == "Water got away: stop it, contain it, call."
    assert spanish[1:] == (
        "La pintura de antes de 1978 puede tener plomo. No la lave: pregunte primero. No mezcle el agua (parada 1).",
        "Ácido o cáustico fuerte: no lo toque, no lo mezcle, llame a la oficina (en Mall cleanout).",
    )


def test_the_crew_is_asked_only_for_what_it_can_answer() -> None:
    """Of what is missing it hears its own fields; what the office or a page awaits is left out."""
    both = report(check(scene({"without": ["rain", "start", "4.connection"]}))).findings
    assert for_crew(both) == ("Write down: Rain.",)
    assert for_crew(both, "es") == ("Anote: Lluvia.",)
    office = report(check(scene({"without": ["start"]}))).findings
    assert len(office) == 1 and for_crew(office) == ()


def test_what_only_the_office_can_do_is_left_out() -> None:
    """A ticket that disagrees, and anything accepted, is no news for the crew."""
    assert for_crew(report(check(scene(read("ticket-2", "fail")))).findings) == ()
    made = accepted(("paint-1", f"{RUN}.s1", "2026-12-31"))
    assert not any("1978" in line for line in for_crew(made.findings))
    strange = replace(made.findings[0], rule="gone-1")
    assert for_crew([strange]) == ()


def test_places_are_named_once() -> None:
    """Two stops with one fault make one line."""
    lines = base()["lines"]
    stop = {**lines[1], "old_paint": "yes"}
    two = {"lines": [stop, {**stop, "site": "Fish Quay"}], "night": {"where": "aboard"}}
    (line,) = for_crew(report(check(scene(two), only=["paint-1"])).findings)
    assert line.endswith("(stop 1, stop 2).")
    (entry,) = for_crew(report(check(scene(read("agent-1", "fail")))).findings)
    assert entry.endswith("(Foamcut 7).")


# ---- pure ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sample", [{}, BAD, read("water-5", "fail"), read("water-6", "fail")])
def test_the_same_records_give_the_same_report(sample: dict[str, Any]) -> None:
    """Twice the same question, twice the same answer; nothing is left behind in between."""
    made = scene(sample)
    once = check(made)
    assert check(made) == once and check(scene(sample)) == once


@pytest.mark.parametrize("seed", range(5))
def test_the_order_of_records_does_not_matter(seed: int) -> None:
    """Nights handed in, and registers filled, in any order after the book has begun."""
    made = whole(read("water-5", "fail"), BAD)
    ordered = records(made)
    first, rest = ordered[0], ordered[1:]
    random.Random(seed).shuffle(rest)
    shuffled = [replace(record, seq=at + 1) for at, record in enumerate([first, *rest])]
    today = str(made["today"])
    assert report(check(scene_of(shuffled, today))).findings == report(check(scene_of(ordered, today))).findings


# ---- the sample month ----------------------------------------------------------------------------------------


WORKED = [folder for folder in case_folders() if (folder / "expected.toml").exists()]


@pytest.fixture(scope="module")
def month() -> Report:
    from compliance.water.fold import calculate

    state = replace(state_of(*WORKED), opens_on="2026-08-01", opened="2026-10-01T08:00:00-06:00")  # a young book
    return report(check(Scene(state, calculate(state), date(2026, 10, 1))))


def test_the_sample_month_raises_what_stands_beside_each_case(month: Report) -> None:
    """The findings of the hand-worked cases, and no others."""
    expected = [
        (row["rule"], row["slug"], row["about"], row["severity"])
        for folder in WORKED
        for row in expected_of(folder).get("finding", [])
    ]
    assert expected
    assert sorted((one.rule, one.slug, one.about, one.severity) for one in month.findings) == sorted(expected)


def test_every_finding_is_complete(month: Report) -> None:
    """What was seen, what it was compared with, what to do, and where it stands."""
    for one in month.findings:
        assert isinstance(one, Finding) and one.seen and one.compared_with and one.next_step and one.lines
        rule = named(one.rule)
        assert isinstance(rule, Rule) and one.scope == rule.scope
