"""What the calculator says of a book, by names that do not depend on the order in which the records came."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from compliance.records.state import State
from compliance.water.fleets import sharing_tanks
from compliance.water.lines import Builder
from compliance.water.loadfacts import load_facts
from compliance.water.methods import Gauges
from compliance.water.results import LoadFacts, Night, RunFacts
from compliance.water.rig import RigWater, rig_water
from compliance.water.runfacts import run_facts
from compliance.water.sites import Sites
from compliance.water.stopfacts import stop_facts
from compliance.water.volume import Figure, Unknown, hundredths


def hundredths_of(figure: Figure) -> int | None:
    """A figure as it is kept, None for a bound or no figure."""
    return None if isinstance(figure, Unknown) or figure.best is None else hundredths(figure.best)


def names(night: Night) -> dict[str, str]:
    """Refs of runs, stops and loads -> the same by the record of the run; refs count the runs of a day as they came."""
    found = {run.ref: record for record, run in night.runs.items()}
    for record, run in night.runs.items():
        found |= {stop.ref: f"{record}.s{stop.number}" for stop in run.stops}
    for load in night.loads:
        ref, _, number = load.rpartition(".l")
        found[load] = f"{found[ref]}.l{number}"
    return found


def told(night: Night) -> Any:
    """All that is said, in a form that can be compared."""
    return _told(night, names(night))


def _told(what: Any, renamed: Mapping[str, str]) -> Any:
    if is_dataclass(what) and not isinstance(what, type):
        return type(what).__name__, [_told(getattr(what, field.name), renamed) for field in fields(what)]
    if isinstance(what, Mapping):
        return {_told(key, renamed): _told(value, renamed) for key, value in what.items()}
    if isinstance(what, tuple):
        return [_told(one, renamed) for one in what]
    return renamed.get(what, what) if isinstance(what, str) else what


_OF_RUN = ("used_again", "led_away", "let_go", "escaped", "aboard_before", "aboard_after", "not_explained", "applied")
_OF_STOP = ("area", "used_again", "led_away", "escaped", "not_explained")
_OF_LOAD = ("opening", "closing", "foreign", "agent", "handed_over", "used_again", "otherwise_out", "not_explained",
            "applied", "moved_in")  # fmt: skip


def figures(night: Night) -> dict[str, Figure]:
    """Every figure by its name: 'run/used', 'run/s2/captured', 'run.l1/closing', 'run/7/handed over'."""
    renamed = names(night)
    found: dict[str, Figure] = {}
    for record, run in night.runs.items():
        found |= {f"{record}/{name}": getattr(run, name) for name in _OF_RUN}
        found |= {f"{record}/used": run.used.figure, f"{record}/captured": run.captured.figure}
        for stop in run.stops:
            here = f"{record}/s{stop.number}"
            found |= {f"{here}/{name}": getattr(stop, name) for name in _OF_STOP}
            found |= {f"{here}/used": stop.used.figure, f"{here}/captured": stop.captured.figure}
    for load in night.loads.values():
        here = renamed[load.name]
        found |= {f"{here}/{name}": getattr(load, name) for name in _OF_LOAD}
        found[f"{here}/captured"] = load.captured.figure
        found |= {f"{draw.line.record}/{draw.line.line}/{draw.way}": draw.known.figure for draw in load.draws}
    return found


def uncut(state: State) -> tuple[dict[str, RunFacts], dict[str, LoadFacts]]:
    """Runs and loads as they come out when a rig's history is worked out in one piece."""
    runs: dict[str, RunFacts] = {}
    loads: dict[str, LoadFacts] = {}
    for rig in waters(state):
        stops = {ref: stop_facts(rig, stop) for ref, stop in rig.timeline.stops.items()}
        loads |= {load.name: load_facts(rig, load, stops) for load in rig.loads}
        runs |= {run.record: run_facts(rig, run, stops) for run in rig.timeline.runs}
    return runs, loads


def waters(state: State) -> list[RigWater]:
    """What the calculator works out inside, rig by rig in one piece."""
    gauges = Gauges(state.registers, state.unit)
    sites = Sites(state)
    found = []
    for runs in sharing_tanks(state):
        builder = Builder(gauges)
        for run in runs:
            builder.take(run)
        found.append(rig_water(state.registers, gauges, builder.cut(runs), sites))
    return found
