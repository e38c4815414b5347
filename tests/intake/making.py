"""Books in memory for the tests of the doors in: registers, nights and what follows, folded as the book folds them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from compliance.intake.entries import entry
from compliance.intake.validate import check
from compliance.records.envelope import Record
from compliance.records.state import State, gather

NOW = datetime(2026, 10, 1, 15, 0, tzinfo=UTC)

REGISTERS: dict[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}, {"name": "Little Heron"}],
    "tank": [
        {"name": "Big Blue recovery", "rig": "Big Blue", "role": "recovery", "capacity": "525 gal"},
        {"name": "Big Blue fresh", "rig": "Big Blue", "role": "fresh", "capacity": "500 gal"},
        {"name": "Heron recovery", "rig": "Little Heron", "role": "recovery"},
    ],
    "instrument": [
        {"name": "Blue supply meter", "rig": "Big Blue", "kind": "meter", "unit": "gal", "step": "0.1 gal"},
        {"name": "Bucket test", "kind": "flow test", "rate": "4.8 gal/min"},
        {"name": "Blue drum", "kind": "vessel", "size": "55 gal"},
        {"name": "Yard scale", "kind": "scale", "unit": "lb", "step": "20"},
    ],
    "place": [
        {"name": "North Yard station", "kind": "receiving station", "designated": "yes"},
        {"name": "Fernwood cleanout", "kind": "sewer cleanout", "site": "Fernwood Plaza"},
    ],
    "permission": [{"name": "TC-114", "place": "North Yard station", "kind": "permit", "valid_from": "2026-01-01"}],
    "client": [{"name": "Alder Foods"}],
    "site": [{"name": "Fernwood Plaza", "client": "Alder Foods"}, {"name": "Dock Street Market"}],
    "person": [{"name": "Rosa Iglesias"}, {"name": "Tom Adlow"}],
    "agent": [
        {"name": "Citrus degreaser", "kind": "degreaser", "data_sheet": "yes"},
        {"name": "Bright bleach", "kind": "bleach", "data_sheet": "yes"},
    ],
}

NIGHT: dict[str, Any] = {
    "rig": "big blue",
    "lead": "rosa iglesias",
    "date": "2026-09-14",
    "where": "see lines",
    "start": "21:00",
    "used": {"method": "meter", "meter": "blue supply meter", "start": "1000.0", "end": "1450.5"},
    "line": [
        {"line": "reading", "of": "Big Blue recovery", "shows": "empty", "at": "21:05"},
        {"line": "stop", "site": "fernwood plaza", "area": "4200 sq ft", "arrived": "21:20", "left": "23:40"},
        {"line": "stop", "site": "Dock Street Market", "not_worked": "gate locked"},
        {"line": "hand over", "place": "north yard station", "amount": "410 gallons", "at": "05:10"},
    ],
}


class Pages:
    """Records in the order of a book that exists only in memory."""

    def __init__(self) -> None:
        self.records: list[Record] = []

    @property
    def state(self) -> State | None:
        """What the records say so far, or None before the first one."""
        return gather(self.records) if self.records else None

    def take(self, kind: str, raw: Mapping[str, Any], *, who: str = "the office", now: datetime = NOW) -> list[Record]:
        """Check an entry, which must have no problem, and put it in its place; returns what was new."""
        new = []
        for checked in check(kind, raw, state=self.state, where="here", now=now, who=who):
            assert checked.problems == ()
            if checked.payload is not None:
                made = entry(checked, now=now.isoformat(), token=lambda: len(self.records).to_bytes(16, "big"))
                record = Record(
                    len(self.records) + 1, made.id, made.kind, made.schema, made.event_time, made.device_time,
                    made.device_time, made.payload,
                )  # fmt: skip
                self.records.append(record)
                new.append(record)
        return new


def pages(*nights: Mapping[str, Any]) -> Pages:
    """A book with the registers above and some nights."""
    made = Pages()
    made.take("registers", REGISTERS)
    for night in nights:
        made.take("run", night)
    return made
