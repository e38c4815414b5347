"""`washwater export`, and `restore` of what it wrote."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from compliance.book import check_export
from compliance.book.store import Book
from compliance.cli.keeping import files_of
from tests.cli.conftest import Desk


def full(book: Desk) -> None:
    """A night with an issued page and a photo."""
    book.case("01")
    photo = book.folder.parent / "dock.txt"
    photo.write_text("what the dock looked like")
    said = book("attach", "2026-09-01-big-blue", photo, "--who", "Ruth Okafor")
    assert said.code == 0, said.err
    assert book("proof", "Alder Oven dock, September", "--out", book.folder.parent / "pages").code == 0


def test_an_export_is_checked_by_a_stranger_and_becomes_the_same_book(book: Desk, tmp_path: Path) -> None:
    """The record code of the book, of the checker and of the restored book are one."""
    full(book)
    code = next(line for line in book("verify").out.splitlines() if line.startswith("record code"))
    said = book("export", tmp_path / "out", "--zip")
    assert said.code == 0, said.err
    assert code in said.out and "Packed as out.zip" in said.out and said.err == ""
    command = [sys.executable, "-I", "-S", tmp_path / "out" / "check_export.py"]
    checked = subprocess.run(command, capture_output=True, text=True, check=False)
    assert checked.returncode == 0 and code.removeprefix("record code ") in checked.stdout
    back = book("restore", tmp_path / "out", tmp_path / "back")
    assert back.code == 0 and code in back.out
    with Book.open(tmp_path / "back") as again, Book.open(book.folder) as before:
        assert list(again.records()) == list(before.records())


@pytest.mark.parametrize("part", ["records.jsonl", "record-code.txt", "contents.json"])
def test_an_export_that_lost_a_part_is_refused_as_a_damaged_export(book: Desk, tmp_path: Path, part: str) -> None:
    """It is no unfinished backup, which was the answer."""
    full(book)
    assert book("export", tmp_path / "out").code == 0
    (tmp_path / "out" / part).unlink()
    back = book("restore", tmp_path / "out", tmp_path / "back")
    assert back.code == 3 and f"The export is damaged: {part} is not here." in back.err
    assert not (tmp_path / "back").exists()


def test_every_file_that_the_book_verifies_is_exported(book: Desk, tmp_path: Path) -> None:
    """The checker reads the names of files from the records by itself; they are those that `verify` looks for."""
    full(book)
    assert book("export", tmp_path / "out").code == 0
    with book_opened(book) as opened:
        wanted = {sha for _, sha in files_of(opened)}
    lines = [line for _, line in check_export.lines(tmp_path / "out" / "records.jsonl")]
    assert {sha for line in lines if line for sha in check_export.named_by(line)} == wanted
    assert {path.name for path in (tmp_path / "out" / "files").iterdir()} == wanted and len(wanted) >= 3


def book_opened(book: Desk) -> Book:
    return Book.open(book.folder)


def test_a_missing_file_is_told_and_the_rest_exported(book: Desk, tmp_path: Path) -> None:
    """Exit code 3, by the export and by the restored book; never left out without a word."""
    full(book)
    for file in (book.folder / "files").iterdir():
        file.unlink()
    said = book("export", tmp_path / "out")
    assert said.code == 3 and "missing in the book already" in said.err
    back = book("restore", tmp_path / "out", tmp_path / "back")
    assert back.code == 3 and "A file that a record names is not there" in back.err


def test_an_export_goes_into_a_new_or_empty_folder_only(book: Desk, tmp_path: Path) -> None:
    """Nothing is overwritten."""
    said = book("export", book.folder)
    assert said.code == 2 and "in use" in said.err
