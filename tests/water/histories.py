"""Random nights as records in memory: a pretended truth that is read with instruments, forgotten, mistaken and late.

Water really flows in this model, so most readings make sense; now and then a figure is wild, a line is missing, a
value is put right later, or a record arrives after others. The same seed gives the same history.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import count
from random import Random
from typing import Any

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.measure import METHODS
from compliance.records.state import State, gather

Payload = dict[str, Any]
RIGS = ("Grey Mule", "Sandpiper")
PLACES = ("Station", "Bakery cleanout", "Quarry Hauling")
SITES = ("Arcade", "Bakery", "Fish Counter", "Garage", "Old Depot")
START = date(2026, 3, 2)
GALLONS_AN_INCH = {"Grey Mule recovery": 20, "Grey Mule holding": 40}
"""Boxes of 4,620 and of 9,240 in2: round gallons to the inch."""

REGISTERS: tuple[tuple[str, Mapping[str, Any]], ...] = (
    ("rig", {"name": "Grey Mule"}),
    ("rig", {"name": "Sandpiper"}),
    ("tank", {"name": "Grey Mule recovery", "rig": "Grey Mule", "role": "recovery", "capacity": "700 gal",
              "shape": "rectangle", "length": "66 in", "width": "70 in", "depth": "36 in", "mark_step": "0.5 in",
              "accuracy": "1 %", "float_repeat": "6 gal"}),
    ("tank", {"name": "Grey Mule holding", "rig": "Grey Mule", "role": "holding", "capacity": "1900 gal",
              "shape": "rectangle", "length": "132 in", "width": "70 in", "depth": "48 in", "mark_step": "1 in",
              "accuracy": "2 %"}),
    ("tank", {"name": "Sandpiper recovery", "rig": "Sandpiper", "role": "recovery", "capacity": "300 gal",
              "shape": "horizontal cylinder", "length": "72 in", "diameter": "36 in", "float_repeat": "5 gal"}),
    ("instrument", {"name": "Mule supply", "kind": "meter", "measures": "supply", "unit": "gal", "step": "1 count",
                    "accuracy": "1.5 %", "rolls_over_at": "10000 count"}),
    ("instrument", {"name": "Mule transfer", "kind": "meter", "measures": "handover", "unit": "ft3",
                    "step": "0.1 count", "accuracy": "2 %", "rolls_over_at": "100000 count"}),
    ("instrument", {"name": "Sandpiper supply", "kind": "meter", "measures": "supply", "unit": "L", "step": "1 count"}),
    ("instrument", {"name": "Sandpiper flow", "kind": "flow test", "measures": "supply", "rate": "4.8 gal/min",
                    "accuracy": "5 %"}),
    ("instrument", {"name": "bucket", "kind": "vessel", "size": "5 gal", "accuracy": "2 %"}),
    ("instrument", {"name": "yard scale", "kind": "scale", "unit": "lb", "step": "20 count", "accuracy": "0.5 %"}),
    *(("place", {"name": name, "kind": "receiving station"}) for name in PLACES),
    *(("site", {"name": name, "client": f"{name} client"}) for name in SITES),
    ("job", {"name": "Arcade week", "client": "Arcade client", "site": "Arcade"}),
    ("job", {"name": "Dry clean", "client": "Garage client", "site": "Garage", "plan": "recovery not planned"}),
)  # fmt: skip


@dataclass
class _Rig:
    """What is really so: water in the tanks, figures on the registers."""

    name: str
    rng: Random
    wild: bool
    level: float = 0.0
    held: float = 0.0
    supply: int = 0
    transfer: int = 0
    lines: list[Payload] = field(default_factory=list)

    @property
    def mule(self) -> bool:
        return self.name == RIGS[0]

    def maybe(self, chance: float) -> bool:
        return self.rng.random() < chance

    def line(self, kind: str, **fields: Any) -> None:
        self.lines.append({"n": str(len(self.lines) + 1), "line": kind, "fields": fields})

    def read(self, gallons: float, tank: str) -> str:
        """What a look at a tank's mark gives: inches, a volume, or a figure out of the air."""
        if self.wild and self.maybe(0.06):
            return f"{self.rng.randint(0, 40)} in"
        if tank in GALLONS_AN_INCH and self.maybe(0.8):
            return f"{round(gallons / GALLONS_AN_INCH[tank] * 2) / 2} in"
        return f"{max(0, round(gallons) + self.rng.randint(-2, 2))} gal"

    def measured(self, gallons: float) -> Any:
        """An amount by some method."""
        about = max(0, round(gallons) + self.rng.randint(-3, 3))
        if self.wild and self.maybe(0.05):
            about = self.rng.randint(0, 900)
        pick = self.rng.randrange(8)
        if pick == 0:
            return f"~{about} gal"
        if pick == 1:
            return {"method": "count", "vessel": "bucket", "times": str(about // 5)}
        if pick == 2:
            gross = 9000 + round(about * 8.3417 / 20) * 20
            return {"method": "weight", "scale": "yard scale", "gross": f"{gross} lb", "tare": "9000 lb"}
        if pick == 3 and self.mule:
            return self.metered(about)
        if pick == 4:
            return self.rng.choice([f">={about} gal", f"<={about} gal", f"{about}..{about + 20} gal"])
        if pick == 5:
            return {"method": "ticket", "ticket": "W-7", "amount": f"{about} gal"}
        return f"{about} gal"

    def metered(self, gallons: int) -> Payload:
        """Cubic feet through the transfer meter, in tenths."""
        tenths = round(gallons / 0.748052)
        start, self.transfer = self.transfer, self.transfer + tenths
        return {"method": "meter", "meter": "Mule transfer", "start": f"{start / 10}", "end": f"{self.transfer / 10}"}

    def drawn(self, gallons: int) -> Any:
        """Fresh water taken by one stop."""
        start = self.supply
        turn = 10_000 if self.mule else 10**9
        self.supply = (self.supply + gallons) % turn
        pick = self.rng.randrange(6)
        if pick <= 2:
            meter = "Mule supply" if self.mule else "Sandpiper supply"
            return {"method": "meter", "meter": meter, "start": str(start), "end": str(self.supply)}
        if pick == 3:
            return f"{gallons} gal"
        if pick == 4:
            return {"method": "time", "flow": "Sandpiper flow", "minutes": f"{gallons // 5} min"}
        return None


@dataclass(frozen=True)
class History:
    """Records in the order of the book."""

    records: tuple[Record, ...]

    @property
    def state(self) -> State:
        return gather(self.records)


def history(seed: int, nights: int, *, wild: bool = True) -> History:
    """A book of both rigs over so many nights.

    wild: some figures are out of the air, some records change or come late.
    """
    rng = Random(seed)
    made = _Maker(rng, wild)
    rigs = [_Rig(name, rng, wild, supply=rng.randint(0, 9999)) for name in RIGS]
    for night in range(nights):
        for rig in rigs[: rng.choice([1, 2, 2])]:
            made.run(rig, START + timedelta(days=night))
            if rng.random() < 0.1:
                made.run(rig, START + timedelta(days=night), late=True)
    return History(made.book())


def records_of(*made: tuple[str, Payload], id: str = "") -> tuple[Record, ...]:
    """Payloads by kind as records in order; the registers above come before them."""
    business = {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"}
    before: list[tuple[str, Payload]] = [(kinds.BOOK, {"fields": business, "who": ""})]
    before += [
        (kinds.REGISTER, {"what": what, "name": fields["name"], "fields": fields, "who": ""})
        for what, fields in REGISTERS
    ]
    numbers = count(1)
    return renumbered(
        Record(0, f"{next(numbers):032x}", kind, 1, "2026-03-01", MOMENT, MOMENT, payload)
        for kind, payload in (*before, *made)
    )


MOMENT = "2026-03-01T12:00:00+00:00"


def renumbered(records: Any) -> tuple[Record, ...]:
    """The records with their places in the book by the order in which they come."""
    return tuple(replace(record, seq=i) for i, record in enumerate(records, start=1))


class _Maker:
    """Writes nights as payloads, and what follows them."""

    def __init__(self, rng: Random, wild: bool) -> None:
        self.rng = rng
        self.wild = wild
        self.made: list[tuple[str, str, Payload]] = []
        self.after: list[tuple[str, str, Payload]] = []

    def id(self) -> str:
        return f"{self.rng.getrandbits(128):032x}"

    def maybe(self, chance: float) -> bool:
        return self.rng.random() < chance

    # ---- one night --------------------------------------------------------------------------------------------

    def run(self, rig: _Rig, day: date, *, late: bool = False) -> None:
        rig.lines = []
        tank = f"{rig.name} recovery"
        fields: Payload = {"rig": rig.name, "lead": "Rosa", "date": day.isoformat(), "where": "see lines"}
        hour = 22 if late else 19
        if self.maybe(0.8):
            fields["start"] = f"{day}T{hour}:{self.rng.randint(10, 59)}:00-06:00"
        if self.maybe(0.7):
            rig.line("reading", of=tank, shows="empty" if rig.level < 1 else rig.read(rig.level, tank))
        if self.maybe(0.3):
            self.supply_reading(rig)
        used = got = 0
        start = rig.supply
        for _ in range(self.rng.choice([0, 1, 1, 2, 3, 4, 5])):
            drawn, captured = self.stop(rig, day)
            used, got = used + drawn, got + captured
            self.between(rig, tank)
        if self.maybe(0.4):
            self.supply_reading(rig)
        pick = self.rng.randrange(6)
        if pick <= 1:
            if self.maybe(0.5):
                rig.line("reading", of=tank, shows=rig.read(rig.level, tank))
            self.dump(rig, tank)
        elif pick == 2:
            fields["where"] = self.rng.choice(PLACES)
            rig.level = 0.0
        elif pick == 3:
            fields["where"] = "not known"
            rig.level *= self.rng.choice([0.0, 0.5, 1.0])
        else:
            fields["where"] = "aboard"
        if self.maybe(0.5):
            meter = "Mule supply" if rig.mule else "Sandpiper supply"
            fields["used"] = self.rng.choice(
                [f"{used} gal", {"method": "meter", "meter": meter, "start": str(start), "end": str(rig.supply)}]
            )
        if self.maybe(0.5):
            fields["recovered"] = f"~{got} gal"
        if self.maybe(0.3):
            fields["rain"] = self.rng.choice(["none", "some", "heavy", "not known"])
        payload = {"fields": fields, "lines": rig.lines, "typed": {}, "who": "Rosa"}
        self.change(payload)

    def stop(self, rig: _Rig, day: date) -> tuple[int, int]:
        """One stop; returns what it drew and what was captured of it."""
        fields: Payload = {"site": self.rng.choice(SITES)}
        if self.maybe(0.3):
            fields["job"] = self.rng.choice(["Arcade week", "Dry clean", "Spring round"])
        if self.maybe(0.1):
            fields["not_worked"] = "gate locked"
            rig.line("stop", **fields)
            return 0, 0
        drawn = self.rng.randint(20, 160)
        used = rig.drawn(drawn)
        if used is not None:
            fields["used"] = used
        if self.maybe(0.6):
            fields["area"] = f"{self.rng.randint(300, 4000)} ft2"
        if self.maybe(0.5):
            fields["arrived"], fields["left"] = f"{day}T21:05:00-06:00", f"{day}T22:{self.rng.randint(10, 59)}:00-06:00"
        captured = 0
        if fields.get("job") != "Dry clean":
            captured = round(drawn * self.rng.uniform(0.6, 1.0))
            captured = min(captured, 690 - round(rig.level)) if rig.mule else min(captured, 295 - round(rig.level))
            captured = max(captured, 0)
        if captured and self.maybe(0.15):
            fields["recovered"] = {
                "method": "mark", "tank": f"{rig.name} recovery", "before": f"{round(rig.level)} gal",
                "after": f"{round(rig.level) + captured} gal",
            }  # fmt: skip
        elif captured and self.maybe(0.2):
            fields["recovered"] = rig.measured(captured)
        rig.level += captured
        rig.line("stop", **fields)
        return drawn, captured

    def between(self, rig: _Rig, tank: str) -> None:
        """What may happen after a stop."""
        for kind in ("reading", "partial", "dump", "again", "escape", "leak", "led", "foreign", "agent", "solids",
                     "move", "back", "let go", "refused", "full", "torn"):  # fmt: skip
            if self.maybe(0.25 if kind == "reading" else 0.07):
                self.one(kind, rig, tank)

    def one(self, kind: str, rig: _Rig, tank: str) -> None:
        part = round(rig.level * self.rng.uniform(0.2, 0.8))
        match kind:
            case "reading":
                rig.line("reading", of=tank, shows=rig.read(rig.level, tank))
            case "partial":
                rig.line("hand over", place=self.rng.choice(PLACES), tank=tank, amount=rig.measured(part))
                rig.level -= part
                if self.maybe(0.4):
                    rig.lines[-1]["fields"]["tank_after"] = rig.read(rig.level, tank)
            case "dump":
                self.dump(rig, tank)
            case "again":
                rig.line("use again", amount=rig.measured(part))
                rig.level -= part
            case "escape":
                rig.line("escape", what="ran over", from_tank=tank, amount=rig.measured(10))
                rig.level = max(0.0, rig.level - 10)
            case "leak":
                rig.line("escape", what="cover leaked", reached="storm drain", amount="not read")
            case "led":
                rig.line("led away", place="Bakery cleanout", amount=rig.measured(25))
            case "foreign":
                rig.line("foreign water", what="rain", amount=rig.measured(30))
                rig.level += 30
            case "agent":
                rig.line("agent in tank", agent="defoamer", amount=rig.measured(2))
                rig.level += 2
            case "solids":
                rig.line("solids", what="sludge", tank=tank, amount=rig.measured(4))
                rig.level = max(0.0, rig.level - 4)
            case "move" if rig.mule:
                rig.line("move", tank=tank, to="Grey Mule holding", amount=rig.measured(part))
                rig.level, rig.held = rig.level - part, rig.held + part
            case "back" if rig.mule and rig.held > 1:
                if self.maybe(0.5):
                    rig.line("reading", of="Grey Mule holding", shows=rig.read(rig.held, "Grey Mule holding"))
                rig.line("hand over", place="Station", tank="Grey Mule holding", amount=rig.measured(rig.held),
                         tank_after="empty")  # fmt: skip
                rig.held = 0.0
            case "let go":
                rig.line("let go", what="unused fresh water", amount=rig.measured(40))
            case "refused":
                rig.line(
                    "hand over", place="Station", tank=tank, amount=rig.measured(part), refused="pump out of order"
                )
            case "full":
                rig.line("tank full", tank=tank)
                rig.level = 700.0 if rig.mule else 300.0
            case "torn":
                rig.line("hand over", place="Station", tank=tank, amount="not read", tank_after="empty")
                rig.level = 0.0
                rig.line("stop", site=self.rng.choice(SITES), continued="yes")
                rig.level += 20

    def dump(self, rig: _Rig, tank: str) -> None:
        level = rig.read(rig.level, tank)
        amount: Any = {"method": "mark", "tank": tank, "before": level, "after": "empty"}
        if self.maybe(0.6):
            amount = rig.measured(rig.level)
        if self.maybe(0.1):
            amount = {"method": "fills", "tank": tank, "times": "1"}
        rig.line("hand over", place=self.rng.choice(PLACES), tank=tank, amount=amount, tank_after="empty")
        rig.level = 0.0

    def supply_reading(self, rig: _Rig) -> None:
        rig.line("reading", of="Mule supply" if rig.mule else "Sandpiper supply", shows=f"{rig.supply} count")

    # ---- what is forgotten, mistaken, late ----------------------------------------------------------------------

    def change(self, payload: Payload) -> None:
        """Hand the night in, some of it missing or wrong; what puts that right comes after it, or long after."""
        record = self.id()
        self.made.append((record, kinds.RUN, payload))
        if not self.wild:
            return
        spots = [("", name) for name in ("used", "recovered") if name in payload["fields"]]
        spots += [
            (line["n"], name)
            for line in payload["lines"]
            for name in ("amount", "shows", "used", "recovered", "area", "tank_after")
            if name in line["fields"]
        ]
        fields = {"": payload["fields"]} | {line["n"]: line["fields"] for line in payload["lines"]}
        for n, name in spots:
            value, here = fields[n][name], fields[n]
            fate = self.rng.random()
            if fate < 0.06:
                here[name] = "not read"
            elif fate < 0.09:
                del here[name]
            elif fate < 0.12:
                del here[name]
                self.follow(kinds.COMPLETE, {"run": record, "line": n, "field": name, "value": value, "who": "Dana"})
            elif fate < 0.15 and isinstance(value, str):
                here[name] = "44 gal" if value.endswith("gal") else "not read"
                self.follow(
                    kinds.CORRECT,
                    {"run": record, "line": n, "field": name, "value": value, "was": here[name], "who": "Dana",
                     "reason": self.rng.choice(kinds.REASONS), "why": "the card says otherwise"},
                )  # fmt: skip
            elif fate < 0.17 and isinstance(value, dict):
                key = self.rng.choice([k.name for k in METHODS[value["method"]] if k.holds != "ref"])
                here[name] = {**value, key: "not read"}
        if payload["lines"] and self.maybe(0.1):
            after = self.rng.choice(payload["lines"])["n"]
            forgotten = {"line": "hand over", "fields": {"place": "Station", "amount": "15 gal"}}
            self.follow(kinds.COMPLETE, {"run": record, "after": after, "add": forgotten, "who": "Dana"})
        if self.maybe(0.05):
            self.follow(kinds.CANCEL, {"record": record, "why": "handed in for the wrong night", "who": "Dana"})
        for line in payload["lines"]:
            if line["line"] == "hand over" and self.maybe(0.3):
                ticket = {"number": "W-9", "accepted": "200 gal", "place": "Station"}
                handovers = [{"run": record, "line": line["n"]}]
                self.follow(kinds.TICKET, {"fields": ticket, "handovers": handovers, "who": "Dana"})

    def follow(self, kind: str, payload: Payload) -> None:
        record = self.id()
        self.after.append((record, kind, payload))
        if kind == kinds.CORRECT and self.maybe(0.15):
            self.after.append((self.id(), kinds.CANCEL, {"record": record, "why": "it was right", "who": "Dana"}))

    def book(self) -> tuple[Record, ...]:
        """Everything in the order in which it arrived: mostly as it happened, some of it late."""
        arrived: list[tuple[str, str, Payload]] = []
        for item in self.made:
            place = len(arrived) - (self.rng.randint(0, 2) if self.wild and self.maybe(0.15) else 0)
            arrived.insert(max(0, place), item)
        for item in self.after:
            arrived.insert(self.rng.randint(0, len(arrived)), item)
        first = records_of()
        return renumbered(
            (*first, *(Record(0, id, kind, 1, MOMENT, MOMENT, MOMENT, payload) for id, kind, payload in arrived))
        )


# ---- what kind of trouble a book holds -------------------------------------------------------------------------


def troubles(records: Sequence[Record]) -> set[str]:
    """Which of 'late', 'partial', 'unread' and 'corrected' a book holds, seen from its records alone."""
    found: set[str] = set()
    seen: dict[str, str] = {}
    runs: set[str] = set()
    for record in records:
        if record.kind == kinds.RUN:
            runs.add(record.id)
            rig, day = record.payload["fields"]["rig"], record.payload["fields"]["date"]
            if day < seen.get(rig, ""):
                found.add("late")
            seen[rig] = max(day, seen.get(rig, ""))
            found |= _in_run(record.payload)
        elif record.kind == kinds.CORRECT:
            found.add("corrected")
        elif record.kind in (kinds.COMPLETE, kinds.TICKET):
            found.add("late")
    return found


def _in_run(payload: Mapping[str, Any]) -> set[str]:
    found = set()
    for fields in (payload["fields"], *(line["fields"] for line in payload["lines"])):
        if any(v == "not read" or (isinstance(v, dict) and "not read" in v.values()) for v in fields.values()):
            found.add("unread")
    lines = [line["fields"] for line in payload["lines"] if line["line"] == "hand over"]
    if any(line.get("tank_after") != "empty" and "refused" not in line for line in lines):
        found.add("partial")
    return found
