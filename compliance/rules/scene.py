"""What a rule may look at: the records, what the calculator made of them, and the day on which it is asked.

`Scene` finds things (a run and its parts, the register entry behind a name, the permissions of a place, the limit in
force) and keeps what it found, so that a whole book costs no more than its runs. Nothing here judges.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any, Final

from compliance.records.answer import without_value
from compliance.records.fields import GROUPS, is_place
from compliance.records.names import folded
from compliance.records.quantity import stored
from compliance.records.quick import dataclass
from compliance.records.state import State
from compliance.records.views import Fields, LineView, RunView, TicketView
from compliance.rules.rule import Basis
from compliance.rules.subjects import Entry, Handover, Load, Run, Stop, items, moment
from compliance.water.results import Draw, LoadFacts, Night, RunFacts

NEARBY: Final = 30
"""How many runs of its rig a rule looks back or ahead from one: a run costs the same in a book of any size, and comes
out the same where no more of the book than these was read.
"""

NO_LIMIT: Final = "no limit on file"
"""What an absent limit reads as; never 'pass'."""

PRECEDENCE: Final[tuple[Basis, ...]] = ("local permit", "federal floor", "house policy")
"""Whose limit governs where several are on file, first wins. A local rule set will stand between the first two."""

_KIND_OF_PLACE: Final = {
    folded(word): choice.value
    for row in GROUPS["place"]
    if row.name == "kind"
    for choice in row.choices
    for word in (choice.value, choice.es)
}


@dataclass(frozen=True)
class Permissions:
    """What is on file for a handover: the name that the line gives, its entry, all that the place has.

    valid: those for this place that are in force that day; a permission without its first day is in `undated`.
    """

    named: str | None
    entry: Fields | None
    on_file: tuple[Fields, ...]
    valid: tuple[Fields, ...]
    undated: tuple[Fields, ...]


@dataclass(frozen=True)
class Limit:
    """A limit in force: value in its own unit, whose it is and where it comes from."""

    name: str
    value: Decimal
    unit: str
    basis: Basis
    source: str
    applies_from: str

    def __str__(self) -> str:
        return f"{self.value.normalize():f} {self.unit}, {self.basis}" + (f", {self.source}" if self.source else "")


@dataclass(frozen=True)
class Scene:
    """State, what the calculator made of it, and today. Runs that the calculator does not know are not looked at."""

    state: State
    night: Night
    today: date

    # ---- runs and their parts ------------------------------------------------------------------------------

    @cached_property
    def runs(self) -> tuple[Run, ...]:
        """Every run that is judged, in order: not cancelled, and not from long before the book was begun."""
        return tuple(run for view in self.state.runs if (run := self.judged(view)) is not None)

    def judged(self, view: RunView) -> Run | None:
        """The run, or None when it is not to be judged."""
        if view.cancelled is not None or view.day < self._judged_from:
            return None
        return self.run(view)

    def run(self, view: RunView) -> Run | None:
        """A run with its parts, or None when the calculator does not know it."""
        known = self._runs.get(view.record)
        if known is None:
            facts = self.night.runs.get(view.record)
            if facts is None:
                return None
            known = self._runs[view.record] = self._with_parts(view, facts)
            self._stops.update((stop.ref, stop) for stop in known.stops)
        return known

    def run_of(self, record: str) -> Run | None:
        """The run that was handed in with this record."""
        known = self._runs.get(record)
        if known is None and (view := self._by_record.get(record)) is not None:
            known = self.run(view)
        return known

    def stop(self, ref: str) -> Stop | None:
        """A stop by its ref."""
        if ref not in self._stops:
            view = self._by_ref.get(ref.rpartition(".s")[0])
            if view is None or self.run(view) is None:
                return None
        return self._stops.get(ref)

    def handover(self, record: str, line: str) -> Handover | None:
        """A handover by the record of its run and its line ('' when only the run names the place)."""
        run = self.run_of(record)
        return None if run is None else next((one for one in run.handovers if one.n == line), None)

    def before(self, run: Run) -> Iterator[Run]:
        """The runs of the same rig before this one, the latest first, as far as `NEARBY` reaches."""
        of_rig, at = self._place(run.view)
        return self._judged(reversed(of_rig[max(at - NEARBY, 0) : at]))

    def after(self, run: Run) -> Iterator[Run]:
        """The runs of the same rig after this one, the earliest first, as far as `NEARBY` reaches."""
        of_rig, at = self._place(run.view)
        return self._judged(of_rig[at + 1 : at + 1 + NEARBY])

    def loads_of(self, run: Run, *, opened_here: bool) -> Iterator[Load]:
        """The loads of a run; with `opened_here` only those that no earlier run opened."""
        for load in run.loads:
            if load.opened.record == run.view.record:
                yield Load(load, run)
            elif not opened_here and (earlier := self.run_of(load.opened.record)) is not None:
                yield Load(load, earlier)

    def entries_of(self, run: Run) -> Iterator[Entry]:
        """The register entries that a run names, each once."""
        seen = set()
        for what, name, _ in self.names(run):
            entry = self.entry(what, name)
            if entry is not None and (what, entry["name"]) not in seen:
                seen.add((what, entry["name"]))
                yield Entry(what, entry, run.view)

    def names(self, run: Run) -> Iterator[tuple[str, str, str]]:
        """Every name that a run gives: register, name, line number ('' for the run)."""
        view = run.view
        yield "rig", str(view.fields["rig"]), ""
        for tank in self._tanks(str(view.fields["rig"])):
            yield "tank", tank["name"], ""
        where = view.get("where")
        if is_place(where):
            yield "place", where, ""
        for line in view.lines:
            for row, register in _REFS.get(line.kind, ()):
                name = line.fields.get(row)
                if without_value(name) is None:
                    yield register, str(name), line.n
            for item in items(line, "agents"):
                yield "agent", str(item["agent"]), line.n
        for handover in run.handovers:
            for permission in self.permissions(handover).valid:
                yield "permission", permission["name"], handover.n

    # ---- registers -----------------------------------------------------------------------------------------

    def entry(self, what: str, name: Any) -> Fields | None:
        """The register entry that a name means, or None."""
        key = (what, name)
        if key not in self._entries:
            self._entries[key] = self.state.registers.find(what, name)
        return self._entries[key]

    def same(self, what: str, one: str, other: str) -> bool:
        """Whether two names mean one entry."""
        return one == other or self._key(what, one) == self._key(what, other)

    def kind_of_place(self, name: str) -> str | None:
        """The kind of a place: by its entry, or by its name where that is itself the name of a kind."""
        entry = self.entry("place", name)
        if entry is None:
            return _KIND_OF_PLACE.get(folded(name))
        kind = entry.get("kind")
        return kind if without_value(kind) is None else None

    def agents(self, run: Run) -> list[tuple[str, str]]:
        """(product, line number) of every cleaning agent that a run names, in order."""
        found = []
        for line in run.view.lines:
            if line.kind in ("agent in tank", "agent jugs"):
                found.append((str(line.fields["agent"]), line.n))
            found += [(str(item["agent"]), line.n) for item in items(line, "agents")]
        return found

    def permissions(self, handover: Handover) -> Permissions:
        """What is on file for a handover on its day."""
        named = handover.get("permission")
        name = None if without_value(named) else str(named)
        entry = None if name is None else self.entry("permission", name)
        on_file = self._permissions.get(self._key("place", handover.place), ())
        valid = tuple(one for one in on_file if in_force(one, handover.day))
        undated = tuple(one for one in on_file if _may_cover(one, handover.day))
        return Permissions(name, entry, on_file, valid, undated)

    def limit(self, name: str, day: str) -> Limit | str:
        """The limit of that name in force that day, by precedence; the words for its absence where there is none."""
        found, none_yet = [], False
        for entry in self.state.registers.all("limit"):
            if not folded(str(entry["name"])).startswith(name) or str(entry.get("applies_from") or "") > day:
                continue
            value = entry.get("value")
            if without_value(value) is not None:
                none_yet |= entry.get("none_yet") == "yes"
                continue
            read = stored(str(value))
            if read.point is not None:
                basis: Basis = "local permit" if entry.get("whose") == "local permit" else "house policy"
                found.append(
                    Limit(
                        str(entry["name"]),
                        read.point,
                        read.unit,
                        basis,
                        str(entry.get("source") or ""),
                        str(entry.get("applies_from") or ""),
                    )
                )
        if found:
            latest_first = sorted(found, key=lambda one: one.applies_from, reverse=True)
            return min(latest_first, key=lambda one: PRECEDENCE.index(one.basis))
        return f"{NO_LIMIT}: none yet" if none_yet else NO_LIMIT

    # ---- what was found, kept ------------------------------------------------------------------------------

    @cached_property
    def _judged_from(self) -> str:
        return self.state.judged_from

    @cached_property
    def shown(self) -> dict[str, dict[str, list[tuple[str, Decimal | None]]]]:
        """Record of a run -> what its registers showed, as `meters` finds it: every neighbour asks for it."""
        return {}

    @cached_property
    def _runs(self) -> dict[str, Run]:
        return {}

    @cached_property
    def _entries(self) -> dict[tuple[str, Any], Fields | None]:
        return {}

    @cached_property
    def _keys(self) -> dict[tuple[str, str], str]:
        return {}

    @cached_property
    def _by_record(self) -> dict[str, RunView]:
        return {view.record: view for view in self.state.runs}

    @cached_property
    def _by_ref(self) -> dict[str, RunView]:
        return {view.ref: view for view in self.state.runs}

    @cached_property
    def _stops(self) -> dict[str, Stop]:
        return {}

    @cached_property
    def _permissions(self) -> dict[str, tuple[Fields, ...]]:
        found: dict[str, tuple[Fields, ...]] = {}
        for entry in self.state.registers.all("permission"):
            key = self._key("place", str(entry.get("place", "")))
            found[key] = (*found.get(key, ()), entry)
        return found

    @cached_property
    def _tickets(self) -> dict[tuple[str, str], list[TicketView]]:
        found: dict[tuple[str, str], list[TicketView]] = {}
        for ticket in self.state.tickets:
            for handover in ticket.handovers:
                found.setdefault(handover, []).append(ticket)
        return found

    @cached_property
    def _rig_tanks(self) -> dict[str, list[Fields]]:
        found: dict[str, list[Fields]] = {}
        for tank in self.state.registers.all("tank"):
            found.setdefault(self._key("rig", str(tank.get("rig", ""))), []).append(tank)
        return found

    def _tanks(self, rig: str) -> list[Fields]:
        return self._rig_tanks.get(self._key("rig", rig), [])

    def _key(self, what: str, name: str) -> str:
        key = (what, name)
        if key not in self._keys:
            self._keys[key] = self.state.registers.key(what, name)
        return self._keys[key]

    @cached_property
    def _by_rig(self) -> dict[str, list[RunView]]:
        """Key of a rig -> its runs that were not cancelled, in the order of the state."""
        found: dict[str, list[RunView]] = {}
        for view in self.state.runs:
            if view.cancelled is None:
                found.setdefault(self._key("rig", str(view.fields["rig"])), []).append(view)
        return found

    @cached_property
    def _places(self) -> dict[str, int]:
        """Record of a run -> where it stands among those of its rig."""
        return {view.record: at for of_rig in self._by_rig.values() for at, view in enumerate(of_rig)}

    def _place(self, view: RunView) -> tuple[Sequence[RunView], int]:
        """The runs of a run's rig, and where it stands among them."""
        return self._by_rig[self._key("rig", str(view.fields["rig"]))], self._places[view.record]

    def _judged(self, views: Iterable[RunView]) -> Iterator[Run]:
        return (run for view in views if (run := self.judged(view)) is not None)

    def _with_parts(self, view: RunView, facts: RunFacts) -> Run:
        lines = {line.n: line for line in view.lines}
        stops = tuple(Stop(view, stop, tuple(lines[at.line] for at in stop.lines)) for stop in facts.stops)
        loads = tuple(self.night.loads[name] for name in facts.loads if name in self.night.loads)
        draws = {
            draw.line.line: (load, draw) for load in loads for draw in load.draws if draw.line.record == view.record
        }
        handovers = [
            self._handover(view, line, str(line.fields["place"]), draws.get(line.n, (None, None)))
            for line in view.lines
            if line.kind in ("hand over", "led away")
        ]
        where = view.get("where")
        if is_place(where) and not any(line.kind == "hand over" for line in view.lines):
            handovers.append(self._handover(view, None, where, draws.get("", (None, None))))
        return Run(view, facts, stops, tuple(handovers), loads)

    def _handover(
        self, view: RunView, line: LineView | None, place: str, drawn: tuple[LoadFacts | None, Draw | None]
    ) -> Handover:
        when = moment(line.fields.get("at")) if line else moment(view.get("end"))
        return Handover(
            view,
            line,
            place,
            self.entry("place", place),
            self.kind_of_place(place),
            when.date().isoformat() if when else view.day,
            *drawn,
            self._tickets.get((view.record, line.n if line else ""), ()),
        )


_REFS: Final = {
    group: tuple(
        (row.name, row.of)
        for row in rows
        if row.type == "ref" and row.of in GROUPS and row.of not in ("person", "tank")
    )
    for group, rows in GROUPS.items()
}
"""The fields of a line that name a register entry. People may stay free text; a rig's tanks go with its rig."""


def in_force(permission: Fields, day: str) -> bool:
    """Whether a permission covers a day. One that says 'not needed' needs no first day."""
    start, end = permission.get("valid_from"), permission.get("valid_to")
    if without_value(start) is not None:
        begun = permission.get("kind") == "not needed"
    else:
        begun = str(start) <= day
    return begun and (without_value(end) is not None or day <= str(end))


def _may_cover(permission: Fields, day: str) -> bool:
    """Whether only the first day, which nobody recorded, keeps a permission from covering a day."""
    known = without_value(permission.get("valid_from")) is None or permission.get("kind") == "not needed"
    end = permission.get("valid_to")
    return not known and (without_value(end) is not None or day <= str(end))
