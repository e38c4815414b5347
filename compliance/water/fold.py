"""The calculator: from what the records say to where every gallon went.

`calculate` works rig by rig (rigs that share a tank together): timeline, intervals of each tank, use, division,
mixing, then the facts that rules and pages read. It is pure, so version 1 of a figure is this function over the
records that were there then.
"""

from __future__ import annotations

from compliance.records.state import State
from compliance.water.fleets import sharing_tanks
from compliance.water.lines import timelines
from compliance.water.loadfacts import load_facts
from compliance.water.methods import Gauges
from compliance.water.results import LoadFacts, Night, RunFacts
from compliance.water.rig import rig_water
from compliance.water.runfacts import cancelled_facts, run_facts
from compliance.water.sites import Sites
from compliance.water.stopfacts import stop_facts


def calculate(state: State) -> Night:
    """Every run and load of the state, with each figure's way; volumes in the book's unit.

    Cancelled runs appear with no water. Nothing is raised: what cannot be worked out is an `Unknown` with its reason,
    and readings out of order are among the problems of the answer.
    """
    gauges = Gauges(state.registers, state.unit)
    sites = Sites(state)
    runs: dict[str, RunFacts] = {}
    loads: dict[str, LoadFacts] = {}
    for fleet in sharing_tanks(state):
        for timeline in timelines(gauges, fleet):
            rig = rig_water(state.registers, gauges, timeline, sites)
            told = {ref: stop_facts(rig, stop) for ref, stop in timeline.stops.items()}
            loads.update((load.name, load_facts(rig, load, told)) for load in rig.loads)
            runs.update((run.record, run_facts(rig, run, told)) for run in timeline.runs)
    runs |= {run.record: cancelled_facts(run) for run in state.runs if run.cancelled is not None}
    return Night({run.record: runs[run.record] for run in state.runs}, loads, tuple(dict.fromkeys(gauges.problems)))
