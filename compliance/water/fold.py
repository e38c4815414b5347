"""The calculator: from what the records say to where every gallon went.

`calculate` works rig by rig (rigs that share a tank together): timeline, intervals of each tank, use, division,
mixing, then the facts that rules and pages read. It is pure, so version 1 of a figure is this function over the
records that were there then.
"""

from __future__ import annotations

from collections.abc import Iterable

from compliance.records.state import RunView, State, folded
from compliance.water.lines import tanks_named, timelines
from compliance.water.loadfacts import load_facts
from compliance.water.methods import Gauges
from compliance.water.results import LoadFacts, Night, RunFacts
from compliance.water.rig import rig_water
from compliance.water.runfacts import cancelled_facts, run_facts
from compliance.water.stopfacts import stop_facts


def calculate(state: State) -> Night:
    """Every run and load of the state, with each figure's way. Cancelled runs appear with no water."""
    gauges = Gauges(state.registers, state.unit)
    runs: dict[str, RunFacts] = {}
    loads: dict[str, LoadFacts] = {}
    for together in sharing_tanks(state, [run for run in state.runs if run.cancelled is None]):
        for timeline in timelines(gauges, together):
            rig = rig_water(state.registers, gauges, timeline)
            told = {ref: stop_facts(rig, stop) for ref, stop in timeline.stops.items()}
            loads.update((load.name, load_facts(rig, load, told)) for load in rig.loads)
            runs.update((run.record, run_facts(rig, run, told)) for run in timeline.runs)
    for run in state.runs:
        if run.cancelled is not None:
            runs[run.record] = cancelled_facts(run)
    problems = tuple(dict.fromkeys(gauges.problems))
    return Night({run.record: runs[run.record] for run in state.runs}, loads, problems)


def sharing_tanks(state: State, runs: Iterable[RunView]) -> list[list[RunView]]:
    """Runs by rig; rigs that name one tank stand together, for their water meets in it. Runs keep their order."""
    registers = state.registers
    head: dict[str, str] = {}

    def find(key: str) -> str:
        while head.setdefault(key, key) != key:
            key = head[key]
        return key

    together: list[tuple[RunView, str]] = []
    for run in runs:
        rig = registers.key("rig", str(run.get("rig")))
        together.append((run, rig))
        find(rig)
        for name in tanks_named(run):
            tank = registers.find("tank", name)
            owner = None if tank is None else tank.get("rig")
            if isinstance(owner, str) and folded(owner) != rig:
                head[find(registers.key("rig", owner))] = find(rig)
    groups: dict[str, list[RunView]] = {}
    for run, rig in together:
        groups.setdefault(find(rig), []).append(run)
    return list(groups.values())
