"""Where the sample business works and where its water goes; all of it invented, as in sample_jobs/registers.toml."""

from __future__ import annotations

from typing import Final

from compliance.records.quick import dataclass


@dataclass(frozen=True)
class Site:
    """Where a stop is. drains: (name, how it was protected, in the public way)."""

    name: str
    client: str
    surface: str
    drains: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True)
class Place:
    """Where a load goes. ticket: the letters before the numbers of its tickets, '' where none are written."""

    name: str
    permission: str
    connection: str
    receivers: tuple[str, ...]
    ticket: str = ""


STATION: Final = Place(
    "Port Alder receiving station",
    "SA-2026-031",
    "3 in cam lock to the station's inlet",
    ("station attendant Lowell Pruitt", "night slot, card reader"),
    "R-",
)
HAULER: Final = Place(
    "Dry Fork Hauling",
    "Dry Fork agreement",
    "3 in cam lock, pumped into the hauler's tank at our yard",
    ("Orla Benning",),
    "DF-",
)
CLEANOUT: Final = Place(
    "Alder Oven cleanout", "Alder Oven leave", "2 in hose into the cleanout, cap put back", ("Nadia Brandvold",)
)

OVEN: Final = Site(
    "Alder Oven, Canal Street",
    "Alder Oven Bakery",
    "concrete loading dock and front walk",
    (("dock drain", "cover mat and berm", "no"), ("curb inlet, Canal Street", "cover mat", "yes")),
)
GARAGE: Final = Site(
    "Hillrow garage",
    "Hillrow Hospital",
    "concrete garage floor",
    (("level 1 drain", "plug", "no"), ("ramp drain", "cover mat", "no"), ("curb inlet", "cover mat", "yes")),
)
DECK: Final = Site(
    "Harbor deck",
    "Port Alder Harbor Trust",
    "planks over concrete",
    (("deck scupper, east", "plug", "no"), ("deck scupper, west", "plug", "no")),
)
ROUND: Final = (
    OVEN,
    Site("Quillon Fish Counter", "Quillon Fish Counter", "brick yard"),
    Site("Copperleaf Row north", "Copperleaf Row Owners", "concrete walk"),
    Site("Copperleaf Row south", "Copperleaf Row Owners", "concrete walk"),
    Site("Tern Street Laundry", "Tern Street Laundry", "asphalt"),
    Site("Old Depot Market", "Old Depot Market", "concrete walk"),
    DECK,
    Site("Lantern Street Diner", "Lantern Street Diner", "asphalt drive-through"),
)
"""The sites of a route, in the order in which they are driven."""
