"""What the lines of a run name: tanks, its rig's own and others, and supply meters with what they showed."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from compliance.records.answer import without_value
from compliance.records.fields import GROUPS, LINE_KINDS, REF
from compliance.records.quantity import stored
from compliance.records.registers import Registers
from compliance.records.views import Fields, RunView
from compliance.water.timeline import Meter
from compliance.water.volume import ZERO

UNREGISTERED: Final = "on no register"
"""The role of the tank that a rig without one on the register is taken to have."""


def own_tanks(registers: Registers, rig: str) -> Mapping[str, Fields]:
    """The tanks of a rig by key, recovery tanks first; at least one, which is on no register then."""
    own = [*registers.tanks(rig, "recovery"), *registers.tanks(rig, "holding")]
    return {registers.key("tank", str(entry["name"])): entry for entry in own} or {
        f"recovery tank of {registers.key('rig', rig)}": {"name": "recovery tank", "rig": rig, "role": UNREGISTERED}
    }


def supply_readings(registers: Registers, run: RunView) -> dict[str, tuple[Meter, Decimal]]:
    """The lines of a run that are readings of a supply meter: line number -> the meter and what it showed."""
    found = {}
    for line in run.lines:
        shows = line.get("shows")
        if line.kind == "reading" and without_value(shows) is None:
            entry = registers.instrument_read(line.get("of"))
            if entry is not None and entry.get("measures") == "supply":
                meter = (registers.key("rig", str(run.get("rig"))), registers.key("instrument", str(line.get("of"))))
                found[line.n] = (meter, stored(str(shows)).low or ZERO)
    return found


def tanks_named(run: RunView) -> set[str]:
    """The names that the lines of a run give to tanks; a reading may give that of an instrument."""
    names: set[Any] = set()
    for line in run.lines:
        names.update(line.fields.get(field) for field in _TANK_FIELDS.get(line.kind, ()))
        for measure in (line.fields.get("amount"), line.fields.get("recovered")):
            if isinstance(measure, Mapping):
                names.add(measure.get("tank"))
    return {name for name in names if isinstance(name, str)}


_TANK_FIELDS: Final[Mapping[str, tuple[str, ...]]] = {
    kind: tuple(row.name for row in GROUPS[kind] if row.type == REF and "tank" in row.of.split(" or "))
    for kind in LINE_KINDS
}
"""Kind of line -> its fields that name a tank, or may."""
