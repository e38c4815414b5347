"""A book of any size, quickly: for measuring, never for showing.

Nights of a fleet like the sample rigs, streamed in the order of their hand-in, day by day; memory does not grow with
the book. **The validator is passed by**: entries are put together in their stored form and appended one day a
transaction, the day's last hand-in being the time of receipt. A test holds that the validator, given the same nights,
would have stored the same.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from hashlib import sha256
from itertools import chain, count
from pathlib import Path
from typing import Any, Final

from compliance.book.store import Book
from compliance.intake.entries import entry, record_id
from compliance.intake.night_maker import BIG_MARKS, LITTLE_MARKS, ZONE, Maker, Raw, Rig
from compliance.intake.sample_places import DECK, GARAGE, HAULER, ROUND, STATION, Site
from compliance.intake.validate import check
from compliance.records import kinds
from compliance.records.envelope import Entry
from compliance.records.quick import dataclass

RIGS: Final = 6
"""Rigs of the fleet; six work about a thousand stops a month."""
SITES: Final = 60
FIRST: Final = date(2001, 1, 1)
"""The first night: early enough for a million stops of six rigs before the year 2099."""

_SUNDAY: Final = 6
_SHORTEST, _LONGEST = 5, 8


def registers(rigs: int = RIGS, sites: int = SITES) -> Raw:
    """The registers file of the fleet; no permission in it ends."""
    names = [_name(number) for number in range(rigs)]
    tanks: list[Raw] = []
    instruments: list[Raw] = []
    for number, name in enumerate(names):
        tanks.append(_tank(name, metered=number % 2 == 0))
        instruments += _instruments(name, metered=number % 2 == 0)
    everywhere = _sites(sites)
    return {
        "business": {
            "name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver",
            "address": "18 Quay Street, Port Alder, Tamarack County", "signer": "Ruth Okafor", "signer_role": "Owner",
            "handed_in": _before_all(),
        },
        "rig": [{"name": name} for name in names],
        "tank": tanks,
        "instrument": instruments,
        "place": [
            {"name": STATION.name, "kind": "receiving station", "address": "40 Outfall Road", "designated": "yes"},
            {"name": HAULER.name, "kind": "hauler", "address": "7 Gravel Pit Lane, Dry Fork"},
        ],
        "permission": [
            {"name": place.permission, "place": place.name, "kind": "written leave", "given_by": place.name,
             "valid_from": FIRST.isoformat()}
            for place in (STATION, HAULER)
        ],
        "client": [{"name": name} for name in dict.fromkeys(site.client for site in (GARAGE, DECK, *everywhere))],
        "site": [
            {"name": site.name, "client": site.client, "address": "Port Alder"} for site in (GARAGE, DECK, *everywhere)
        ],
        "person": [{"name": name} for name in ("Tomás Ibarra", "Marisol Vega", "Eli Sandoval", "Dana Whitlock")],
        "agent": [{"name": "mild detergent", "kind": "detergent", "data_sheet": "yes"}],
        "limit": [{"name": "recovery ratio", "value": "80 %", "whose": "house policy", "source": "house rules"}],
    }  # fmt: skip


def nights(seed: int, stops: int, *, rigs: int = RIGS, sites: int = SITES, first: date = FIRST) -> Iterator[Raw]:
    """Nights and tickets with exactly so many worked stops, in the order of their hand-in; the same for one seed.

    Most are route nights with one load; one in twelve goes to the hauler or stays aboard over a second night, one in
    sixteen is off for rain.
    """
    maker = Maker(seed, "seeded book")
    fleet = [_rig(number) for number in range(rigs)]
    everywhere = _sites(sites)
    waiting: list[tuple[datetime, int, Raw]] = []
    left, made, day = stops, 0, first
    while left > 0:
        if day.weekday() != _SUNDAY:
            for rig in fleet:
                for raw in _night(maker, rig, day, everywhere, left) if left > 0 else ():
                    left -= sum(line["line"] == "stop" and "not_worked" not in line for line in raw.get("line", ()))
                    heapq.heappush(waiting, (datetime.fromisoformat(raw["handed_in"]), made, raw))
                    made += 1
        day += timedelta(days=1)
        evening = datetime.combine(day, time(19), ZONE).astimezone(UTC)
        while waiting and waiting[0][0] < evening:
            yield heapq.heappop(waiting)[2]
    while waiting:
        yield heapq.heappop(waiting)[2]


def stored(raw: Mapping[str, Any]) -> Entry:
    """The entry of a night or ticket that this program made, without looking at it."""
    at = str(raw["handed_in"])
    fields = {key: value for key, value in raw.items() if key not in ("kind", "id", "handed_in", "line", "handovers")}
    id = record_id(raw["id"])
    if raw["kind"] == kinds.TICKET:
        handovers = [{"run": _run_id(item["run"]), "line": item["line"]} for item in raw["handovers"]]
        payload: Raw = {"fields": fields, "handovers": handovers, "who": ""}
        return Entry(id, kinds.TICKET, fields["date"], at, payload)
    lines = [
        {"n": str(n), "line": line["line"], "fields": {key: value for key, value in line.items() if key != "line"}}
        for n, line in enumerate(raw["line"], start=1)
    ]
    payload = {"fields": fields, "lines": lines, "typed": {}, "who": fields["lead"]}
    return Entry(id, kinds.RUN, fields["start"], at, payload)


@dataclass(frozen=True)
class Seeded:
    """What a seeded book holds."""

    stops: int
    runs: int
    records: int


def make(folder: Path, stops: int, *, seed: int = 1, rigs: int = RIGS, sites: int = SITES) -> Seeded:
    """Make a seeded book in a new folder; the same records, ids and salts for the same arguments.

    Raises ComplianceError when there is a book already, or the disk is full or fails.
    """
    first, *others = _register_entries(seed, rigs, sites)
    runs, records = 0, 1
    with Book.create(folder, first, now=first.device_time, salt=_token(seed, first.id)) as book:
        for batch in _by_day(chain(others, map(stored, nights(seed, stops, rigs=rigs, sites=sites)))):
            salts = [_token(seed, made.id) for made in batch]
            book.append(batch, receipt_time=batch[-1].device_time, salts=salts)
            runs += sum(made.kind == kinds.RUN for made in batch)
            records += len(batch)
    return Seeded(stops, runs, records)


def _register_entries(seed: int, rigs: int, sites: int) -> list[Entry]:
    at = _before_all()
    now = datetime.fromisoformat(at)
    checked = check("registers", registers(rigs, sites), state=None, where="seeded book", now=now)
    tokens = (_token(seed, str(number)) for number in count())
    return [entry(one, now=at, token=lambda: next(tokens)) for one in checked]


def _token(seed: int, name: str) -> bytes:
    """16 bytes that look random and are the same each time."""
    return sha256(f"{seed} {name}".encode()).digest()[:16]


def _by_day(entries: Iterable[Entry]) -> Iterator[list[Entry]]:
    batch: list[Entry] = []
    for made in entries:
        if batch and made.device_time[:10] != batch[0].device_time[:10]:
            yield batch
            batch = []
        batch.append(made)
    if batch:
        yield batch


def _night(maker: Maker, rig: Rig, day: date, sites: list[Site], left: int) -> Iterator[Raw]:
    dice = maker.between(1, 48)
    if rig.mark:
        yield from maker.night(rig, day, [DECK], to=STATION, share=Decimal("0.5"))
    elif dice <= 3:
        yield maker.off(rig, day, sites[0])
    elif dice <= 7 and rig.metered:
        yield from maker.night(rig, day, [GARAGE], to=HAULER)
    elif dice <= 7:
        yield from maker.night(rig, day, [DECK], to=None, share=Decimal("0.5"))
    else:
        start = maker.between(0, len(sites) - 1)
        length = min(left, maker.between(_SHORTEST, _LONGEST))
        route = [sites[(start + step) % len(sites)] for step in range(length)]
        yield from maker.night(rig, day, route, to=STATION)


def _run_id(ref: str) -> str:
    return record_id(Maker(0, "seeded book").id_of(ref))


def _before_all() -> str:
    return datetime.combine(FIRST - timedelta(days=1), time(12), ZONE).isoformat()


def _name(number: int) -> str:
    name = "Big Blue" if number % 2 == 0 else "Little Heron"
    return name if number < 2 else f"{name} R{number // 2 + 1}"  # a bare number would look like a second run of the day


def _rig(number: int) -> Rig:
    name = _name(number)
    if number % 2 == 0:
        return Rig(name, "Tomás Ibarra", "Eli Sandoval", True, BIG_MARKS, 505)
    return Rig(name, "Marisol Vega", "Dana Whitlock", False, LITTLE_MARKS, 285)


def _tank(rig: str, *, metered: bool) -> Raw:
    raw = {"name": f"{rig} recovery", "rig": rig, "role": "recovery", "mark_step": "0.5 in"}
    if metered:
        raw |= {"capacity": "500 gal", "shape": "rectangle", "length": "66 in", "width": "50 in", "depth": "35 in"}
        return raw | {"accuracy": "1 %", "float_repeat": "6 gal"}
    raw |= {"capacity": "300 gal", "shape": "horizontal cylinder", "length": "72 in", "diameter": "36 in"}
    return raw | {"accuracy": "2 %", "float_repeat": "5 gal"}


def _instruments(rig: str, *, metered: bool) -> list[Raw]:
    if not metered:
        test = {"name": f"{rig} flow test", "rig": rig, "kind": "flow test", "measures": "supply"}
        return [test | {"rate": "4.8 gal/min", "accuracy": "5 %"}]
    meter = {"rig": rig, "kind": "meter", "unit": "gal", "step": "1", "rolls_over_at": "1000000"}
    return [
        {"name": f"{rig} supply meter", **meter, "measures": "supply", "accuracy": "1.5 %"},
        {"name": f"{rig} transfer meter", **meter, "measures": "handover", "accuracy": "2 %"},
    ]


def _sites(many: int) -> list[Site]:
    """The sites of the rounds: those of the sample business, and as many more as are asked for."""
    named = [site for site in ROUND if site != DECK][:many]
    more = range(len(named) + 1, many + 1)
    return named + [Site(f"Tamarack Plaza {n:03d}", f"Tamarack Plaza {n:03d} Owners", "concrete walk") for n in more]
