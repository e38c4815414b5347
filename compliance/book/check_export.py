"""Check an export of a wash-water record book. It needs Python 3.9 or later, and nothing else.

    python3 check_export.py                              the export in whose folder this file lies
    python3 check_export.py FOLDER --record-code CODE    another folder, held against a record code from elsewhere

Exit codes: 0 sound; 3 damaged; 2 it cannot be read, or is no export.

How it is worked out, for whoever wants to do it again in another language:

    A line of records.jsonl is {"header":H,"leaf_hash":"L","payload":P}. H and P are the bytes as they were stored.
    payload_hash in H  = SHA-256 of P
    L                  = SHA-256 of the byte 00 and H
    node of two hashes = SHA-256 of the byte 01, the left one and the right one
    root               = the Merkle tree hash over all L in their order (RFC 9162, section 2.1.1)
    record code        = number of records, a colon, the root in hex
"""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any

# This file goes along with every export and is run alone: it imports nothing of the program that it came from, and
# says the few rules of the tree a second time. A test holds both to the same roots.

RECORDS, HEAD, CONTENTS, FILES = "records.jsonl", "record-code.txt", "contents.json", "files"
SOUND, UNREADABLE, DAMAGED = 0, 2, 3

MISSING = "missing file"
"""The kind of fault that says only that a file which a record names is not here; the records are whole all the same."""

NAMING = ("attach", "old row", "issue", "inquiry step")
"""Kinds of record that name files."""

_TEXT = rb"[ !#-\[\]-~]*"  # plain ASCII without quote and backslash: a header holds nothing else
_LINE = re.compile(
    rb'\{"header":(?P<header>\{"device_time":"(?P<device_time>%b)","event_time":"(?P<event_time>%b)",'
    rb'"id":"(?P<id>%b)","kind":"(?P<kind>%b)","payload_hash":"(?P<payload_hash>[0-9a-f]{64})",'
    rb'"receipt_time":"(?P<receipt_time>%b)","schema":(?P<schema>[0-9]{1,6}),"seq":(?P<seq>[0-9]{1,18})\}),'
    rb'"leaf_hash":"(?P<leaf_hash>[0-9a-f]{64})","payload":(?P<payload>\{.*\})\}\n' % ((_TEXT,) * 5)
)
_CODE = re.compile(r"(0|[1-9][0-9]{0,17}):([0-9a-f]{64})")
_SHA = re.compile(r"[0-9a-f]{64}")
_LISTED = re.compile(r"(tables/)?[A-Za-z0-9_]+\.[a-z]+")
_CHUNK = 1 << 20
_OFTEN = 20_000  # records between two words of how far it is
_NAMED = 8  # faults of one kind that are told one by one


class NotAnExport(Exception):
    """There is nothing here that could be checked."""


@dataclass(frozen=True)
class Line:
    """One line of records.jsonl: the header's values, and the bytes that were hashed."""

    seq: int
    id: str
    kind: str
    schema: int
    event_time: str
    device_time: str
    receipt_time: str
    payload_hash: str
    leaf_hash: str
    header: bytes
    payload: bytes


@dataclass(frozen=True)
class Fault:
    """One thing that is not as it was written. kind: a few words that are always the same; text: a sentence."""

    kind: str
    text: str


@dataclass
class Found:
    """What a check found. size, root: over the records as they are here; attached, listed: files that are right."""

    size: int = 0
    root: str = sha256(b"").hexdigest()
    attached: int = 0
    listed: int = 0
    held: str = ""
    faults: list[Fault] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)

    @property
    def code(self) -> str:
        """The record code of the records that are here."""
        return f"{self.size}:{self.root}"


def lines(path: Path) -> Iterator[tuple[int, Line | None]]:
    """Each line with its number from 1; None for one that is not in the form of an export."""
    with path.open("rb") as file:
        for number, raw in enumerate(file, 1):
            match = _LINE.fullmatch(raw)
            yield number, None if match is None else _line(match)


def _line(match: re.Match[bytes]) -> Line:
    def text(name: str) -> str:
        return match[name].decode("ascii")

    return Line(
        int(match["seq"]),
        text("id"),
        text("kind"),
        int(match["schema"]),
        text("event_time"),
        text("device_time"),
        text("receipt_time"),
        text("payload_hash"),
        text("leaf_hash"),
        match["header"],
        match["payload"],
    )


def files_named(kind: str, payload: Any) -> list[str]:
    """The SHA-256 of every file that a record names: attachments and their copies, issued pages, what
    was sent in answer to an inquiry, old spreadsheets and how they were read.
    """
    named: list[Any] = []
    if kind in ("attach", "old row"):
        copy = payload.get("copy")
        named = [payload.get("sha256"), payload.get("mapping"), copy.get("sha256") if isinstance(copy, dict) else None]
    elif kind == "issue" and isinstance(payload.get("files"), dict):
        named = list(payload["files"].values())
    elif kind == "inquiry step" and isinstance(payload.get("files"), list):
        named = [one.get("sha256") for one in payload["files"] if isinstance(one, dict)]
    return [sha for sha in named if isinstance(sha, str) and _SHA.fullmatch(sha)]


def hash_of(path: Path) -> str:
    """The SHA-256 of a file's bytes, in hex."""
    hasher = sha256()
    with path.open("rb") as file:
        for piece in iter(lambda: file.read(_CHUNK), b""):
            hasher.update(piece)
    return hasher.hexdigest()


class Tree:
    """The full subtrees of a growing tree, largest first (RFC 9162, section 2.1)."""

    def __init__(self) -> None:
        self.size = 0
        self._hashes: list[bytes] = []

    def add(self, leaf: bytes) -> None:
        """Put a leaf's hash at the end."""
        odd = self.size
        while odd & 1:
            leaf = sha256(b"\x01" + self._hashes.pop() + leaf).digest()
            odd >>= 1
        self._hashes.append(leaf)
        self.size += 1

    def root(self) -> str:
        """The root over all leaves so far, in hex."""
        if not self._hashes:
            return sha256(b"").hexdigest()
        joined = self._hashes[-1]
        for left in reversed(self._hashes[:-1]):
            joined = sha256(b"\x01" + left + joined).digest()
        return joined.hex()


def check(folder: Path, kept: str | None = None, say: Callable[[str], None] = lambda what: None) -> Found:
    """Work everything out again from the bytes that are here.

    kept: a record code from elsewhere, as it was printed, None for none. Raises NotAnExport when there is nothing to
    check or `kept` is no record code, and OSError when something cannot be read.
    """
    if kept is not None and not _CODE.fullmatch(kept):
        raise NotAnExport(f"{kept!r} is no record code: a number of records, a colon and 64 hex digits")
    there = [name for name in (RECORDS, HEAD, CONTENTS) if (folder / name).is_file()]
    if not there:
        raise NotAnExport(f"{folder} is no export: {RECORDS}, {HEAD} and {CONTENTS} are not in it")
    found = Found()
    for name in (RECORDS, HEAD, CONTENTS):
        if name not in there:
            found.faults.append(Fault("part missing", f"{name} is not here."))
    named = _check_records(folder / RECORDS, found, kept or "", say) if RECORDS in there else {}
    if HEAD in there:
        _check_head(folder / HEAD, found)
    contents = _contents(folder / CONTENTS, found) if CONTENTS in there else {}
    _check_files(folder, named, contents, found, say)
    listed = _check_listed(folder, contents, found, say)
    expected = {RECORDS, HEAD, CONTENTS, *listed, *(f"{FILES}/{sha}" for sha in named)}
    everything = (path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir())
    found.unknown = sorted(set(everything) - expected)
    return found


def _check_records(path: Path, found: Found, kept: str, say: Callable[[str], None]) -> dict[str, str]:
    """Hash every record and build the tree; returns the files that records name, each with one record."""
    named: dict[str, str] = {}
    bad: dict[str, list[int]] = {"form": [], "payload": [], "header": [], "order": []}
    tree = Tree()
    kept_size, kept_root = int(kept.partition(":")[0] or -1), ""
    if kept_size == 0:
        kept_root = tree.root()
    for number, line in lines(path):
        if number % _OFTEN == 0:
            say(f"hashing records, {number:,}")
        if line is None:
            bad["form"].append(number)
            continue
        if sha256(line.payload).hexdigest() != line.payload_hash:
            bad["payload"].append(number)
        leaf = sha256(b"\x00" + line.header).digest()
        if leaf.hex() != line.leaf_hash:
            bad["header"].append(number)
        if line.seq != number:
            bad["order"].append(number)
        tree.add(leaf)
        if tree.size == kept_size:
            kept_root = tree.root()
        for sha in named_by(line):
            named.setdefault(sha, line.id)
    found.size, found.root = tree.size, tree.root()
    for kind, numbers in bad.items():
        if numbers:
            found.faults.append(Fault(kind, f"{_listing(numbers)}: {_SAID[kind]}"))
    if kept:
        _hold(found, kept, kept_root)
    return named


_SAID = {
    "form": "not in the form of an export, so it cannot be read at all.",
    "payload": "what was written is not what stands here.",
    "header": "the header (times, kind, id, place, hash of what was written) is not as it was written.",
    "order": "the records do not follow each other: some are missing or were moved.",
}


def named_by(line: Line) -> list[str]:
    """The files that a line names; none when it cannot be read."""
    if line.kind not in NAMING:
        return []
    try:
        return files_named(line.kind, json.loads(line.payload))
    except (ValueError, RecursionError):  # only a forged record can be unreadable and agree with its hash
        return []


def _listing(numbers: list[int]) -> str:
    shown = ", ".join(str(number) for number in numbers[:_NAMED])
    more = f" and {len(numbers) - _NAMED} more" if len(numbers) > _NAMED else ""
    return f"{RECORDS}, line {shown}{more}" if len(numbers) == 1 else f"{RECORDS}, lines {shown}{more}"


def _hold(found: Found, kept: str, kept_root: str) -> None:
    size, _, root = kept.partition(":")
    if int(size) > found.size:
        found.faults.append(
            Fault("shorter", f"There are {found.size} records here; the record code from elsewhere counts {size}.")
        )
    elif kept_root != root:
        found.faults.append(
            Fault("history", f"The first {size} records are not those of the record code from elsewhere.")
        )
    else:
        found.held = kept


def _check_head(path: Path, found: Found) -> None:
    said = path.read_bytes()
    if said != found.code.encode() + b"\n":
        shown = said[:120].decode("ascii", "replace").strip()
        found.faults.append(Fault("head", f"The records have the record code {found.code}, but {HEAD} says {shown!a}."))


def _contents(path: Path, found: Found) -> dict[str, Any]:
    try:
        contents = json.loads(path.read_bytes())
    except (ValueError, RecursionError):
        contents = None
    if not isinstance(contents, dict):
        found.faults.append(Fault("contents", f"{CONTENTS} cannot be read."))
        return {}
    if contents.get("head") != found.code:
        found.faults.append(Fault("contents", f"{CONTENTS} tells of other records than are here."))
    return contents


def _check_files(
    folder: Path, named: dict[str, str], contents: dict[str, Any], found: Found, say: Callable[[str], None]
) -> None:
    """Hash every file that a record names."""
    told = contents.get("not_here")
    said = told if isinstance(told, dict) else {}
    for number, (sha, record) in enumerate(sorted(named.items()), 1):
        say(f"hashing files, {number:,} of {len(named):,}")
        path = folder / FILES / sha
        if not path.is_file():
            why = f"; the export says so itself: {said[sha]!a}" if sha in said else ", and nothing says why"
            found.faults.append(Fault(MISSING, f"{FILES}/{sha}, which record {record} names, is not here{why}."))
        elif hash_of(path) != sha:
            found.faults.append(
                Fault("changed file", f"{FILES}/{sha}, which record {record} names, has other bytes than it had.")
            )
        else:
            found.attached += 1


def _check_listed(folder: Path, contents: dict[str, Any], found: Found, say: Callable[[str], None]) -> list[str]:
    """Hash the tables and texts that contents.json lists; returns their names."""
    names: list[str] = []
    rows = contents.get("files", [])
    for row in rows if isinstance(rows, list) else [rows]:
        name = row.get("path") if isinstance(row, dict) else None
        if not isinstance(name, str) or not _LISTED.fullmatch(name):
            found.faults.append(Fault("contents", f"{CONTENTS} lists a file in a way that cannot be read."))
            continue
        names.append(name)
        say(f"hashing {name}")
        path = folder / name
        if not path.is_file():
            found.faults.append(Fault("table missing", f"{name} is not here."))
        elif hash_of(path) != row.get("sha256"):
            found.faults.append(Fault("changed table", f"{name} is not as it was written."))
        else:
            found.listed += 1
    return names


SHOWS = """\
What this shows
  - Each record is, byte for byte, the one that its hash was taken of, and none is missing, added or moved between
    the first and the last one here.
  - Together they have the record code
        {code}
  - Files that records name (photos, tickets, issued pages): {attached} are here, each with the bytes that its record
    says. The {listed} other files are as {contents} lists them."""
HELD = """\
  - The records that the code given with --record-code was taken of are here, unchanged, at the beginning:
        {held}"""
NOT_HELD = """\
  - That the records are those that were there at an earlier time. Whoever holds the whole book can write it anew,
    and cut records off its end. Compare with a record code that this person could not change: it is printed small
    and last on each issued page ('110 records, root 3820...' is typed 110:3820...).
        python3 check_export.py --record-code CODE"""
NOT_SHOWN = """\
What this does not show
{held}  - That anything is true that was written down. These are the book keeper's own records.
  - That everything was written down. What nobody entered is not here.
  - When a record was made, beyond what its keeper's clock said.
  - The tables and texts are made from the records for reading. {contents} lists their hashes, and nothing guards
    {contents} itself: where it matters, go by {records}.
  - This checker came with the export. It is short: read it, or work a hash out by hand as it says at its top."""


def report(found: Found) -> str:
    """What was found, in plain words; ASCII only, so that every terminal can show it."""
    words: list[str] = []
    if found.faults:
        words.append("DAMAGED. What is wrong:")
        words += [f"  - {fault.text}" for fault in found.faults]
        words.append(
            "What to do: ask for the export again, and compare. What is not named here was read and is as its hash\n"
            "says, but do not rely on any record before the whole agrees with a record code from elsewhere."
            if any(fault.kind != MISSING for fault in found.faults)
            else "The records themselves are whole. What to do: ask for the missing files."
        )
        words.append(f"The records that could be read here: {found.size}; their record code is {found.code}")
    else:
        words.append(f"SOUND: {found.size} records, {found.attached} files that they name, {found.listed} other files.")
        words.append("")
        words.append(SHOWS.format(code=found.code, attached=found.attached, listed=found.listed, contents=CONTENTS))
        if found.held:
            words.append(HELD.format(held=found.held))
        words.append("")
        held = "" if found.held else f"{NOT_HELD}\n"
        words.append(NOT_SHOWN.format(held=held, contents=CONTENTS, records=RECORDS))
    if found.unknown:
        names = ", ".join(ascii(name) for name in found.unknown[:_NAMED])
        words += ["", f"Not part of the export, and not looked at: {len(found.unknown)} files ({names})"]
    return "\n".join(words)


def main(args: list[str]) -> int:
    """Check, say what was found, and return the exit code."""
    parser = argparse.ArgumentParser(
        prog="check_export.py",
        description="Check an export of a wash-water record book.",
        epilog="Exit codes: 0 sound; 3 damaged; 2 it cannot be read, or is no export.",
    )
    parser.add_argument("folder", nargs="?", default=str(Path(__file__).parent), help="the export; else this folder")
    parser.add_argument("--record-code", metavar="CODE", help="one from an issued page: SIZE:ROOT")
    parsed = parser.parse_args(args)
    loud = sys.stderr.isatty()

    def say(what: str) -> None:
        if loud:
            sys.stderr.write(f"\r{what:<79.79}\r")

    try:
        kept = None if parsed.record_code is None else parsed.record_code.strip().lower()
        found = check(Path(parsed.folder), kept, say)
    except (NotAnExport, OSError) as error:
        print(f"It cannot be read: {ascii(str(error))[1:-1]}", file=sys.stderr)
        return UNREADABLE
    say("")
    try:
        print(report(found), flush=True)
    except BrokenPipeError:  # whoever reads it has read enough; what was found is still the exit code
        sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115  # else Python complains as it leaves
    return DAMAGED if found.faults else SOUND


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
