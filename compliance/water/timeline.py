"""What happened to the water of one rig, in order: the lines of its runs as events on its tanks.

Runs come by day and start, lines by number; clocks of different devices are never compared. Nothing is computed
here but what a single line says by itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from typing import Any

from compliance.records.answer import without_value
from compliance.records.fields import WHERE_WORDS
from compliance.records.measure import Measure, read_measure
from compliance.records.state import LineView, RunView, State
from compliance.water.methods import Gauges, Who
from compliance.water.results import AGENT, FOREIGN, How, Known, Line
from compliance.water.volume import Figure, Unknown

HANDED, AGAIN, MOVED, ESCAPED, SOLIDS = "handed over", "used again", "moved", "escaped", "solids"
"""The ways in which water leaves a tank."""


@dataclass
class Part:
    """One line of a stop: what it says of itself. A stop that is continued has several."""

    stop: str
    at: Line
    own_used: Known
    own_captured: Known
    area: Figure
    minutes: Fraction | None


@dataclass
class Stop:
    """A stop while it is being worked out."""

    ref: str
    run: RunView
    number: int
    lines: list[LineView] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    escapes: list[Known] = field(default_factory=list)
    escape_lines: list[Line] = field(default_factory=list)
    led_away: list[Known] = field(default_factory=list)

    def first(self, name: str) -> Any:
        """The first value among the stop's lines, None when nobody recorded one."""
        return next((line.get(name) for line in self.lines if line.get(name) is not None), None)

    @property
    def worked(self) -> bool:
        return without_value(self.first("not_worked")) is not None


@dataclass
class Look:
    """A look at a tank's level. opens: it comes before anything else of its run."""

    tank: str
    level: Figure
    at: Line
    how: How
    empty: bool = False


@dataclass
class Work:
    """A stop puts water into a tank."""

    tank: str
    part: Part


@dataclass
class Draw:
    """Water leaves a tank. known is worked out later where the levels tell it. empties: nothing stays behind."""

    tank: str
    way: str
    at: Line
    place: str
    known: Known
    empties: bool = False
    to: str = ""


@dataclass
class Put:
    """Water that is no wash water of this tank's stops goes in. owner: whose it is, '' for what a move brings."""

    tank: str
    owner: str
    at: Line
    known: Known
    source: Draw | None = None


@dataclass
class RunEnd:
    """A run ends. captured: what its own 'recovered' says."""

    run: RunView
    captured: Known
    captured_also: Known | None


Event = Look | Work | Draw | Put | RunEnd


@dataclass
class Timeline:
    """One rig's events in order, its stops by ref and by run, its tanks by key, and the ends of its runs."""

    rig: str
    runs: Sequence[RunView]
    events: list[Event]
    stops: dict[str, Stop]
    tanks: dict[str, Mapping[str, Any]]
    stops_of: dict[str, list[Stop]] = field(default_factory=dict)
    end_of: dict[str, RunEnd] = field(default_factory=dict)


def timelines(state: State, gauges: Gauges) -> list[Timeline]:
    """One timeline a rig, over all runs that were not cancelled."""
    by_rig: dict[str, list[RunView]] = {}
    for run in state.runs:
        if run.cancelled is None:
            by_rig.setdefault(state.registers.key("rig", str(run.get("rig"))), []).append(run)
    return [_Builder(state, gauges, rig, runs).build() for rig, runs in by_rig.items()]


class _Builder:
    """Walks the lines of one rig's runs."""

    def __init__(self, state: State, gauges: Gauges, rig: str, runs: Sequence[RunView]) -> None:
        self.registers = state.registers
        self.gauges = gauges
        self.line = Timeline(rig, runs, [], {}, {})
        own = [*self.registers.tanks(rig, "recovery"), *self.registers.tanks(rig, "holding")]
        for entry in own:
            self.line.tanks[self.registers.key("tank", str(entry["name"]))] = entry
        if not own:
            self.line.tanks["recovery tank"] = {"name": "recovery tank", "rig": rig}
        self.first_tank = next(iter(self.line.tanks))
        self.stop: Stop | None = None

    def build(self) -> Timeline:
        for run in self.line.runs:
            self._run(run)
        return self.line

    def _run(self, run: RunView) -> None:
        self.stop = None
        stops = self._stops(run)
        last_handover = max((i for i, line in enumerate(run.lines) if line.kind == "hand over"), default=-1)
        gone = self._gone_to(run)
        for i, line in enumerate(run.lines):
            self._line(run, line, stops, all_gone=gone is not None and i == last_handover)
        here = Line(run.record, "")
        if gone is not None and last_handover < 0:
            nothing = Known(
                Unknown("what was handed over was not measured", "not recorded yet"), How("none", "", "", "", (here,))
            )
            self.line.events.append(Draw(self.first_tank, HANDED, here, gone, nothing, empties=True))
            self._empty(self.first_tank, here, Who(str(run.get("lead") or "")))
        end = self._end(run, here)
        self.line.events.append(end)
        self.line.end_of[run.record] = end

    def _end(self, run: RunView, here: Line) -> RunEnd:
        who = Who(str(run.get("lead") or ""), str(run.get("end") or ""))
        also = run.get("recovered_also")
        return RunEnd(
            run,
            self.gauges.known(run.get("recovered"), here, who, what="recovered"),
            None if also is None else self.gauges.known(also, here, who, what="recovered, by a second method"),
        )

    def _gone_to(self, run: RunView) -> str | None:
        """The place where all of the run's water is, when 'where' names one."""
        where = run.get("where")
        if without_value(where) is not None or where in WHERE_WORDS:
            return None
        return str(where)

    def _stops(self, run: RunView) -> dict[str, Stop]:
        """The stops of a run by line number; a continued line joins the last stop at its site."""
        by_line: dict[str, Stop] = {}
        made: list[Stop] = []
        for line in run.lines:
            if line.kind != "stop":
                continue
            site = self.registers.key("site", str(line.get("site")))
            stop = None
            if line.get("continued") == "yes":
                stop = next(
                    (s for s in reversed(made) if self.registers.key("site", str(s.first("site"))) == site), None
                )
            if stop is None:
                stop = Stop(f"{run.ref}.s{len(made) + 1}", run, len(made) + 1)
                made.append(stop)
                self.line.stops[stop.ref] = stop
                self.line.stops_of.setdefault(run.record, []).append(stop)
            stop.lines.append(line)
            by_line[line.n] = stop
        return by_line

    def _line(self, run: RunView, line: LineView, stops: Mapping[str, Stop], *, all_gone: bool) -> None:
        at = Line(run.record, line.n)
        who = Who(str(line.get("by") or run.get("lead") or ""), str(line.get("at") or ""))
        match line.kind:
            case "stop":
                self.stop = stops[line.n]
                if self.stop.worked:
                    self._work(run, line, at, who)
            case "reading":
                self._reading(line, at, who)
            case "tank full":
                tank = self._tank(line.get("tank"))
                level, formula = self.gauges.level(self.line.tanks[tank], "full", f"{at.record}/{at.line}", at)
                self.line.events.append(Look(tank, level, at, How("mark", formula, who.reader, who.at, (at,))))
            case "hand over" | "move":
                self._leaves(line, at, who, all_gone=all_gone)
            case "use again":
                self._draw(line, at, who, AGAIN, what="water used again")
            case "solids":
                if without_value(line.get("amount")) is None:
                    self._draw(line, at, who, SOLIDS, what="solids taken out")
            case "escape":
                self._escape(line, at, who, stops)
            case "led away":
                stop = self._near(stops)
                if stop is not None:
                    stop.led_away.append(self.gauges.known(line.get("amount"), at, who, what="water led away"))
            case "foreign water" | "agent in tank":
                owner = FOREIGN if line.kind == "foreign water" else AGENT
                known = self.gauges.known(line.get("amount"), at, who, what=owner)
                self.line.events.append(Put(self._tank(line.get("tank")), owner, at, known))
            case _:
                pass

    def _near(self, stops: Mapping[str, Stop]) -> Stop | None:
        """The stop that a line belongs to: the last one before it, else the first of the run."""
        return self.stop or next(iter(stops.values()), None)

    def _tank(self, name: Any) -> str:
        """The key of the tank that a line means; without a name, the rig's first recovery tank."""
        if without_value(name) is not None:
            return self.first_tank
        key = self.registers.key("tank", str(name))
        if key not in self.line.tanks:
            self.line.tanks[key] = self.registers.find("tank", str(name)) or {"name": name}
        return key

    def _work(self, run: RunView, line: LineView, at: Line, who: Who) -> None:
        assert self.stop is not None
        captured = self.gauges.known(line.get("recovered"), at, who, what="recovered")
        part = Part(
            self.stop.ref,
            at,
            self.gauges.known(line.get("used"), at, who, what="used"),
            captured,
            self.gauges.area(line.get("area")),
            _minutes(line.get("arrived"), line.get("left")),
        )
        self.stop.parts.append(part)
        if self.planned(line):
            marks = self._marks(line.get("recovered"), at, who)
            tank = marks[0].tank if marks else self.first_tank
            events: list[Event] = [*marks[:1], Work(tank, part), *marks[1:]]
            self.line.events += events

    def planned(self, line: LineView) -> bool:
        """Whether recovery was planned there; by the line, else by its job."""
        plan = line.get("plan") or (self.registers.find("job", line.get("job")) or {}).get("plan")
        return plan != "recovery not planned"

    def _marks(self, value: Any, at: Line, who: Who) -> list[Look]:
        """The two looks at a tank that a stop's own 'mark' measure holds."""
        if without_value(value) is not None:
            return []
        measure = read_measure(value)
        if not isinstance(measure, Measure) or measure.method != "mark":
            return []
        tank = self._tank(measure.values["tank"])
        ends = self.gauges.mark_ends(measure.values, at)
        return [
            Look(tank, level, at, How("mark", f"{measure.values[end]}", who.reader, who.at, (at,)),
                 measure.values[end] == "empty")
            for end, level in zip(("before", "after"), ends, strict=True)
        ]  # fmt: skip

    def _reading(self, line: LineView, at: Line, who: Who) -> None:
        name = str(line.get("of"))
        if self.registers.find("instrument", name) is not None:
            return
        tank = self._tank(name)
        entry = self.line.tanks[tank]
        if entry.get("role") == "fresh":
            return
        level, formula = self.gauges.level(entry, line.get("shows"), f"{at.record}/{at.line}", at)
        how = How("mark", formula, who.reader, who.at, (at,))
        self.line.events.append(Look(tank, level, at, how, line.get("shows") == "empty"))

    def _leaves(self, line: LineView, at: Line, who: Who, *, all_gone: bool) -> None:
        """A handover or a move, with the looks that its own measure and 'tank afterwards' hold."""
        if without_value(line.get("refused")) is None:
            return  # the water stayed aboard
        way = HANDED if line.kind == "hand over" else MOVED
        tank = self._tank(line.get("tank"))
        after = line.get("tank_after")
        empties = after == "empty" or (after is None and all_gone)
        marks = self._marks(line.get("amount"), at, who)
        if marks:
            self.line.events.append(marks[0])
        self._draw(line, at, who, way, what="our volume", empties=empties, tank=tank)
        if marks:
            self.line.events.append(marks[1])
        if empties:
            self._empty(tank, at, who)
        elif without_value(after) is None:
            level, formula = self.gauges.level(self.line.tanks[tank], after, f"{at.record}/{at.line}.left", at)
            self.line.events.append(Look(tank, level, at, How("mark", formula, who.reader, who.at, (at,))))

    def _empty(self, tank: str, at: Line, who: Who) -> None:
        level, formula = self.gauges.level(None, "empty", "", at)
        self.line.events.append(Look(tank, level, at, How("mark", formula, who.reader, who.at, (at,)), empty=True))

    def _draw(
        self, line: LineView, at: Line, who: Who, way: str, *, what: str, empties: bool = False, tank: str = ""
    ) -> None:
        known = self.gauges.known(line.get("amount"), at, who, what=what)
        draw = Draw(
            tank or self._tank(line.get("tank")),
            way,
            at,
            str(line.get("place") or ""),
            known,
            empties,
            self._tank(line.get("to")) if way == MOVED else "",
        )
        self.line.events.append(draw)
        if way == MOVED:
            self.line.events.append(Put(draw.to, "", at, known, draw))

    def _escape(self, line: LineView, at: Line, who: Who, stops: Mapping[str, Stop]) -> None:
        """What got away before it was captured belongs to the stop; out of a tank it is a draw on all in it."""
        known = self.gauges.known(line.get("amount"), at, who, what="what got away")
        stop = self._near(stops)
        if stop is not None:
            stop.escape_lines.append(at)
        if without_value(line.get("from_tank")) is None:
            tank = self._tank(line.get("from_tank"))
            self.line.events.append(Draw(tank, ESCAPED, at, str(line.get("reached") or ""), known))
        elif stop is not None:
            stop.escapes.append(known)


def _minutes(arrived: Any, left: Any) -> Fraction | None:
    """Minutes on site, elapsed and not by the wall clock; None unless both ends are known and in order."""
    if without_value(arrived) is not None or without_value(left) is not None:
        return None
    start, end = datetime.fromisoformat(str(arrived)), datetime.fromisoformat(str(left))
    if end.timestamp() <= start.timestamp():
        return None
    return Fraction(int(end.timestamp()) - int(start.timestamp()), 60)
