"""The morning list at a terminal: one question each, answered in place, every answer in the book before the next."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Callable
from pathlib import Path

import pexpect
import pytest

from tests.cli.conftest import Desk

NIGHT = """
rig = "Big Blue"
lead = "Marisol Vega"
date = "2026-09-20"
where = "see lines"
used = "450 gal"
recovered = "400 gal"
rain = "none"
got_away = "saw none"
drains = "as planned"
agent_use = "none used"
start = "21:00"
end = "02:00"
supply = "yard"
sock = "same"
cartridges = "same"

[[line]]
line = "stop"
site = "Harbor deck"
client = "Alder Oven Bakery"
arrived = "21:20"
left = "23:00"
surface = "deck"
area = "900 ft2"

[[line]]
line = "hand over"
place = "Dry Fork Hauling"
amount = "400 gal"
tank_after = "empty"
connection = "hose"
at = "01:00"
ticket = "later"
"""
REF = "2026-09-20-big-blue"


@pytest.fixture
def night(book: Desk, tmp_path: Path) -> Desk:
    """A book with one night that lacks its filters and awaits its ticket."""
    file = tmp_path / "night.toml"
    file.write_text(NIGHT, encoding="utf-8")
    said = book("log", "--from", file)
    assert said.code == 0, said.err
    return book


def records(book: Desk) -> int:
    return int(book("verify", "--json").json["records"])


def needed(book: Desk, *kinds: str) -> list[str]:
    return [one["needed"] for one in book("complete", "--list", "--json").json if one["kind"] in kinds]


def test_the_list_is_a_table_json_and_csv_and_asks_nothing(night: Desk) -> None:
    """The same rows in each; the programs' forms say what to do too."""
    before = records(night)
    table = night("complete", "--list").out
    assert re.search(r"2026-09-20  field +2026-09-20-big-blue +Filters \(the run\)", table)
    rows = night("complete", "--json").json
    assert [row for row in rows if row["kind"] == "field"] == [
        {"date": "2026-09-20", "kind": "field", "about": REF, "needed": "Filters (the run)",
         "next step": "asked of the crew; 'not read' and 'not applicable' are answers too"},
    ]  # fmt: skip
    told = list(csv.DictReader(io.StringIO(night("complete", "--csv").out)))
    assert told == rows and len(table.splitlines()) == len(rows) + 2
    assert records(night) == before


def test_questions_are_answered_in_place_one_record_each(night: Desk, typed: Callable[[str], None]) -> None:
    """A choice by its number; an answer that is none is asked again; Enter passes over; the ticket leads on."""
    before = records(night)
    typed("squeaky\n3\nDF-1201\n380 gal\n\n")
    said = night("complete", REF, "--who", "Ruth Okafor")
    assert said.code == 0, said.err
    assert "3 changed" in said.out and "'squeaky' is not an answer here" in said.err
    assert "ticket of Dry Fork Hauling, to come" in said.out
    assert "our own volume: 400 gal, no ± stated; they accepted 20 gal less, 5.0 %" in said.out
    assert "3 answered, 1 passed over" in said.out
    assert records(night) == before + 3
    assert needed(night, "field", "ticket") == ["Received by (ticket DF-1201)"]
    assert '"filters": "changed"' in night("show", REF, "--json").out
    assert night("list", "handovers", "--json").json[0]["accepted"] == "380 gal"


def test_the_list_says_that_not_read_is_an_answer(night: Desk, typed: Callable[[str], None]) -> None:
    """Among choices and before amounts nothing else says so, and who does not know it makes up a figure."""
    typed("not read\nq\n")
    said = night("complete", REF, "--who", "Ruth Okafor")
    assert "Enter passes over, q ends; 'not read' is an answer where nobody looked." in said.out
    assert "1 answered" in said.out and '"filters": "not read"' in night("show", REF, "--json").out


def test_one_need_is_told_as_one(night: Desk, typed: Callable[[str], None]) -> None:
    """'1 things' is nobody's English."""
    typed("q\n")
    assert "2 things are needed, 2 of them questions." in night("complete", REF).out
    assert night("complete", REF, "filters", "changed", "--who", "Ruth Okafor").code == 0
    typed("q\n")
    assert "1 thing is needed, 1 of them a question." in night("complete", REF).out


def test_q_ends_the_list_and_so_does_the_end_of_the_input(night: Desk, typed: Callable[[str], None]) -> None:
    """What was answered stays; what is left is counted."""
    for text in ("Q\n", ""):
        typed(text)
        said = night("complete", REF)
        assert said.code == 0
        assert "0 answered, 0 passed over, 0 told, " in said.out and " left." in said.out
    typed("cleaned\nRuth Okafor\nq\n")
    said = night("complete", REF)
    assert "Who says so: " in said.out and "1 answered" in said.out
    assert night("show", REF, "--json").json["changes"][0]["who"] == "Ruth Okafor"


def test_an_answer_needs_somebody_who_says_so(night: Desk, typed: Callable[[str], None]) -> None:
    """Enter at the name is asked again with the question."""
    typed("cleaned\n\ncleaned\nRuth Okafor\nq\n")
    said = night("complete", REF)
    assert "it is not said who says so" in said.err
    assert "1 answered" in said.out


def test_what_cannot_be_answered_here_is_told_in_its_place(book: Desk, typed: Callable[[str], None]) -> None:
    """With what to do; nothing waits for an Enter."""
    book.case("12")
    typed("")
    said = book("complete")
    assert "act now  2026-09-21-big-blue.s1" in said.out
    assert "do this: stop it, contain it, call" in said.out
    drafts = book.folder / "drafts"
    drafts.mkdir()
    (drafts / "night-2026-09-22-abc123.json").write_text("{}", encoding="utf-8")
    assert needed(book, "draft") == ["a night that was begun and not handed in"]


def test_nothing_is_needed_where_all_is_said(book: Desk, typed: Callable[[str], None]) -> None:
    """A whole case has no question, and the list says so."""
    book.case("01")
    assert book("complete", "--list").out == "Nothing is needed.\n"
    typed("")
    assert book("complete").out == "Nothing is needed.\n"
    assert book("complete", "--json").json == []
    assert book("complete", "2026-01-01-nobody").code == 2


def test_an_entry_of_a_register_is_completed_from_the_list(
    book: Desk, typed: Callable[[str], None], tmp_path: Path
) -> None:
    """It is a change of the register, by name."""
    book("add", "place", "Ridge Road station", "kind=receiving station", "designated=yes")
    file = tmp_path / "night.toml"
    file.write_text(NIGHT.replace("Dry Fork Hauling", "Ridge Road station"), encoding="utf-8")
    assert book("log", "--from", file).code == 0
    assert "Address" in needed(book, "register")
    typed("\n7 Ridge Road\n\n")
    said = book("complete", "--who", "Ruth Okafor")
    assert "7 Ridge Road" in book("registers", "place").out, said.out


def test_an_answer_that_came_from_another_window_is_not_given_twice(
    night: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The book is read again before the answer is taken, and says what stands there."""
    import sys

    class Slow(io.StringIO):
        def readline(self, size: int = -1, /) -> str:
            if self.tell() == 0:
                other = Desk(night.folder, night.capture, night.clock, night.tokens)
                monkeypatch.setattr(sys, "stdin", io.StringIO(""))
                assert other("complete", REF, "filters", "same", "--who", "Tom Adlow").code == 0
                monkeypatch.setattr(sys, "stdin", self)
            return super().readline(size)

    monkeypatch.setattr(sys, "stdin", Slow("cleaned\nq\n"))
    said = night("complete", REF, "--who", "Ruth Okafor")
    assert "Filters of 2026-09-20-big-blue says 'same' already" in said.err
    assert night("show", REF, "--json").json["fields"]["filters"] == "same"


def test_one_field_is_completed_by_name_as_before(night: Desk) -> None:
    """A field in a list and a ticket too; half a command is refused, and so is one without a name."""
    assert night("complete", REF, "filters", "same", "--who", "Ruth Okafor", "--json").json["lines"]
    assert night("complete", REF, "filters").code == 2
    assert "missing option '--who'" in night("complete", REF, "remark", "late").err
    assert night("complete", REF, "ph", "7.1", "--line", "2", "--who", "R").code == 0
    assert night("ticket", "DF-7", "--for", f"{REF}/2", "--who", "R").code == 0
    assert night("complete", "ticket DF-7", "accepted", "390 gal", "--who", "R").code == 0
    assert night("list", "handovers", "--json").json[0]["accepted"] == "390 gal"
    assert "begins like JSON" in night("complete", REF, "remark", "{x", "--who", "R").err


@pytest.mark.skipif(os.name != "posix", reason="a terminal of our own is only to be had on POSIX")
def test_the_list_is_gone_through_at_a_terminal(night: Desk) -> None:
    """Prompts stand where the answer is typed, and q leaves."""
    import sys

    talk = pexpect.spawn(
        sys.executable,
        ["-c", "from compliance.cli.main import run; run()", "--book", str(night.folder), "complete", REF,
         "--who", "Ruth Okafor"],
        encoding="utf-8", timeout=30,
    )  # fmt: skip
    talk.expect("Filters \\(the run\\)")
    talk.expect("1 same")
    talk.expect("> ")
    talk.sendline("2")
    talk.expect("handed in as complete")
    talk.expect("ticket of Dry Fork Hauling")
    talk.sendline("q")
    talk.expect("1 answered, 0 passed over, 0 told")
    talk.expect(pexpect.EOF)
    talk.close()
    assert talk.exitstatus == 0
    assert night("show", REF, "--json").json["fields"]["filters"] == "cleaned"
