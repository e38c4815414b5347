"""What happened to the water of rigs, in order: the types that everything after it works on.

A timeline holds the rigs that share a tank, mostly just one. Runs come by day and start, lines by number; clocks of
different devices are never compared. `water.lines` builds it from the records.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from compliance.records.answer import without_value
from compliance.records.quick import dataclass
from compliance.records.views import Fields, LineView, RunView
from compliance.water.results import How, Known, Line
from compliance.water.volume import Figure

HANDED, AGAIN, MOVED, ESCAPED, SOLIDS = "handed over", "used again", "moved", "escaped", "solids"
ASTRAY = "not known where"
"""The ways in which water leaves a tank; the last one is of a crew that cannot say where the water is."""


@dataclass(slots=True)
class Part:
    """One line of a stop: what it says of itself. A stop that is continued has several.

    The second methods (`used_also`, `captured_also`) are None where nobody gave one.
    """

    stop: str
    at: Line
    own_used: Known
    own_captured: Known
    used_also: Known | None
    captured_also: Known | None
    area: Figure
    arrived: Any
    left: Any

    @property
    def lines(self) -> tuple[Line, ...]:
        """This line alone, as the figures that stand on it name it."""
        return self.own_used.how.lines

    @property
    def minutes(self) -> Fraction | None:
        """Minutes on site, elapsed and not by the wall clock; None unless both ends are known and in order."""
        if without_value(self.arrived) is not None or without_value(self.left) is not None:
            return None
        seconds = (datetime.fromisoformat(self.left) - datetime.fromisoformat(self.arrived)).total_seconds()
        return Fraction(int(seconds), 60) if seconds > 0 else None


@dataclass(slots=True)
class Stop:
    """A stop while it is being worked out. planned: recovery was planned there, by its own word or its job's."""

    ref: str
    run: RunView
    number: int
    lines: list[LineView] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    escapes: list[Known] = field(default_factory=list)
    escape_lines: list[Line] = field(default_factory=list)
    led_away: list[Known] = field(default_factory=list)
    worked: bool = True
    planned: bool = True

    def first(self, name: str) -> Any:
        """The first value among the stop's lines, None when nobody recorded one."""
        if len(self.lines) == 1:
            return self.lines[0].fields.get(name)
        for line in self.lines:
            value = line.fields.get(name)
            if value is not None:
                return value
        return None


@dataclass(slots=True)
class Look:
    """A look at a tank's level. shows: what was read, as stored; moment: when, '' when not said."""

    tank: str
    level: Figure
    at: Line
    how: How
    shows: str
    moment: str = ""


@dataclass(slots=True)
class Work:
    """A stop puts water into a tank."""

    tank: str
    part: Part


@dataclass(slots=True)
class Draw:
    """Water leaves a tank. known is worked out later where the levels tell it. empties: nothing stays behind."""

    tank: str
    way: str
    at: Line
    place: str
    known: Known
    empties: bool = False


@dataclass(slots=True)
class Put:
    """Water that is no wash water of this tank's stops goes in. owner: whose it is, '' for what a move brings.

    What a move brings is what its draw took, so the amount of a Put with a `source` stands there.
    """

    tank: str
    owner: str
    at: Line
    own: Known
    source: Draw | None = None

    @property
    def known(self) -> Known:
        return self.own if self.source is None else self.source.known

    @known.setter
    def known(self, known: Known) -> None:
        if self.source is None:
            self.own = known
        else:
            self.source.known = known


@dataclass(slots=True)
class RunEnd:
    """A run ends. captured: what its own 'recovered' says."""

    run: RunView
    captured: Known
    captured_also: Known | None


Event = Look | Work | Draw | Put | RunEnd


def run_of(event: Work | Draw | Put) -> str:
    """The record of the run in which something happened."""
    return event.part.at.record if isinstance(event, Work) else event.at.record


Meter = tuple[str, str]
"""A supply meter as one rig reads it: the keys of the rig and of the instrument."""


@dataclass(frozen=True)
class Before:
    """What was last seen before a timeline that begins behind a cut.

    empties: tank -> the look that saw it empty. rig_of: such a tank -> key of its rig. readings: supply meter -> what
    it showed and where that stands.
    """

    empties: Mapping[str, Look] = field(default_factory=dict)
    rig_of: Mapping[str, str] = field(default_factory=dict)
    readings: Mapping[Meter, tuple[Decimal, Line]] = field(default_factory=dict)


@dataclass
class Timeline:
    """Events in order, stops by ref and by run, tanks by key, and the ends of the runs.

    rig_of: record of a run or key of a tank -> key of its rig. before: what was last seen before the first run.
    led_away, escapes: of runs without a stop that could have them: record -> amounts.
    """

    runs: Sequence[RunView]
    events: list[Event] = field(default_factory=list)
    stops: dict[str, Stop] = field(default_factory=dict)
    tanks: dict[str, Fields] = field(default_factory=dict)
    rig_of: dict[str, str] = field(default_factory=dict)
    stops_of: dict[str, list[Stop]] = field(default_factory=dict)
    end_of: dict[str, RunEnd] = field(default_factory=dict)
    before: Before = field(default_factory=Before)
    led_away: dict[str, list[Known]] = field(default_factory=dict)
    escapes: dict[str, list[Known]] = field(default_factory=dict)

    def worked(self, record: str) -> list[Stop]:
        """The stops of a run at which work was done."""
        return [stop for stop in self.stops_of.get(record, ()) if stop.worked]
