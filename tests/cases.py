"""The sample cases as records in memory: the same files that the demo reads, through the same validator."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Any

from compliance.intake.entries import entry
from compliance.intake.fromfile import Read, read_entry
from compliance.intake.validate import check
from compliance.records.envelope import Record
from compliance.records.state import State, gather

SAMPLES = Path(__file__).parent.parent / "sample_jobs"
OFFICE = SAMPLES / "later"
REGISTERS = "registers.toml"
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def case_folders() -> list[Path]:
    """The folders of the hand-worked cases, in order."""
    return sorted(SAMPLES.glob("case-*"))


def office_folders() -> list[Path]:
    """The folders of the office's hand-worked cases, in order."""
    return sorted(OFFICE.glob("case-*"))


def files_of(*folders: Path) -> list[Path]:
    """What these cases hand in, in order."""
    return [file for folder in folders for file in sorted(folder.glob("[0-9]*.toml"))]


def book_of(*folders: Path, until: str = "") -> list[Record]:
    """These cases in the book to which they belong, up to the file named `until` where one is given.

    A case with registers of its own is a book of its own; those of the office add theirs to the sample book's.
    """
    (own,) = {registers_of(folder) for folder in folders}
    files = files_of(*folders)
    last = next((i for i, file in enumerate(files) if file.name == until), len(files) - 1)
    return read_records(*own, *files[: last + 1])


def registers_of(folder: Path) -> tuple[Path, ...]:
    """The files of registers on which a case stands."""
    if (folder / REGISTERS).exists():
        return (folder / REGISTERS,)
    return (SAMPLES / REGISTERS, *([OFFICE / REGISTERS] if folder.parent == OFFICE else []))


def records_of(*folders: Path) -> list[Record]:
    """The registers and the files of these cases as records, received when they say they were handed in."""
    return read_records(SAMPLES / REGISTERS, *files_of(*folders))


def read_records(*files: Path) -> list[Record]:
    """What these files hand in, through the validator, in this order."""
    tokens = count(1)
    records: list[Record] = []
    for file in files:
        read = read_entry(str(file))
        assert isinstance(read, Read), read
        state = gather(records) if records else None
        for checked in check(read.kind, read.raw, state=state, where=read.where, now=NOW):
            assert not checked.problems, "\n".join(str(p) for p in checked.problems)
            if checked.payload is None:
                continue
            made = entry(checked, now=NOW.isoformat(), token=lambda: next(tokens).to_bytes(16, "big"))
            records.append(
                Record(
                    len(records) + 1, made.id, made.kind, made.schema, made.event_time, made.device_time,
                    made.device_time, made.payload,
                )
            )  # fmt: skip
    return records


def state_of(*folders: Path) -> State:
    """What these cases say together."""
    return gather(records_of(*folders))


def expected_of(folder: Path) -> dict[str, Any]:
    """The figures that were worked out by hand."""
    return tomllib.loads((folder / "expected.toml").read_text(encoding="utf-8"))
