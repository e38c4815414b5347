"""Sample cases as records in memory, through the same validator as everything that is handed in."""

from __future__ import annotations

from itertools import count
from pathlib import Path

from compliance.devtools.console import NOW
from compliance.intake.entries import entry
from compliance.intake.fromfile import read_entry
from compliance.intake.validate import check
from compliance.records.envelope import Record
from compliance.records.problem import ComplianceError, Problem
from compliance.records.state import State, gather


def state_of(*folders: Path) -> State:
    """What the registers and the files of these cases say together. Raises ComplianceError when one is refused."""
    samples = folders[0].parent
    files = [samples / "registers.toml", *(file for one in folders for file in sorted(one.glob("[0-9]*.toml")))]
    tokens = count(1)
    records: list[Record] = []
    for file in files:
        read = read_entry(str(file))
        if isinstance(read, Problem):
            raise ComplianceError(read)
        state = gather(records) if records else None
        for one in check(read.kind, read.raw, state=state, where=read.where, now=NOW):
            if one.problems:
                raise ComplianceError(*one.problems)
            if one.payload is not None:
                made = entry(one, now=NOW.isoformat(), token=lambda: next(tokens).to_bytes(16))
                records.append(
                    Record(len(records) + 1, made.id, made.kind, made.schema, made.event_time, made.device_time,
                           made.device_time, made.payload)
                )  # fmt: skip
    return gather(records)
