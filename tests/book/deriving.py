"""Random books for the tests of what is derived: nights of several rigs with every kind of line, in any order.

Nights are put together in their stored form. They need not make sense as work; they must only be what a book can hold.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from compliance.book import derived_files
from compliance.book.derived_rows import of_papers, of_runs
from compliance.book.derived_tables import TABLES
from compliance.book.store import Book
from compliance.records.envelope import Entry
from compliance.records.state import gather
from compliance.water.fold import calculate

NOW = "2026-10-01T12:00:00-06:00"
Fields = dict[str, Any]
Row = tuple[tuple[str, Any], ...]

slow = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def id_of(name: str) -> str:
    return sha256(name.encode()).hexdigest()[:32]


def made(name: str, kind: str, payload: Fields) -> Entry:
    return Entry(id_of(name), kind, "2026-09-01", NOW, payload)


def _register(what: str, name: str, **fields: str) -> Entry:
    return made(f"{what} {name}", "register", {"what": what, "name": name, "fields": fields, "who": "the office"})


_SHAPE = {"shape": "rectangle", "length": "66 in", "width": "50 in", "depth": "35 in", "mark_step": "0.5 in"}
RIGS = ("Alder", "Birch", "Cedar")
"""Alder has two tanks, Birch one and another spelling, Cedar is on no register."""
TANKS = {
    "Alder": ("Alder recovery", "Alder recovery", "Alder holding", "Alder holding", "Alder fresh"),
    "Birch": ("Birch recovery", "Birch recovery", "Birch recovery", "borrowed drum", "Alder holding"),
    "Cedar": ("Cedar drum", "some tank"),
}
"""Names that a rig's lines give to tanks: mostly its own; Birch now and then pumps into another's."""

FIRST = made("book", "book", {"fields": {"name": "Bluebank", "unit": "gal", "zone": "America/Denver"}, "who": ""})
REGISTERS = [
    _register("rig", "Alder"),
    _register("rig", "Birch"),
    _register("tank", "Alder recovery", rig="Alder", role="recovery", capacity="500 gal", accuracy="1 %", **_SHAPE),
    _register("tank", "Alder holding", rig="Alder", role="holding", capacity="500 gal", accuracy="1 %", **_SHAPE),
    _register("tank", "Birch recovery", rig="Birch", role="recovery", capacity="500 gal", **_SHAPE),
    _register("tank", "Alder fresh", rig="Alder", role="fresh"),
    _register("instrument", "Alder supply", rig="Alder", kind="meter", measures="supply", unit="gal", step="1 count"),
    _register("instrument", "Birch supply", rig="Birch", kind="meter", measures="supply", unit="gal", step="1 count"),
    _register("instrument", "Quay bib", site="Quay", kind="meter", measures="supply", unit="gal", step="1 count"),
    _register("instrument", "loose supply", kind="meter", measures="supply", unit="gal", step="1 count"),
    _register("place", "Station", kind="receiving station", designated="yes"),
    _register("client", "Alderside Owners"),
    _register("site", "Quay", client="Alderside Owners"),
    _register("job", "Quay, two nights", client="Alderside Owners", site="Quay"),
    made("same", "same as", {"what": "rig", "name": "Old Birch", "is": "Birch", "who": "the office"}),
    made("same place", "same as", {"what": "place", "name": "the station", "is": "Station", "who": "the office"}),
    _register("client", "Alderside"),
    made("same client", "same as", {"what": "client", "name": "Alderside", "is": "Alderside Owners", "who": ""}),
]

_gallons = st.sampled_from(["50 gal", "120.5 gal", "~80 gal", ">=40 gal"])
_unread = st.just("not read")
_numbers = st.sampled_from(["later", "R-1", "R-1", "r-1", "R-2", "not applicable"])
"""Few, so that two handovers, or two tickets, often have one."""
_places = st.sampled_from(["Station", "Station", "the station", "Yard"])
_levels = st.sampled_from(["empty", "empty", "10.0 in", "20.0 in", "not read"])


def _fields(**options: st.SearchStrategy[Any]) -> st.SearchStrategy[Fields]:
    """Some of these fields; one that is left out is not recorded yet."""
    return st.fixed_dictionaries({}, optional=options)


def _joined(kind: str, required: Fields, optional: st.SearchStrategy[Fields]) -> st.SearchStrategy[Fields]:
    return optional.map(lambda fields: {"line": kind, "fields": {**required, **fields}})


def lines(rig: str) -> st.SearchStrategy[Fields]:
    """One line of a run of this rig, without its number."""
    tank = st.sampled_from(TANKS[rig])
    marks = st.builds(
        lambda name, before, after: {"method": "mark", "tank": name, "before": before, "after": after},
        tank.filter(lambda name: name != "Alder fresh"), _levels, _levels,
    )  # fmt: skip
    used = st.one_of(_gallons, _unread, st.just({"method": "time", "flow": "bucket test", "minutes": "20 min"}))
    amount = st.one_of(_gallons, _unread, marks)
    after = st.sampled_from(["empty", "empty", "empty", "5.0 in", "not read"])
    meter = st.sampled_from(["Alder supply", "Birch supply", "Quay bib", "loose supply"])
    shows = st.integers(100, 140).map(lambda n: f"{n} count")
    return st.one_of(
        _joined("stop", {"site": "Quay"}, _fields(
            used=used, recovered=st.one_of(_gallons, _unread, marks), area=st.just("900 ft2"), continued=st.just("yes"),
            job=st.just("Quay, two nights"), plan=st.just("recovery not planned"), surface=st.just("señal pintada"),
        )),
        _joined("stop", {"site": "Hill", "not_worked": "gate locked"}, st.just({})),
        _joined("stop", {"site": "Hill"}, _fields(used=used, recovered=_gallons)),
        st.builds(lambda of, at: {"line": "reading", "fields": {"of": of, "shows": at}}, tank, _levels),
        st.builds(lambda of, at: {"line": "reading", "fields": {"of": of, "shows": at}}, meter, shows),
        _joined("hand over", {"place": "Station"}, _fields(
            amount=amount, tank=tank, tank_after=after, refused=st.just("too dirty"), ticket=_numbers,
        )),
        _joined("hand over", {"place": "Station", "tank_after": "empty"}, _fields(amount=amount, ticket=_numbers)),
        _joined("hand over", {"place": "station"}, _fields(amount=amount, ticket=_numbers)),
        st.builds(
            lambda a, b, fields: {"line": "move", "fields": {"tank": a, "to": b, **fields}},
            tank, tank, _fields(amount=_gallons, tank_after=after),
        ),
        _joined("use again", {}, _fields(tank=tank, amount=_gallons)),
        _joined("foreign water", {"what": "rain"}, _fields(tank=tank, amount=_gallons)),
        _joined("solids", {"what": "grit"}, _fields(tank=tank, amount=_gallons)),
        _joined("escape", {"what": "the mat leaked"}, _fields(from_tank=tank, amount=_gallons)),
        _joined("led away", {"place": "Lawn"}, _fields(amount=_gallons)),
        _joined("tank full", {}, _fields(tank=tank)),
        _joined("remark", {"text": "curb side, José said"}, st.just({})),
    )  # fmt: skip


@st.composite
def runs(draw: st.DrawFn, number: int) -> Entry:
    """One night."""
    rig = draw(st.sampled_from(RIGS))
    name = draw(st.sampled_from(["Birch", "old birch"])) if rig == "Birch" else rig
    day = draw(st.sampled_from([f"2026-09-{n:02d}" for n in range(1, 8)]))
    fields: Fields = {"rig": name, "lead": "Rosa Iglesias", "date": day}
    fields["where"] = draw(st.sampled_from(["see lines", "see lines", "aboard", "Station", "no water", "not known"]))
    fields |= draw(_fields(
        ticket=_numbers,
        used=_gallons, recovered=st.one_of(_gallons, _unread, st.just("0 gal")), remark=st.just("Fuga en el desagüe"),
        got_away=st.just("saw none"),
        start=st.sampled_from([f"{day}T20:00:00-06:00", f"{day}T22:00:00-06:00"]),
    ))  # fmt: skip
    given = draw(st.lists(lines(rig), max_size=6))
    numbered = [{"n": str(n), **line} for n, line in enumerate(given, start=1)]
    return made(f"run {number}", "run", {"fields": fields, "lines": numbered, "typed": {}, "who": "Rosa Iglesias"})


@st.composite
def changes(draw: st.DrawFn, number: int, nights: list[Entry], before: list[Entry]) -> Entry:
    """Something that comes after a night: a correction, a completion, a cancellation, a ticket, a file, a page."""
    run = draw(st.sampled_from(nights))
    name, who = f"change {number}", {"who": "the office"}
    why = {"reason": draw(st.sampled_from(["keyed wrong", "read wrong"])), "why": "the sheet says so", **who}
    at = [line["n"] for line in run.payload["lines"] if not line["fields"].get("of", "").endswith("supply")]
    handed = [line["n"] for line in run.payload["lines"] if line["line"] == "hand over"]
    kind = draw(
        st.sampled_from(
            [
                "correct",
                "correct",
                "line",
                "complete",
                "add",
                "cancel",
                "cancel",
                "ticket",
                "waiting",
                "waiting",
                "number",
                "outing",
                "order",
                "others",
            ]
        )
    )  # fmt: skip
    other = draw(st.sampled_from(nights))
    match kind:
        case "correct":
            field, value = draw(st.sampled_from([
                ("date", "2026-09-03"), ("rig", "Alder"), ("rig", "Birch"), ("where", "Station"), ("where", "aboard"),
                ("used", "75 gal"), ("recovered", "not read"), ("ticket", "R-1"),
            ]))  # fmt: skip
            outings = [one.id for one in before if one.kind == "same outing"]
            whole = {"outing": draw(st.sampled_from(outings))} if outings and draw(st.booleans()) else {}
            about = {"run": run.id, "line": "", "field": field, "value": value, "was": None}
            return made(name, "correct", {**about, **why, **whole})
        case "outing" if other.id != run.id:
            return made(name, "same outing", {"first": run.id, "second": other.id, "why": "two phones", **who})
        case "order":
            said = list(dict.fromkeys([run.id, other.id, draw(st.sampled_from(nights)).id]))
            return made(name, "order", {"tank": "Alder holding", "runs": said, "why": "the crews say so", **who})
        case "line" if at:
            field, value = draw(st.sampled_from([
                ("tank_after", "empty"), ("tank_after", "5.0 in"), ("site", "Hill"), ("amount", "33 gal"),
                ("shows", "empty"), ("not_worked", "rain"), ("ticket", "R-1"), ("ticket", "R-2"), ("place", "Yard"),
            ]))  # fmt: skip
            line = draw(st.sampled_from(at))
            return made(
                name, "correct", {"run": run.id, "line": line, "field": field, "value": value, "was": None, **why}
            )
        case "add":
            added = draw(lines("Alder"))
            return made(
                name, "complete", {"run": run.id, "after": draw(st.sampled_from(["", *at])), "add": added, **who}
            )
        case "cancel":
            record = draw(st.sampled_from([run, *before]))
            return made(name, "cancel", {"record": record.id, "why": "entered twice", **who})
        case "ticket" if handed:
            spots = [{"run": run.id, "line": handed[0]}]
            spots += [{"run": other.id, "line": n["n"]} for n in other.payload["lines"] if n["line"] == "hand over"][:1]
            fields = {"number": f"T-{number}", "accepted": "48 gal"}
            return made(name, "ticket", {"fields": fields, "handovers": spots, **who})
        case "waiting":
            fields = {
                "number": draw(st.sampled_from(["R-1", "r-1", "R-2"])),
                "place": draw(_places),
                "accepted": "48 gal",
            }
            return made(name, "ticket", {"fields": fields, "handovers": [], **who})
        case "number" if waiting := [one for one in before if one.kind == "ticket"]:
            field, value = draw(st.sampled_from([("number", "R-1"), ("number", "R-2"), ("place", "Yard")]))
            about = {"run": draw(st.sampled_from(waiting)).id, "line": "", "field": field, "value": value, "was": None}
            return made(name, "correct", {**about, **why})
        case "others":
            about = f"{run.payload['fields']['date']}-{run.payload['fields']['rig'].lower()}"
            page = {"page": "proof", "number": f"P-{number}", "about": about, "date": "2026-09-20", "files": {}}
            page |= {"made_from": {"size": 1, "root": "00"}, "figures": {}, "replaces": "", **who}
            attached = {"record": run.id, "name": "photo.jpg", "sha256": "0" * 64, "size": 1, "media": "image/jpeg"}
            accepted = {"rule": "ticket-1", "about": about, "why": "known", "until": "2026-12-31", **who}
            tickets = [one.id for one in before if one.kind == "ticket"]
            ticket = {"run": draw(st.sampled_from(tickets)) if tickets else run.id, "line": "", "field": "accepted"}
            old = {
                "fields": {"date": "2019-05-01", "client": "Quay", "used": "200 gal"},
                "typed": {},
                "file": "old.csv",
            }
            old |= {"sha256": "0" * 64, "sheet": "2019", "row": number, "mapping": "0" * 64, "method": "", **who}
            closing = {"month": "2026-09", "page": "M-1", "size": 1, "root": "00", "figures": {}, **who}
            return draw(st.sampled_from([
                made(name, "correct", {**ticket, "value": "47 gal", "was": None, **why}),
                made(name, "old row", old), made(name, "close", closing),
                made(name, "reopen", {"month": "2026-09", "why": "a late ticket", **who}),
                made(name, "issue", page), made(name, "attach", {**attached, "what": "the drain", **who}),
                made(name, "accept", accepted),
            ]))  # fmt: skip
        case _:
            field = draw(st.sampled_from(["supply", "used", "start", "recovered"]))
            value = {"start": "2026-09-03T21:00:00-06:00", "supply": "hydrant"}.get(field, "60 gal")
            return made(name, "complete", {"run": run.id, "line": "", "field": field, "value": value, **who})


@st.composite
def entries(draw: st.DrawFn, most: int = 7) -> list[Entry]:
    """What is handed in to a book after its registers, in an order in which it may arrive."""
    nights = [draw(runs(number)) for number in range(draw(st.integers(1, most)))]
    after: list[Entry] = []
    for number in range(draw(st.integers(0, 6))):
        after.append(draw(changes(number, nights, after)))
    return draw(st.permutations([*nights, *after])) if draw(st.booleans()) else [*nights, *after]


@st.composite
def papers(draw: st.DrawFn) -> list[Entry]:
    """A few nights that hand over, and tickets that name no handover: numbers that come, go and meet, in any order."""
    number, place = st.sampled_from(["R-1", "r-1", "R-2"]), st.sampled_from(["Station", "Station", "Yard"])
    nights, slips = [], []
    for n in range(draw(st.integers(2, 4))):
        rig = draw(st.sampled_from(["Alder", "Birch"]))
        fields = {"rig": rig, "lead": "Rosa Iglesias", "date": f"2026-09-0{draw(st.integers(1, 5))}", "where": "Yard"}
        fields |= {"ticket": draw(number)} if draw(st.booleans()) else {}
        given = [{"place": draw(place), "ticket": draw(number)} for _ in range(draw(st.integers(0, 2)))]
        numbered = [{"n": str(i), "line": "hand over", "fields": one} for i, one in enumerate(given, start=1)]
        nights.append(made(f"run {n}", "run", {"fields": fields, "lines": numbered, "typed": {}, "who": ""}))
    for n in range(draw(st.integers(1, 3))):
        spots = [{"run": draw(st.sampled_from(nights)).id, "line": "1"}] if draw(st.integers(0, 3)) == 0 else []
        fields = {"number": draw(number), "place": draw(place), "accepted": "48 gal"}
        slips.append(made(f"slip {n}", "ticket", {"fields": fields, "handovers": spots, "who": ""}))
    after: list[Entry] = []
    for n in range(draw(st.integers(0, 4))):
        if draw(st.booleans()):
            off = draw(st.sampled_from([*nights, *slips, *after]))
            after.append(made(f"off {n}", "cancel", {"record": off.id, "why": "entered twice", "who": ""}))
            continue
        of = draw(st.sampled_from([*nights, *slips]))
        line = "1" if of.kind == "run" and of.payload["lines"] else ""
        fields_ = ["number", "place"] if of.kind == "ticket" else ["ticket", "place" if line else "where"]
        field = draw(st.sampled_from(fields_))
        value = draw(place if field in ("place", "where") else number)
        about = {"run": of.id, "line": line, "field": field, "value": value, "was": None}
        after.append(made(f"fix {n}", "correct", {**about, "reason": "keyed wrong", "why": "the sheet", "who": ""}))
    return draw(st.permutations([*nights, *slips, *after]))


@st.composite
def bibs(draw: st.DrawFn) -> list[Entry]:
    """Nights of several rigs at few sites on few days, a meter on no rig read among them; in any order."""
    site = st.sampled_from(["Quay", "Quay", "quay", "Hill"])
    stop = site.map(lambda name: {"line": "stop", "fields": {"site": name}})
    by_bib = {"method": "meter", "meter": "Quay bib", "start": "100", "end": "120"}
    used: st.SearchStrategy[Any] = st.sampled_from(["not read", "90 gal", by_bib])
    nights = []
    for n in range(draw(st.integers(2, 5))):
        rig, day = draw(st.sampled_from(["Alder", "Birch", "old birch"])), f"2026-09-0{draw(st.integers(1, 2))}"
        fields = {"rig": rig, "lead": "Rosa Iglesias", "date": day, "where": "Station", **draw(_fields(used=used))}
        shown = draw(st.sampled_from([[], ["100 count"], ["110 count", "130 count"], ["100 count", "120 count"]]))
        meter = draw(st.sampled_from(["Quay bib", "Quay bib", "loose supply"]))
        looks = [{"line": "reading", "fields": {"of": meter, "shows": one}} for one in shown]
        given = [*looks[:1], *draw(st.lists(stop, max_size=2)), *looks[1:]]
        given.append({"line": "hand over", "fields": {"place": "Station", "tank_after": "empty"}})
        numbered = [{"n": str(i), **one} for i, one in enumerate(given, start=1)]
        nights.append(made(f"run {n}", "run", {"fields": fields, "lines": numbered, "typed": {}, "who": ""}))
    after: list[Entry] = []
    for n in range(draw(st.integers(0, 4))):
        run = draw(st.sampled_from(nights))
        stops = [line["n"] for line in run.payload["lines"] if line["line"] == "stop"]
        who = {"who": "the office"}
        match draw(st.sampled_from(["cancel", "add", "run", "line"])):
            case "cancel":
                off = draw(st.sampled_from([*nights, *after]))
                after.append(made(f"off {n}", "cancel", {"record": off.id, "why": "entered twice", **who}))
            case "add":
                after.append(made(f"more {n}", "complete", {"run": run.id, "after": "1", "add": draw(stop), **who}))
            case kind:
                line = draw(st.sampled_from(stops)) if stops and kind == "line" else ""
                options = [("site", "Hill"), ("site", "Quay"), ("used", "80 gal"), ("not_worked", "rain")]
                field, value = draw(st.sampled_from(options)) if line else ("used", draw(used))
                about = {"run": run.id, "line": line, "field": field, "value": value, "was": None, "why": "so", **who}
                after.append(made(f"fix {n}", "correct", {**about, "reason": "keyed wrong"}))
    return draw(st.permutations([*nights, *after]))


@contextmanager
def book_with(given: list[Entry], cuts: list[int] | None = None) -> Iterator[tuple[Book, list[list[Entry]]]]:
    """A book with its registers, and the entries still to come, in batches that end at the cuts."""
    ends = sorted({*(cut % (len(given) + 1) for cut in cuts or ()), len(given)})
    starts = [0, *ends[:-1]]
    with TemporaryDirectory() as folder, Book.create(Path(folder) / "book", FIRST, now=NOW) as book:
        book.append(REGISTERS, receipt_time=NOW)
        yield book, [given[start:end] for start, end in zip(starts, ends, strict=True)]


def in_file(folder: Path) -> dict[str, list[Row]]:
    """Every row of every table of figures and papers, without the numbers that the file gives them."""
    with closing(sqlite3.connect(folder / derived_files.QUERY)) as db:
        db.row_factory = sqlite3.Row
        return {table.name: plain(dict(row) for row in db.execute(f"SELECT * FROM {table.name}")) for table in TABLES}


def plain(rows: Iterator[dict[str, Any]]) -> list[Row]:
    return sorted((tuple(sorted((key, value) for key, value in row.items() if key != "n")) for row in rows), key=repr)


def from_everything(book: Book) -> dict[str, list[Row]]:
    """The same rows, made in memory from one fold over all records."""
    state = gather(book.records())
    refs = {run.record: run.ref for run in state.runs}
    rows = of_papers(state, lambda run: refs.get(run, ""))
    rows |= of_runs(state, calculate(state), refs)
    return {name: plain(iter(made)) for name, made in rows.items()}
