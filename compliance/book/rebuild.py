"""A book made again from an export, with the same root."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

from compliance.book import check_export, files
from compliance.book.incoming import SALT
from compliance.book.store import Book
from compliance.book.tree import Head
from compliance.book.verify import Report, verify
from compliance.records.envelope import Entry
from compliance.records.problem import BookDamaged, ComplianceError, Problem

_NEXT = "Ask for the export again, or take another one; nothing was written."


def is_export(folder: Path) -> bool:
    """Whether a folder looks like an export rather than a backup; one that lost a part of it is still one."""
    parts = (check_export.RECORDS, check_export.HEAD, check_export.CONTENTS)
    return any((folder / name).is_file() for name in parts)


def rebuild(source: Path, to: Path, *, say: Callable[[str], None] = lambda what: None) -> Report:
    """Make a book in a new or empty folder from an export; the report is of that book, read in full.

    Files that the export lacks are told in the report and hold nothing up. Raises ComplianceError when `to` is in use
    or the disk fails, and BookDamaged when the export is not what was written; no book is made then.
    """
    files.require_empty(to)
    named: dict[str, str] = {}
    try:
        found = check_export.check(source, say=say)
    except (check_export.NotAnExport, OSError) as error:
        raise ComplianceError.one("The export cannot be read", f"{source} ({error})", _NEXT) from error
    wrong = [fault for fault in found.faults if fault.kind != check_export.MISSING]
    if wrong:
        raise BookDamaged(*(Problem(f"The export is damaged: {one.text}", str(source), _NEXT) for one in wrong))
    for line in _lines(source):
        for sha in check_export.named_by(line):
            named.setdefault(sha, line.id)
    for number, sha in enumerate(sorted(named), 1):
        say(f"copying files, {number:,} of {len(named):,}")
        if (source / files.FOLDER / sha).is_file():
            files.copy(source, sha, to)
    say("writing the records")
    Book.refill(to, map(_kept, _lines(source))).close()
    pairs = [(record, sha) for sha, record in named.items()]
    return verify(to, deep=True, kept_head=Head(found.size, found.root), named_files=pairs)


def _lines(source: Path) -> Iterator[check_export.Line]:
    return (line for _, line in check_export.lines(source / check_export.RECORDS) if line is not None)


def _kept(line: check_export.Line) -> tuple[Entry, str, bytes]:
    """What a line says, as it goes into a book."""
    try:
        payload = json.loads(line.payload)
        salt = bytes.fromhex(payload.pop(SALT))
        if len(salt) != 16:
            raise ValueError("a salt is 16 bytes")
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise BookDamaged.one(
            f"A record of the export was not written by this program ({type(error).__name__})",
            f"record {line.id}",
            _NEXT,
        ) from error
    entry = Entry(line.id, line.kind, line.event_time, line.device_time, payload, line.schema)
    return entry, line.receipt_time, salt
