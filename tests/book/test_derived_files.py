"""Files made from the records are thrown away without a thought, and a fault of theirs is told as one."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from compliance.book import derived_files, derived_finding, derived_making
from compliance.intake import seeded_book
from compliance.records.problem import ComplianceError

from .deriving import in_file
from .small_book import asked, more, night


@pytest.mark.parametrize("name", [derived_files.QUERY, derived_files.INDEX])
def test_a_file_that_is_no_database_is_made_again(folder: Path, name: str) -> None:
    """Torn or overwritten, it is replaced without a question: it proves nothing."""
    derived_making.rebuild(folder)
    expected = in_file(folder)
    derived_files.remove(folder / name)
    (folder / name).write_bytes(b"this is not a database at all, and never was one" * 100)
    assert derived_making.refresh(folder) or name == derived_files.INDEX
    derived_making.rebuild(folder)
    assert in_file(folder) == expected


def test_tables_of_another_book_are_not_taken_for_this_one(folder: Path, tmp_path: Path) -> None:
    """Files copied in from elsewhere, or left by a book that was restored to an earlier state, start over."""
    other = tmp_path / "other"
    seeded_book.make(other, 30)
    derived_making.rebuild(other)
    derived_finding.find(other, "tomas")
    for name in (derived_files.QUERY, derived_files.INDEX):
        derived_files.remove(folder / name)
        (folder / name).write_bytes((other / name).read_bytes())
    assert not derived_making.fresh(folder)
    assert derived_finding.find(folder, "tomas") == []
    assert asked(folder, "SELECT count(*) FROM runs") == [(2,)]


def test_another_program_at_the_tables_is_waited_for_and_then_named(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the wait, a plain refusal; the records are not touched."""
    derived_making.rebuild(folder)
    more(folder, night("third"))
    monkeypatch.setattr(derived_files, "_WAIT", 50)
    with closing(sqlite3.connect(folder / derived_files.QUERY, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(ComplianceError, match="Another program is making the tables"):
            derived_making.rebuild(folder)


@pytest.mark.parametrize("name", [derived_files.QUERY, derived_files.INDEX])
def test_a_folder_that_takes_no_file_is_named(folder: Path, name: str) -> None:
    """What cannot be opened is said to be so, and is not deleted."""
    (folder / name).mkdir()
    with pytest.raises(ComplianceError, match="cannot be written"):
        derived_making.rebuild(folder)
    assert (folder / name).is_dir()


def test_a_mistake_of_ours_stays_a_mistake(folder: Path) -> None:
    """Misuse of a connection is not told to the user as trouble with the disk."""
    with pytest.raises(sqlite3.ProgrammingError), derived_files.plainly(folder):
        raise sqlite3.ProgrammingError("closed")


def test_a_file_that_answers_wrongly_is_to_be_deleted(folder: Path) -> None:
    """What is torn deeper down is found in use, and the way out is told."""
    with pytest.raises(ComplianceError) as error, derived_files.plainly(folder):
        raise sqlite3.OperationalError("no such table: runs")
    assert "Delete this file" in error.value.problems[0].next_step
