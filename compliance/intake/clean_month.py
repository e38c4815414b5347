"""The clean month: the nights of October 2026 of the sample business, made from a seed and raising no finding.

The calendar is fixed; the seed moves areas, volumes, times and names within what such nights are like. The meters go
on from where the nine nights of September left them, and both recovery tanks begin empty.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Final

from compliance.intake.night_maker import BIG_MARKS, LITTLE_MARKS, Maker, Raw, Rig
from compliance.intake.sample_places import CLEANOUT, DECK, GARAGE, HAULER, OVEN, ROUND, STATION

SEED: Final = 2026

JOBS: Final = {
    "dock": "Alder Oven dock, October",
    "garage": "Hillrow garage, October",
    "deck": "Harbor deck, two nights in October",
}

_BIG_BLUE, _HERON = "Big Blue", "Little Heron"
_OCTOBER: Final[Mapping[int, Sequence[tuple[str, str]]]] = {
    1: [(_BIG_BLUE, "dock")],
    2: [(_BIG_BLUE, "route")],
    5: [(_BIG_BLUE, "route")],
    6: [(_HERON, "route")],
    7: [(_BIG_BLUE, "route")],
    8: [(_BIG_BLUE, "garage")],
    9: [(_BIG_BLUE, "rain"), (_HERON, "rain")],
    12: [(_BIG_BLUE, "route")],
    13: [(_HERON, "deck, first night")],
    14: [(_BIG_BLUE, "route"), (_HERON, "deck, last night")],
    15: [(_BIG_BLUE, "dock")],
    16: [(_BIG_BLUE, "route")],
    19: [(_BIG_BLUE, "route")],
    20: [(_HERON, "route")],
    21: [(_BIG_BLUE, "rain")],
    22: [(_BIG_BLUE, "garage")],
    23: [(_BIG_BLUE, "route")],
    26: [(_BIG_BLUE, "route")],
    27: [(_HERON, "route")],
    28: [(_BIG_BLUE, "route")],
    29: [(_BIG_BLUE, "garage")],
    30: [(_BIG_BLUE, "route"), (_HERON, "route")],
}
"""Day of the month -> (rig, what it does). 'rain': the run is off, turned back at the gate."""


def nights(seed: int = SEED) -> list[Raw]:
    """Everything that is handed in over October 2026, in order: register entries, runs and tickets.

    Each has 'kind', 'handed_in' (RFC 3339) and, but for the register entries, an 'id'. The same seed gives the same.
    """
    maker = Maker(seed, "clean month")
    rigs = {
        _BIG_BLUE: Rig(_BIG_BLUE, "Tomás Ibarra", "Eli Sandoval", True, BIG_MARKS, 505, supply=1846, transfer=20475),
        _HERON: Rig(_HERON, "Marisol Vega", "Dana Whitlock", False, LITTLE_MARKS, 285),
    }
    made: list[Raw] = [_registers()]
    for day, plans in _OCTOBER.items():
        for rig, plan in plans:
            made += _planned(maker, rigs[rig], date(2026, 10, day), plan)
    return in_order(made)


def in_order(entries: Iterable[Raw]) -> list[Raw]:
    """Entries in the order in which they were handed in."""
    return sorted(entries, key=lambda raw: datetime.fromisoformat(raw["handed_in"]))


def _registers() -> Raw:
    """The jobs of October, entered by the office before the month began."""
    at = "2026-09-30T16:00:00-06:00"
    sites = {"dock": (OVEN, "1"), "garage": (GARAGE, "3"), "deck": (DECK, "2")}
    jobs = [
        {"name": JOBS[key], "client": site.client, "site": site.name, "plan": "recover", "nights": n, "handed_in": at}
        for key, (site, n) in sites.items()
    ]
    return {"kind": "registers", "handed_in": at, "job": jobs}


def _planned(maker: Maker, rig: Rig, day: date, plan: str) -> Iterator[Raw]:
    match plan:
        case "dock":
            yield from maker.night(rig, day, [OVEN], to=CLEANOUT, job=JOBS["dock"] if day.day == 1 else "")
        case "garage":
            yield from maker.night(rig, day, [GARAGE], to=HAULER, job=JOBS["garage"])
        case "deck, first night":
            yield from maker.night(rig, day, [DECK], to=None, job=JOBS["deck"], share=Decimal("0.5"))
        case "deck, last night":
            yield from maker.night(rig, day, [DECK], to=STATION, job=JOBS["deck"], share=Decimal("0.5"))
        case "rain":
            yield maker.off(rig, day, ROUND[0])
        case _:
            count = maker.between(5, 8) if rig.metered else maker.between(5, 6)
            yield from maker.night(rig, day, maker.some(ROUND, count), to=STATION)
