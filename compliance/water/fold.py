"""The calculator: from what the records say to where every gallon went.

`calculate` works rig by rig (rigs that share a tank together): timeline, intervals of each tank, use, division,
mixing, then the facts that rules and pages read. It is pure, so version 1 of a figure is this function over the
records that were there then.
"""

from __future__ import annotations

from compliance.records.state import State
from compliance.water.lines import timelines
from compliance.water.loadfacts import load_facts
from compliance.water.methods import Gauges
from compliance.water.results import LoadFacts, Night, RunFacts
from compliance.water.rig import rig_water
from compliance.water.runfacts import cancelled_facts, run_facts
from compliance.water.sites import Sites
from compliance.water.stopfacts import stop_facts
from compliance.water.window import Window, sharing_tanks


def calculate(state: State, only: Window | None = None) -> Night:
    """Every run and load of the state, or those of one window, with each figure's way.

    Cancelled runs appear with no water.
    """
    gauges = Gauges(state.registers, state.unit)
    windows = [Window(tuple(runs)) for runs in sharing_tanks(state)] if only is None else [only]
    sites = Sites(state)
    runs: dict[str, RunFacts] = {}
    loads: dict[str, LoadFacts] = {}
    for one in windows:
        going = [run for run in one.runs if run.cancelled is None]
        for timeline in timelines(gauges, going, one.before):
            rig = rig_water(state.registers, gauges, timeline, sites)
            told = {ref: stop_facts(rig, stop) for ref, stop in timeline.stops.items()}
            loads.update((load.name, load_facts(rig, load, told)) for load in rig.loads)
            runs.update((run.record, run_facts(rig, run, told)) for run in timeline.runs)
    every = state.runs if only is None else only.runs
    runs |= {run.record: cancelled_facts(run) for run in every if run.cancelled is not None}
    return Night({run.record: runs[run.record] for run in every}, loads, tuple(dict.fromkeys(gauges.problems)))
