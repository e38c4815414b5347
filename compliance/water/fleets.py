"""Which runs have to be worked out together: those of rigs that name one tank, for their water meets in it."""

from __future__ import annotations

from compliance.records.registers import Registers
from compliance.records.state import State
from compliance.records.views import RunView
from compliance.water.named import tanks_named


def sharing_tanks(state: State) -> list[list[RunView]]:
    """The runs that were not cancelled, by rig; rigs that name one tank together, in the order in which they came."""
    registers = state.registers
    head: dict[str, str] = {}

    def find(key: str) -> str:
        while head.setdefault(key, key) != key:
            key = head[key]
        return key

    runs = [(run, registers.key("rig", str(run.get("rig")))) for run in state.runs if run.cancelled is None]
    for run, rig in runs:
        for name in tanks_named(run):
            owner = _owner(registers, name)
            if owner is not None and find(owner) != find(rig):
                head[find(owner)] = find(rig)
    groups: dict[str, list[RunView]] = {}
    for run, rig in runs:
        groups.setdefault(find(rig), []).append(run)
    return [_as_ordered(state, group) for group in groups.values()]


def _owner(registers: Registers, tank: str) -> str | None:
    """The key of the rig to which the register gives a tank."""
    owner = (registers.find("tank", tank) or {}).get("rig")
    return None if owner is None else registers.key("rig", str(owner))


def _as_ordered(state: State, runs: list[RunView]) -> list[RunView]:
    """Runs in the order in which somebody says that they came to a tank; else by day and start."""
    for order in state.orders:
        places = {run.record: i for i, run in enumerate(runs)}
        said = [record for record in order.runs if record in places]
        moved = dict(zip(sorted(places[record] for record in said), said, strict=True))
        runs = [runs[places[moved[i]]] if i in moved else run for i, run in enumerate(runs)]
    return runs
