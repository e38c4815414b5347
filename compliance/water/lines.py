"""The lines of runs as events on tanks. Nothing is computed here but what a single line says by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from decimal import Decimal
from typing import Any, TypeGuard

from compliance.records.answer import NOT_APPLICABLE, without_value
from compliance.records.fields import SEEN_ENTERING, WHERE_WORDS
from compliance.records.measure import Measure, read_measure
from compliance.records.registers import Registers
from compliance.records.views import Fields, LineView, RunView
from compliance.water.methods import Gauges, Who
from compliance.water.named import UNREGISTERED, own_tanks, supply_readings
from compliance.water.results import AGENT, FOREIGN, UNNAMED, How, Known, Line
from compliance.water.timeline import (
    AGAIN,
    ASTRAY,
    ESCAPED,
    HANDED,
    MOVED,
    SOLIDS,
    Before,
    Draw,
    Event,
    Look,
    Meter,
    Part,
    Put,
    RunEnd,
    Stop,
    Timeline,
    Work,
    run_of,
)
from compliance.water.volume import ZERO, Unknown, Volume

NOT_PLANNED = "recovery not planned"
NOT_KNOWN = "not known"
WHERE_NOT_KNOWN = Unknown("where the water is, is not known", "not known")
"""How much of a run's water is gone after that answer to where it is."""


def timelines(gauges: Gauges, runs: Sequence[RunView]) -> Iterator[Timeline]:
    """The timelines of runs in order, cut wherever nothing is carried over from what comes before.

    That is between two runs when every tank was last seen empty, and no supply meter that will be read again has
    stops behind its last reading.
    """
    builder = Builder(gauges)
    again = _last_readings(gauges.registers, runs)
    first = 0
    for i, run in enumerate(runs, start=1):
        builder.take(run)
        if i == len(runs) or builder.nothing_is_left({meter for meter, at in again.items() if at > i}):
            yield builder.cut(runs[first:i])
            first = i


def _last_readings(registers: Registers, runs: Sequence[RunView]) -> Mapping[Meter, int]:
    """Supply meter -> which of the runs, counted from 1, has its last reading line."""
    return {meter: i for i, run in enumerate(runs, start=1) for meter, _ in supply_readings(registers, run).values()}


class Builder:
    """Walks the lines of runs: `take` each in order, `cut` gives the timeline since the last cut.

    last: the last event of every tank. readings: the last one of every supply meter; behind: the meters that have
    stops behind it. The rest belongs to the run that is being walked; fresh: nothing happened to a tank in it yet.
    """

    def __init__(self, gauges: Gauges) -> None:
        self.registers = gauges.registers
        self.gauges = gauges
        self.rig_of: dict[str, str] = {}
        self.own: dict[str, Mapping[str, Fields]] = {}
        self.last: dict[str, Event] = {}
        self.readings: dict[Meter, tuple[Decimal, Line]] = {}
        self.behind: set[Meter] = set()
        self.line = Timeline([], rig_of=self.rig_of)
        self.supply: Mapping[str, tuple[Meter, Decimal]] = {}
        self.stop: Stop | None = None
        self.fresh = True
        self.rig = ""
        self.first_tank = ""

    def nothing_is_left(self, again: Set[Meter]) -> bool:
        """Whether the timeline can be cut here. again: the meters that will be read again."""
        return self.behind.isdisjoint(again) and all(map(_sees_empty, self.last.values()))

    def cut(self, runs: Sequence[RunView]) -> Timeline:
        """What was built since the last cut."""
        done = self.line
        done.runs = runs
        empties = {tank: look for tank, look in self.last.items() if isinstance(look, Look)}
        self.line = Timeline([], rig_of=self.rig_of, before=Before(empties, self.rig_of, dict(self.readings)))
        return done

    # ---- a run ------------------------------------------------------------------------------------------------

    def take(self, run: RunView) -> None:
        """Add the events of the next run."""
        self.stop, self.fresh = None, True
        self._tanks_of_rig(run)
        self.supply = supply_readings(self.registers, run)
        stops = self._stops(run)
        gone, closing = self._gone_to(run)
        for i, line in enumerate(run.lines):
            self._line(run, line, stops, all_gone=i == closing)
        self._got_away_without_a_line(run)
        here = Line(run.record, "")
        end = self._end(run, here)
        self._without_a_stop(run, end)
        if gone is not None and closing is None and not _sees_empty(self.last.get(self.first_tank)):
            unread = Unknown("what was handed over was not measured", "not recorded yet")
            draw = Draw(self.first_tank, HANDED, here, gone, Known(unread, How("none", lines=(here,))), empties=True)
            self._add(draw)
            self._empty(self.first_tank, here, Who(str(run.get("lead") or "")), said=True)
        self._gone_astray(run, here)
        self.line.events.append(end)
        self.line.end_of[run.record] = end

    def _gone_astray(self, run: RunView, here: Line) -> None:
        """Where nobody can say where the water is, none of it is said to be aboard; a later look tells how much left.

        Only where no look and no line comes after what went in: they tell where it is.
        """
        if run.get("where") != NOT_KNOWN:
            return
        for tank, last in list(self.last.items()):
            if isinstance(last, Work | Put) and run_of(last) == run.record:
                self._add(Draw(tank, ASTRAY, here, "", Known(WHERE_NOT_KNOWN, How("none", lines=(here,)))))

    def _got_away_without_a_line(self, run: RunView) -> None:
        """Water that somebody saw get away, and nobody wrote a line of: an amount not recorded, and never nothing."""
        listed = any(line.kind == "escape" for line in run.lines)
        for stop in self.line.stops_of[run.record]:
            if not stop.worked or stop.escape_lines:
                continue
            own = stop.first("got_away")
            said = own == "yes" or (own is None and not listed and run.get("got_away") == "yes")
            if said or any(drain.get("seen") == SEEN_ENTERING for drain in stop.first("drain_list") or ()):
                at = Line(run.record, stop.lines[0].n)
                amount = Unknown("water got away, and no line says how much", "not recorded yet")
                stop.escapes.append(Known(amount, How("none", lines=(at,))))

    def _tanks_of_rig(self, run: RunView) -> None:
        """The rig's own tanks; a line that names none means its first recovery tank."""
        rig = str(run.get("rig"))
        self.rig = self.registers.key("rig", rig)
        self.line.rig_of[run.record] = self.rig
        if self.rig not in self.own:
            self.own[self.rig] = own_tanks(self.registers, rig)
        for key, entry in self.own[self.rig].items():
            self.line.tanks.setdefault(key, entry)
            self.rig_of[key] = self.rig
        self.first_tank = next(iter(self.own[self.rig]))

    def _end(self, run: RunView, here: Line) -> RunEnd:
        who = Who(str(run.get("lead") or ""), str(run.get("end") or ""))
        also = run.get("recovered_also")
        return RunEnd(
            run,
            self.gauges.known(run.get("recovered"), here, who, what="recovered"),
            None if also is None else self.gauges.known(also, here, who, what="recovered, by a second method"),
        )

    def _gone_to(self, run: RunView) -> tuple[str | None, int | None]:
        """The place where all of the run's water is, when 'where' names one, and the line that took it there.

        That line is the last handover to this place after the work, and not a refused one.
        """
        where = run.get("where")
        if without_value(where) is not None or where in WHERE_WORDS:
            return None, None
        place = self.registers.key("place", str(where))
        for i in range(len(run.lines) - 1, -1, -1):
            line = run.lines[i]
            if line.kind == "stop" and without_value(line.get("not_worked")) is not None:
                break
            if line.kind == "hand over" and without_value(line.get("refused")) is not None:
                return str(where), i if self.registers.key("place", str(line.get("place"))) == place else None
        return str(where), None

    def _without_a_stop(self, run: RunView, end: RunEnd) -> None:
        """What a run says it recovered, with no stop and no look at the tank, is in the tank and nobody's."""
        figure = end.captured.figure
        said = run.get("recovered") not in (None, NOT_APPLICABLE) and not (
            isinstance(figure, Volume) and figure.best == ZERO
        )
        if said and self.fresh and not any(stop.worked for stop in self.line.stops_of.get(run.record, ())):
            self._add(Put(self.first_tank, UNNAMED, Line(run.record, ""), end.captured))

    def _stops(self, run: RunView) -> dict[str, Stop]:
        """The stops of a run by line number; a continued line joins the last stop at its site."""
        by_line: dict[str, Stop] = {}
        made: list[Stop] = []
        for line in run.lines:
            if line.kind != "stop":
                continue
            stop = self._continued(line, made) if line.fields.get("continued") == "yes" else None
            if stop is None:
                stop = Stop(f"{run.ref}.s{len(made) + 1}", run, len(made) + 1)
                made.append(stop)
                self.line.stops[stop.ref] = stop
            stop.lines.append(line)
            by_line[line.n] = stop
        for stop in made:
            stop.worked = without_value(stop.first("not_worked")) is not None
            job = self.registers.find("job", stop.first("job")) or {}
            stop.planned = (stop.first("plan") or job.get("plan")) != NOT_PLANNED
        self.line.stops_of[run.record] = made
        return by_line

    def _continued(self, line: LineView, made: Sequence[Stop]) -> Stop | None:
        site = self.registers.key("site", str(line.get("site")))
        return next((s for s in reversed(made) if self.registers.key("site", str(s.first("site"))) == site), None)

    # ---- a line -----------------------------------------------------------------------------------------------

    def _line(self, run: RunView, line: LineView, stops: Mapping[str, Stop], *, all_gone: bool) -> None:
        at = Line(run.record, line.n)
        who = Who(str(line.fields.get("by") or run.fields.get("lead") or ""), str(line.fields.get("at") or ""))
        match line.kind:
            case "stop":
                if stops[line.n].worked:
                    self.stop = stops[line.n]
                    self.behind |= {meter for meter in self.readings if meter[0] == self.rig}
                    self._work(self.stop, line, at, who)
            case "reading" if self.registers.instrument_read(line.get("of")) is None:
                self._look(self._tank(line.get("of")), line.get("shows"), f"{at.record}/{at.line}", at, who)
            case "reading" if line.n in self.supply:
                meter, shows = self.supply[line.n]
                self.readings[meter] = (shows, at)
                self.behind.discard(meter)
            case "tank full":
                self._look(self._tank(line.get("tank")), "full", f"{at.record}/{at.line}", at, who)
            case "hand over" if without_value(line.get("refused")) is not None:  # refused: it stayed aboard
                self._leaves(line, at, who, all_gone=all_gone)
            case "move":
                self._leaves(line, at, who, all_gone=False)
            case "use again":
                self._draw(self._tank(line.get("tank")), line, at, who, AGAIN)
            case "solids" if without_value(line.get("amount")) is None:
                self._draw(self._tank(line.get("tank")), line, at, who, SOLIDS)
            case "escape":
                self._escape(line, at, who, stops)
            case "led away":
                stop = self._near(stops)
                led = self.line.led_away.setdefault(run.record, []) if stop is None else stop.led_away
                led.append(self.gauges.known(line.get("amount"), at, who, what="water led away"))
            case "foreign water" | "agent in tank":
                owner = FOREIGN if line.kind == "foreign water" else AGENT
                known = self.gauges.known(line.get("amount"), at, who, what=owner)
                self._add(Put(self._tank(line.get("tank")), owner, at, known))
            case _:
                pass

    def _near(self, stops: Mapping[str, Stop]) -> Stop | None:
        """The stop that a line belongs to: the last one worked before it, else the first worked, else the first."""
        return self.stop or next((one for one in stops.values() if one.worked), next(iter(stops.values()), None))

    def _tank(self, name: Any) -> str:
        """The key of the tank that a line means; without a name, the rig's first recovery tank.

        A rig with no tank on the register has one, whatever it is called.
        """
        if without_value(name) is not None:
            return self.first_tank
        key = self.registers.key("tank", str(name))
        if key not in self.line.tanks:
            entry = self.registers.find("tank", name)
            if entry is None and self.line.tanks[self.first_tank].get("role") == UNREGISTERED:
                return self.first_tank
            self.line.tanks[key] = entry or {"name": name}
            owner = None if entry is None else entry.get("rig")
            self.rig_of.setdefault(key, self.rig if owner is None else self.registers.key("rig", str(owner)))
        return key

    def _fresh(self, tank: str) -> bool:
        return self.line.tanks[tank].get("role") == "fresh"

    def _add(self, event: Look | Work | Draw | Put) -> None:
        """Fresh water is no concern of a timeline of wash water."""
        if not self._fresh(event.tank):
            self.line.events.append(event)
            self.last[event.tank] = event
            self.fresh = False

    def _work(self, stop: Stop, line: LineView, at: Line, who: Who) -> None:
        get = line.fields.get
        recovered = get("recovered")
        part = Part(
            stop.ref,
            at,
            self.gauges.known(get("used"), at, who, what="used"),
            self.gauges.known(recovered, at, who, what="recovered"),
            self._also(get("used_also"), at, who),
            self._also(get("recovered_also"), at, who),
            self.gauges.area(get("area")),
            get("arrived"),
            get("left"),
        )
        stop.parts.append(part)
        if not stop.planned:
            return
        ends = self._marks(recovered)
        tank = self._tank(ends["tank"]) if ends else self.first_tank
        if ends:
            self._look(tank, ends["before"], f"{at.record}/{at.line}.before", at, who)
        self._add(Work(tank, part))
        if ends:
            self._look(tank, ends["after"], f"{at.record}/{at.line}.after", at, who)

    def _also(self, value: Any, at: Line, who: Who) -> Known | None:
        return None if value is None else self.gauges.known(value, at, who, what="a second method")

    @staticmethod
    def _marks(value: Any) -> Mapping[str, Any]:
        """The two looks that a 'mark' measure holds, nothing for any other."""
        if without_value(value) is not None:
            return {}
        measure = read_measure(value)
        return measure.values if isinstance(measure, Measure) and measure.method == "mark" else {}

    def _look(self, tank: str, shows: Any, key: str, at: Line, who: Who) -> None:
        """A look that was read. The same figure again with nothing in between is the same look, written twice."""
        level, formula = self.gauges.level(self.line.tanks[tank], shows, key, at)
        if isinstance(level, Unknown):
            return  # a mark that was not read bounds nothing
        last = self.last.get(tank)
        if not (isinstance(last, Look) and _same(last, str(shows), at, who)):
            how = How("mark", formula, who.reader, who.at, (at,))
            self._add(Look(tank, level, at, how, str(shows), who.at))

    def _empty(self, tank: str, at: Line, who: Who, *, said: bool) -> None:
        """The tank is empty afterwards. said: by 'where the water is' alone, which is a word and no look."""
        if said:
            level = Volume(ZERO, ZERO, unstated=frozenset({f"declared:{at.record}/{at.line}.left"}))
            self._add(Look(tank, level, at, How("declared", "", who.reader, who.at, (at,)), "empty", who.at))
        else:
            self._look(tank, "empty", f"{at.record}/{at.line}.left", at, who)

    def _leaves(self, line: LineView, at: Line, who: Who, *, all_gone: bool) -> None:
        """A handover or a move, with the looks that its own measure and 'tank afterwards' hold."""
        tank, after = self._tank(line.get("tank")), line.get("tank_after")
        empties = after == "empty" or (after is None and all_gone)
        ends = self._marks(line.get("amount"))
        if ends:
            self._look(tank, ends["before"], f"{at.record}/{at.line}.before", at, who)
        if line.kind == "hand over":
            self._draw(tank, line, at, who, HANDED, empties=empties)
        else:
            self._move(tank, line, at, who, empties=empties)
        if ends:
            self._look(tank, ends["after"], f"{at.record}/{at.line}.after", at, who)
        if empties:
            self._empty(tank, at, who, said=after is None)
        elif without_value(after) is None:
            self._look(tank, after, f"{at.record}/{at.line}.left", at, who)

    def _move(self, tank: str, line: LineView, at: Line, who: Who, *, empties: bool) -> None:
        """From tank to tank. Into the fresh tank is using it again; out of the fresh tank it is foreign water."""
        to = self._tank(line.get("to"))
        if to == tank:
            return
        if self._fresh(tank):
            self._add(Put(to, FOREIGN, at, self.gauges.known(line.get("amount"), at, who, what=FOREIGN)))
            return
        draw = self._draw(tank, line, at, who, AGAIN if self._fresh(to) else MOVED, empties=empties)
        self._add(Put(to, "", at, draw.known, draw))

    def _draw(self, tank: str, line: LineView, at: Line, who: Who, way: str, *, empties: bool = False) -> Draw:
        known = self.gauges.known(line.get("amount"), at, who, what=_WHAT[way])
        draw = Draw(tank, way, at, str(line.get("place") or line.get("reached") or ""), known, empties)
        self._add(draw)
        return draw

    def _escape(self, line: LineView, at: Line, who: Who, stops: Mapping[str, Stop]) -> None:
        """What got away before it was captured belongs to the stop; out of a tank it is a draw on all in it."""
        stop = self._near(stops)
        if stop is not None:
            stop.escape_lines.append(at)
        if without_value(line.get("from_tank")) is None:
            self._draw(self._tank(line.get("from_tank")), line, at, who, ESCAPED)
        else:
            gone = self.line.escapes.setdefault(at.record, []) if stop is None else stop.escapes
            gone.append(self.gauges.known(line.get("amount"), at, who, what=_WHAT[ESCAPED]))


def _same(last: Look, shows: str, at: Line, who: Who) -> bool:
    return last.shows == shows and last.at.record == at.record and len({last.moment, who.at} - {""}) < 2


def _sees_empty(event: Event | None) -> TypeGuard[Look]:
    """Whether an event is a look at an empty tank: nothing is left in it, and that is exact."""
    return isinstance(event, Look) and event.shows == "empty"


_WHAT: Mapping[str, str] = {
    HANDED: "our volume",
    AGAIN: "water used again",
    MOVED: "water moved",
    ESCAPED: "what got away",
    SOLIDS: "solids taken out",
}
