"""A question from outside, from the call to the answer, by commands."""

from __future__ import annotations

import io
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tests.cli.conftest import Desk

QUESTION = ("--address", "214 Canal St", "--first", "2026-09-03T18:00", "--until", "2026-09-04T06:00")
OPEN = ("inquiry", "open", "--asked-by", "Lena Ostrow", "--case", "TC-9", *QUESTION, "--who", "Priya Lund")


@pytest.fixture
def asked(book: Desk) -> Desk:
    """A night at the bakery, and a question about it."""
    book.case("02")
    said = book(*OPEN)
    assert said.code == 0, said.err
    return book


def test_an_inquiry_is_opened_once(asked: Desk) -> None:
    """The answer names it and what to do next; the same again changes nothing."""
    said = asked(*OPEN)
    assert "nothing was changed" in said.out
    assert [row["inquiry"] for row in asked("inquiry", "list", "--json").json] == ["inquiry-1"]


def test_an_inquiry_comes_from_a_file(book: Desk, tmp_path: Path) -> None:
    """Options stand before it; a file of another kind is refused."""
    file = tmp_path / "asked.toml"
    file.write_text('kind = "inquiry"\nasked_by = "Lena Ostrow"\ncase = "TC-8"\nwho = "Priya Lund"\n')
    said = book("inquiry", "open", "--from", file, "--case", "TC-9")
    assert "It is called inquiry-1" in said.out
    assert book("inquiry", "show", "inquiry-1", "--json").json["fields"]["case"] == "TC-9"
    file.write_text('kind = "ticket"\n')
    assert "is a 'ticket'" in book("inquiry", "open", "--from", file).err
    assert book("inquiry", "open", "--from", tmp_path / "none.toml").code == 2


def test_a_search_needs_no_inquiry(asked: Desk) -> None:
    """While the caller is on the telephone; also when the same was written down already."""
    for options in (QUESTION, (*QUESTION, "--asked-by", "Lena Ostrow", "--case", "TC-9")):
        said = asked("inquiry", "search", *options)
        assert said.code == 0, said.err
        assert "Big Blue, run 2026-09-03-big-blue, line 2: 212 Canal Street, Port Alder" in said.out
        assert "Rigs Little Heron, Slate Gull: no record that night, so these records cannot say." in said.out
    assert asked("inquiry", "list", "--json").json[0]["done"] == ""


def test_a_question_that_was_written_down_already_is_searched_as_it_is_put(asked: Desk) -> None:
    """With an earlier inquiry that says as much of another place."""
    other = ("--address", "7 Elm St", *QUESTION[2:])
    assert asked("inquiry", "open", *QUESTION, "--who", "R").code == 0
    assert asked("inquiry", "open", *other, "--who", "R").code == 0
    assert "Place: 7 Elm St\n" in asked("inquiry", "search", *other).out
    assert "Place: 214 Canal St\n" in asked("inquiry", "search", *QUESTION).out


def test_the_records_reach_to_the_last_night_and_not_to_what_was_done_with_it(asked: Desk) -> None:
    """A site that was changed, a correction, a month's pages: they tell of no more work."""
    before = asked("inquiry", "search", "TC-9", "--json").json["entered"]
    assert asked("edit", "client", "Alder Oven Bakery", "contact=L. Ostrow", "--who", "R").code == 0
    why = ("--reason", "keyed wrong", "--why", "misread", "--who", "R")
    assert asked("correct", "2026-09-03-big-blue", "area", "1300 ft2", "--line", "2", *why).code == 0
    assert asked("inquiry", "search", "TC-9", "--json").json["entered"] == before


def test_the_last_night_is_found_behind_any_number_of_later_records(asked: Desk, monkeypatch: Any) -> None:
    """Looked for further and further back."""
    before = asked("inquiry", "search", "TC-9", "--json").json["entered"]
    monkeypatch.setattr("compliance.cli.searching._LAST", 1)
    assert asked("inquiry", "search", "TC-9", "--json").json["entered"] == before
    assert asked("cancel", "2026-09-03-big-blue", "--why", "keyed twice", "--who", "R").code == 0
    assert asked("inquiry", "search", "TC-9", "--json").json["entered"] == before


def test_a_book_without_a_night_reaches_to_its_beginning(book: Desk) -> None:
    """What was entered into its registers since tells of no work."""
    began = book("inquiry", "search", *QUESTION, "--json").json["entered"]
    assert book("add", "client", "Quay Fish", "--who", "R").code == 0
    assert book("inquiry", "search", *QUESTION, "--json").json["entered"] == began


def test_a_kept_search_puts_what_is_near_on_hold(asked: Desk) -> None:
    """It is told where the run is shown, until the inquiry is closed."""
    found = asked("inquiry", "search", "TC-9", "--keep", "--who", "Priya Lund", "--json").json
    assert [one["run"] for one in found["near"]] == ["2026-09-03-big-blue"]
    assert {one["rig"]: one["says"] for one in found["rigs"]} == {
        "Big Blue": "near", "Little Heron": "no record", "Slate Gull": "no record",
    }  # fmt: skip
    assert "ON HOLD for inquiry-1" in asked("show", "2026-09-03-big-blue").out
    assert asked("show", "2026-09-03-big-blue", "--json").json["on_hold"] == ["inquiry-1"]
    shown = asked("inquiry", "show", "TC-9").out
    assert "on hold: 2026-09-03-big-blue" in shown
    assert "Slate Gull: 2026-09-03 no record" in shown
    assert "near: 2026-09-03-big-blue / 2 (same street)" in shown
    assert asked("inquiry", "close", "TC-9", "--why", "answered", "--who", "Ruth Okafor").code == 0
    assert "ON HOLD" not in asked("show", "2026-09-03-big-blue").out
    assert asked("inquiry", "reopen", "TC-9", "--why", "asked again", "--who", "Ruth Okafor").code == 0
    assert "ON HOLD" in asked("show", "2026-09-03-big-blue").out


def test_a_ticket_on_hold_is_told_where_it_is_shown(asked: Desk) -> None:
    """As a run is; once the inquiry is closed no more."""
    enter = ("ticket", "R-7", "--place", "Port Alder receiving station", "--accepted", "90 gal", "--who", "R")
    assert asked(*enter).code == 0
    (ticket,) = asked("show", "ticket R-7", "--json").json
    assert ticket["on_hold"] == []
    held = asked("inquiry", "hold", "TC-9", ticket["record"], "--why", "asked about", "--who", "R")
    assert held.code == 0, held.err
    assert "ON HOLD for inquiry-1" in asked("show", "ticket R-7").out
    assert asked("show", "ticket R-7", "--json").json[0]["on_hold"] == ["inquiry-1"]
    assert asked("inquiry", "close", "TC-9", "--why", "answered", "--who", "Ruth Okafor").code == 0
    assert "ON HOLD" not in asked("show", "ticket R-7").out


def test_a_kept_search_about_a_site_keeps_what_it_was_looked_for_by(asked: Desk) -> None:
    """The address and coordinates as the register had them then, whatever is changed there later."""
    site, span = "Alder Oven, Canal Street", QUESTION[2:]
    assert asked("edit", "site", site, "position=40.5123, -105.1", "--who", "R").code == 0
    looked = asked("inquiry", "search", "--site", site, *span, "--json").json["asked"]
    assert (looked["site"], looked["site_address"]) == (site, "212 Canal Street, Port Alder")
    assert (looked["site_position"], looked["radius"]) == ("40.5123, -105.1", "300 ft")


def test_a_kept_search_says_that_it_was_written_down(asked: Desk) -> None:
    """The same search of the same book twice is written down once."""
    said = asked("inquiry", "search", "inquiry-1", "--keep", "--who", "Priya Lund")
    assert "handed in as inquiry step" in said.out


@pytest.mark.parametrize(
    ("options", "what"),
    [
        ((), "it is not said what to search for"),
        (("inquiry-1", "--address", "x"), "it is not said what to search for"),
        (("inquiry-1", "--keep"), "a search is kept with an inquiry, by somebody"),
        (("--keep", "--who", "x", *QUESTION), "a search is kept with an inquiry, by somebody"),
        (("inquiry-7",), "no inquiry is called 'inquiry-7'"),
        (("--address", "x"), "it is not known which time is asked about"),
        (("--first", "soon"), "is not written as dates are here"),
    ],
)
def test_a_search_that_cannot_be_made_says_why(asked: Desk, options: Any, what: str) -> None:
    """And exits 2."""
    said = asked("inquiry", "search", *options)
    assert said.code == 2
    assert what in said.err


def test_words_are_looked_for_in_what_was_typed(asked: Desk) -> None:
    """They stand beside, and place nothing."""
    said = asked("inquiry", "search", *QUESTION, "--words", "marisol tomas")
    assert "The words that were looked for (marisol tomas) stand in:" in said.out


def test_a_change_and_a_hold_are_shown_with_both_values(asked: Desk) -> None:
    """And the chain in which an inquiry stands."""
    change = ("--case", "TC-10", "--alleged", "foam", "--why", "misheard", "--who", "Priya Lund")
    assert asked("inquiry", "change", "inquiry-1", *change).code == 0
    hold = ("2026-09-03-big-blue", "--why", "asked for", "--who", "Priya Lund")
    assert asked("inquiry", "hold", "inquiry-1", *hold).code == 0
    assert asked("inquiry", "open", "--follows", "inquiry-1", "--case", "TC-11", "--who", "Priya Lund").code == 0
    shown = asked("inquiry", "show", "inquiry-1").out
    assert "case said TC-9, says TC-10; misheard" in shown
    assert "alleged said nothing yet, says foam" in shown
    assert "held" in shown
    assert "in one chain with: inquiry-2" in shown
    assert asked("inquiry", "show", "inquiry-1", "--json").json["chain"] == ["inquiry-1", "inquiry-2"]


def test_a_cancelled_inquiry_is_listed_as_such(asked: Desk) -> None:
    """It stands in the book and says so."""
    record = asked("inquiry", "list", "--json") and asked("inquiry", "show", "TC-9", "--json").json["record"]
    assert asked("cancel", record, "--why", "a double", "--who", "Priya Lund").code == 0
    assert asked("inquiry", "list", "--json").json[0]["now"] == "cancelled"


def test_the_letter_is_text_first_and_then_a_page_of_what_was_left_of_it(asked: Desk, tmp_path: Path) -> None:
    """It is not written over; the PDF says what the edited text says."""
    out = tmp_path / "letters"
    assert asked("inquiry", "letter", "TC-9", "--out", out).code == 0
    path = out / "inquiry-1.en.txt"
    text = path.read_text(encoding="utf-8")
    assert "Rigs Little Heron, Slate Gull: no record that night" in text
    assert "there is a letter already" in asked("inquiry", "letter", "TC-9", "--out", out).err
    assert asked("inquiry", "letter", "TC-9", "--out", out, "--anew").code == 0
    path.write_text(text + "\nWe are glad to show you the paper cards.\n", encoding="utf-8")
    assert asked("inquiry", "letter", "TC-9", "--from", path).code == 0
    data = path.with_suffix(".pdf").read_bytes()
    said = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    assert "We are glad to show you the paper cards." in said
    assert asked("inquiry", "letter", "TC-9", "--from", path).code == 0
    assert path.with_suffix(".pdf").read_bytes() == data
    path.write_bytes(b"\xff\xfe")
    assert "it is not UTF-8 text" in asked("inquiry", "letter", "TC-9", "--from", path).err


def test_the_next_command_for_a_letter_keeps_its_language_and_paper(asked: Desk, tmp_path: Path) -> None:
    """Typed as it is told, it made an English heading over a Spanish letter."""
    said = asked("inquiry", "letter", "TC-9", "--out", tmp_path, "--lang", "es", "--paper", "A4")
    command = said.out.rpartition("washwater ")[2].split()
    assert asked(*command).code == 0
    page = PdfReader(tmp_path / "inquiry-1.es.pdf").pages[0]
    assert "Rige el permiso local." in page.extract_text()
    assert round(float(page.mediabox.width)) == 595


def test_a_demanded_sentence_stands_only_with_who_asks_and_who_signs(asked: Desk, tmp_path: Path) -> None:
    """All of it or nothing of it."""
    parts = ("--demanded-by", "Port Alder Sewer Authority", "--sentence", "I say so.", "--signed-by", "Ruth Okafor")
    said = asked("inquiry", "letter", "TC-9", "--out", tmp_path, *parts)
    assert "only with who asks for it" in said.err
    assert asked("inquiry", "letter", "TC-9", "--out", tmp_path, *parts, "--signer-role", "Owner").code == 0
    assert "Port Alder Sewer Authority asks for" in (tmp_path / "inquiry-1.en.txt").read_text(encoding="utf-8")


def test_what_was_sent_is_kept_with_its_hash(asked: Desk, tmp_path: Path) -> None:
    """The book keeps the bytes; the hash is shown."""
    file = tmp_path / "letter.pdf"
    file.write_bytes(b"the letter")
    hash = sha256(b"the letter").hexdigest()
    said = asked("inquiry", "sent", "TC-9", file, "--to", "Lena Ostrow", "--how", "by mail", "--who", "Priya Lund")
    assert hash in said.out
    assert hash in asked("inquiry", "show", "TC-9").out
    assert any(hash in path.name for path in (asked.folder / "files").rglob("*"))
    assert "cannot be read" in asked("inquiry", "sent", "TC-9", tmp_path / "none", "--to", "x", "--who", "x").err


def test_what_was_sent_is_recognised_and_its_copy_looked_after(asked: Desk, tmp_path: Path) -> None:
    """The letter itself, a file out of a pack that was sent; and `verify` misses a copy that is gone."""
    import zipfile

    letter, pack, inside = tmp_path / "letter.pdf", tmp_path / "pack.zip", tmp_path / "answer.json"
    letter.write_bytes(b"the letter")
    inside.write_bytes(b"{}")
    with zipfile.ZipFile(pack, "w") as archive:
        archive.write(inside, "inquiry-1/answer.json")
    assert asked("verify", "--page", letter).code == 2
    assert asked("inquiry", "sent", "TC-9", letter, pack, "--to", "Lena Ostrow", "--who", "Priya Lund").code == 0
    said = asked("verify", "--page", letter)
    assert (said.code, "Sent as letter.pdf to Lena Ostrow, in answer to inquiry-1" in said.out) == (0, True)
    said = asked("verify", "--page", inside)
    assert "Sent as inquiry-1/answer.json in pack.zip to Lena Ostrow" in said.out
    assert asked("verify", "--page", inside, "--json").json["sent"] != []
    assert asked("verify").code == 0
    (asked.folder / "files" / sha256(pack.read_bytes()).hexdigest()).unlink()
    assert asked("verify").code == 3
    assert asked("verify", "--page", inside).code == 2


def test_a_second_call_with_the_same_case_number_is_told_apart_by_name(asked: Desk) -> None:
    """The case number alone names two then, and the answer says which."""
    assert asked("inquiry", "open", "--follows", "TC-9", "--case", "TC-9", "--who", "Priya Lund").code == 0
    for said in (
        asked("inquiry", "show", "TC-9"),
        asked("inquiry", "close", "TC-9", "--why", "answered", "--who", "Priya Lund"),
    ):
        assert said.code == 2
        assert "'TC-9' is the name of 2 inquiries" in said.err
        assert "name one of: inquiry-1, inquiry-2" in said.err
    assert asked("inquiry", "show", "inquiry-2").code == 0


def test_a_letter_that_is_not_there_is_told_apart_from_one_that_is_no_text(asked: Desk, tmp_path: Path) -> None:
    """The first is looked for by its name, the second saved anew."""
    bad = tmp_path / "letter.txt"
    bad.write_bytes(b"Ca\xf1a")
    for file, step in ((tmp_path / "none.txt", "look at its name"), (bad, "save it as UTF-8 text")):
        said = asked("inquiry", "letter", "TC-9", "--from", file)
        assert said.code == 2
        assert "the letter cannot be read" in said.err
        assert step in said.err


def test_a_letter_without_a_word_is_no_answer(asked: Desk, tmp_path: Path) -> None:
    """As an editor leaves a file that was not saved; no page is made of it."""
    empty = tmp_path / "letter.txt"
    empty.write_text(" \n\n", encoding="utf-8")
    said = asked("inquiry", "letter", "TC-9", "--from", empty)
    assert said.code == 2
    assert "there is no word in the letter" in said.err
    assert not (tmp_path / "letter.pdf").exists()
