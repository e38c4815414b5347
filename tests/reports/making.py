"""Books made in memory for the pages: the sample jobs, through the same validator as every door."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from compliance.intake.entries import entry
from compliance.intake.validate import check
from compliance.records.envelope import Entry, Record
from compliance.records.state import State, gather
from compliance.water.fold import calculate
from compliance.water.results import Night

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
OPENED = "2026-08-01T08:00:00-06:00"
NOW = datetime(2026, 12, 1, 12, tzinfo=UTC)


@dataclass
class Bench:
    """A book that grows record by record."""

    records: list[Record]

    @property
    def state(self) -> State:
        return gather(self.records)

    @property
    def night(self) -> Night:
        return calculate(self.state)

    def put(self, raw: Mapping[str, Any], where: str = "a test") -> Bench:
        """Hand something in, as a file of entries would be; a problem fails the test."""
        raw = dict(raw)
        is_register = "business" in raw or _is_registers(raw)
        received = str(raw.get("handed_in") or (OPENED if is_register else NOW.isoformat()))
        state = gather(self.records) if self.records else None
        kind = str(raw.pop("kind", "registers" if is_register else "run"))
        now = datetime.fromisoformat(OPENED) if is_register else NOW
        for one in check(kind, raw, state=state, where=where, now=now, who="Priya Lund"):
            assert not one.problems, [str(problem) for problem in one.problems]
            self.add(entry(one, now=received, token=lambda: (len(self.records) + 1).to_bytes(16, "big")), received)
        return self

    def add(self, made: Entry, received: str) -> None:
        """Append an entry as the book would, in its place."""
        self.records.append(
            Record(
                len(self.records) + 1,
                made.id,
                made.kind,
                made.schema,
                made.event_time,
                made.device_time,
                received,
                made.payload,
            )
        )

    def case(self, *folders: str) -> Bench:
        """Hand in the files of sample jobs, in order."""
        for folder in folders:
            for path in sorted((SAMPLES / folder).glob("[0-9]*.toml")):
                self.put(tomllib.loads(path.read_text(encoding="utf-8"), parse_float=str), path.name)
        return self


def _is_registers(raw: Mapping[str, Any]) -> bool:
    return not {"rig", "run", "record"} & set(raw) or isinstance(raw.get("rig"), list)


def sample(*folders: str) -> Bench:
    """A book with the sample registers and the given cases."""
    text = (SAMPLES / "registers.toml").read_text(encoding="utf-8")
    return Bench([]).put(tomllib.loads(text, parse_float=str)).case(*folders)


def book(registers: Mapping[str, Any], *nights: Mapping[str, Any]) -> Bench:
    """A book of one's own."""
    made = Bench([]).put(registers)
    for night in nights:
        made.put(night)
    return made


def texts(page: Any) -> Sequence[str]:
    """Every string on a page."""
    from compliance.reports.model import map_text

    found: list[str] = []
    map_text(page, lambda text: found.append(text) or text)  # type: ignore[func-returns-value]
    return found
