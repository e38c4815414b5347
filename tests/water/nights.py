"""A night of one rig with a supply meter, a flow test and two tanks, from its lines alone."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from compliance.records.state import State
from compliance.water.fold import calculate
from compliance.water.results import Night, RunFacts
from compliance.water.volume import Figure, Volume
from tests.reports.making import Bench, book

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [
        {"name": "recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"},
        {"name": "fresh", "rig": "Big Blue", "role": "fresh", "capacity": "400 gal"},
    ],
    "instrument": [
        {"name": "supply", "rig": "Big Blue", "kind": "meter", "measures": "supply", "unit": "gal", "step": "1",
         "accuracy": "2 %"},
        {"name": "bucket", "kind": "flow test", "rate": "5 gal/min", "accuracy": "4 %"},
    ],
}  # fmt: skip
START = {"rig": "Big Blue", "lead": "Marisol Vega", "where": "aboard", "handed_in": "2026-09-02T08:00-06:00"}


def night(*lines: Mapping[str, Any], **run: Any) -> Bench:
    given = {"id": "night", "date": "2026-09-01", **START, **run}
    return book(REGISTERS, {**given, "line": list(lines)})


def meter(shows: str) -> dict[str, str]:
    return {"line": "reading", "of": "supply", "shows": shows}


def stop(**fields: Any) -> dict[str, Any]:
    return {"line": "stop", "site": f"site {fields.pop('n', 1)}", **fields}


def facts(bench: Bench) -> tuple[State, Night, RunFacts]:
    made = calculate(bench.state)
    (run,) = made.runs.values()
    return bench.state, made, run


def best(figure: Figure) -> Decimal | None:
    assert isinstance(figure, Volume)
    return figure.best
