"""What is damaged, how serious it is, what to do next, and whether one may go on.

Each record is hashed again from what is stored, the tree is built again from nothing and compared with every head
that the book has written down about itself, and the database itself is asked whether it holds together. A book that
was rewritten whole, those heads included, or whose last records were cut off with care, agrees with itself: only a
head that was kept elsewhere (on an issued page, in a backup) shows it.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from hashlib import sha256
from pathlib import Path

from compliance.book import files, own_heads, schema
from compliance.book.canon import canonical, header
from compliance.book.incoming import SALT
from compliance.book.schema import plainly
from compliance.book.store import no_book, recognise
from compliance.book.tree import EMPTY, Frontier, Head, leaf
from compliance.records.problem import BookDamaged, ComplianceError, Problem
from compliance.records.quick import dataclass

_NAMED = 8  # records that a finding names one by one; the rest are counted


@dataclass(frozen=True)
class Damage:
    """One kind of damage. kind: see `ANSWERS`; what and where: one sentence each; then the three other answers."""

    kind: str
    what: str
    where: str
    how_serious: str
    next_step: str
    may_go_on: str

    def __str__(self) -> str:
        return (
            f"{self.what}\n  where: {self.where}\n  how serious: {self.how_serious}"
            f"\n  do this: {self.next_step}\n  may I go on: {self.may_go_on}"
        )


@dataclass(frozen=True)
class Report:
    """What a check of a book found. head: over the records as they are now; files: how many were looked at.

    own_heads: how many heads the book has written down about itself; all of them were compared.
    """

    head: Head
    files: int
    deep: bool
    damage: tuple[Damage, ...]
    own_heads: int = 0

    @property
    def sound(self) -> bool:
        """Whether no damage was found."""
        return not self.damage

    def require_sound(self) -> None:
        """Raise BookDamaged with everything that was found, if anything was."""
        if self.damage:
            raise BookDamaged(*(Problem(found.what, found.where, found.next_step) for found in self.damage))


_COMPARE = "Compare with a backup and with issued pages; then restore the last backup that holds together."
_STOP = "No: enter nothing until it is restored. Reading and printing do no harm, but say that the book is damaged."
_COPY_FIRST = "Copy the whole folder away as it is, then restore the last backup and enter what came after it."

ANSWERS: Mapping[str, tuple[str, str, str]] = {
    "unreadable": ("Very: some records cannot be read at all.", _COPY_FIRST, _STOP),
    "structure": (
        "Very: the database is damaged inside; records may be lost or doubled.",
        _COPY_FIRST,
        _STOP,
    ),
    "schema": (
        "Nothing is lost by this alone, and the records are checked all the same; but somebody or some program has "
        "worked on this file.",
        "Find out which program did it; restore the last backup, and enter what came after it.",
        _STOP,
    ),
    "mark": (
        "Little by itself: the file no longer says what it is, so some program has worked on it.",
        "Find out which program did it; restore the last backup, and enter what came after it.",
        _STOP,
    ),
    "setting": (
        "Little: nothing is lost, but some other program has changed how the file is written.",
        "Open the book once with any `washwater` command that writes; the setting is then put back.",
        "Yes.",
    ),
    "body": ("These records no longer prove anything; all others stand.", _COMPARE, _STOP),
    "header": (
        "When, where in the order or what these records are was changed; all others stand.",
        _COMPARE,
        _STOP,
    ),
    "form": (
        "The records agree with their hashes, but were not written by this program.",
        "Find out which program wrote them, and whether somebody meant to.",
        "Yes, with care: reports may leave these records out.",
    ),
    "sequence": ("Very: records are missing, or were moved.", _COMPARE, _STOP),
    "tree": (
        "Very: records were added, removed, replaced or put in another order behind the back of the program, or the "
        "state of the tree was.",
        "Compare with the head on a page or in a backup: `washwater verify` says whether the records still fit it. "
        "Then restore the last backup that holds together.",
        _STOP,
    ),
    "shorter": ("Very: the last records are gone, among them some that were acknowledged.", _COMPARE, _STOP),
    "history": (
        "Very: the book was rewritten, or it goes on from an older backup while another copy went on as well (a fork).",
        "Look for the copy that has this head; keep both as they are, and enter what only one of them holds into it.",
        _STOP,
    ),
    "own-head": (
        "Very: records before these were changed, added or removed, or these themselves were; where nothing else is "
        "reported, all hashes were made anew to hide it.",
        _COMPARE,
        _STOP,
    ),
    "missing-file": (
        "The record stands, what it pointed to is gone.",
        "Bring the file back from a backup, or attach the original again: the same bytes get the same name.",
        "Yes.",
    ),
    "changed-file": (
        "The record stands, the file is not the one it pointed to.",
        "Attach the original again, or bring it back from a backup: the damaged file is then replaced.",
        "Yes, but show the file to nobody.",
    ),
}
"""For each kind of damage: how serious, what next, may I go on."""


def verify(
    folder: Path,
    *,
    deep: bool = False,
    kept_head: Head | None = None,
    named_files: Iterable[tuple[str, str]] = (),
) -> Report:
    """Check the book in a folder; damage is reported, not raised.

    kept_head: a head from elsewhere that this book must continue. named_files: (record id, SHA-256) of each file
    that a record names. deep: also hash those files again and read every record in full. Raises ComplianceError
    when there is no book, another program's database, or a newer program's book.
    """
    path = schema.path_of(folder)
    if not path.is_file():
        raise no_book(folder)
    content = Content(Head(0, EMPTY.hex()), 0, [])
    found: list[Damage] = []
    # SQLite checks its own structure while Python hashes: it needs no interpreter, and both take about as long.
    with ThreadPoolExecutor(1) as aside:
        structure = aside.submit(_structure, path)
        try:
            with closing(schema.connect(path)) as db, plainly(path):
                found += _marks(db, folder)
                db.execute("BEGIN")  # one state of the book throughout, while others may write
                found += _objects(db, path)
                content = check_content(db, path, deep=deep, kept_head=kept_head)
                found += content.damage
        except BookDamaged as error:
            found.append(_damage("unreadable", error.problems[0].what, error.problems[0].where))
    found += structure.result()
    named: dict[str, list[str]] = {}
    for record, sha in named_files:
        named.setdefault(sha, []).append(record)
    for sha, records in named.items():
        others = "" if len(records) == 1 else f" and {len(records) - 1:,} more"
        found += check_file(folder, f"{records[0]}{others}", sha, deep=deep)
    return Report(content.head, len(named), deep, tuple(found), content.own_heads)


@dataclass(frozen=True)
class Content:
    """What the records are now: their head, how many heads they have of their own, and what does not fit."""

    head: Head
    own_heads: int
    damage: list[Damage]


def check_content(db: sqlite3.Connection, path: Path, *, deep: bool = False, kept_head: Head | None = None) -> Content:
    """Hash every record and build the tree again, in one pass; its root is taken at each size that a head names."""
    bad: dict[str, list[int]] = {"body": [], "header": [], "form": [], "sequence": []}
    own = own_heads.read(db)
    named = {one.head.size for one in own if one.head} | ({kept_head.size} if kept_head else set())
    frontier, expected, roots = Frontier(), 1, {0: EMPTY.hex()}
    db.text_factory = bytes  # a damaged text need not be Unicode
    for row in db.execute(f"SELECT {schema.COLUMNS} FROM records ORDER BY seq"):
        seq, id, kind, version, event, device, receipt, payload_hash, leaf_hash, payload = row
        try:
            computed = leaf(header(seq, id, kind, version, event, device, receipt, payload_hash))
            if sha256(payload).digest() != payload_hash:
                bad["body"].append(seq)
        except (TypeError, AttributeError):  # a column of another type than was ever written
            computed = b""
        if computed != leaf_hash:
            bad["header"].append(seq)
        if seq != expected:
            bad["sequence"].append(seq)
            expected = seq if type(seq) is int else expected  # a damaged table may have lost its numbering
        if deep and not _in_form(payload):
            bad["form"].append(seq)
        expected += 1
        frontier.append(computed)
        if frontier.size in named:
            roots[frontier.size] = frontier.root().hex()
    db.text_factory = str
    found = [_damage(kind, _SAID[kind].format(_listed(seqs)), str(path)) for kind, seqs in bad.items() if seqs]
    head = frontier.head()
    found += _tree_state(db, path, head)
    found += _agree(own, roots, path)
    if kept_head is not None:
        found += _continues(head, kept_head, roots, path)
    return Content(head, len(own), found)


def check_file(folder: Path, named_by: str, sha: str, *, deep: bool) -> Iterator[Damage]:
    """Whether a file that a record names is there and, if deep, has the content that it had."""
    path = folder / files.FOLDER / sha
    where = f"{path}, named by {named_by}"
    if not path.is_file():
        yield _damage("missing-file", "A file that a record names is not there", where)
    elif deep:
        try:
            now = files.hash_of(path)
        except ComplianceError as error:
            now = error.problems[0].where
        if now != sha:
            yield _damage("changed-file", f"A file that a record names has other content ({now})", where)


_SAID: Mapping[str, str] = {
    "body": "What was written in {} is not what stands there now",
    "header": "The header of {} (times, kind, id, place or hashes) is not as it was written",
    "form": "The content of {} is not in the form in which this program writes",
    "sequence": "The numbers of the records do not follow each other before {}",
}


def _marks(db: sqlite3.Connection, folder: Path) -> Iterator[Damage]:
    application, version, occupied = schema.marks(db)
    path = schema.path_of(folder)
    ours = "records" in schema.objects(db)
    if application == schema.APPLICATION_ID or not occupied or not ours:
        recognise(db, folder)
    else:
        yield _damage("mark", f"The file is marked as number {application}, not as a record book", str(path))
    if version != schema.USER_VERSION:
        yield _damage("mark", f"The tables are marked as version {version}", str(path))
    mode = db.execute("PRAGMA journal_mode").fetchone()[0]
    if mode != "wal":
        yield _damage("setting", f"The file is not written ahead to a log (its mode is {mode!r})", str(path))


def _objects(db: sqlite3.Connection, path: Path) -> Iterator[Damage]:
    there = schema.objects(db)
    faults = []
    for name in sorted(there.keys() | schema.SCHEMA.keys()):
        if there.get(name) != schema.SCHEMA.get(name):
            fault = "is missing" if name not in there else "was changed" if name in schema.SCHEMA else "does not belong"
            faults.append(f"{name!r} {fault}")
    if faults:
        yield _damage("schema", f"The tables and guards are not as they were made: {', '.join(faults)}", str(path))


def _structure(path: Path) -> list[Damage]:
    """What SQLite itself says about its pages, indexes and checks."""
    try:
        with closing(schema.connect(path)) as db, plainly(path):
            lines = [line for (line,) in db.execute("PRAGMA integrity_check(20)")]
    except BookDamaged as error:
        lines = [error.problems[0].where]
    if lines == ["ok"]:
        return []
    return [_damage("structure", f"The database does not hold together: {'; '.join(lines)}", str(path))]


def _in_form(payload: bytes) -> bool:
    """Whether a stored payload is what `store` would write."""
    try:
        content = json.loads(payload)
        return type(content) is dict and len(bytes.fromhex(content[SALT])) == 16 and canonical(content) == payload
    except (TypeError, ValueError, KeyError):
        return False


def _tree_state(db: sqlite3.Connection, path: Path, head: Head) -> Iterator[Damage]:
    """The running state of the tree, written with each append, against the tree built again."""
    size, hashes = db.execute("SELECT size, hashes FROM tree_frontier").fetchone() or (0, b"")
    try:
        kept = str(Frontier(size, [hashes[start : start + 32] for start in range(0, len(hashes), 32)]).head())
    except (ValueError, TypeError) as error:
        kept = f"none that can be read ({error})"
    if kept != str(head):
        yield _damage("tree", f"The records have the head {head}, but the last append left {kept}", str(path))


def _agree(own: Sequence[own_heads.OwnHead], roots: Mapping[int, str], path: Path) -> Iterator[Damage]:
    """The heads that the book has written down itself against the tree built again."""
    unlike = own_heads.compare(own, roots)
    if unlike is not None:
        said = f"The record codes that stand in {_listed(unlike.seqs)} are not those of the records before them"
        alone = f"from record {unlike.fits + 1} to record {unlike.first}, if these codes were left alone"
        yield _damage("own-head", said, f"{path}, {alone}" if unlike.first else str(path))


def _continues(head: Head, kept: Head, roots: Mapping[int, str], path: Path) -> Iterator[Damage]:
    if kept.size > head.size:
        said = f"The book holds {head.size} records; the head that was kept was taken at {kept.size}"
        yield _damage("shorter", said, str(path))
    elif kept.size and roots.get(kept.size) != kept.root_hex:
        said = f"The first {kept.size} records are not those of the head that was kept"
        yield _damage("history", said, f"{path}, head {kept}")


def _damage(kind: str, what: str, where: str) -> Damage:
    return Damage(kind, what, where, *ANSWERS[kind])


def _listed(seqs: Sequence[int]) -> str:
    shown = ", ".join(str(seq) for seq in seqs[:_NAMED])
    more = f" and {len(seqs) - _NAMED} more" if len(seqs) > _NAMED else ""
    return f"{'record' if len(seqs) == 1 else 'records'} {shown}{more}"
