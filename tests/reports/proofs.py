"""What tests of a proof share: a few nights of their own, and how its blocks are found."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.records import kinds
from compliance.records.envelope import Entry
from compliance.reports.model import Cell, Page, PageBreak, Table
from tests.reports.making import Bench

ONE_STOP = "Alder Oven dock, September"
"""The job of sample case 1."""
OURS = "2026-09-01-big-blue.s1"
"""The one stop of `own_night`."""
TWO_CLIENTS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [{"name": "tank", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"}],
    "client": [{"name": "Mine"}, {"name": "Theirs"}],
    "site": [{"name": "my yard", "client": "Mine"}, {"name": "their yard", "client": "Theirs"}],
    "place": [{"name": "their cleanout", "kind": "sewer cleanout", "site": "their yard", "address": "9 Other Lane"}],
    "permission": [
        {"name": "Theirs, leave", "place": "their cleanout", "kind": "written leave", "given_by": "Theirs",
         "valid_from": "2026-01-01"},
    ],
}  # fmt: skip
"""One rig, one tank, a client of ours and another with a cleanout."""


def fact(page: Page, label: str) -> str:
    """The value beside a label at the head of a page."""
    return next(one.value for one in page.facts if one.label == label)


def block(page: Page, kind: type, at: int = 0) -> Any:
    """The at-th block of a kind."""
    return [one for one in page.blocks if isinstance(one, kind)][at]


def water(page: Page) -> Mapping[str, tuple[Cell, ...]]:
    """The water table: what -> amount, how, reader."""
    return {row[0].text: row[1:] for row in block(page, Table, 1).rows}


def first_sheet(page: Page) -> tuple[Any, ...]:
    """The blocks before the first break."""
    blocks = page.blocks
    return blocks[: next(at for at, one in enumerate(blocks) if isinstance(one, PageBreak))]


def tables(page: Page) -> list[list[list[str]]]:
    """All tables after the first sheet, as texts."""
    return [
        [[cell.text.replace("\u00a0", " ") for cell in row] for row in one.rows]
        for one in page.blocks[len(first_sheet(page)) :]
        if isinstance(one, Table)
    ]


def own_night(*lines: Mapping[str, Any], **run: Any) -> Bench:
    """A night of one client, with these lines after an empty tank and one stop."""
    given = {"id": "night", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines",
             "used": "120 gal", "recovered": "100 gal", **run}  # fmt: skip
    first = [{"line": "reading", "of": "tank", "shows": "empty"}, {"line": "stop", "site": "my yard"}]
    return Bench([]).put(TWO_CLIENTS).put({**given, "line": [*first, *lines]})


def attach(bench: Bench, about: str, line: str, name: str, sha256: str) -> None:
    """Keep a file with a record."""
    held = {"record": about, "line": line, "name": name, "sha256": sha256, "size": 9, "media": "image/jpeg",
            "what": "photo"}  # fmt: skip
    bench.add(Entry(sha256[:32], kinds.ATTACH, "2026-09-02", "2026-09-02T08:00:00-06:00", held), "2026-09-02")


def shared_night(**run: Any) -> Bench:
    """A night at two clients, dumped at the site of the second."""
    lines = [
        {"line": "reading", "of": "tank", "shows": "empty"},
        {"line": "stop", "site": "my yard", "arrived": "20:00", "left": "21:00", "remark": "a remark about our side"},
        {"line": "stop", "site": "their yard", "arrived": "21:30", "left": "22:30", "remark": "a remark about theirs"},
        {"line": "escape", "what": "the lid at Theirs flew open", "from_tank": "tank", "amount": "not read",
         "reached": "pavement only"},
        {"line": "hand over", "place": "their cleanout", "amount": "100 gal", "tank_after": "empty", "at": "23:00"},
    ]  # fmt: skip
    night = {"id": "night", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines",
             "recovered": "100 gal", "remark": "Theirs was late with the gate", "line": lines, **run}  # fmt: skip
    return Bench([]).put(TWO_CLIENTS).put(night)


def others_names(bench: Bench, client: str) -> set[str]:
    """Everything that the registers and the runs say of clients other than one: names, sites, contacts, addresses."""
    registers = bench.state.registers
    found = set()
    for entry in registers.all("client"):
        if entry["name"] != client:
            found |= {entry["name"], entry.get("contact", ""), entry["address"].split(",")[0]}
    found |= {site["name"] for site in registers.all("site") if site["client"] != client}
    found |= {stop.ref for run in bench.night.runs.values() for stop in run.stops if stop.client != client}
    found |= {job["name"] for job in registers.all("job") if job["client"] != client}
    return found - {""}
