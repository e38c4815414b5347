"""Whose use a meter at the site shows: it is on no rig, and whoever draws from its bib draws through it.

Where stops of several rigs that have no use of their own were worked at one site on one day, what went through between
two looks is the site's: nothing says how much of it went down which hose. Where one rig alone was there it is its own.
A meter that the register puts neither on a rig nor at a site may be either: while only one rig was there it makes no
difference, and with two nobody knows whose water it counted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any, Final

from compliance.records.answer import NOT_APPLICABLE, without_value
from compliance.records.registers import Registers
from compliance.records.state import State
from compliance.records.views import RunView
from compliance.water.named import supply_readings
from compliance.water.results import Line
from compliance.water.timeline import Stop
from compliance.water.volume import Unknown

Spot = tuple[str, str]
"""The key of a site, and the day to which a run belongs."""

OF_THE_SITE: Final = Unknown("which of the rigs at the site drew how much was not recorded", "not known")
"""Why a rig has no use of its own where a meter at the site counted its water and another rig's."""

OF_NOBODY: Final = Unknown(
    "the register puts the meter on no rig and at no site, and several rigs were there", "not known"
)
"""Why nobody has what such a meter counted."""


class Sites:
    """Which stops drew at a site on a day without a use of their own. Nothing is looked at until somebody asks."""

    def __init__(self, state: State) -> None:
        self._state = state

    def drew(self, stop: Stop) -> tuple[Line, ...]:
        """The lines of all stops that drew where and when this one did, where another rig's are among them; else none.

        In the order of the runs, this stop's own among them where it has no use of its own.
        """
        registers = self._state.registers
        found = self._drew.get(spot_of(registers, stop), ())
        own = _rig(registers, stop.run)
        return tuple(line for _, line in found) if any(rig != own for rig, _ in found) else ()

    @cached_property
    def _drew(self) -> Mapping[Spot, Sequence[tuple[str, Line]]]:
        registers = self._state.registers
        found: dict[Spot, list[tuple[str, Line]]] = defaultdict(list)
        for run in self._state.runs:
            if run.cancelled is not None or _own(registers, run.get("used")) or _reads_its_own(registers, run):
                continue
            for line in run.lines:
                if line.kind != "stop" or without_value(line.get("not_worked")) is None:
                    continue
                used = line.get("used")
                if used != NOT_APPLICABLE and not _own(registers, used):
                    spot = registers.key("site", str(line.get("site"))), run.day
                    found[spot].append((_rig(registers, run), Line(run.record, line.n)))
        return found


def spot_of(registers: Registers, stop: Stop) -> Spot:
    """The site and day of a stop; no stop is without a site."""
    return registers.key("site", str(stop.first("site"))), stop.run.day


def of_no_rig(registers: Registers, meter: str) -> bool:
    """Whether a supply meter is on no rig, by its register: the client's, or a hydrant's."""
    entry = registers.find("instrument", meter) or {}
    return entry.get("measures") == "supply" and without_value(entry.get("rig")) is not None


def stands_at(registers: Registers, meter: str) -> str:
    """The key of the site at which a meter on no rig stands, '' when its register does not say."""
    site = (registers.find("instrument", meter) or {}).get("site")
    return registers.key("site", str(site)) if without_value(site) is None and of_no_rig(registers, meter) else ""


def meter_of_no_rig(registers: Registers, amount: Any) -> str:
    """The key of the meter on no rig by which an amount was measured, '' where it was measured otherwise."""
    if not isinstance(amount, Mapping) or amount.get("method") != "meter":
        return ""
    meter = str(amount.get("meter"))
    return registers.key("instrument", meter) if of_no_rig(registers, meter) else ""


def _own(registers: Registers, used: Any) -> bool:
    """Whether a figure for used is there that can only be of whoever gave it."""
    return without_value(used) is None and not meter_of_no_rig(registers, used)


def _rig(registers: Registers, run: RunView) -> str:
    return registers.key("rig", str(run.get("rig")))


def _reads_its_own(registers: Registers, run: RunView) -> bool:
    """Whether a run has readings of a supply meter that is on a rig: they say what it drew."""
    return any(not of_no_rig(registers, meter) for (_, meter), _ in supply_readings(registers, run).values())
