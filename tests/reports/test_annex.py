"""The sheets behind the first: drains, agents, filters, files, corrections, late entries."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from compliance.reports.model import Bullets, Paragraph, Table
from tests.reports.making import Bench, keep_proof, past, proof, sample, texts
from tests.reports.proofs import ONE_STOP, OURS, TWO_CLIENTS, attach, block, fact, first_sheet, own_night, tables


def test_drains_agents_and_filters_stand_line_by_line(one_stop: Bench) -> None:
    """Each drain with its times and what was seen, each product with its dilution, each stage in its order."""
    drains, agents, filters = tables(proof(one_stop, ONE_STOP))
    assert drains[0] == ["dock drain", "cover mat and berm", "8:55 pm", "11:05 pm", "none seen", "no"]
    assert agents == [["house degreaser", "degreaser", "1 part of concentrate to 40 parts of water", "16 fl oz", "yes"]]
    assert filters[2] == ["cartridge", "25 µm", "372 gal", "same"]


def drains(bench: Bench, job: str) -> str:
    """The sentence under 'Storm drains'."""
    said = [one.text for one in proof(bench, job).blocks if isinstance(one, Paragraph)]
    return next(one for one in said if one.startswith("Storm drains: "))


def test_the_drains_say_what_holds_at_this_stop(september: Bench) -> None:
    """'Except' is an answer of the whole night; a page of one stop says whether the exception was there."""
    assert drains(september, "2026-09-21-big-blue.s1") == (
        "Storm drains: not as planned at this stop; each drain is listed here."
    )
    assert drains(september, "2026-09-21-big-blue.s2") == (
        "Storm drains: as planned at this stop; the exception that night was at another."
    )


@pytest.mark.parametrize(
    ("stop", "said"),
    [
        ({}, "as planned with an exception; at which stop: not recorded yet"),
        ({"drains": "except"}, "not as planned at this stop; what was different: not recorded yet"),
        ({"drains": "except", "remark": "the north mat was short"},
         "not as planned at this stop: the north mat was short"),
        ({"drains": "none there"}, "none there"),
    ],
)  # fmt: skip
def test_an_exception_without_a_stop_or_without_a_word_says_what_is_missing(stop: Mapping[str, str], said: str) -> None:
    """Nothing is called as planned that might have been the exception."""
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
             "drains": "except", "line": [{"line": "stop", "site": "my yard", **stop}]}  # fmt: skip
    assert drains(Bench([]).put(TWO_CLIENTS).put(night), OURS) == f"Storm drains: {said}."


def test_a_correction_shows_both_values(one_stop: Bench) -> None:
    """Before, now, why and by whom; a completion says that nothing stood there."""
    bench = sample("case-01-one-stop").put(
        {"kind": "correct", "id": "c", "handed_in": "2026-09-05T09:00-06:00", "run": "2026-09-01-big-blue",
         "line": "3", "field": "shows", "value": "27.0 in", "reason": "read wrong", "why": "read at an angle",
         "who": "Dana Whitlock"}
    ).put(
        {"kind": "complete", "id": "d", "handed_in": "2026-09-06T09:00-06:00", "run": "2026-09-01-big-blue",
         "field": "remark", "value": "dry night", "who": "Priya Lund"}
    )  # fmt: skip
    *_, changes = tables(proof(bench, ONE_STOP))
    assert changes == [
        ["Sep 5, 2026, 9:00 am", "It shows", "26.5 in", "27.0 in", "read wrong; read at an angle; Dana Whitlock"],
        ["Sep 6, 2026, 9:00 am", "Remark", "not recorded yet", "dry night", "completed later; Priya Lund"],
    ]
    assert "No corrections." in texts(proof(one_stop, ONE_STOP))


def test_a_line_added_later_stands_with_the_corrections() -> None:
    """A forgotten handover is added, in the open."""
    bench = own_night(where="not known").put(
        {"kind": "complete", "id": "c", "run": "2026-09-01-big-blue", "add_after": "2", "who": "Priya Lund",
         "line_values": {"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty"}}
    )  # fmt: skip
    *_, changes = tables(proof(bench, OURS))
    assert changes[0][1:4] == ["Handover: line added", "no such line", "Handover"]
    assert changes[0][4] == "completed later; Priya Lund"


def test_a_corrected_ticket_shows_both_values() -> None:
    """Under its number, each time it was corrected."""
    bench = sample("case-08-hauler-ticket")
    change = {"kind": "correct", "run": "ticket DF-1187", "field": "accepted", "value": "312 gal",
              "handed_in": "2026-10-01T09:00-06:00", "reason": "keyed wrong", "why": "the 8 is a 12",
              "who": "Ruth Okafor"}  # fmt: skip
    bench.put(change).put({**change, "value": "308 gal", "why": "it is an 8 after all", "id": "back"})
    page = proof(bench, "2026-09-07-big-blue.s1")
    *_, changes = tables(page)
    assert [row[1:] for row in changes] == [
        ["Accepted, ticket DF-1187", "308 gal", "312 gal", "keyed wrong; the 8 is a 12; Ruth Okafor"],
        ["Accepted, ticket DF-1187", "312 gal", "308 gal", "keyed wrong; it is an 8 after all; Ruth Okafor"],
    ]


def test_a_late_night_and_a_late_ticket_say_when_they_came(september: Bench) -> None:
    """When a night was handed in and when its ticket arrived stand with the days between."""
    said = [one.replace("\u00a0", " ") for one in texts(proof(september, "2026-09-07-big-blue.s1"))]
    assert "Run of Sep 7, 2026: handed in Sep 8, 2026, 8:20 am" in said
    assert "Ticket DF-1187: received Sep 29, 2026, 10:15 am" in said
    late = Bench([]).put(TWO_CLIENTS).put(
        {"id": "n", "handed_in": "2026-09-09T10:00-06:00", "rig": "Big Blue", "lead": "Marisol Vega",
         "date": "2026-09-01", "where": "not known", "line": [{"line": "stop", "site": "my yard"}]}
    )  # fmt: skip
    said = [one.replace("\u00a0", " ") for one in texts(proof(late, "2026-09-01-big-blue.s1"))]
    assert "Run of Sep 1, 2026: handed in Sep 9, 2026, 10:00 am, 8 days after it ended" in said


def test_files_are_listed_with_their_hash_and_only_ours() -> None:
    """A file of one of our stops, or of a run that is ours alone; not one of a run that others share."""
    bench = sample("case-01-one-stop", "case-02-route-night")
    alone, shared = (run.record for run in bench.state.runs)
    attach(bench, alone, "", "whole night.jpg", "a" * 64)
    attach(bench, alone, "2", "dock.jpg", "b" * 64)
    attach(bench, shared, "2", "walk.jpg", "c" * 64)
    attach(bench, shared, "", "route.jpg", "d" * 64)
    attach(bench, shared, "3", "fish.jpg", "e" * 64)
    mine = [row for table in tables(proof(bench, ONE_STOP)) for row in table]
    assert ["whole night.jpg", "photo", "a" * 64] in mine and ["dock.jpg", "photo", "b" * 64] in mine
    said = " ".join(texts(proof(bench, "2026-09-03-big-blue.s1")))
    assert "walk.jpg" in said and "c" * 64 in said
    assert "route.jpg" not in said and "fish.jpg" not in said


def test_a_runs_yes_is_no_yes_of_a_stop_at_which_nothing_got_away() -> None:
    """The hose slipped at the second stop: the first proof says that it was elsewhere, the second says yes."""
    away = {"line": "escape", "what": "hose slipped", "reached": "soil", "amount": "5 gal"}
    bench = own_night({"line": "stop", "site": "my yard"}, away, got_away="yes")
    said = {job: texts(proof(bench, f"2026-09-01-big-blue.{job}")) for job in ("s1", "s2")}
    asked = "Did water get away? The crew: "
    assert f"{asked}yes in this run; what is written down of it stands at another stop." in said["s1"]
    assert f"{asked}yes." in said["s2"]
    tank = own_night({**away, "from_tank": "tank"}, got_away="yes")
    assert f"{asked}yes." in texts(proof(tank, OURS))


def test_a_stop_not_worked_says_why(september: Bench) -> None:
    """No water, no figures, and the reason on the first sheet and under what went wrong."""
    page = proof(september, "2026-09-17-big-blue.s2")
    assert "not worked, because: gate locked, nobody with a key until morning" in fact(page, "When")
    assert isinstance(first_sheet(page)[1], Paragraph)
    assert any("not worked, because: gate locked" in item for item in block(page, Bullets).items)


def test_a_job_of_several_nights_has_its_sums(september: Bench) -> None:
    """One row a night, the sum with its ± carried by source, and a correlation that a plain sum would miss."""
    rows = {row[0].text: row[1].text for row in block(proof(september, "Harbor deck, three nights"), Table, 1).rows}
    assert rows["Used (fresh water drawn): Sep 8, 2026"] == "105.6 ± 6.1 gal"
    assert rows["Used (fresh water drawn): sum"] == "264 ± 15 gal"
    assert rows["Captured in the tank: sum"] == "245.4 ± 7.7 gal"


def test_jugs_counted_for_a_night_are_said_to_be_of_all_its_stops() -> None:
    """A jug without a size says so; a night without jugs says nothing of them."""
    night = own_night({"line": "agent jugs", "agent": "soap", "jugs": "2"})
    said = (
        "Counted for the whole night of Sep 1, 2026, all its stops together: soap, jugs: 2, in each: not recorded yet."
    )
    assert said in [one.replace("\u00a0", " ") for one in texts(proof(night, OURS))]
    assert not any("Counted for the whole night" in one for one in texts(proof(own_night(), OURS)))


def test_a_division_that_changed_after_it_was_printed_is_version_two() -> None:
    """A late correction makes a second version of the load's division; the page says so and names nobody."""
    bench = sample("case-02-route-night")
    page = proof(bench, "2026-09-03-big-blue.s1")
    stop = next(iter(bench.night.runs.values())).stops[0]
    number = keep_proof(bench, stop.job)
    assert "version" not in block(proof(bench, stop.job), Table).note
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-03-big-blue", "line": "3", "field": "used",
               "value": {"method": "meter", "meter": "Big Blue supply meter", "start": "999381", "end": "999412"},
               "reason": "keyed wrong", "why": "a digit", "who": "Priya Lund"})  # fmt: skip
    changed = proof(bench, stop.job, replaced=past(bench, number))
    assert "(version 2 of its division; an earlier page printed another)" in block(changed, Table).note
    assert block(changed, Table).rows[0][4].text != block(page, Table).rows[0][4].text
    assert not any("Quillon" in text for text in texts(changed))
    first_of_another = proof(bench, "2026-09-03-big-blue.s5")
    assert "version" not in block(first_of_another, Table).note
