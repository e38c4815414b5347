"""What each register showed, in order: over the lines of a run, its measures, and the rig's run before."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from compliance.records.answer import without_value
from compliance.records.names import folded
from compliance.records.quantity import stored
from compliance.rules.scene import Scene
from compliance.rules.subjects import Run
from compliance.water.meters import turned_over


def backwards(scene: Scene, run: Run) -> Iterator[tuple[str, Decimal, Decimal, str]]:
    """(meter, figure before, lower figure after, line) wherever a register went down without rolling over."""
    for name, shown in _registers(scene, run).items():
        entry = scene.entry("instrument", name) or {}
        at = entry.get("rolls_over_at")
        turn = stored(_counted(at)).point if without_value(at) is None else None
        last = next((seen for earlier in scene.before(run) if (seen := _last_shown(scene, earlier, name))), None)
        for n, value in shown:
            if (
                last is not None
                and value is not None
                and value < last
                and (turn is None or not turned_over(last, value, turn))
            ):
                yield str(entry.get("name", name)), last, value, n
            last = value


def moved_since(scene: Scene, run: Run) -> Iterator[tuple[str, Decimal, Decimal, str, str]]:
    """(meter, figure at the end of the run before that has one, higher figure now, that run, line) of each meter."""
    unread = {folded(str(one["meter"])) for one in _meters(run.view.fields) if without_value(one["start"]) is not None}
    for name, shown in _registers(scene, run).items():
        if folded(name) in unread:
            continue  # what it showed first nobody knows
        n, first = shown[0]
        for earlier in scene.before(run):
            last = _last_shown(scene, earlier, name)
            if last is not None:
                if first is not None and first > last:
                    yield name, last, first, earlier.ref, n
                break


def _last_shown(scene: Scene, run: Run, name: str) -> Decimal | None:
    shown = _registers(scene, run).get(name)
    return shown[-1][1] if shown else None


def _registers(scene: Scene, run: Run) -> dict[str, list[tuple[str, Decimal | None]]]:
    """What each meter showed on a run, in order, as (line, figure); a None stands where the meter was changed."""
    if run.view.record not in scene.shown:
        scene.shown[run.view.record] = _read(scene, run)
    return scene.shown[run.view.record]


def _read(scene: Scene, run: Run) -> dict[str, list[tuple[str, Decimal | None]]]:
    found: dict[str, list[tuple[str, Decimal | None]]] = {}

    def saw(name: Any, n: str, *values: Any) -> None:
        entry = scene.entry("instrument", name)
        key = str(name) if entry is None else str(entry["name"])
        for value in values:
            if value is None or without_value(value) is None:
                found.setdefault(key, []).append((n, None if value is None else stored(_counted(value)).low))

    ends = []
    for measure in _meters(run.view.fields):
        saw(measure["meter"], "", measure["start"])
        ends += _looks_after(measure)
    for line in run.view.lines:
        if line.kind == "reading" and scene.state.registers.instrument_read(line.get("of")) is not None:
            saw(line.get("of"), line.n, line.get("shows") or "not read")
        for measure in _meters(line.fields):
            for name, shows in ((measure["meter"], measure["start"]), *_looks_after(measure)):
                saw(name, line.n, shows)
    for name, shows in ends:
        saw(name, "", shows)
    return found


def _meters(fields: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return [value for value in fields.values() if isinstance(value, dict) and value.get("method") == "meter"]


def _looks_after(measure: Mapping[str, Any]) -> list[tuple[str, Any]]:
    """The looks of a measure after the work, each at its meter; a change of meter, the None, falls before them."""
    name, new = measure["meter"], measure.get("new_meter", measure["meter"])
    if "new_start" not in measure:
        return [(name, measure["end"])]
    return [(name, measure["old_end"]), (new, None), (new, measure["new_start"]), (new, measure["end"])]


def _counted(value: Any) -> str:
    """A register's figure as a stored quantity: a measure keeps the bare number."""
    text = str(value)
    return f"{text} count" if text.replace(".", "", 1).isdigit() else text
