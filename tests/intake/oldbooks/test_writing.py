"""Into the book: all new rows or none, with the file and the mapping that explain them."""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import sha256
from itertools import count
from pathlib import Path

import pytest

from compliance.book import files
from compliance.book.store import Book
from compliance.intake.handin import start_book
from compliance.intake.oldbooks.filemap import FileMap, read_map
from compliance.intake.oldbooks.writing import commit, new_rows
from compliance.intake.validate import check
from compliance.records import kinds
from compliance.records.problem import ComplianceError
from compliance.records.state import gather
from tests.intake.making import NOW, REGISTERS
from tests.intake.oldbooks.looking import look

STAMP = "2026-10-01T09:00:00-06:00"
TEXT = (
    "Date,Rig,Client,Used,Recovered,Ticket,Notes\n"
    "2021-09-03,Big Blue,Alder Foods,~450,n/a,00412,ok\n"
    "2021-09-04,,Alder Foods,460,?,00413,\n"
    "2021-09-05,,Alder Foods,470,440,00414,\n"
)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A book on the disk."""
    tokens = count(1)
    checked = check("registers", REGISTERS, state=None, where="here", now=NOW)
    with start_book(tmp_path / "book", checked, now=STAMP, token=lambda: next(tokens).to_bytes(16, "big")) as made:
        yield made


def token() -> bytes:
    import secrets

    return secrets.token_bytes(16)


def test_new_rows_are_written_as_what_they_are(book: Book) -> None:
    """Stored forms, the text of the cell where it differs, and where the row came from."""
    found = look(TEXT, "old.csv", state=gather(book.records()))
    done = commit(book, TEXT.encode(), found, who="Ruth", now=STAMP, token=token)
    assert done.records == 2
    first = next(book.records(kind=kinds.OLD_ROW))
    assert first.event_time == "2021-09-03" and first.device_time == STAMP
    assert first.payload == {
        "fields": {
            "date": "2021-09-03", "rig": "Big Blue", "client": "Alder Foods", "used": "~450 gal",
            "recovered": "not applicable", "ticket": "00412", "remarks": "ok",
        },
        "typed": {"used": "~450", "recovered": "n/a"},
        "method": "stated in an old file, method unknown",
        "file": "old.csv",
        "sha256": sha256(TEXT.encode()).hexdigest(),
        "sheet": "",
        "row": 2,
        "mapping": done.mapping,
        "who": "Ruth",
    }  # fmt: skip


def test_the_file_and_the_mapping_are_kept_and_read_the_rows_again(book: Book) -> None:
    """By their SHA-256: anybody can redo the import from what the book holds."""
    found = look(TEXT, "old.csv", state=gather(book.records()))
    done = commit(book, TEXT.encode(), found, who="", now=STAMP, token=token)
    state = gather(book.records())
    kept = files.get(book.folder, state.old_rows[0].sha256).read_bytes()
    mapping = read_map(files.get(book.folder, done.mapping).read_bytes(), "kept")
    assert kept == TEXT.encode() and isinstance(mapping, FileMap)
    again = look(kept, "old.csv", said=mapping)
    rows = {(row.sheet, row.row): row.fields for row in state.old_rows}
    assert {(line.sheet, line.number): line.fields for line in again.lines if line.state == "new"} == rows


def test_nothing_new_writes_nothing(book: Book) -> None:
    """No record, no file."""
    text = "Date,Used\n2021-09-03,?\n"
    found = look(text, "old.csv", state=gather(book.records()))
    size = book.head().size
    done = commit(book, text.encode(), found, who="", now=STAMP, token=token)
    assert (done.records, done.mapping, book.head().size) == (0, "", size)
    assert files.names(book.folder) == []


def test_all_rows_are_written_or_none(book: Book) -> None:
    """The second id is in use already: the first row stays out too."""
    found = look(TEXT, "old.csv", state=gather(book.records()))
    size = book.head().size
    used = next(book.records()).id
    ids = iter([b"x" * 16, bytes.fromhex(used)])
    with pytest.raises(ComplianceError):
        commit(book, TEXT.encode(), found, who="", now=STAMP, token=lambda: next(ids))
    assert book.head().size == size


def test_the_file_is_on_the_disk_before_any_record_names_it(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the book cannot be written the file may stay behind; the other way round a record would name nothing."""
    found = look(TEXT, "old.csv", state=gather(book.records()))
    seen: list[list[str]] = []

    def failing(*args: object, **named: object) -> None:
        seen.append(files.names(book.folder))
        raise ComplianceError.one("the disk is full", "here", "free some space")

    monkeypatch.setattr(book, "append", failing)
    with pytest.raises(ComplianceError):
        commit(book, TEXT.encode(), found, who="", now=STAMP, token=token)
    assert len(seen[0]) == 2 and found.book.sha256 in seen[0]


def test_only_new_rows_become_entries() -> None:
    """Duplicates, refused and questioned rows stay out, whatever is asked."""
    text = TEXT + "2021-02-30,,Alder Foods,1,1,,\n2021-09-03,Big Blue,Alder Foods,~450,n/a,00412,again\n"
    found = look(text)
    assert list(found.counts.values()) == [2, 1, 1, 1]
    assert [checked.event_time for checked in new_rows(found, who="")] == ["2021-09-03", "2021-09-05"]
