"""What the office says of several hand-ins: that two are of one outing; in which order runs came to a shared tank."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import Any, Final

from compliance.intake.checked import Bench, Checked, bench
from compliance.intake.frame import finished, named, reason, strange_keys
from compliance.intake.near import did_you_mean
from compliance.intake.spots import run_named
from compliance.intake.text import shown, words
from compliance.intake.values import MOST_ITEMS
from compliance.records import kinds
from compliance.records.answer import without_value
from compliance.records.fields import GROUPS, WHERE_WORDS
from compliance.records.outing import AMOUNTS, join
from compliance.records.state import State
from compliance.records.views import Outing, RunView

_TANKS: Final = ("tank", "to", "from_tank", "of")
"""Fields of a line that name a tank."""


def check_outing(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """Two hand-ins of one outing: {first, second, why, who}, runs by name, in the order in which they went.

    The notes tell what the two say differently, and which of it stands: see `records.outing`.
    """
    work = bench(state, now)
    strange_keys(raw, ("first", "second", "why"), kinds.SAME_OUTING, where, work)
    first, second = (run_named(raw.get(key), state, f"{where}, {key}", work) for key in ("first", "second"))
    why = _why(raw, where, work)
    payload = {"first": "", "second": "", "why": why, "who": named(raw, where, work, who)}
    known = False
    if first is not None and second is not None:
        known = first.record == second.record and len(first.parts) > 1 and _two_names(raw, first)
        if not known:
            _fit(first, second, state, where, work)
        payload |= {"first": first.handed_in_as[-1].record, "second": second.handed_in_as[0].record}
        if not known and not work.problems:
            work.notes += _differences(first, second, payload, now)
    return finished(kinds.SAME_OUTING, payload, raw, where, work, now, known=known)


def _two_names(raw: Mapping[str, Any], run: RunView) -> bool:
    """Whether the two names given are of two hand-ins of a joined run, not one name twice."""
    names = [(words(raw.get(key)) or "").strip() for key in ("first", "second")]
    records = [next((one.record for one in run.handed_in_as if n in (one.ref, one.record)), n) for n in names]
    return records[0] != records[1]


def _fit(first: RunView, second: RunView, state: State, where: str, work: Bench) -> None:
    """What keeps two hand-ins from being one outing."""
    if first.record == second.record:
        work.problem(f"{first.ref} is not joined to itself", f"{where}, second", "name two hand-ins")
        return
    for run in (first, second):
        if run.cancelled is not None:
            work.problem(f"{run.ref} is cancelled", where, "name a run that counts")
    rigs = [state.registers.name("rig", str(run.get("rig"))) for run in (first, second)]
    if state.registers.key("rig", rigs[0]) != state.registers.key("rig", rigs[1]):
        fault = f"{first.ref} is of {rigs[0]!r}, {second.ref} of {rigs[1]!r}"
        work.problem(fault, where, "an outing is of one rig; two rigs at one site make two runs of one job")
    if abs((date.fromisoformat(second.day) - date.fromisoformat(first.day)).days) > 1:
        fault = f"{first.ref} and {second.ref} are more than a day apart"
        work.problem(fault, where, "an outing is from yard to hand-in; several nights make one job")
    place = first.get("where")
    handed_over = any(line.kind == "hand over" for line in first.lines)
    if without_value(place) is None and place not in WHERE_WORDS and not handed_over and place != second.get("where"):
        fault = f"{first.ref} says that its water went to {place!r}, and no line of it says when"
        step = "complete it by a 'hand over' line first (add_after): where the outing's water is, the second says"
        work.problem(fault, where, step)
    began = _began(first, second)
    if began:
        work.notes.append(f"{where}: {began}; look whether they are the right way round")


def _began(first: RunView, second: RunView) -> str:
    """That the second of two hand-ins began before the first, where their days or both their starts say so."""
    if second.day < first.day:
        return f"{second.ref} is of the day before {first.ref}"
    starts = [run.get("start") for run in (first, second)]
    if second.day != first.day or not all(isinstance(start, str) and "T" in start for start in starts):
        return ""
    earlier = datetime.fromisoformat(str(starts[1])) < datetime.fromisoformat(str(starts[0]))
    return f"{second.ref} began before {first.ref}" if earlier else ""


def _differences(first: RunView, second: RunView, payload: Mapping[str, Any], now: datetime) -> Iterator[str]:
    """What the two say differently, one sentence a field."""
    outing = Outing("", payload["first"], payload["second"], payload["why"], payload["who"], now.isoformat())
    run = join([(first, None), (second, outing)])
    told = [change for change in run.changes if change.kind == kinds.SAME_OUTING and change.record == ""]
    for n, name in dict.fromkeys((change.line, change.field) for change in told):
        line = run.line(n)
        group = "run" if line is None else line.kind
        label = next((row.en for row in GROUPS[group] if row.name == name), name) + (f", line {n}" if n else "")
        said = [_brief(change.was) for change in told if (change.line, change.field) == (n, name)]
        now_ = run.get(name) if line is None else line.get(name)
        if line is None and name in AMOUNTS and now_ is not None:
            continue  # the second goes on where the first ends: that is no difference
        if now_ is None and name in AMOUNTS:
            yield f"{label}: {' or '.join(said)}; neither stands until it is completed for the whole outing"
        elif now_ is None:
            yield f"{label}: {' or '.join(said)} is not that of the outing"
        else:
            yield f"{label}: {_brief(now_)} stands; also said: {', '.join(said)}"
    yield from _said_once(first, second)


def _said_once(first: RunView, second: RunView) -> Iterator[str]:
    """The amounts that only one of two hand-ins says, though the other washed too: they count for both."""
    for row in (row for row in GROUPS["run"] if row.name in AMOUNTS):
        for one, other in ((first, second), (second, first)):
            washed = any(line.kind == "stop" and line.get("not_worked") is None for line in other.lines)
            if without_value(one.get(row.name)) is None and other.get(row.name) is None and washed:
                said = _brief(one.get(row.name))
                yield (
                    f"{row.en}: only {one.ref} says it, {said}, and it stands for the whole outing; "
                    f"if it is of that half alone, correct it"
                )


def _brief(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {part}" for key, part in value.items())
    return shown(value)


def check_order(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """In which order runs came to a tank that several rigs share: {tank, runs [name], why, who}."""
    work = bench(state, now)
    strange_keys(raw, ("tank", "runs", "why"), kinds.ORDER, where, work)
    name = (words(raw.get("tank")) or "").strip()
    tank = state.registers.find("tank", name)
    if tank is None:
        tanks = [str(entry["name"]) for entry in state.registers.all("tank")]
        step = did_you_mean(name, tanks, "`washwater registers tank` shows them")
        work.problem(f"no tank is called {shown(name)}", f"{where}, tank", step)
    runs = _runs(raw.get("runs"), state, where, work)
    payload = {
        "tank": name if tank is None else str(tank["name"]),
        "runs": [run.record for run in runs],
        "why": _why(raw, where, work),
        "who": named(raw, where, work, who),
    }
    if tank is not None:
        key = state.registers.key("tank", name)
        work.notes += [
            f"{where}: {run.ref} names {tank['name']!r} on no line"
            for run in runs
            if not any(state.registers.key("tank", one) == key for one in _tanks_of(run))
        ]
        last = next((o for o in reversed(state.orders) if state.registers.key("tank", o.tank) == key), None)
        known = last is not None and list(last.runs) == payload["runs"]
        return finished(kinds.ORDER, payload, raw, where, work, now, known=known)
    return finished(kinds.ORDER, payload, raw, where, work, now)


def _runs(raw: Any, state: State, where: str, work: Bench) -> list[RunView]:
    if not isinstance(raw, list | tuple) or len(raw) > MOST_ITEMS:
        fault = "it is not said which runs" if raw is None else f"'runs' is {shown(raw)}, not a list of runs"
        work.problem(fault, f"{where}, runs", 'write runs = ["2026-09-14-big-blue", "2026-09-14-little-heron"]')
        return []
    found = [run for name in raw if (run := run_named(name, state, f"{where}, runs", work)) is not None]
    twice = next((run.ref for at, run in enumerate(found) if run.record in [one.record for one in found[:at]]), None)
    if twice is not None:
        work.problem(f"{twice} is named twice", f"{where}, runs", "name each run once, in the order in which it came")
    elif len(raw) < 2:
        work.problem("an order takes two runs or more", f"{where}, runs", "name them in the order in which they came")
    return found


def _tanks_of(run: RunView) -> Iterator[str]:
    for line in run.lines:
        yield from (str(line.get(name)) for name in _TANKS if without_value(line.get(name)) is None)
        yield from (str(v["tank"]) for v in line.fields.values() if isinstance(v, Mapping) and "tank" in v)


def _why(raw: Mapping[str, Any], where: str, work: Bench) -> str:
    why = reason(raw, "why", where, work)
    if not why:
        work.problem("it is not said why", f"{where}, why", "say how it is known")
    return why
