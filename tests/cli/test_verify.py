"""What `verify` promises in words, and what a page that left the house shows of a book that was rewritten."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from compliance.book import schema
from compliance.book.canon import canonical
from compliance.book.store import Book
from tests.book.damaging import guards_off, rebuild_tree, rehash_rows
from tests.cli.conftest import Desk

JOB = "Alder Oven dock, September"
FORGED = "BUT the book is not the one that it was made from"


@pytest.fixture
def issued(book: Desk) -> Desk:
    """A book with a night, a proof of it that was issued twice over a correction, and a backup."""
    book.case("01")
    assert proof(book).code == 0
    spot = ("correct", "2026-09-01-big-blue", "area", "2600 ft2", "--line", "2", "--who", "Ruth Okafor")
    assert book(*spot, "--reason", "keyed wrong", "--why", "plan of the site").code == 0
    assert proof(book).code == 0
    assert book("backup", book.folder.parent / "copy").code == 0
    return book


def proof(book: Desk) -> Any:
    return book("proof", JOB, "--out", book.folder.parent / "pages")


def page(book: Desk, n: int, end: str = "pdf") -> Path:
    return book.folder.parent / "pages" / f"alder-oven-bakery-{n}.{end}"


def change(db: sqlite3.Connection, seq: int, fields: dict[str, Any]) -> None:
    """Change what a record says, and make all hashes anew."""
    (payload,) = db.execute("SELECT payload FROM records WHERE seq = ?", (seq,)).fetchone()
    db.execute("UPDATE records SET payload = ? WHERE seq = ?", (canonical({**json.loads(payload), **fields}), seq))
    rehash_rows(db)
    rebuild_tree(db)


def forge(book: Desk, *, heads: bool) -> None:
    """Put another figure into the first night, and all hashes right; with heads, all heads in the book as well."""
    with Book.open(book.folder) as opened:
        records = list(opened.records())
    night = next(record for record in records if record.kind == "run")
    with guards_off(schema.path_of(book.folder)) as db:
        change(db, night.seq, {"fields": {**night.payload["fields"], "lead": "Somebody Else"}})
    for record in records if heads else ():
        if record.kind in ("issue", "backup"):
            said = record.payload.get("made_from") or {"size": int(record.payload["head"].partition(":")[0])}
            with Book.open(book.folder) as opened:
                head = opened.head_at(said["size"])
            new = {"made_from": {"size": head.size, "root": head.root_hex}} if record.kind == "issue" else {}
            with guards_off(schema.path_of(book.folder)) as db:
                change(db, record.seq, new or {"head": str(head)})


def test_a_sound_book_claims_no_more_than_was_looked_at(book: Desk) -> None:
    """It agrees with its hashes; what only a code from elsewhere tells is said, and what was not looked at."""
    book.case("01")
    said = book("verify").out
    assert "The records agree with their hashes.\n" in said
    assert "a record code from elsewhere tells (--record-code, --page)" in said
    assert "query.sqlite" not in said
    assert book("query", "select run, used from runs").code == 0
    assert "query.sqlite, made from the records. Deleted, they are made again." in book("verify").out


def test_the_record_codes_in_the_book_are_counted(issued: Desk) -> None:
    """Two pages and a backup: three codes, one page: one; against a code from elsewhere it says so."""
    assert "agree with their hashes and with the 3 record codes kept among them." in issued("verify").out
    code = issued("verify", "--json").json
    assert code["own_record_codes"] == 3
    said = issued("verify", "--record-code", f"{code['records']}:{code['root']}").out
    assert "It goes on from the record code that was given." in said and "from elsewhere" not in said


def test_one_record_code_is_one(book: Desk) -> None:
    """In words."""
    book.case("01")
    assert proof(book).code == 0
    assert "agree with their hashes and with the 1 record code kept among them." in book("verify").out


def test_a_rewritten_book_is_found_out_by_its_own_codes_and_by_a_page(issued: Desk) -> None:
    """Whoever forgets the codes in the book is told by `verify`; the genuine pages no longer fit either."""
    forge(issued, heads=False)
    said = issued("verify")
    assert said.code == 3 and "The record codes that stand in records" in said.out
    for n in (1, 2):
        told = issued("verify", "--page", page(issued, n))
        assert told.code == 3 and FORGED in told.out
        assert told.out.startswith(f"Issued by this book as alder-oven-bakery-{n} on ")


@pytest.mark.parametrize("end", ["pdf", "html", "json"])
def test_a_book_rewritten_with_its_own_codes_is_found_out_by_a_page_only(issued: Desk, end: str) -> None:
    """It agrees with itself; the code that a page prints is none that it had."""
    forge(issued, heads=True)
    assert issued("verify", "--deep").code == 0
    told = issued("verify", "--page", page(issued, 1, end))
    assert told.code == 3 and FORGED in told.out
    codes = issued("verify", "--page", page(issued, 1, end), "--json").json["record_codes"]
    assert sorted((one["printed"], one["fits"]) for one in codes) == [(False, True), (True, False)]


def test_a_page_whose_code_cannot_be_read_is_compared_by_eye(issued: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """The code of its issue is shown, to be looked for on the page."""
    monkeypatch.setattr("compliance.reports.printed.codes", lambda data: frozenset())
    told = issued("verify", "--page", page(issued, 1))
    assert told.code == 0 and "look whether the page prints the same" in told.out
    forge(issued, heads=False)
    assert issued("verify", "--page", page(issued, 1)).code == 3


@pytest.mark.parametrize("kept", ["index kept", "index deleted"])
def test_no_page_is_made_of_a_book_that_a_night_was_taken_out_of(issued: Desk, kept: str) -> None:
    """A summary of what is left would replace the true one, and 'no such job' be said of a job that was done."""
    with Book.open(issued.folder) as opened:
        night = next(record.seq for record in opened.records(kind="run"))
        size = opened.head().size
    with guards_off(schema.path_of(issued.folder)) as db:
        db.execute("DELETE FROM records WHERE seq = ?", (night,))
    if kept == "index deleted":
        (issued.folder / "index.sqlite").unlink()
    said = [
        proof(issued),
        issued("month", "2026-09", "--out", issued.folder.parent / "pages"),
        issued("balance", "2026-09-01-big-blue"),
        issued("verify", "--page", page(issued, 1)),
    ]
    for told in said:
        assert told.code == 3 and "A record is missing, or was moved" in told.err
        assert "never held" not in told.err
    with Book.open(issued.folder) as opened:
        assert opened.head().size == size


def test_a_sound_book_still_has_the_code_of_each_page(issued: Desk) -> None:
    """In every form of it."""
    for end in ("pdf", "html", "json"):
        told = issued("verify", "--page", page(issued, 1, end))
        assert told.code == 0
        assert "records still have the record code that it prints." in told.out.splitlines()[-1]


def test_a_page_with_another_byte_is_told_apart_by_its_code(issued: Desk, book: Desk, tmp_path: Path) -> None:
    """It prints a code that the book had, or one that it never had: neither makes it a page of the book."""
    text = page(issued, 1, "html").read_text(encoding="utf-8")
    root = issued("verify", "--page", page(issued, 1), "--json").json["record_codes"][0]["code"].partition(":")[2]
    changed = tmp_path / "changed.html"
    changed.write_text(text + "\n", encoding="utf-8")
    told = issued("verify", "--page", changed)
    assert told.code == 2 and told.out.startswith("Not a page of this book")
    assert "which this book had.\nSo it was changed, or its issue is gone from the book, or it is a letter" in told.out
    changed.write_text(text.replace(root, "0" * 64), encoding="utf-8")
    assert "which this book never had." in issued("verify", "--page", changed).out
    changed.write_text(text.replace(" records, root", ",000 records, root"), encoding="utf-8")
    assert "which this book never had." in issued("verify", "--page", changed).out
