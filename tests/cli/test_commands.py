"""Each command does its work through the same doors, and answers for people and for programs."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from compliance.cli import judging
from compliance.rules.run import Count, Report
from tests.cases import SAMPLES
from tests.cli.conftest import Desk, Said


def records(book: Desk) -> int:
    return int(book("verify", "--json").json["records"])


def test_handing_in_the_same_night_twice_changes_nothing(book: Desk) -> None:
    """The second time is told, and writes nothing."""
    book.case("01")
    before = records(book)
    said = book("log", "--from", SAMPLES / "case-01-one-stop" / "1-run.toml")
    assert said.code == 0
    assert "handed in before as 2026-09-01-big-blue" in said.out
    assert records(book) == before


@pytest.mark.parametrize(
    ("lang", "told"),
    [
        ("en", "look again: the book has a run of this rig and day already: 2026-09-01-big-blue"),
        ("es", "el libro ya tiene una salida de este camión y de este día: 2026-09-01-big-blue"),
    ],
)
def test_a_second_night_of_a_rig_and_day_is_told(book: Desk, tmp_path: Path, lang: str, told: str) -> None:
    """Handed in twice, or in two halves: it became 2026-09-01-big-blue-2 without a word. Another rig's is none."""
    book.case("01")
    file = tmp_path / "again.toml"
    night = 'rig = "{}"\nlead = "Marisol Vega"\ndate = "2026-09-01"\nwhere = "no water"\n'
    night += '[[line]]\nline = "stop"\nsite = "Harbor deck"\n'
    file.write_text(night.format("Little Heron"), encoding="utf-8")
    assert "of this rig and day" not in book("log", "--from", file).err
    file.write_text(night.format("big blue"), encoding="utf-8")
    said = book("log", "--from", file, "--lang", lang)
    assert "2026-09-01-big-blue-2" in said.out and told in " ".join(said.err.split())
    assert book("cancel", "2026-09-01-big-blue", "--why", "twice", "--who", "Ruth Okafor").code == 0
    assert book("cancel", "2026-09-01-big-blue-2", "--why", "twice", "--who", "Ruth Okafor").code == 0
    assert told.partition(":")[0] not in book("log", "--from", file, "--lang", lang).err


def test_the_same_id_with_other_values_is_a_conflict_shown_side_by_side(book: Desk, tmp_path: Path) -> None:
    """Neither value is lost, nothing is written."""
    book.case("01")
    text = (SAMPLES / "case-01-one-stop" / "1-run.toml").read_text(encoding="utf-8")
    other = tmp_path / "other.toml"
    other.write_text(text.replace('recovered = "380 gal"', 'recovered = "480 gal"'), encoding="utf-8")
    before = records(book)
    said = book("log", "--from", other)
    assert said.code == 2
    assert "380 gal" in said.err
    assert "480 gal" in said.err
    assert records(book) == before


def test_every_problem_of_a_file_is_told_at_once(book: Desk, tmp_path: Path) -> None:
    """What, where and what to do, for each; nothing is written."""
    file = tmp_path / "night.toml"
    file.write_text('rig = "Big Blue"\nused = "1,250"\nrian = "none"\n[[line]]\nline = "stop"\n', encoding="utf-8")
    before = records(book)
    said = book("log", "--from", file)
    assert said.code == 2
    for part in ("1,250", "rian", "did you mean", "Site", "Crew lead", "Where the water is"):
        assert part in said.err
    assert said.err.count("do this:") >= 5
    assert records(book) == before


def test_a_night_comes_from_standard_input_as_json(book: Desk, typed: Callable[[str], None]) -> None:
    """A program hands in through the same validator, and is answered in JSON."""
    night = {
        "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-20", "where": "aboard",
        "line": [{"line": "stop", "site": "Harbor deck"}],
    }  # fmt: skip
    typed(json.dumps(night))
    said = book("log", "--from", "-", "--json")
    assert said.code == 0, said.err
    assert said.json["ref"] == "2026-09-20-big-blue"
    assert len(said.json["lines"]) <= 3


def test_a_preview_writes_nothing(book: Desk) -> None:
    """What would be handed in is said."""
    before = records(book)
    said = book("log", "--from", SAMPLES / "case-01-one-stop" / "1-run.toml", "--preview")
    assert said.code == 0
    assert "Nothing was written" in said.out
    assert records(book) == before


def test_a_correction_keeps_both_values(book: Desk) -> None:
    """The figure changes, what it said before stays readable, and the reason with it."""
    book.case("01")
    run = "2026-09-01-big-blue"
    spot = ("correct", run, "recovered", "370 gal", "--who", "Ruth Okafor")
    assert book(*spot, "--reason", "keyed wrong", "--why", "the card says 370").code == 0
    shown = book("show", run).out
    assert "said 380 gal, says 370 gal" in shown
    assert "keyed wrong: the card says 370" in shown


def test_a_ticket_is_shown_by_its_number_with_what_it_is_for_and_what_changed_it(book: Desk) -> None:
    """As it stands, with both values of a correction; two of one number are both shown, and JSON is a list of them."""
    book.case("08")
    wrong = ("correct", "ticket DF-1187", "accepted", "380 gal", "--who", "Ruth Okafor")
    assert book(*wrong, "--reason", "keyed wrong", "--why", "read again").code == 0
    shown = book("show", "ticket df-1187")
    assert shown.code == 0 and shown.out.startswith("ticket DF-1187   record ")
    for said in ("  Accepted: 380 gal", "  for: 2026-09-07-big-blue/3\n", "said 308 gal, says 380 gal"):
        assert said in shown.out
    (ticket,) = book("show", "ticket DF-1187", "--json").json
    assert (ticket["fields"]["accepted"], ticket["changes"][0]["was"]) == ("380 gal", "308 gal")
    where = ("--for", "2026-09-07-big-blue/3", "--accepted", "42 gal", "--who", "Ruth Okafor")
    assert book("ticket", "DF-1187", *where).code == 0
    assert book("show", "ticket DF-1187").out.count("ticket DF-1187   record ") == 2


def test_a_run_is_shown_in_words(book: Desk) -> None:
    """Measures and drains as a person says them, in the order of the field table; nothing looks like code."""
    book.case("01")
    shown = book("show", "2026-09-01-big-blue").out
    assert "Used (fresh water drawn): meter: Big Blue supply meter, start 998870, end 999307" in shown
    assert "        1. Drain: dock drain; How it was protected: cover mat and berm; Put on: 2026-09-01T20:55" in shown
    assert shown.index("  Rig: ") < shown.index("  Crew lead: ") < shown.index("  Used (fresh")
    assert not set(shown) & set('{}[]"')


def test_files_kept_with_a_run_are_shown_with_it(book: Desk, tmp_path: Path) -> None:
    """By name, with the line, what is on them and their hash; one of another run is not, and a run may have none."""
    book.case("01")
    book.case("02")
    run = "2026-09-01-big-blue"
    assert book("show", run, "--json").json["files"] == []
    card = tmp_path / "card.pdf"
    card.write_bytes(b"%PDF-1.4 the card of that night")
    digest = hashlib.sha256(card.read_bytes()).hexdigest()
    kept = ("--what", "the dump's ticket", "--who", "Ruth Okafor")
    assert book("attach", run, card, "--line", "4", *kept).code == 0
    assert f"  file card.pdf, line 4: the dump's ticket; SHA-256 {digest}" in book("show", run).out.splitlines()
    told = book("show", run, "--json").json["files"]
    assert [(one["name"], one["line"], one["sha256"]) for one in told] == [("card.pdf", "4", digest)]
    assert "card.pdf" not in book("show", "2026-09-03-big-blue").out


def test_a_figure_that_another_one_replaced_is_shown_beside_it(book: Desk, tmp_path: Path) -> None:
    """40 in was given first, 30 in kept after a comparison was shown: both stand, in words and in JSON."""
    night = tmp_path / "night.toml"
    night.write_text(
        'rig = "Big Blue"\nlead = "Marisol Vega"\ndate = "2026-09-02"\nwhere = "aboard"\nrecovered = "450 gal"\n'
        'first = {"2/shows" = "40", "recovered" = "600", "3/recovered/after" = "36"}\n'
        '[[line]]\nline = "reading"\nof = "Big Blue recovery"\nshows = "empty"\n'
        '[[line]]\nline = "reading"\nof = "Big Blue recovery"\nshows = "30 in"\n'
        '[[line]]\nline = "stop"\nsite = "Harbor deck"\n'
        'recovered = {method = "mark", tank = "Big Blue recovery", before = "30 in", after = "31 in"}\n'
    )
    assert book("log", "--from", night).code == 0
    lines = book("show", "2026-09-02-big-blue").out.splitlines()
    at = lines.index("      It shows: 30 in")
    assert lines[at + 1] == "        given first: 40, before a comparison was shown"
    at = lines.index("  Recovered: 450 gal")
    assert lines[at + 1] == "    given first: 600, before a comparison was shown"
    assert "        given first (after): 36, before a comparison was shown" in lines
    assert sum("given first" in line for line in lines) == 3
    assert book("show", "2026-09-02-big-blue", "--json").json["first"]["2/shows"] == "40"


def a_night(folder: Path, day: int, recovered: str) -> Path:
    """A night of Little Heron, whose recovery tank holds 300 gal, in a file; its water stays aboard."""
    look = '[[line]]\nline = "reading"\nof = "Little Heron recovery"\nshows = "empty"\n' if day == 1 else ""
    night = folder / f"night-{day}.toml"
    night.write_text(
        f'rig = "Little Heron"\nlead = "Marisol Vega"\ndate = "2026-09-0{day}"\nwhere = "aboard"\n'
        f'recovered = "{recovered}"\n{look}[[line]]\nline = "stop"\nsite = "Harbor deck"\n'
    )
    return night


def test_a_crew_hears_of_its_own_night_only(book: Desk, tmp_path: Path) -> None:
    """330 gal in a tank of 300 was last night's figure: who takes on nothing tonight is not sent to look again."""
    too_much = "The figure is more than the tank holds"
    assert too_much in book("log", "--from", a_night(tmp_path, 1, "330 gal")).out
    quiet = book("log", "--from", a_night(tmp_path, 2, "0 gal"))
    assert quiet.code == 0
    assert "before you leave" in quiet.out
    assert too_much not in quiet.out
    assert "water-1" in [one["rule"] for one in book("check", "--json").json["findings"]]


def test_what_the_office_is_said_to_complete_is_what_complete_asks(book: Desk, tmp_path: Path) -> None:
    """All of the run itself is there; a drain without its times and a ticket to come are told all the same."""
    night = tmp_path / "night.toml"
    night.write_text(
        'rig = "Big Blue"\nlead = "Marisol Vega"\ndate = "2026-09-02"\nwhere = "see lines"\nstart = "20:00"\n'
        'end = "23:00"\nsupply = "hydrant"\nused = "300 gal"\nrecovered = "250 gal"\ngot_away = "saw none"\n'
        'drains = "as planned"\nagent_use = "none used"\nfilters = "same"\nrain = "none"\n'
        '[[line]]\nline = "stop"\nclient = "Port Alder Harbor Trust"\nsite = "Harbor deck"\narrived = "20:10"\n'
        'left = "22:00"\nsurface = "deck"\narea = "200 ft2"\n'
        'drain_list = [{name = "inlet", method = "mat", seen = "none seen"}]\n'
        'filter_list = [{what = "sock", opening = "400 um", done = "same"}]\n'
        '[[line]]\nline = "hand over"\nplace = "Port Alder receiving station"\namount = "250 gal"\n'
        'tank_after = "empty"\nat = "22:30"\nconnection = "hose"\npermission = "SA-2026-031"\nticket = "later"\n'
    )
    said = book("log", "--from", night)
    assert said.out.splitlines()[-1] == "the office will complete: Ticket number, Put on, Taken off"
    asked = book("complete", "2026-09-02-big-blue", "--list", "--json").json
    assert [row["needed"].partition(" (")[0] for row in asked] == [
        "ticket of Port Alder receiving station, to come", "Put on", "Taken off",
    ]  # fmt: skip
    in_spanish = night.read_text().replace("2026-09-02", "2026-09-03")
    night.write_text(in_spanish)
    assert book("log", "--from", night, "--lang", "es").out.splitlines()[-1].endswith("Se puso, Se quit\u00f3")


def test_complete_fills_only_what_is_not_recorded_yet(book: Desk) -> None:
    """What was answered before is refused, and the way to correct it is named."""
    book.case("22")
    run = "2026-09-23-little-heron"
    assert book("complete", run, "rain", "none", "--who", "Ruth Okafor").code == 0
    said = book("complete", run, "used", "300 gal", "--who", "Ruth Okafor")
    assert said.code == 2
    assert "correct" in said.err


def test_a_cancelled_run_shows_and_holds_no_water(book: Desk) -> None:
    """It stays in the book, says why, and carries nothing."""
    book.case("01")
    run = "2026-09-01-big-blue"
    assert book("cancel", run, "--why", "entered for the wrong rig", "--who", "Ruth Okafor").code == 0
    assert "CANCELLED: entered for the wrong rig" in book("show", run).out
    assert "cancelled; it holds no water" in book("balance", run).out


def test_a_ticket_is_matched_to_its_handover(book: Desk) -> None:
    """The accepted volume stands beside ours and changes nothing of it."""
    book("log", "--from", SAMPLES / "case-08-hauler-ticket" / "1-run.toml")
    before = book("list", "handovers", "--json").json
    assert book("list", "open", "--json").json[0]["what"] == "ticket awaited"
    said = book("ticket", "DF-1", "--for", before[0]["handover"], "--accepted", "308 gal", "--who", "Ruth Okafor")
    assert said.code == 0, said.err
    after = book("list", "handovers", "--json").json
    assert after[0]["our volume"] == before[0]["our volume"]
    assert after[0]["accepted"] == "308 gal"
    assert book("list", "open", "--json").json == []


def test_a_handover_lists_what_was_written_down_with_it(book: Desk) -> None:
    """Ticket and accepted stand on the line until a ticket comes; what nobody wrote down is an answer too."""
    for number in ("01", "02", "22"):
        book.case(number)
    rows = {row["handover"]: row for row in book("list", "handovers", "--json").json}
    told = {name: (row["tickets"], row["accepted"], row["difference"]) for name, row in rows.items()}
    assert told["2026-09-03-big-blue/11"] == ("R-20914", "430 gal", "1 gal less, 0.2 %")
    assert told["2026-09-01-big-blue/4"] == ("not applicable", "not applicable", "")
    (three_numbers,) = [name for name in rows if "/" not in name]
    assert told[three_numbers] == ("not recorded yet", "not recorded yet", "")
    said = book("ticket", "DF-7", "--for", three_numbers, "--accepted", "300 gal", "--who", "Ruth Okafor")
    assert said.code == 0, said.err
    rows = {row["handover"]: row for row in book("list", "handovers", "--json").json}
    assert (rows[three_numbers]["tickets"], rows[three_numbers]["accepted"]) == ("DF-7", "300 gal")


def test_a_ticket_of_a_night_without_lines_is_listed_as_open(book: Desk, tmp_path: Path) -> None:
    """Three numbers and a place, the ticket later: awaited like any other, until it comes."""
    night = tmp_path / "night.toml"
    night.write_text(
        'rig = "Big Blue"\nlead = "Marisol Vega"\ndate = "2026-09-02"\nwhere = "Port Alder receiving station"\n'
        'ticket = "later"\n[[line]]\nline = "stop"\nsite = "Harbor deck"\n'
    )
    assert book("log", "--from", night).code == 0
    awaited = ("ticket awaited", "2026-09-02-big-blue")
    assert awaited in [(row["what"], row["about"]) for row in book("list", "open", "--json").json]
    assert book("ticket", "R-9", "--for", "2026-09-02-big-blue", "--who", "Ruth Okafor").code == 0
    assert awaited not in [(row["what"], row["about"]) for row in book("list", "open", "--json").json]


def test_a_handover_without_a_line_is_named_by_its_run(book: Desk, tmp_path: Path) -> None:
    """In every list by what can be typed; what was accepted under the older name, with a slash, stays accepted."""
    from compliance.book.store import Book
    from compliance.records import kinds
    from compliance.records.envelope import Entry

    night = a_night(tmp_path, 1, "200 gal")
    night.write_text(night.read_text().replace('"aboard"', '"Port Alder receiving station"'))
    assert book("log", "--from", night).code == 0
    book.clock = datetime(2026, 11, 25, 18, tzinfo=UTC)
    run = "2026-09-01-little-heron"
    found = {one["rule"]: one["about"] for one in book("check", "--json").json["findings"]}
    assert not any(about.endswith("/") for about in found.values())
    (rule,) = [one for one, about in found.items() if about == run and one.startswith("ticket")]
    held = {"rule": rule, "about": f"{run}/", "why": "they closed", "until": "2026-12-31", "who": "Ruth Okafor"}
    with Book.open(book.folder) as opened:
        opened.append([Entry("e" * 32, kinds.ACCEPT, "2026-09-25", "2026-09-25T08:00:00Z", held)],
                      receipt_time="2026-09-25T08:00:00Z")  # fmt: skip
    accepted = [one["rule"] for one in book("check", "--json").json["findings"] if one["accepted"]]
    assert accepted == [rule]


def test_a_file_is_kept_by_its_bytes(book: Desk, tmp_path: Path) -> None:
    """An attachment is stored under its SHA-256 and found missing by verify when it goes."""
    book.case("01")
    photo = tmp_path / "drain.jpg"
    photo.write_bytes(b"\xff\xd8\xff\xe0 not much of a picture")
    assert book("attach", "2026-09-01-big-blue", photo, "--line", "2", "--who", "Marisol Vega").code == 0
    assert book("verify", "--deep").code == 0
    (kept,) = (path for path in (book.folder / "files").rglob("*") if path.is_file())
    kept.chmod(0o644)
    kept.unlink()
    assert book("verify").code == 3


def test_registers_are_added_edited_and_joined(book: Desk) -> None:
    """Free text first, tidied later; two spellings become one."""
    assert book("add", "client", "Ridge Road Motors", "contact=Ana Lind").code == 0
    assert book("edit", "client", "Ridge Road Motors", "contact=Olga Brandt").code == 0
    assert book("add", "client", "Ridge Rd. Motors").code == 0
    assert book("same-as", "client", "Ridge Rd. Motors", "Ridge Road Motors").code == 0
    rows = book("registers", "client", "--json").json
    names = [row["name"] for row in rows]
    assert "Ridge Road Motors" in names
    assert "Ridge Rd. Motors" not in names
    assert any("Olga Brandt" in row["fields"].values() for row in rows)


def test_an_entry_is_not_renamed_into_a_second_one(book: Desk) -> None:
    """Records name it by its name: the next step is an entry of its own and `same-as`."""
    before = book("registers", "person", "--json").json
    for command in (("edit", "person", "Marisol Vega"), ("add", "person", "Mary V.")):
        said = book(*command, "name=M. Vega")
        assert said.code == 2 and "stays: records name it by that" in said.err and "same-as person" in said.err
    assert book("registers", "person", "--json").json == before


def test_the_business_is_shown_and_changed_like_a_register_of_one(book: Desk) -> None:
    """Its facts stand on every page: who may not look them up cannot put them right."""
    (before,) = book("registers", "business", "--json").json
    assert before["fields"]["zone"] == "America/Denver"
    assert book("registers", "--json").json[0] == before
    said = book("edit", "business", "phone=555-0199", "signer_role=managing owner", "--who", "Ruth Okafor")
    assert said.code == 0, said.err
    (after,) = book("registers", "business", "--json").json
    assert after["fields"] == {**before["fields"], "phone": "555-0199", "signer_role": "managing owner"}
    assert "phone=555-0199; " in book("registers", "business").out
    said = book("edit", "business", "telephone=555-0199")
    assert (said.code, "'telephone' is not a field of 'business'" in said.err) == (2, True)
    said = book("edit", "business", "Bluebank")
    assert "fields of a business: name, unit, zone" in said.err
    assert book("edit", "place", "Port Alder receiving station").code == 2


@pytest.mark.parametrize("what", ["runs", "jobs", "loads", "handovers", "pages", "open"])
def test_every_listing_is_a_table_json_and_csv(book: Desk, what: str) -> None:
    """The three forms hold the same rows; an empty one is said in words."""
    nothing = (
        "Nothing is open there: no ticket is awaited, no water is aboard." if what == "open" else f"No {what} there."
    )
    assert book("list", what).out == f"{nothing}\n"
    book.case("01")
    book.case("02")
    book("proof", "Alder Oven dock, September", "--out", book.folder.parent / "pages")
    as_json = book("list", what, "--json").json
    as_csv = list(csv.reader(io.StringIO(book("list", what, "--csv").out)))
    assert len(as_csv) == len(as_json) + 1
    if what != "open":
        assert as_json


def test_a_balance_can_be_redone_by_hand(book: Desk) -> None:
    """The lines of the run, the load, the stop and the job are printed with their readings."""
    book.case("01")
    run = book("balance", "2026-09-01-big-blue").out
    assert "999,307 - 998,870 = 437 gal" in run
    assert "= not explained: 65 ± 12 gal" in run
    assert "372.00" in book("balance", "2026-09-01-big-blue.l1").out
    assert book("balance", "Alder Oven dock, September").code == 0
    assert book("balance", "2026-09-01-big-blue", "--json").json["run"] == "2026-09-01-big-blue"


def pages(said: Said) -> dict[str, Path]:
    return {Path(line.strip()).suffix: Path(line.strip()) for line in said.out.splitlines() if line.startswith("  ")}


def test_an_issued_page_is_kept_recognised_and_replaced(book: Desk) -> None:
    """The same records give the same bytes; a correction gives a page that replaces it; both are recognised."""
    book.case("01")
    out = ("--out", book.folder.parent / "pages")
    job = "Alder Oven dock, September"
    first = book("proof", job, *out)
    assert first.code == 0, first.err
    was = pages(first)[".pdf"].read_bytes()
    again = book("proof", job, *out)
    assert "Issued before as alder-oven-bakery-1" in again.out
    assert pages(again)[".pdf"].read_bytes() == was
    spot = ("correct", "2026-09-01-big-blue", "area", "2600 ft2", "--line", "2", "--who", "Ruth Okafor")
    assert book(*spot, "--reason", "keyed wrong", "--why", "plan of the site").code == 0
    second = book("proof", job, *out)
    assert "alder-oven-bakery-2, which replaces alder-oven-bakery-1" in second.out
    assert pages(first)[".pdf"].read_bytes() == was
    told = book("verify", "--page", pages(first)[".pdf"]).out
    assert "alder-oven-bakery-1" in told
    assert "Replaced by alder-oven-bakery-2" in told
    assert "Not replaced" in book("verify", "--page", pages(second)[".html"]).out


def test_a_strange_page_is_not_of_this_book(book: Desk, tmp_path: Path) -> None:
    """One changed byte is enough."""
    page = tmp_path / "page.pdf"
    page.write_bytes(b"%PDF-1.4 something else")
    said = book("verify", "--page", page)
    assert (said.code, said.out) == (
        2, "Not a page of this book: no page with these bytes was ever issued from it.\n"
    )  # fmt: skip
    assert book("verify", "--page", page, "--json").json["issued"] is False


def test_month_and_client_summaries_are_written_with_workbooks(book: Desk) -> None:
    """Four files each; a preview is kept nowhere."""
    book.case("01")
    book.case("02")
    out = ("--out", book.folder.parent / "pages")
    month = book("month", "2026-09", *out)
    assert set(pages(month)) == {".pdf", ".html", ".json", ".xlsx"}
    client = book("client", "Alder Oven Bakery", "--from", "2026-09-01", "--to", "2026-09-30", *out)
    assert set(pages(client)) == {".pdf", ".html", ".json", ".xlsx"}
    before = records(book)
    assert book("month", "2026-09", "--preview", *out).code == 0
    assert records(book) == before
    assert book("month", "September").code == 2
    assert book("client", "Nobody at all", "--from", "2026-09-01", "--to", "2026-09-30").code == 2
    assert book("client", "Alder Oven Bakery", "--from", "yesterday", "--to", "2026-09-30").code == 2


def test_a_backup_comes_back_whole(book: Desk, tmp_path: Path) -> None:
    """Same records, same record code."""
    book.case("01")
    before = book("verify", "--json").json
    made = book("backup", tmp_path / "backup")
    assert made.code == 0, made.err
    assert book("restore", tmp_path / "backup", tmp_path / "back").code == 0
    there = Desk(tmp_path / "back", book.capture)
    assert there("verify", "--json").json == before
    assert book("restore", tmp_path / "backup", tmp_path / "back").code == 2


def test_a_kept_record_code_is_held_against_the_book(book: Desk) -> None:
    """An earlier code fits as long as nothing before it changed; a false one is damage; nonsense is refused."""
    code = book("verify", "--json").json
    book.case("01")
    assert book("verify", "--record-code", f"{code['records']}:{code['root']}").code == 0
    assert book("verify", "--record-code", f"{code['records']}:{'0' * 64}").code == 3
    assert book("verify", "--record-code", "what the paper says").code == 2


def test_check_says_for_which_rules_no_limit_is_on_file(capsys: pytest.CaptureFixture[str]) -> None:
    """Silence for want of a limit is no pass, and is said without `--counts`; rules that had one are not named."""
    judged = Count("ph-2", 3, 3, 3, 0, 0)
    unlimited = [
        Count("recovery-1", 2, 2, 2, 0, 0, (("no limit on file: none yet", 2),)),
        Count("ph-3", 3, 3, 3, 0, 0, (("no limit on file", 1),)),
    ]
    said = "No limit on file for some of what was asked by recovery-1, ph-3: silent there, which is no pass."
    for counts, told in (((judged,), False), ((judged, *unlimited), True)):
        judging._tell(Report((), (), counts), False)
        assert (said in capsys.readouterr().out) is told


def test_check_narrows_by_day_rule_and_run(book: Desk) -> None:
    """Findings outside the days asked for do not count; counts tell what became of each rule."""
    book.case("12")
    assert book("check", "--from", "2026-09-22").code == 0
    assert book("check", "--to", "2026-09-21").code == 1
    refused = book("check", "--from", "last week")
    assert refused.code == 2 and "'last week' is not written as dates are here" in refused.err
    assert book("check", "--only", "escape-1").code == 1
    assert book("check", "2026-09-21-big-blue").code == 1
    assert "escape-1" in book("check", "--counts").out
    assert book("check", "--csv").out.startswith("severity,rule,slug")
    document = book("check", "--json").json
    assert document["note"] == "The local permit governs."
    assert len(document["rules"]) > 20


def test_rules_are_listed_and_explained(book: Desk) -> None:
    """By id or slug, for people and programs."""
    listed = book("rules", "--json").json
    assert {"escape-1", "place-1"} <= {rule["id"] for rule in listed}
    assert "escape-seen" in book("rules").out
    assert book("explain", "escape-seen").out == book("explain", "escape-1").out
    assert "did you mean" in book("explain", "escape-sen").err


def begun(desk: Desk, typed: Callable[[str], None], *answers: str) -> Said:
    """What `init` says to these answers; the registers are those of the book that it began."""
    typed("\n".join(answers) + "\n")
    return desk("init")


def register(desk: Desk, what: str) -> list[dict[str, str]]:
    return [row["fields"] for row in desk("registers", what, "--json").json]


def test_a_slip_in_the_first_book_is_asked_again_at_once(desk: Desk, typed: Callable[[str], None]) -> None:
    """A capacity in words, a size that is none, a threshold beyond reading: told where it was typed, nothing lost."""
    said = begun(
        desk, typed, "", "Bluebank Wash Recovery", "gal", "Nowhere/Here", "America/Denver", "12 Alder Street",
        "555-0142", "Ruth Okafor", "owner", "Big Blue", "three hundred", "0", "500", "1", "1", "60 gal", "66 in", "50",
        "35 in", "0.5 in", "Port Alder receiving station", "2", "most", "85 %", "1", "",
    )  # fmt: skip
    assert said.code == 0, said.err
    for what in (
        "This one is needed.", "'Nowhere/Here' is not the name of a time zone",
        "'three hundred' is not a number with a unit; write it like '450 gal'", "0 gal is no size; give its size",
        "a volume, a length is asked for", "'most %' is not a number",
    ):  # fmt: skip
        assert what in said.err
    assert register(desk, "tank")[0]["length"] == "66 in"
    assert register(desk, "tank")[0]["width"] == "50 in"
    assert register(desk, "limit")[0] == {"value": "85 %", "whose": "house policy", "source": "house policy"}
    assert register(desk, "business")[0]["address"] == "12 Alder Street"


def test_a_first_book_can_be_begun_with_a_name_and_a_zone(desk: Desk, typed: Callable[[str], None]) -> None:
    """Enter passes over all else, and nothing is made up for it."""
    said = begun(desk, typed, "Bluebank Wash Recovery", "", "America/Denver", "", "", "", "", "", "", "", "")
    assert said.code == 0, said.err
    assert register(desk, "rig") == [{}]
    assert register(desk, "tank") == [{"rig": "Rig 1", "role": "recovery"}]
    assert register(desk, "place") == register(desk, "person") == []
    assert register(desk, "limit") == [{"none_yet": "yes"}]


def test_the_threshold_of_a_permit_may_be_told_without_its_source(desk: Desk, typed: Callable[[str], None]) -> None:
    """Where it stands is looked up later; shape and sizes too."""
    said = begun(desk, typed, "Bluebank", "L", "America/Denver", "", "", "", "", "1200", "1", "0", "", "80", "2", "")
    assert said.code == 0, said.err
    assert register(desk, "limit") == [{"value": "80 %", "whose": "local permit"}]
    assert register(desk, "tank")[0]["capacity"] == "1200 L"
    assert "shape" not in register(desk, "tank")[0]


def test_a_first_book_is_begun_by_a_dozen_questions(desk: Desk, typed: Callable[[str], None]) -> None:
    """Who reads marks is asked for shape and sizes; the threshold may be none yet."""
    answers = [
        "Bluebank Wash Recovery", "gal", "America/Denver", "", "", "Ruth Okafor", "owner", "Big Blue", "500",
        "1", "2", "42 in", "40 in", "0.5 in", "Port Alder receiving station", "2", "",
    ]  # fmt: skip
    typed("\n".join(answers) + "\n")
    said = desk("init")
    assert said.code == 0, said.err
    assert register(desk, "tank") == [{
        "rig": "Big Blue", "role": "recovery", "capacity": "500 gal", "shape": "upright cylinder", "diameter": "42 in",
        "depth": "40 in", "mark_step": "0.5 in",
    }]  # fmt: skip
    assert register(desk, "limit") == [{"none_yet": "yes"}]
    assert desk("init").code == 2
