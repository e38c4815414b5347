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
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def case_folders() -> list[Path]:
    """The folders of the hand-worked cases, in order."""
    return sorted(SAMPLES.glob("case-*"))


def records_of(*folders: Path) -> list[Record]:
    """The registers and the files of these cases as records, received when they say they were handed in."""
    tokens = count(1)
    records: list[Record] = []
    files = [SAMPLES / "registers.toml", *(f for folder in folders for f in sorted(folder.glob("[0-9]*.toml")))]
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
