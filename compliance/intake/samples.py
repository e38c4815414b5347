"""The sample jobs, as they are packaged: a book of an invented business, made through the same doors as a real one."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from compliance.intake.entries import Token, entry
from compliance.intake.fromfile import Read, read_entry
from compliance.intake.validate import check
from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.problem import ComplianceError, Problem
from compliance.records.state import gather

REGISTERS = "registers.toml"


def folder() -> Path:
    """The folder of the samples: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).parent.parent
    inside = package / "sample_jobs"
    return inside if inside.is_dir() else package.parent / "sample_jobs"


def registers() -> Read:
    """The registers of the sample business."""
    return _read(folder() / REGISTERS)


def nights() -> Iterator[Read]:
    """Every file of the cases and every night of the clean month, in the order in which they were handed in."""
    from compliance.intake import clean_month

    files = sorted(folder().glob("case-*/[0-9]*.toml"))
    entries = [_read(file) for file in files]
    entries += [
        Read(str(raw.get("kind", kinds.RUN)), raw, "clean month") for raw in clean_month.nights(clean_month.SEED)
    ]
    return iter(sorted(entries, key=lambda read: datetime.fromisoformat(str(read.raw["handed_in"])).timestamp()))


def make_book(to: Path, *, now: datetime, token: Token) -> int:
    """Make the sample book in a new folder; returns the number of its records.

    The time of receipt of each record is the time at which the sample says it was handed in.
    Raises ComplianceError when there is a book already, or a sample does not pass the validator.
    """
    from compliance.intake.handin import start_book

    first = registers()
    checked = check(first.kind, first.raw, state=None, where=first.where, now=now)
    with start_book(to, checked, now=now.isoformat(timespec="seconds"), token=token) as book:
        records: list[Record] = list(book.records())
        for read in nights():
            state = gather(records)
            for one in check(read.kind, read.raw, state=state, where=read.where, now=now):
                if one.problems:
                    raise ComplianceError(*one.problems)
                if one.payload is not None:
                    made = entry(one, now=now.isoformat(timespec="seconds"), token=token)
                    records += book.append([made], receipt_time=made.device_time).new
        return len(records)


def _read(file: Path) -> Read:
    read = read_entry(str(file))
    if isinstance(read, Problem):
        raise ComplianceError(read)
    return read
