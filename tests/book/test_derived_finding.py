"""What was typed is found again, and what it is about is named."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from importlib.metadata import PackageNotFoundError
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.book import derived_files, derived_finding, derived_making, derived_words
from compliance.book.derived_words import words_of
from compliance.records import kinds
from compliance.records.envelope import Entry
from compliance.records.problem import ComplianceError

from .deriving import NOW, book_with, entries, made, slow
from .small_book import PLAIN, line, more, night


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("senal PINTADA", [("correct", "2"), ("stop", "2")]),
        ("desague", [("run", "")]),
        ("fug", [("run", "")]),
        ('"curb" side', [("run", "")]),
        ("R-20914", [("ticket", "3")]),
        ("mat leaked", [("complete", "")]),
        ("curb inlet", [("attach", "2")]),
        ("hydrant 12", [("complete", "")]),
        ("known difference", [("accept", "")]),
        ("P-7", [("issue", "")]),
        ("alderside owners", [("same-as", ""), ("register", ""), ("register", ""), ("register", "")]),
        ("old birch", [("same-as", "")]),
        ("bluebank", [("book", "")]),
        ("two phones", [("same-outing", "")]),
        ("crews say", [("order", "")]),
        ("late ticket", [("reopen", "")]),
        ("M-1", [("close", "")]),
        ("nothing like it", []),
        ("NOT OR ( NEAR", []),
    ],
)
def test_what_was_typed_is_found(folder: Path, words: str, found: list[tuple[str, str]]) -> None:
    """All words have to be there, a beginning is enough; case, accents and the search's own operators do not matter."""
    hits = [(hit["what"].replace(" ", "-"), hit["line"]) for hit in derived_finding.find(folder, words)]
    assert hits == found


def test_every_kind_of_record_that_holds_words_is_searched() -> None:
    """A new kind has to be thought of: all of them but the note of a backup hold something that people type."""
    with_fields = {kinds.RUN, kinds.BOOK, kinds.REGISTER, kinds.TICKET, kinds.CORRECT, kinds.COMPLETE, kinds.OLD_ROW}
    with_fields.add(kinds.INQUIRY)
    assert set(kinds.KINDS) == {*derived_words._OTHERS, *with_fields, kinds.BACKUP}


def test_a_find_names_what_it_is_about(folder: Path) -> None:
    """The run by its ref, a ticket by its number too, a register entry by its name."""
    assert derived_finding.find(folder, "desague")[0]["about"] == "2026-09-04-birch"
    assert derived_finding.find(folder, "orla")[0]["about"] == "2026-09-04-birch ticket R-20914"
    assert derived_finding.find(folder, "quay nights")[0]["about"] == "job Quay, two nights"
    assert derived_finding.find(folder, "desague")[0]["record"] == PLAIN.id


def test_new_words_are_found_without_working_out_figures(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A search takes in what came since, and no figure."""
    derived_finding.find(folder, "brick")
    monkeypatch.setattr(derived_making, "calculate", None)
    more(folder, night("third", line("remark", text="ladder left behind")))
    assert [hit["line"] for hit in derived_finding.find(folder, "ladder")] == ["1"]
    assert [hit["about"] for hit in derived_finding.find(folder, "ladder")] == ["2026-09-04-birch-2"]


def test_of_many_finds_the_newest_come_first(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The list is cut behind the newest."""
    monkeypatch.setattr(derived_finding, "MOST_FOUND", 2)
    for number in range(4):
        more(folder, night(f"n {number}", line("remark", text=f"gate {number}")))
    assert [hit["text"] for hit in derived_finding.find(folder, "gate")] == ["gate 3", "gate 2"]


def test_what_was_cancelled_is_found_too(folder: Path) -> None:
    """It was typed; why it was cancelled is found as well."""
    more(folder, made("off", "cancel", {"record": PLAIN.id, "why": "entered twice", "who": "Priya"}))
    assert [hit["what"] for hit in derived_finding.find(folder, "entered twice")] == ["cancel"]
    assert [hit["what"] for hit in derived_finding.find(folder, "desague")] == ["run"]


@pytest.mark.parametrize("words", ["", "  ", "- *"])
def test_a_search_for_no_word_is_refused(folder: Path, words: str) -> None:
    """Nothing but marks is no word."""
    with pytest.raises(ComplianceError, match="no word to search for"):
        derived_finding.find(folder, words)


@slow
@given(entries(), st.lists(st.integers(0, 20), max_size=4))
def test_words_taken_in_by_and_by_are_those_taken_at_once(given: list[Entry], cuts: list[int]) -> None:
    """The full text of a book that was searched between appends is that of one searched at its end."""
    with book_with(given, cuts) as (book, batches):
        for batch in batches:
            book.append(batch, receipt_time=NOW)
            derived_finding.find(book.folder, "birch")
        expected = [row for record in book.records() for row in words_of(record)]
        with closing(sqlite3.connect(book.folder / derived_files.QUERY)) as db:
            names = ", ".join(expected[0])
            rows = db.execute(f"SELECT {names} FROM words ORDER BY n").fetchall()
            assert rows == [tuple(row.values()) for row in expected]
            db.execute("INSERT INTO words_fts (words_fts) VALUES ('integrity-check')")


def test_words_of_another_program_are_taken_in_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each word is found once, whatever version of the program took it in before; not installed is a version too."""

    def missing(_: str) -> str:
        raise PackageNotFoundError

    derived_finding.find(folder, "desague")
    monkeypatch.setattr(derived_making.metadata, "version", missing)
    assert len(derived_finding.find(folder, "desague")) == 1
    assert derived_making.refresh(folder) and derived_making.fresh(folder)
