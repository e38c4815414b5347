"""The book: appending once and whole, reading back, and refusing what is not a book."""

from __future__ import annotations

import sqlite3
import tempfile
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.book import files, schema, store
from compliance.book.canon import canonical, header
from compliance.book.store import Appended, Book
from compliance.book.tree import Head, leaf
from compliance.records.envelope import Record
from compliance.records.problem import BookDamaged, ComplianceError

from . import reference
from .making import NOW, book_of, entry, salts, stored


def test_a_new_book_holds_its_first_record(tmp_path: Path) -> None:
    """Created, closed, opened again: one record of kind 'book', in a folder that was made on the way."""
    first = entry(0, "book", {"business": "Bluebank Wash Recovery"})
    folder = tmp_path / "deep" / "er"
    Book.create(folder, first, now=NOW).close()
    with Book.open(folder) as book:
        (record,) = book.records()
        assert record == Record(1, first.id, "book", 1, first.event_time, first.device_time, NOW, first.payload)
        assert book.head().size == 1


def test_appended_records_are_read_back_as_they_were_entered(tmp_path: Path) -> None:
    """Places count from 1, payloads come back equal, the salt stays inside."""
    with book_of(tmp_path, 1) as book:
        done = book.append([entry(1), entry(2, "stop", {"é": [1, True, None, {}]})], receipt_time=NOW)
        assert [record.seq for record in done.new] == [2, 3]
        assert tuple(book.records(after=1)) == done.new
        assert book.record(entry(2).id).payload == {"é": [1, True, None, {}]}
        assert [record.seq for record in book.records(kind="stop")] == [3]
        assert list(book.records(after=3)) == []
    with Book.open(tmp_path) as book:
        assert tuple(book.records(after=1)) == done.new


def test_the_bytes_that_are_stored_are_the_bytes_that_are_hashed(tmp_path: Path) -> None:
    """Payload, header and tree, recomputed with the canonical form and the recursive reference alone."""
    with book_of(tmp_path, 1) as book:
        book.append([entry(1)], receipt_time=NOW, salts=[bytes(range(16))])
        _, row = stored(book)
        assert row[9] == canonical({**entry(1).payload, "salt": bytes(range(16)).hex()})
        leaves = []
        for seq, id, kind, version, event, device, receipt, payload_hash, _, payload in stored(book):
            assert reference.sha256(payload).digest() == payload_hash
            leaves.append(
                canonical(
                    {
                        "seq": seq,
                        "id": id,
                        "kind": kind,
                        "schema": version,
                        "event_time": event,
                        "device_time": device,
                        "receipt_time": receipt,
                        "payload_hash": payload_hash.hex(),
                    }
                )
            )
            assert book.payload_hash(id) == payload_hash.hex()
        assert book.head() == Head(2, reference.mth(leaves).hex())
        assert [row[8] for row in stored(book)] == [reference.mth([leaf]) for leaf in leaves]


def test_two_records_that_say_the_same_have_different_hashes(tmp_path: Path) -> None:
    """The salt is random, so that a payload cannot be guessed from its hash."""
    with book_of(tmp_path, 1) as book:
        book.append([entry(1, payload={"a": "1"}), entry(2, payload={"a": "1"})], receipt_time=NOW)
        assert book.payload_hash(entry(1).id) != book.payload_hash(entry(2).id)


def test_the_same_entries_and_salts_make_the_same_head(tmp_path: Path) -> None:
    """Nothing but the entries, the time of receipt and the salts goes into the records."""
    heads = set()
    for name in ("a", "b"):
        source = salts()
        with Book.create(tmp_path / name, entry(0, "book", {}), now=NOW, salt=next(source)) as book:
            book.append([entry(1), entry(2)], receipt_time=NOW, salts=[next(source), next(source)])
            heads.add(book.head())
    assert len(heads) == 1


def test_handing_in_twice_changes_nothing(tmp_path: Path) -> None:
    """The same entry again, later, in another batch or twice in one, is known."""
    with book_of(tmp_path, 3) as book:
        before, head = stored(book), book.head()
        again = book.append([entry(2), entry(1)], receipt_time="2026-03-06T09:00:00-05:00")
        assert again == Appended((), (entry(2).id, entry(1).id))
        assert (stored(book), book.head()) == (before, head)
        mixed = book.append([entry(3), entry(3), entry(1)], receipt_time=NOW)
        assert [record.seq for record in mixed.new] == [4]
        assert mixed.known == (entry(3).id, entry(1).id)


def test_looking_up_records(tmp_path: Path) -> None:
    """By id, by many ids with unknown ones left out, and a plain refusal for one that is not there."""
    with book_of(tmp_path, 4) as book:
        assert book.record(entry(3).id).seq == 4
        assert set(book.by_ids([entry(1).id, "f" * 32, entry(2).id])) == {entry(1).id, entry(2).id}
        for look in (book.record, book.payload_hash):
            with pytest.raises(ComplianceError, match="holds no record ffff"):
                look("f" * 32)


def test_reading_goes_on_across_pages_and_while_others_write(tmp_path: Path) -> None:
    """More records than are read at a time; one written during the reading is read as well, and none twice."""
    with book_of(tmp_path, store._PAGE + 5) as book, Book.open(tmp_path) as other:
        seen = []
        for record in book.records():
            if record.seq == 3:
                other.append([entry(77_777)], receipt_time=NOW)
            seen.append(record.seq)
        assert seen == list(range(1, store._PAGE + 7))


def test_the_head_at_every_earlier_size_is_the_head_of_that_time(tmp_path: Path) -> None:
    """Heads kept while the book grew are found again; a size it never had is refused."""
    with book_of(tmp_path, 1) as book:
        kept = [book.head()]
        for number in range(1, 12):
            book.append([entry(number)], receipt_time=NOW)
            kept.append(book.head())
        assert [book.head_at(size) for size in range(1, 13)] == kept
        for size in (13, -1):
            with pytest.raises(ComplianceError, match="has never held"):
                book.head_at(size)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.integers(1, 12), max_size=5), max_size=8))
def test_any_batches_leave_one_record_an_id_and_the_same_head_as_one_by_one(batches: list[list[int]]) -> None:
    """Whatever the batches, each id is in the book once, in the order in which it first came."""
    with tempfile.TemporaryDirectory() as place, book_of(Path(place) / "a", 1) as book:
        for batch in batches:
            book.append([entry(number) for number in batch], receipt_time=NOW)
        order = list(dict.fromkeys(number for batch in batches for number in batch))
        assert [record.id for record in book.records(after=1)] == [entry(number).id for number in order]
        assert book.head() == book.head_at(len(order) + 1)


def test_a_folder_without_a_book_is_told_apart_from_damage(tmp_path: Path) -> None:
    """No folder, an empty folder, and a start that was broken off all read 'no book here'; a start then works."""
    for folder in (tmp_path / "none", tmp_path):
        with pytest.raises(ComplianceError, match="no book here") as caught:
            Book.open(folder)
        assert caught.value.exit_code == 2
        assert not schema.path_of(folder).exists()
    schema.path_of(tmp_path).touch()
    with pytest.raises(ComplianceError, match="no book here"):
        Book.open(tmp_path)
    book_of(tmp_path, 2).close()
    with Book.open(tmp_path) as book:
        assert book.head().size == 2


def test_a_second_start_in_the_same_folder_is_refused(tmp_path: Path) -> None:
    """The book that is there stays as it is."""
    with book_of(tmp_path, 3) as book:
        before = stored(book)
        with pytest.raises(ComplianceError, match="a book here already"):
            book_of(tmp_path, 1)
        assert stored(book) == before


def test_a_start_that_loses_the_race_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program makes the book between the look and the lock."""
    real = schema.log_ahead

    def overtaken(db: sqlite3.Connection, path: Path) -> None:
        real(db, path)
        monkeypatch.setattr(schema, "log_ahead", real)
        book_of(tmp_path, 2).close()

    monkeypatch.setattr(schema, "log_ahead", overtaken)
    with pytest.raises(ComplianceError, match="a book here already"):
        book_of(tmp_path, 1, seed=3)
    with Book.open(tmp_path) as book:
        assert book.record(entry(0).id).seq == 1


def test_the_database_of_another_program_is_not_touched(tmp_path: Path) -> None:
    """Neither opened nor written over, not even its journal mode."""
    for number, mark in enumerate((0, 123)):
        folder = tmp_path / str(number)
        folder.mkdir()
        other = sqlite3.connect(schema.path_of(folder))
        other.execute("CREATE TABLE theirs (x)")
        other.execute(f"PRAGMA application_id = {mark}")
        other.commit()
        other.close()
        before = schema.path_of(folder).read_bytes()
        for attempt in (Book.open, lambda place: book_of(place, 1)):
            with pytest.raises(ComplianceError, match="belongs to another program"):
                attempt(folder)
        assert schema.path_of(folder).read_bytes() == before


def test_a_book_of_a_newer_program_is_not_touched(tmp_path: Path) -> None:
    """The message says which versions meet and what to install."""
    book_of(tmp_path, 1).close()
    other = sqlite3.connect(schema.path_of(tmp_path))
    other.execute("PRAGMA user_version = 2")
    other.close()
    with pytest.raises(ComplianceError, match="tables of version 2; this program knows 1") as caught:
        Book.open(tmp_path)
    assert "newer program" in caught.value.problems[0].next_step


def test_a_folder_that_cannot_be_made_names_the_disk(tmp_path: Path) -> None:
    """A file stands where the folder should go."""
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(ComplianceError) as caught:
        Book.create(tmp_path / "taken" / "book", entry(0, "book"), now=NOW)
    assert "taken" in caught.value.problems[0].where and "disk" in caught.value.problems[0].where


def test_a_bad_first_record_leaves_no_folder(tmp_path: Path) -> None:
    """It is checked before anything is made."""
    with pytest.raises(ComplianceError):
        Book.create(tmp_path / "book", entry(0, "book", {"a": 1.5}), now=NOW)
    assert not (tmp_path / "book").exists()


def spoiled(folder: Path, statement: str, *values: object) -> Book:
    """An open book of 3 into which somebody else has written."""
    book_of(folder, 3).close()
    other = sqlite3.connect(schema.path_of(folder))
    for name in ("records_no_update", "records_no_delete"):
        other.execute(f"DROP TRIGGER {name}")
    other.execute("PRAGMA ignore_check_constraints = ON")
    other.execute(statement, values)
    other.commit()
    other.close()
    return Book.open(folder)


@pytest.mark.parametrize("payload", [b"{", b"[]", b"{}", b"\xff", b"7"])
def test_a_payload_that_cannot_be_read_is_damage_and_names_the_record(tmp_path: Path, payload: bytes) -> None:
    """Exit code 3, the record's number, and the command that says more."""
    with spoiled(tmp_path, "UPDATE records SET payload = ? WHERE seq = 2", payload) as book:
        with pytest.raises(BookDamaged) as caught:
            list(book.records())
        assert "record 2" in caught.value.problems[0].where
        assert "verify" in caught.value.problems[0].next_step


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE records SET payload = CAST(replace(payload, 'curb', 'kerb') AS BLOB) WHERE seq = 2",
        "UPDATE records SET payload = CAST(payload AS TEXT) WHERE seq = 2",
        "UPDATE records SET receipt_time = '2031-01-01' WHERE seq = 2",
        "UPDATE records SET leaf_hash = zeroblob(32) WHERE seq = 2",
    ],
)
def test_a_record_that_was_changed_is_told_to_nobody(tmp_path: Path, statement: str) -> None:
    """A page, a listing or a balance made from it would be believed: reading stops at the record, and names it."""
    with spoiled(tmp_path, statement) as book:
        with pytest.raises(BookDamaged) as caught:
            list(book.records())
        assert "record 2" in caught.value.problems[0].where
        assert "verify" in caught.value.problems[0].next_step
        assert [record.seq for record in book.records(after=2)] == [3]


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM records WHERE seq = 2",
        "UPDATE records SET seq = 9 WHERE seq = 2",
        "DELETE FROM records WHERE seq = 1",
    ],
)
def test_a_record_that_was_taken_out_is_missed_by_whoever_reads_past_it(tmp_path: Path, statement: str) -> None:
    """A page made from what is left would pass for the whole account; nor did the book 'never hold' what it held."""
    with spoiled(tmp_path, statement) as book:
        with pytest.raises(BookDamaged, match="is missing") as caught:
            list(book.records())
        assert "before record" in caught.value.problems[0].where
        for size in (2, 3):
            with pytest.raises(BookDamaged, match="is missing"):
                book.head_at(size)


def test_the_last_records_taken_off_are_missed_where_a_page_was_made_with_them(tmp_path: Path) -> None:
    """The running state of the tree still counts them; a size that the book never had is another thing."""
    with spoiled(tmp_path, "DELETE FROM records WHERE seq = 3") as book:
        assert book.head_at(2).size == 2
        with pytest.raises(BookDamaged, match="is missing") as caught:
            book.head_at(3)
        assert "the last records" in caught.value.problems[0].where
        with pytest.raises(ComplianceError, match="has never held"):
            book.head_at(4)


def test_a_payload_that_was_never_one_of_ours_is_damage_too(tmp_path: Path) -> None:
    """Even where somebody worked its hashes out anew."""
    payload = b"{"
    hashed = sha256(payload).digest()
    with book_of(tmp_path, 3) as book:
        told = book._db.execute("SELECT * FROM records WHERE seq = 2").fetchone()[:7]
    found = leaf(
        header(told[0], *(one.encode() for one in told[1:3]), told[3], *(o.encode() for o in told[4:]), hashed)
    )
    spoil = "UPDATE records SET payload = ?, payload_hash = ?, leaf_hash = ? WHERE seq = 2"
    with spoiled(tmp_path / "other", spoil, payload, hashed, found) as book, pytest.raises(BookDamaged, match="cannot"):
        list(book.records())


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE tree_frontier SET hashes = x'00'",
        "UPDATE tree_frontier SET size = 4",
        "DELETE FROM tree_frontier",
        "DROP TABLE tree_frontier",
    ],
)
def test_nothing_is_appended_to_a_tree_that_does_not_hold_together(tmp_path: Path, statement: str) -> None:
    """A damaged running state stops the append and the head, as damage."""
    with spoiled(tmp_path, statement) as book:
        with pytest.raises(BookDamaged):
            book.append([entry(9)], receipt_time=NOW)
        with pytest.raises(BookDamaged):
            book.head()
        assert len(stored(book)) == 3


def test_a_transaction_that_the_database_has_given_up_itself_is_told_as_such(tmp_path: Path) -> None:
    """After some failures SQLite rolls back by itself; the message is about the failure, not about the roll-back."""
    spoil = "CREATE TRIGGER theirs BEFORE INSERT ON records BEGIN SELECT RAISE(ROLLBACK, 'not today'); END"
    with spoiled(tmp_path, spoil) as book:
        with pytest.raises(BookDamaged) as caught:
            book.append([entry(9)], receipt_time=NOW)
        assert "not today" in caught.value.problems[0].where
        assert not book._db.in_transaction and book.head().size == 3


def test_text_that_is_not_unicode_in_a_column_is_damage(tmp_path: Path) -> None:
    """SQLite hands out the bytes; the reader says damage, not a trace."""
    spoil = "UPDATE records SET kind = CAST(x'ff' AS TEXT) WHERE seq = 2"
    with spoiled(tmp_path, spoil) as book, pytest.raises(BookDamaged):
        list(book.records())


def test_a_closed_book_says_so(tmp_path: Path) -> None:
    """Leaving the block lets go of the file; using it afterwards is a mistake of the program, not damage."""
    with book_of(tmp_path, 1) as book:
        pass
    with pytest.raises(sqlite3.ProgrammingError, match="closed"):
        book.head()


def test_the_files_room_is_synced_when_a_book_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The new folder and the one above it are on the disk before the start is acknowledged."""
    synced: list[Path] = []
    monkeypatch.setattr(files, "sync_folder", lambda folder: synced.append(folder))
    book_of(tmp_path / "book", 1).close()
    assert tmp_path / "book" in synced and tmp_path in synced
