"""The last reading of every tank and instrument, in words: shown only after a new figure is in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from compliance.records.answer import WRITTEN
from compliance.records.state import RunView, State, folded

_ENDS = {"meter": ("meter", "end"), "mark": ("tank", "after")}


def last_readings(state: State) -> dict[str, str]:
    """Folded name of a tank or instrument -> what it showed last and on which day."""
    found: dict[str, str] = {}
    for run in state.runs:
        if run.cancelled is None:
            for name, shows in _looks(run):
                if shows not in WRITTEN:
                    found[folded(name)] = f"{shows.removesuffix(' count')} ({run.day})"
    return found


def _looks(run: RunView) -> Iterator[tuple[str, str]]:
    """What was read on a run, in the order of its lines; the run's own readings span them, so they come last."""
    for line in run.lines:
        if line.kind == "reading" and isinstance(line.get("shows"), str):
            yield str(line.get("of")), str(line.get("shows"))
        for value in line.fields.values():
            yield from _measured(value)
        if line.kind in ("hand over", "move") and isinstance(line.get("tank_after"), str) and line.get("tank"):
            yield str(line.get("tank")), str(line.get("tank_after"))
    for value in run.fields.values():
        yield from _measured(value)


def _measured(value: Any) -> Iterator[tuple[str, str]]:
    if isinstance(value, Mapping) and value.get("method") in _ENDS:
        of, end = _ENDS[value["method"]]
        if isinstance(value.get(end), str):
            yield str(value[of]), str(value[end])
