"""Which runs have to be worked out together, and no more than these.

Rigs that name one tank stand together, for their water meets in it. Between two runs where every tank was last seen
empty nothing is carried over, unless a supply meter that is read again has stops behind its last reading: there the
history of these rigs is cut. So the figures of one run follow from the few runs around it, in a book of any size.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import field
from decimal import Decimal

from compliance.records.quick import dataclass
from compliance.records.state import Registers, State
from compliance.records.views import RunView
from compliance.water.lines import first_tank, sees_empty, supply_readings, tanks_named, timeline_of
from compliance.water.methods import Gauges
from compliance.water.results import Line
from compliance.water.timeline import Before, Look, Meter, Put, RunEnd, Work


@dataclass(frozen=True)
class Window:
    """Runs in order that are worked out together, and what was last seen before them."""

    runs: tuple[RunView, ...]
    before: Before = field(default_factory=Before)


def sharing_tanks(state: State) -> list[list[RunView]]:
    """The runs that were not cancelled, by rig; rigs that name one tank together, in the order in which they came."""
    registers = state.registers
    head: dict[str, str] = {}

    def find(key: str) -> str:
        while head.setdefault(key, key) != key:
            key = head[key]
        return key

    runs = [(run, registers.key("rig", str(run.get("rig")))) for run in state.runs if run.cancelled is None]
    for run, rig in runs:
        for name in tanks_named(run):
            owner = _owner(registers, name)
            if owner is not None and find(owner) != find(rig):
                head[find(owner)] = find(rig)
    groups: dict[str, list[RunView]] = {}
    for run, rig in runs:
        groups.setdefault(find(rig), []).append(run)
    return [_as_ordered(state, group) for group in groups.values()]


def _owner(registers: Registers, tank: str) -> str | None:
    """The key of the rig to which the register gives a tank."""
    owner = (registers.find("tank", tank) or {}).get("rig")
    return None if owner is None else registers.key("rig", str(owner))


def _as_ordered(state: State, runs: list[RunView]) -> list[RunView]:
    """Runs in the order in which somebody says that they came to a tank; else by day and start."""
    for order in state.orders:
        places = {run.record: i for i, run in enumerate(runs)}
        said = [record for record in order.runs if record in places]
        moved = dict(zip(sorted(places[record] for record in said), said, strict=True))
        runs = [runs[places[moved[i]]] if i in moved else run for i, run in enumerate(runs)]
    return runs


class Windows:
    """Finds the window of a run. Made once for a state; what it learns of runs it keeps."""

    def __init__(self, state: State) -> None:
        gauges = Gauges(state.registers, state.unit)
        self._place: dict[str, tuple[_Group, int]] = {}
        for runs in sharing_tanks(state):
            group = _Group(gauges, runs)
            self._place.update((run.record, (group, i)) for i, run in enumerate(runs))

    def of(self, run: RunView) -> Window:
        """The runs that are needed for the figures of this one; of a cancelled run, itself."""
        if run.record not in self._place:
            return Window((run,))
        group, at = self._place[run.record]
        first, last = group.begin(at), group.end(at + 1)
        return Window(tuple(group.runs[first:last]), group.before(first))


class _Group:
    """The runs of rigs that share tanks, and at which of them something may have happened to a tank or a meter."""

    def __init__(self, gauges: Gauges, runs: Sequence[RunView]) -> None:
        self.gauges = gauges
        self.runs = runs
        self.rig_of: dict[str, str] = {}
        self.touched: dict[str, list[int]] = {}
        self.read: dict[Meter, list[int]] = {}
        self.worked: dict[str, list[int]] = {}
        self._left: dict[int, Mapping[str, Look | None]] = {}
        registers = gauges.registers
        for i, run in enumerate(runs):
            rig = registers.key("rig", str(run.get("rig")))
            tanks = {registers.key("tank", name) for name in tanks_named(run)} | {first_tank(registers, run)}
            for tank in tanks:
                self.touched.setdefault(tank, []).append(i)
            for meter in {meter for meter, _ in supply_readings(registers, run).values()}:
                self.read.setdefault(meter, []).append(i)
            if any(line.kind == "stop" for line in run.lines):
                self.worked.setdefault(rig, []).append(i)

    def begin(self, place: int) -> int:
        """The nearest cut at or before this place among the runs."""
        while (last := self._reaches_over(place)) is not None:
            place = last[0]
        return place

    def end(self, place: int) -> int:
        """The nearest cut at or after this place; the end of all runs is one."""
        while place < len(self.runs) and (last := self._reaches_over(place)) is not None:
            later = bisect_left(last[1], place)
            place = last[1][later] + 1 if later < len(last[1]) else len(self.runs)
        return place

    def _reaches_over(self, place: int) -> tuple[int, list[int]] | None:
        """What speaks against a cut before this run: the run from which it comes, and all in which it may end."""
        for tank, places in self.touched.items():
            last, look = self.seen(tank, place)
            if last is not None and look is None:
                return last, places
        for meter, places in self.read.items():
            later = bisect_left(places, place)
            if 0 < later < len(places) and self._stops_since(meter, places[later - 1], place):
                return places[later - 1], places
        return None

    def before(self, place: int) -> Before:
        """What was last seen before this run, where a cut is."""
        looks = {tank: look for tank in self.touched if (look := self.seen(tank, place)[1]) is not None}
        readings = {}
        for meter, places in self.read.items():
            later = bisect_left(places, place)
            if later:
                readings[meter] = self._reading(meter, places[later - 1])
        return Before(looks, {tank: self.rig_of[tank] for tank in looks}, readings)

    def _reading(self, meter: Meter, place: int) -> tuple[Decimal, Line]:
        """The last reading of a meter in a run."""
        run = self.runs[place]
        found = supply_readings(self.gauges.registers, run)
        n, shows = next((n, shows) for n, (one, shows) in reversed(found.items()) if one == meter)
        return shows, Line(run.record, n)

    def seen(self, tank: str, place: int) -> tuple[int | None, Look | None]:
        """The last run before this one in which something happened to a tank, and the look that saw it empty."""
        places = self.touched[tank]
        for i in range(bisect_left(places, place) - 1, -1, -1):
            left = self._leaves(places[i])
            if tank in left:
                return places[i], left[tank]
        return None, None

    def _leaves(self, place: int) -> Mapping[str, Look | None]:
        """The tanks to which something happened in a run, and the look that last saw them empty."""
        if place not in self._left:
            timeline = timeline_of(Gauges(self.gauges.registers, self.gauges.unit), self.runs[place])
            self.rig_of |= timeline.rig_of
            events = [event for event in timeline.events if not isinstance(event, RunEnd)]
            left = {event.tank: event if sees_empty(event) else None for event in events}
            tank = first_tank(self.gauges.registers, self.runs[place])
            at_end = [event for event in events if event.tank == tank]
            only_said = bool(at_end) and not any(isinstance(event, Work | Put) or event.at.line for event in at_end)
            if only_said and self.seen(tank, place)[1] is not None:
                del left[tank]  # all of it gone, as the run says, and nothing was in it: nothing happened
            self._left[place] = left
        return self._left[place]

    def _stops_since(self, meter: Meter, last: int, place: int) -> bool:
        """Whether there are stops behind the last reading of a meter and before this run."""
        worked = self.worked.get(meter[0], [])
        if bisect_left(worked, place) > bisect_left(worked, last + 1):
            return True
        n = self._reading(meter, last)[1].line
        lines = self.runs[last].lines
        return any(line.kind == "stop" for line in lines[[line.n for line in lines].index(n) :])
