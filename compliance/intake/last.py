"""The last reading of every tank and instrument, in words: shown only after a new figure is in.

A register stands where it was read last. A level does not: water that comes in or leaves makes a look at a tank stale,
and a stale look says nothing about what the tank shows now.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, Final

from compliance.records.answer import WRITTEN
from compliance.records.fields import WHERE_WORDS
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quantity import parse, stored
from compliance.records.registers import Registers
from compliance.records.state import State
from compliance.records.views import RunView

_ENDS = {"meter": ("meter", "end"), "mark": ("tank", "after")}
_OUT: Final = ("hand over", "use again", "move", "solids", "let go")
"""Lines that take water out of a tank; an escape does where it says out of which."""
_IN: Final = ("foreign water", "agent in tank")

Moved = Iterator[tuple[str, str | None]]
"""(name of a tank or instrument, what it shows now); None where it shows another level, unread."""


def last_readings(state: State) -> dict[str, str]:
    """Folded name of a tank or instrument -> what it showed last and on which day, where that still says something."""
    found: dict[str, str] = {}
    for run in state.runs:
        if run.cancelled is None:
            _follow(found, _of_run(run, state.registers), run.day)
    return found


def going_on(
    last: Mapping[str, str], lines: Iterable[Mapping[str, Any]], rig: str, day: str, registers: Registers
) -> dict[str, str]:
    """The last readings after some lines of a night, as they are typed: 'line' with the kind, and its fields."""
    found = dict(last)
    for line in lines:
        _follow(found, _of_line(str(line["line"]), line, rig, registers), day)
    return found


def _follow(found: dict[str, str], moves: Moved, day: str) -> None:
    for name, shows in moves:
        if shows is None:
            found.pop(folded(name), None)
        elif shows not in WRITTEN:
            found[folded(name)] = f"{shows.removesuffix(' count')} ({day})"


def _of_run(run: RunView, registers: Registers) -> Moved:
    """Line by line; the run's own readings span them, so they come last, and then where the water went."""
    rig, where = str(run.get("rig")), run.get("where")
    for line in run.lines:
        yield from _of_line(line.kind, line.fields, rig, registers)
    drawn = any(line.kind in _OUT for line in run.lines)
    for value in run.fields.values():
        for name, shows in _measured(value):
            if registers.find("tank", name) is None or not drawn:
                yield name, shows
    if where not in WHERE_WORDS and not any(line.kind == "hand over" for line in run.lines):
        yield from _stale(rig, "recovery", registers)


def _of_line(kind: str, fields: Mapping[str, Any], rig: str, registers: Registers) -> Moved:
    tank = str(fields.get("tank") or next((t["name"] for t in registers.tanks(rig, "recovery")), ""))
    match kind:
        case "reading":
            if isinstance(fields.get("shows"), str):
                yield str(fields.get("of")), str(fields.get("shows"))
        case "stop" if fields.get("not_worked") is None:
            yield from _stale(rig, "recovery", registers)
        case "tank full":
            yield tank, "full"
        case "take on":
            yield from _stale(rig, "fresh", registers)
        case "escape" if fields.get("from_tank"):
            yield str(fields.get("from_tank")), None
        case _ if kind in _OUT or kind in _IN:
            yield tank, None
    for value in fields.values():
        yield from _measured(value)
    if kind in ("hand over", "move") and isinstance(fields.get("tank_after"), str):
        yield tank, str(fields.get("tank_after"))
    if kind == "move":
        yield str(fields.get("to")), None


def _stale(rig: str, role: str, registers: Registers) -> Moved:
    for tank in registers.tanks(rig, role):
        yield str(tank["name"]), None


def _measured(value: Any) -> Iterator[tuple[str, str]]:
    if isinstance(value, Mapping) and value.get("method") in _ENDS:
        of, end = _ENDS[value["method"]]
        if isinstance(value.get(end), str):
            yield str(value[of]), str(value[end])


def went_on(registers: Registers, name: str, then: str, now: str) -> Decimal | None:
    """How far a register went between two of its figures; less than zero where it can only have run backwards.

    then, now: as typed or in the words of `last_readings`. None where either is no plain figure, and for a scale, which
    goes up and down.
    """
    from compliance.water.meters import turned_over

    first, second = (parse(text.partition(" ")[0], unit="count", where="") for text in (then, now))
    if isinstance(first, Problem) or isinstance(second, Problem) or first.point is None or second.point is None:
        return None
    entry = registers.find("instrument", name) or {}
    if entry.get("kind", "meter") != "meter":
        return None
    went = second.point - first.point
    turn = entry.get("rolls_over_at")
    if went >= 0 or turn is None or turn in WRITTEN:
        return went
    full = stored(turn).point
    return went if full is None or not turned_over(first.point, second.point, full) else went + full
