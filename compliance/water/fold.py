"""The calculator: from what the records say to where every gallon went.

`calculate` works rig by rig: timeline, intervals of each tank, use, division, mixing, then the facts that rules and
pages read. It is pure, so version 1 of a figure is this function over the records that were there then.
"""

from __future__ import annotations

from compliance.records.state import State
from compliance.water.loadfacts import load_facts
from compliance.water.methods import Gauges
from compliance.water.results import LoadFacts, Night, RunFacts
from compliance.water.rig import rig_water
from compliance.water.runfacts import cancelled_facts, run_facts
from compliance.water.stopfacts import stop_facts
from compliance.water.timeline import timelines


def calculate(state: State) -> Night:
    """Every run and load of the state, with each figure's way. Cancelled runs appear with no water."""
    gauges = Gauges(state.registers, state.unit)
    runs: dict[str, RunFacts] = {}
    loads: dict[str, LoadFacts] = {}
    for timeline in timelines(state, gauges):
        rig = rig_water(state, gauges, timeline)
        told = {ref: stop_facts(rig, stop) for ref, stop in timeline.stops.items()}
        loads |= {load.name: load_facts(rig, load, told) for load in rig.loads}
        runs |= {run.record: run_facts(rig, run, told) for run in timeline.runs}
    for run in state.runs:
        if run.cancelled is not None:
            runs[run.record] = cancelled_facts(run)
    problems = tuple(dict.fromkeys(gauges.problems))
    return Night({run.record: runs[run.record] for run in state.runs}, loads, problems)
