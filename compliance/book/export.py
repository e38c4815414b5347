"""Everything a book holds, in a folder that needs no program of ours: to be read, checked and made a book again.

```
README.txt       what this is, for a reader who never saw the program
check_export.py  the checker: one file, nothing but Python
record-code.txt  the record code: size and root
records.jsonl    every record, one a line, header and payload as the bytes that were stored and hashed
files/           what records name (photos, tickets, issued pages), by SHA-256
tables/          the query tables as CSV
dictionary.json  what all of it means; dictionary.txt says the same to people
contents.json    what there is, with hashes; and which files were missing already
```
"""

from __future__ import annotations

import csv
import io
import json
import secrets
import shutil
import sqlite3
import zipfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from dataclasses import field
from pathlib import Path
from typing import Final

from compliance.book import check_export, derived_files, dictionary, files
from compliance.book.derived_finding import take_words
from compliance.book.derived_making import program, refresh, writing
from compliance.book.derived_tables import WORDS, Table
from compliance.book.store import Book
from compliance.book.tree import Head
from compliance.book.verify import verify
from compliance.records.problem import BookDamaged, Problem
from compliance.records.quick import dataclass

FORMAT: Final = 1
"""The version of the form of an export."""

_ROWS: Final = 500  # of a table, written at a time
_OFTEN: Final = 5_000  # records between two words of how far it is
_NEXT: Final = "Run `washwater verify --deep`, look after the disk, then export again; nothing was kept of this one."

Say = Callable[[str], None]


@dataclass(frozen=True)
class Exported:
    """A finished export. files: how many that records name went along; not_here: SHA-256 of those that could not,
    with the reason; contents: SHA-256 of contents.json, in hex; zipped: the archive, if one was asked for.
    """

    folder: Path
    zipped: Path | None
    head: Head
    files: int
    not_here: Mapping[str, str]
    contents: str


@dataclass
class _Making:
    """What goes along, while it is being written. cell: makes text fit for a CSV file."""

    part: Path
    cell: Callable[[str], str]
    say: Say
    listed: list[dict[str, object]] = field(default_factory=list)
    not_here: dict[str, str] = field(default_factory=dict)

    def write(self, name: str, pieces: Iterator[bytes] | list[bytes]) -> None:
        """One of the files that contents.json lists."""
        path = self.part / name
        sha = files.write_new(path, pieces)
        self.listed.append({"path": name, "size": path.stat().st_size, "sha256": sha})


def export(
    folder: Path, to: Path, *, now: str, cell: Callable[[str], str], pack: bool = False, say: Say = lambda what: None
) -> Exported:
    """Write the book in `folder` into the new or empty folder `to`, checked by its own checker before it gets its name.

    now: RFC 3339 with offset. cell: text to the text of a CSV cell that no spreadsheet takes for a formula. pack: also
    as a ZIP archive beside it. say: is told what is being done. Files that are missing or changed in the book are told
    in the result, in the export and by its checker, and hold nothing up. Raises ComplianceError when `to` is in use or
    the disk fails, and BookDamaged when the records do not hold together; nothing is left behind then.
    """
    to = to.absolute()
    zipped = to.with_name(f"{to.name}.zip") if pack else None
    for target in (to, zipped):
        if target is not None:
            files.require_empty(target)
    say("checking the book")
    verify(folder, deep=True).require_sound()
    unfinished = f"{to.name}.unfinished-{secrets.token_hex(4)}"
    part, packed = to.with_name(unfinished), to.with_name(f"{unfinished}.zip")
    making = _Making(part, cell, say)
    try:
        for one in (part, part / "tables", part / files.FOLDER):
            files.make_folder(one)
        head = _write(folder, making, now)
        contents = files.hash_of(part / check_export.CONTENTS)
        found = check_export.check(part, str(head), say)
        _require_whole(found, to)
        if zipped is not None:
            _pack(part, packed, to.name, say)
            packed.replace(zipped)
        if to.exists():
            to.rmdir()  # it is empty; on some systems nothing can be renamed over it
        part.replace(to)
        files.sync_folder(to.parent)
    except OSError as error:
        raise files.explain(error, to) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
        packed.unlink(missing_ok=True)
    return Exported(to, zipped, head, found.attached, making.not_here, contents)


def _write(folder: Path, making: _Making, now: str) -> Head:
    making.say("making the tables")
    refresh(folder)
    with Book.open(folder) as book:
        with writing(folder) as db, db.atomic():
            take_words(db, book)
        size = _write_tables(folder, making)
        head = book.head_at(size)  # the tables and the records are of one moment, while others may write
        named = _write_records(book, making, size)
        first = next(book.records()).payload
    for number, sha in enumerate(sorted(named), 1):
        making.say(f"copying files, {number:,} of {len(named):,}")
        _copy(folder, sha, making)
    making.write("dictionary.json", [_pretty(dictionary.data())])
    making.write("dictionary.txt", [dictionary.text().encode()])
    making.write("check_export.py", [Path(check_export.__file__).read_bytes()])
    business = making.cell(str(first.get("fields", {}).get("name", "a wash-water recovery contractor")))
    making.write("README.txt", [_readme(business, head, now, making).encode()])
    files.write_new(making.part / check_export.HEAD, [f"{head}\n".encode()])
    contents = {
        "format": FORMAT,
        "made": now,
        "program": f"washwater {program()}",
        "head": str(head),
        "not_here": making.not_here,
        "files": making.listed,
    }
    files.write_new(making.part / check_export.CONTENTS, [_pretty(contents)])
    return head


def _pretty(value: object) -> bytes:
    return (json.dumps(value, ensure_ascii=False, indent=1) + "\n").encode()


def _write_records(book: Book, making: _Making, size: int) -> set[str]:
    """All records as they are stored; returns the files that they name."""
    named: set[str] = set()

    def lines() -> Iterator[bytes]:
        for number, (header, leaf_hash, payload) in enumerate(book.stored(size), 1):
            if number % _OFTEN == 0:
                making.say(f"writing records, {number:,} of {size:,}")
            yield b'{"header":%b,"leaf_hash":"%b","payload":%b}\n' % (header, leaf_hash.hex().encode(), payload)
            kind = json.loads(header)["kind"]
            if kind in check_export.NAMING:
                named.update(check_export.files_named(kind, json.loads(payload)))

    files.write_new(making.part / check_export.RECORDS, lines())
    return named


def _copy(folder: Path, sha: str, making: _Making) -> None:
    if not (folder / files.FOLDER / sha).is_file():
        making.not_here[sha] = "it was missing in the book already"
    elif not files.copy(folder, sha, making.part):
        making.not_here[sha] = "it had been changed in the book already, and was left out"


def _write_tables(folder: Path, making: _Making) -> int:
    """Every table as it stands in one moment; returns the size of the book that they were made from."""
    path = folder / derived_files.QUERY
    with derived_files.plainly(path):
        db = derived_files.reading(path)
    with closing(db):
        with derived_files.plainly(path):
            db.execute("BEGIN")
            (size,) = db.execute("SELECT size FROM made_from WHERE what = 'figures'").fetchone()
        for table in dictionary.EXPORTED:
            making.say(f"writing the table {table.name}")
            making.write(f"tables/{table.name}.csv", _csv(db, path, table, making.cell, int(size)))
    return int(size)


def _csv(db: sqlite3.Connection, path: Path, table: Table, cell: Callable[[str], str], size: int) -> Iterator[bytes]:
    """A table in pieces, ordered by its key."""
    with derived_files.plainly(path):
        rows = db.execute(_select(table), [size] if table is WORDS else [])
    yield _csv_piece([[column.name for column in table.columns]])
    while True:
        with derived_files.plainly(path):
            some = rows.fetchmany(_ROWS)
        if not some:
            return
        yield _csv_piece([[cell(value) if isinstance(value, str) else value for value in row] for row in some])


def _select(table: Table) -> str:
    """Words may have come in since the figures were made: those are left for the next export."""
    columns = ", ".join(f'"{column.name}"' for column in table.columns)
    order = ", ".join(f'"{name}"' for name in table.key)
    return f'SELECT {columns} FROM "{table.name}"{" WHERE seq <= ?" if table is WORDS else ""} ORDER BY {order}'


def _csv_piece(rows: list[list[object]] | list[list[str]]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def _require_whole(found: check_export.Found, to: Path) -> None:
    """Nothing but files that were told to be missing may be wrong with what was written a moment ago."""
    wrong = [fault for fault in found.faults if fault.kind != check_export.MISSING]
    if wrong:
        raise BookDamaged(
            *(Problem(f"The export is not what was written: {one.text}", str(to), _NEXT) for one in wrong)
        )


def _pack(part: Path, packed: Path, name: str, say: Say) -> None:
    """The folder as an archive. Dates are left out: the same export gives the same archive."""
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(path for path in part.rglob("*") if path.is_file()):
            inside = path.relative_to(part).as_posix()
            say(f"packing {inside}")
            entry = zipfile.ZipInfo(f"{name}/{inside}")
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            with path.open("rb") as source, archive.open(entry, "w", force_zip64=True) as target:
                shutil.copyfileobj(source, target, 1 << 20)


def _readme(business: str, head: Head, now: str, making: _Making) -> str:
    missing = "".join(f"\n  {sha}\n    {why}" for sha, why in making.not_here.items())
    not_here = (
        "Files that records name and that are NOT here:" + missing
        if missing
        else "Every file that a record names is here."
    )
    return _README.format(business=business, head=head, size=head.size, now=now, not_here=not_here)


_README: Final = """\
WASH-WATER RECORDS OF {business}

What this is
  These are the records of a contractor who washes outdoor surfaces under pressure and takes the dirty water up again:
  for each outing how much water was used, how much was captured, and where it went. This is the whole book as it
  stood when this export was made ({now}): {size} records. You need no program of ours to read it.

How to check that it is whole
  You need Python 3.9 or later (python.org), nothing else, and no network. In this folder:

      python3 check_export.py

  On Windows: py check_export.py. It says in plain words what it found, and what that does and does not show. It
  leaves with 0 when all is sound, 3 when something is damaged, 2 when it cannot read the export.

  The record code of this export is

      {head}

  Each issued page has such a code printed small and last, of the moment when it was issued. To see whether the records
  behind that page are here unchanged, give the checker its code (number of records, a colon, the root):

      python3 check_export.py --record-code CODE

  That is the strongest check there is: a page in your hands is something the keeper of the book cannot alter.

What is here
  records.jsonl    every record, one a line, in the order in which the book received them: JSON. A correction is a
                   record of its own; what it corrects stays.
  files/           photos, tickets, issued pages; each is named by the SHA-256 of its bytes, and a record says what it
                   is and what it was called
  tables/          the same in tables for a spreadsheet (CSV, UTF-8): runs, stops, loads, handovers ... Worked out from
                   the records; amounts are whole hundredths of the book's unit
  dictionary.txt   what every table, column and field means; dictionary.json for programs
  contents.json    what there is, with the hash of each table and text
  record-code.txt  the record code
  check_export.py  the checker; at its top it says how each hash is worked out

  {not_here}

How to read it
  An amount has its own word for how it is known: measured, stated, worked out, not read, not recorded yet ... An empty
  number is never zero: the column ending in _state says why it is empty.
  These are the contractor's own records. They do not replace a permit or an inspection; the local permit governs.
  They name clients, sites and people. Treat them accordingly.

How to make it a book again
  washwater restore THIS_FOLDER NEW_FOLDER
  The new book has the same records and the same record code.
"""
