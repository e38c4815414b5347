"""What a rule is about: a run, a stop, a handover, a load, a register entry. And how their stored values are read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from compliance.records.answer import without_value
from compliance.records.quantity import Quantity, stored
from compliance.records.quick import dataclass
from compliance.records.ticketing import Paper, papers
from compliance.records.views import Fields, LineView, RunView, TicketView
from compliance.water.results import Draw, Line, LoadFacts, RunFacts, StopFacts


@dataclass(frozen=True)
class Stop:
    """A stop: its lines (two when it was continued) and what the calculator says of it."""

    run: RunView
    facts: StopFacts
    parts: tuple[LineView, ...]

    @property
    def ref(self) -> str:
        return self.facts.ref

    @property
    def number(self) -> int:
        return self.facts.number

    @property
    def day(self) -> str:
        return self.run.day

    def get(self, name: str) -> Any:
        """What the stop says, its first part first; None when no part says it."""
        for part in self.parts:
            value = part.fields.get(name)
            if value is not None:
                return value
        return None

    def items(self, name: str) -> list[tuple[LineView, Fields]]:
        """The entries of a list field, each with the line on which it stands."""
        return [(part, item) for part in self.parts for item in items(part, name)]

    @property
    def at(self) -> tuple[Line, ...]:
        """Where the stop stands."""
        return tuple(Line(self.run.record, part.n) for part in self.parts)


@dataclass(frozen=True)
class Handover:
    """Water that left us for a place: a 'hand over' or 'led away' line, or the place that a run without such a line
    names as where its water is (then `line` is None).
    """

    run: RunView
    line: LineView | None
    place: str
    entry: Fields | None
    kind: str | None
    day: str
    load: LoadFacts | None
    draw: Draw | None
    tickets: Sequence[TicketView]

    @property
    def n(self) -> str:
        """Its line number; '' when only the run names the place."""
        return self.line.n if self.line else ""

    @property
    def ref(self) -> str:
        """The run and the line; the run alone where it names the place of its water without a line of its own."""
        return f"{self.run.ref}/{self.n}" if self.n else self.run.ref

    @property
    def led_away(self) -> bool:
        return self.line is not None and self.line.kind == "led away"

    def get(self, name: str) -> Any:
        """A field of the line."""
        return self.line.fields.get(name) if self.line else None

    @property
    def ticket(self) -> Any:
        """The ticket as the handover states it, or the run for it."""
        own = self.get("ticket")
        return self.run.get("ticket") if own is None else own

    @property
    def papers(self) -> tuple[Paper, ...]:
        """What its tickets say was accepted, the one that was written down with it among them."""
        return papers(self.ticket, self.get("accepted"), self.tickets)

    @property
    def refused(self) -> str | None:
        """Why the place did not take it, on the line or on its ticket; None when it did."""
        for value in (self.get("refused"), *(ticket.fields.get("refused") for ticket in self.tickets)):
            if without_value(value) is None:
                return str(value)
        return None

    @property
    def at(self) -> tuple[Line, ...]:
        """Where the handover stands."""
        return (Line(self.run.record, self.n),)


@dataclass(frozen=True)
class Run:
    """A run: as recorded, as calculated, and its parts."""

    view: RunView
    facts: RunFacts
    stops: tuple[Stop, ...]
    handovers: tuple[Handover, ...]
    loads: tuple[LoadFacts, ...]

    @property
    def ref(self) -> str:
        return self.view.ref

    @property
    def day(self) -> str:
        return self.view.day

    @property
    def worked(self) -> tuple[Stop, ...]:
        """The stops at which work was done."""
        return tuple(stop for stop in self.stops if stop.facts.worked)

    @property
    def at_work(self) -> bool:
        """Whether any stop was worked: a run that was off, or only empties a tank, is not asked about work."""
        return any(stop.facts.worked for stop in self.stops)

    def of_kind(self, *kinds: str) -> list[LineView]:
        """The lines of these kinds, in order."""
        return [line for line in self.view.lines if line.kind in kinds]

    @property
    def at(self) -> tuple[Line, ...]:
        return (Line(self.view.record, ""),)


@dataclass(frozen=True)
class Load:
    """A load, and the run in which it was opened."""

    facts: LoadFacts
    run: Run

    @property
    def ref(self) -> str:
        return self.facts.name

    @property
    def day(self) -> str:
        return self.run.day

    @property
    def at(self) -> tuple[Line, ...]:
        ends = (self.facts.opened,) if self.facts.closed is None else (self.facts.opened, self.facts.closed)
        return tuple(dict.fromkeys(ends))


@dataclass(frozen=True)
class Entry:
    """A register entry, and the first run that names it (None for the business itself)."""

    what: str
    fields: Fields
    run: RunView | None

    @property
    def ref(self) -> str:
        return f"{self.what} {self.fields['name']}"

    @property
    def day(self) -> str:
        return self.run.day if self.run else ""

    @property
    def at(self) -> tuple[Line, ...]:
        return (Line(self.run.record, ""),) if self.run else ()


Subject = Run | Stop | Handover | Load | Entry


def items(line: LineView, name: str) -> Sequence[Fields]:
    """The entries of a list field; none where an answer without a value stands in its place."""
    value = line.fields.get(name)
    return value if isinstance(value, Sequence) and not isinstance(value, str) else ()


def moment(value: Any) -> datetime | None:
    """A stored moment, or None for everything else (an answer without a value, a plain date)."""
    if isinstance(value, str) and "T" in value:
        return datetime.fromisoformat(value)
    return None


def figure(value: Any, unit: str = "") -> Quantity | None:
    """A stored quantity, in `unit` where one is given; None when there is none to compare."""
    if without_value(value) is not None:
        return None
    read = stored(str(value))
    return read.in_unit(unit) if unit else read


def days_between(start: date, end: date) -> int:
    """Whole days from one day to another."""
    return (end - start).days
