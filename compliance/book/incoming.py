"""What may come into the book: entries on their way in, and entries that are in already.

The header of a record holds no free text, so that it can outlive its payload; everything else about an entry is
judged elsewhere, before it gets here.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from compliance.book.canon import canonical
from compliance.records.envelope import Entry, Record
from compliance.records.problem import ComplianceError, Problem

SALT = "salt"
"""The key in a stored payload that holds 16 random bytes in hex, so that a destroyed payload cannot be guessed
back from its hash. Readers of records never see it."""

_ID = re.compile(r"[0-9a-f]{32}")
_KIND = re.compile(r"[a-z][a-z0-9_-]*( [a-z0-9_-]+)*")
_TIME = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}(T[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,9})?)?(Z|[+-][0-9]{2}:[0-9]{2}))?"
)
_LONGEST_SHOWN = 200  # characters of either side of a conflict


class Conflict(ComplianceError):
    """An id that the book holds already came again with other content."""


def prepare(entries: list[Entry], receipt_time: str, salts: Sequence[bytes] | None) -> list[tuple[Entry, bytes]]:
    """Each entry with the bytes to be stored, its payload with a salt in the canonical form.

    salts: 16 bytes for each entry, ValueError for anything else; drawn at random where None. Raises ComplianceError
    with every reason why an entry cannot be stored.
    """
    if salts is None:
        salts = [os.urandom(16) for _ in entries]
    elif len(salts) != len(entries) or any(len(salt) != 16 for salt in salts):
        raise ValueError("salts: 16 bytes for each entry")
    prepared: list[tuple[Entry, bytes]] = []
    problems: list[Problem] = []
    for entry, salt in zip(entries, salts, strict=True):
        faults = list(_faults(entry, receipt_time))
        try:
            prepared.append((entry, canonical({**entry.payload, SALT: salt.hex()})))
        except (TypeError, ValueError) as error:
            faults.append(f"its payload cannot be stored: {error}")
        problems += [
            Problem(
                f"An entry cannot be stored: {fault}",
                f"entry {entry.id!r} of kind {entry.kind!r}",
                "Correct the entry where it was made, then hand it in again; nothing was written.",
            )
            for fault in faults
        ]
    if problems:
        raise ComplianceError(*problems)
    return prepared


def _faults(entry: Entry, receipt_time: str) -> Iterator[str]:
    """What keeps the header from being plain: it holds no free text, so that it can outlive its payload."""
    if not _ID.fullmatch(entry.id):
        yield "its id is not 32 lower-case hex digits"
    if not _KIND.fullmatch(entry.kind):
        yield "its kind is not a plain lower-case word"
    if type(entry.schema) is not int or not 0 < entry.schema < 1_000_000:
        yield f"its schema version is {entry.schema!r}"
    times = {"event_time": entry.event_time, "device_time": entry.device_time, "receipt_time": receipt_time}
    for name, value in times.items():
        if not _TIME.fullmatch(value):
            yield f"{name} {value!r} is neither a date nor a date and time with an offset"
    if SALT in entry.payload:
        yield f"its payload has a field {SALT!r}, which the book keeps for itself"


def differences(record: Record, entry: Entry) -> list[str]:
    """What the book and the entry say differently, one line a field; the time of receipt is the book's own."""
    book: dict[str, Any] = {"kind": record.kind, "schema": record.schema}
    come: dict[str, Any] = {"kind": entry.kind, "schema": entry.schema}
    book |= {"event_time": record.event_time, "device_time": record.device_time}
    come |= {"event_time": entry.event_time, "device_time": entry.device_time}
    book |= _leaves("payload", record.payload)
    come |= _leaves("payload", entry.payload)
    return [
        f"{name}: the book has {_shown(book, name)}, this entry has {_shown(come, name)}"
        for name in sorted(book.keys() | come.keys())
        if _shown(book, name, cut=False) != _shown(come, name, cut=False)
    ]


def _leaves(path: str, value: Any) -> dict[str, Any]:
    """Every single value with its path, so that two entries are compared figure by figure."""
    if isinstance(value, Mapping) and value:
        return {k: v for key, one in value.items() for k, v in _leaves(f"{path}.{key}", one).items()}
    if isinstance(value, list | tuple) and value:
        return {k: v for at, one in enumerate(value, 1) for k, v in _leaves(f"{path}.{at}", one).items()}
    return {path: value}


def _shown(values: dict[str, Any], name: str, *, cut: bool = True) -> str:
    if name not in values:
        return "nothing"
    text = canonical(values[name]).decode()  # not `==`: to Python, 1 and true are equal
    if cut and len(text) > _LONGEST_SHOWN:
        return f"{text[:_LONGEST_SHOWN]}... ({len(text)} characters)"
    return text


def conflict(entry: Entry, differences: list[str], path: Path) -> Problem:
    """What is said of an id that came again. differences: as `differences` words them."""
    return Problem(
        "An entry with this id is in the book already and says something else; nothing was written: "
        + "; ".join(differences),
        f"record {entry.id} in {path}",
        "If the book is right, drop this entry. If this entry is right, hand it in as a correction of that record.",
    )
