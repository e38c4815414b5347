"""A second copy of the book, made while it is in use and checked before it counts; and the way back.

A backup is a folder like a book, with `backup.json` beside it, which is written last: without it the copy was not
finished. Drafts and derived tables are no part of the book and are not copied.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from compliance.book import files, schema
from compliance.book.canon import canonical
from compliance.book.store import Book
from compliance.book.tree import Head
from compliance.book.verify import Damage, Report, check_file, verify
from compliance.records.problem import BookDamaged, ComplianceError
from compliance.records.quick import dataclass

MANIFEST = "backup.json"


@dataclass(frozen=True)
class Backup:
    """A finished backup. made: RFC 3339; sha256: of its database file, in hex; files: their SHA-256, sorted.

    damage: files of the book that could not be taken along, because they are missing or changed there already.
    """

    folder: Path
    made: str
    head: Head
    sha256: str
    files: tuple[str, ...]
    damage: tuple[Damage, ...] = ()


def backup(folder: Path, to: Path, *, now: str, named_files: Iterable[tuple[str, str]] = ()) -> Backup:
    """Copy the book into a new or empty folder, open the copy and check it in full.

    now: RFC 3339 with offset. named_files: as for `verify`. Files that are missing or changed in the book are told
    in the result and hold nothing up: one spoilt photo must not prevent every later backup. Raises ComplianceError
    when `to` is in use or its disk fails (the copy is then unfinished and can be deleted), and BookDamaged when
    the records do not hold together; the copy then stays for comparison, but is not a backup.
    """
    with Book.open(folder) as book:
        files.require_empty(to)
        kept, spoilt = _copy(book, to)
    report = verify(to, deep=True, named_files=[(MANIFEST, sha) for sha in kept])
    report.require_sound()
    named = dict.fromkeys(spoilt, "its own name") | {sha: record for record, sha in named_files}
    damage = [found for sha, by in named.items() for found in check_file(folder, by, sha, deep=sha in spoilt)]
    made = Backup(to, now, report.head, files.hash_of(schema.path_of(to)), tuple(kept), tuple(damage))
    content = {"made": made.made, "head": str(made.head), "sha256": made.sha256, "files": kept}
    files.write_whole(to / MANIFEST, canonical(content))
    return made


def read(folder: Path) -> Backup:
    """The backup in a folder, as it was described when it was made.

    Raises ComplianceError when it was not finished or is none.
    """
    path = folder / MANIFEST
    try:
        content: dict[str, Any] = json.loads(path.read_bytes())
        head = Head.parse(str(content["head"]))
        return Backup(folder, str(content["made"]), head, str(content["sha256"]), tuple(map(str, content["files"])))
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ComplianceError.one(
            "This is not a finished backup",
            f"{path} ({type(error).__name__})",
            "Choose another backup. To look into this copy, run `washwater verify` on it.",
        ) from error


def restore(source: Path, to: Path) -> Report:
    """Bring a backup back as a book in a new or empty folder; the report is of the restored book, read in full.

    Raises ComplianceError when `to` is in use, its disk fails, or the backup was not finished; BookDamaged when
    the backup is no longer what was made, and then nothing is written.
    """
    made = read(source)
    files.require_empty(to)
    named = [(MANIFEST, sha) for sha in made.files]
    verify(source, deep=True, kept_head=made.head, named_files=named).require_sound()
    if files.hash_of(schema.path_of(source)) != made.sha256:
        raise BookDamaged.one(
            "The database of this backup is not the one that was made",
            str(schema.path_of(source)),
            "Choose another backup; keep this one as it is, and find out what has written to it.",
        )
    with Book.open(source) as book:
        _copy(book, to)
    report = verify(to, deep=True, kept_head=made.head, named_files=named)
    report.require_sound()
    return report


def _copy(book: Book, to: Path) -> tuple[list[str], list[str]]:
    """The database first, then the files: each is on the disk before the record that names it, so none is missed.

    The database gets its name last, so that a broken-off copy does not look like a book. Returns the files that
    were copied, and those that are not what their names say.
    """
    files.make_folder(to)
    part = to / "unfinished.sqlite"
    book.copy_to(part)
    kept: list[str] = []
    spoilt: list[str] = []
    for name in files.names(book.folder):
        (kept if files.copy(book.folder, name, to) else spoilt).append(name)
    files.move_whole(part, schema.path_of(to))
    return kept, spoilt
