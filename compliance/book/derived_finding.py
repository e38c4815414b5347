"""Searching what people typed: full text, accents and case aside, caught up before each search."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from compliance.book.derived_lookup import Index
from compliance.book.derived_making import make_table, note, program, writing
from compliance.book.derived_tables import MADE_FROM, WORDS
from compliance.book.derived_words import words_of
from compliance.book.store import Book
from compliance.records.problem import ComplianceError

if TYPE_CHECKING:
    from sqlite_utils import Database

MOST_FOUND: Final = 200
"""Rows that a search gives at most, the newest first."""

_BATCH: Final = 2_000  # records whose words are taken at a time
_TOKENS: Final = "unicode61 remove_diacritics 2"
_SEARCH: Final = (
    "SELECT words.record, words.run, words.line, words.what, words.name,"
    " snippet(words_fts, 0, '', '', ' ... ', 24) AS text"
    " FROM words_fts JOIN words ON words.n = words_fts.rowid WHERE words_fts MATCH ?"
    " ORDER BY words.seq DESC, words.n LIMIT ?"
)


def find(folder: Path, words: str) -> list[dict[str, Any]]:
    """Where all of these words were typed, the newest first; accents and case do not matter, a beginning is enough.

    Each row: about (the run's ref, or what else the record is of), line, what, text (around the words), record (its
    id). At most `MOST_FOUND`. Words that came in since the last search are taken in first; no figure is worked out.
    Raises ComplianceError where there is no word to look for.
    """
    wanted = [word for word in words.split() if any(letter.isalnum() for letter in word)]
    if not wanted:
        raise ComplianceError.one(
            "There is no word to search for", repr(words), "Give a word, or the beginning of one."
        )
    quoted = " ".join('"{}"*'.format(word.replace('"', '""')) for word in wanted)
    with Book.open(folder) as book, Index.open(book) as index:
        with writing(folder) as db, db.atomic():
            take_words(db, book)
            hits = list(db.query(_SEARCH, [quoted, MOST_FOUND]))
        return [_found(index, hit) for hit in hits]


def _found(index: Index, hit: Mapping[str, Any]) -> dict[str, Any]:
    row = next(iter(index.heads([hit["run"]]).values()), None) if hit["run"] else None
    about = " ".join(part for part in (index.ref(row) if row else "", hit["name"]) if part) or hit["record"]
    return {"about": about, "line": hit["line"], "what": hit["what"], "text": hit["text"], "record": hit["record"]}


def take_words(db: Database, book: Book) -> int:
    """Take in the words of records that came since; returns how many records that were. In the caller's `atomic`."""
    seen = _seen(db, book)
    if seen == 0:
        if db.table(WORDS.name).exists():
            db.table(WORDS.name).disable_fts()
        make_table(db, WORDS)
        db.table(WORDS.name).enable_fts(["text"], tokenize=_TOKENS, create_triggers=True)
    records = book.records(after=seen)
    taken = 0
    while batch := list(islice(records, _BATCH)):
        db.table(WORDS.name).insert_all(row for record in batch for row in words_of(record))
        note(db, "words", batch[-1].seq, batch[-1].id)
        taken += len(batch)
    return taken


def _seen(db: Database, book: Book) -> int:
    """How many of the book's records the words were taken from; 0 when they are of another book or program."""
    if not (db.table(WORDS.name).exists() and db.table(MADE_FROM.name).exists()):
        return 0
    made = next(iter(db.table(MADE_FROM.name).rows_where("what = 'words'")), None)
    if made is None or made["program"] != program():
        return 0
    last = book.by_ids([made["root"]]).get(made["root"])
    return int(made["size"]) if last is not None and last.seq == made["size"] else 0
