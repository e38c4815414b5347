"""The records to be looked at for a question about a few nights, in a book of any size."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import Final

from compliance.book import derived_files
from compliance.book.derived_finding import take_words
from compliance.book.derived_index import in_parts, marks
from compliance.book.derived_lookup import Index
from compliance.book.derived_making import program, writing
from compliance.book.store import Book
from compliance.records import kinds
from compliance.records.envelope import Record

_ASKED: Final = (kinds.INQUIRY, kinds.INQUIRY_STEP)


def records_around(index: Index, first: str, last: str) -> list[Record]:
    """What has to be gathered to know which stops were made on these days, ends included: places and times.

    Figures of water need more: see `derived.records_for_runs`. All inquiries come along, and the rows of these days in
    spreadsheets from before the book, with what cancels them.
    """
    found = {record.id: record for record in index.records(row.id for row in index.between(first, last))}
    more = {record.id: record for kind in _ASKED for record in index.book.records(kind=kind)}
    for record in index.book.records(kind=kinds.OLD_ROW):
        if first <= record.payload["fields"]["date"] <= last:
            more[record.id] = record
    found |= more | index.book.by_ids(index.naming(list(more), (kinds.CANCEL,)))
    return sorted(found.values(), key=lambda record: record.seq)


def said_in(book: Book, words: str, runs: Sequence[str]) -> Mapping[str, Sequence[tuple[str, str]]]:
    """Where these runs (record ids) say any of these words: record of the run -> (line, what stands around the word).

    Accents and case do not matter, a beginning is enough. Words that came in since the last search are taken in first.
    """
    wanted = [word for word in words.split() if any(letter.isalnum() for letter in word)]
    if not wanted or not runs:
        return {}
    _catch_up(book)
    match = " OR ".join('"{}"*'.format(word.replace('"', '""')) for word in wanted)
    found: dict[str, list[tuple[str, str]]] = {}
    path = book.folder / derived_files.QUERY
    with derived_files.plainly(path), closing(derived_files.reading(path)) as db:
        for part in in_parts(list(runs)):
            sql = (
                "SELECT words.run, words.line, snippet(words_fts, 0, '', '', ' ... ', 24) FROM words_fts"
                " JOIN words ON words.n = words_fts.rowid WHERE words_fts MATCH ?"
                f" AND words.run IN ({marks(part)}) ORDER BY words.seq, words.n"
            )
            for run, line, text in db.execute(sql, (match, *part)):
                found.setdefault(run, []).append((line, text))
    return found


def _catch_up(book: Book) -> None:
    """Take in the words of what came since; nothing is imported for it where nothing did."""
    if not _caught_up(book):
        with writing(book.folder) as db, db.atomic():
            take_words(db, book)


def _caught_up(book: Book) -> bool:
    path: Path = book.folder / derived_files.QUERY
    if not path.is_file():
        return False
    size = book.head().size
    try:
        with closing(derived_files.reading(path)) as db:
            made = db.execute("SELECT size, root, program FROM made_from WHERE what = 'words'").fetchone()
    except sqlite3.Error:
        return False  # it will be made again, or that will say what is wrong
    if made is None or (made[0], made[2]) != (size, program()):
        return False
    return made[1] in book.by_ids([made[1]])
