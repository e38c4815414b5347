"""What a door gets back from the validator, and what the validator works with while it looks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import UTC, datetime, tzinfo
from typing import Any

from compliance.intake.moments import Night, zone_named
from compliance.intake.text import words
from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.records.registers import Registers
from compliance.records.state import State


@dataclass(frozen=True)
class Checked:
    """An entry that was looked at as a whole.

    kind: see `records.kinds`. payload: as it will be stored, or None when there are problems, or when there is
    nothing new in it (no problems, and `notes` says so). event_time: RFC 3339 with offset, or a date. problems: all
    of them. cautions: what to mind for one's own sake, in words. notes: what to look at again before handing in;
    nothing depends on it. id_text: the id that came with the entry, '' when none did. device_time: when it was handed
    in, if the entry says so itself; else ''.
    """

    kind: str
    payload: dict[str, Any] | None
    event_time: str
    problems: tuple[Problem, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    id_text: str = ""
    device_time: str = ""


@dataclass
class Bench:
    """The workbench of one check: where it looks things up, and what it has found so far.

    unit: the book's unit of volume. typed: path of a stored value -> the text as it came, where the two differ.
    near: (registers, folded name) -> the nearest name there, as far as it was looked for.
    """

    registers: Registers
    unit: str
    night: Night
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    typed: dict[str, str] = field(default_factory=dict)
    near: dict[tuple[tuple[str, ...], str], str | None] = field(default_factory=dict)

    def keep(self, found: Any, path: str, raw: Any) -> Any:
        """Note a problem, or that the stored form differs from what was typed; returns the value or None."""
        if isinstance(found, Problem):
            self.problems.append(found)
            return None
        came = words(raw)
        if isinstance(found, str) and came is not None and came != found:
            self.typed[path] = came
        return found

    def problem(self, what: str, where: str, next_step: str) -> None:
        """Note one thing that is wrong."""
        self.problems.append(Problem(what, where, next_step))


def bench(state: State | None, now: datetime) -> Bench:
    """A bench for a book; without a book a bare time means the zone of `now`, and volumes are US gallons."""
    business: Mapping[str, Any] = state.business if state is not None else {}
    zone = zone_named(str(business.get("zone", ""))) or now.tzinfo or UTC
    return Bench(
        state.registers if state is not None else Registers(),
        state.unit if state is not None else "gal",
        Night(None, None, zone),
    )


def today(now: datetime, zone: tzinfo) -> str:
    """The day that it is at the place."""
    return now.astimezone(zone).date().isoformat()
