"""How fast it is: every row as a ratio to a bare floor that is timed in the same run, in turn.

One machine's seconds say little, so each figure is the median of several turns of A, B, A, B ..., and what is held
against a goal is A / B. Books come from the bulk loader `intake.seeded_book`, which passes the validator by.
"""

from __future__ import annotations

import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from itertools import islice
from pathlib import Path

from compliance.devtools import growth, inquirybench

NOW = "2026-11-25T08:00:00-07:00"
LARGE = 100_000
"""Stops from which on what reads the whole book is timed once, not in turns."""
_COMMAND = [sys.executable, "-c", "from compliance.cli.main import run; run()"]

BARE_CLICK = """
import click
@click.group()
def bare(): "A group."
@bare.command()
@click.option("--name", help="A name.")
def one(name): "A command."
bare()
"""
BARE_INSERT = """
import click, sqlite3, sys
@click.command()
@click.argument("file")
def one(file):
    db = sqlite3.connect(file, isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL"); db.execute("PRAGMA synchronous = FULL")
    db.execute("CREATE TABLE IF NOT EXISTS t (seq INTEGER PRIMARY KEY, body BLOB)")
    db.execute("BEGIN IMMEDIATE"); db.execute("INSERT INTO t (body) VALUES (?)", (b"x" * 4000,)); db.execute("COMMIT")
    click.echo("done")
one()
"""


@dataclass(frozen=True)
class Row:
    """One measured thing. value: a ratio, or a figure in its own unit; goal: what it is held against."""

    what: str
    value: float
    unit: str
    goal: float
    at_most: bool
    detail: str

    @property
    def met(self) -> bool:
        return self.value <= self.goal if self.at_most else self.value >= self.goal


@dataclass
class Profile:
    """What the rows are made of. books: stops -> what the bulk loader made. by_size: stops -> step -> CPU seconds;
    commands: stops -> command -> seconds; imports: part -> milliseconds of a hand-in.
    """

    books: dict[int, str] = field(default_factory=dict)
    by_size: dict[int, Mapping[str, float]] = field(default_factory=dict)
    commands: dict[int, Mapping[str, float]] = field(default_factory=dict)
    imports: Mapping[str, float] = field(default_factory=dict)


def measure(stops: int, *, turns: int = 5, profile: Profile | None = None) -> Iterator[Row]:
    """Every row at a book of so many stops; into profile what they are made of."""
    from compliance.intake import seeded_book

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        book = folder / "book"
        began = time.perf_counter()
        made = seeded_book.make(book, stops)
        loading = time.perf_counter() - began
        month = _full_month(book)
        yield _help(folder, turns)
        yield _hand_in(folder, book, turns)
        yield _appends(folder, turns)
        steps = (growth.steps_apart if stops >= LARGE else growth.steps)(book, month)
        yield _one_run(book)
        yield _whole(stops, steps)
        yield from _month(folder, book, month, 1 if stops >= LARGE else max(2, turns // 2))
        yield _proof(book, turns)
        yield _verify(book, turns)
        for what, seconds, told in inquirybench.waits(book, folder):
            yield Row(what, seconds, "s", inquirybench.GOALS[what], True, told)
        if profile is not None:
            profile.books[stops] = f"{made.records:,} records, bulk-loaded in {loading:.0f} s"
            profile.commands[stops] = growth.commands(book, folder, turns=1 if stops >= LARGE else 3)
            profile.by_size[stops] = steps
            profile.imports = growth.imports(["--book", str(book), "log", "--from", str(folder / "night.json")])


def _pair(a: Callable[[], object], b: Callable[[], object], turns: int) -> tuple[float, float]:
    """Medians of a and b in seconds, taken in turn after one warm-up of each."""
    a(), b()
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(turns):
        for one, kept in zip((a, b), times, strict=True):
            began = time.perf_counter()
            one()
            kept.append(time.perf_counter() - began)
    return statistics.median(times[0]), statistics.median(times[1])


def _process(*args: str, source: str | None = None) -> Callable[[], object]:
    command = [sys.executable, "-c", source, *args] if source is not None else [*_COMMAND, *args]

    def run() -> object:
        return subprocess.run(
            command, check=True, capture_output=True, env={**os.environ, "PYTHONDONTWRITEBYTECODE": ""}
        )

    return run


def _ratio(what: str, a: float, b: float, goal: float, floor: str, *, at_most: bool = True) -> Row:
    value = a / b if at_most else b / a
    return Row(
        what, value, "x" if at_most else "of the floor", goal, at_most, f"{a * 1000:.0f} ms; {floor} {b * 1000:.0f} ms"
    )


def _help(folder: Path, turns: int) -> Row:
    a, b = _pair(_process("--help"), _process("--help", source=BARE_CLICK), turns * 2)
    return _ratio("washwater --help", a, b, 1.5, "bare click")


def _hand_in(folder: Path, book: Path, turns: int) -> Row:
    """A night from a file, into a copy of the book; a new one each turn."""
    from compliance.intake import seeded_book

    nights = [raw for raw in seeded_book.nights(7, 200, first=date(2098, 12, 1)) if raw.get("kind", "run") == "run"]
    taken = iter(nights)

    def a() -> object:
        raw = next(taken)
        file = folder / "night.json"
        file.write_text(_json(raw), encoding="utf-8")
        return _process("--book", str(book), "log", "--from", str(file))()

    other = folder / "bare.sqlite"
    x, y = _pair(a, _process(str(other), source=BARE_INSERT), turns)
    return _ratio("hand in one run", x, y, 3.0, "bare click + sqlite3 insert")


def _json(raw: object) -> str:
    import json

    return json.dumps(raw, default=str)


def _appends(folder: Path, turns: int) -> Row:
    """Durable appends in one process, with what keeps the query tables findable, against bare durable inserts."""
    import sqlite3

    from compliance.book.store import Book
    from compliance.intake import seeded_book

    entries = [seeded_book.stored(raw) for raw in seeded_book.nights(3, 1600)][:200]
    sizes = [len(_json(one.payload)) for one in entries]
    made = iter(range(1000))

    def a() -> None:
        target = folder / f"appends-{next(made)}"
        seeded_book.make(target, 0)
        with Book.open(target) as book:
            for one in entries:
                book.append([one], receipt_time=NOW)

    def b() -> None:
        db = sqlite3.connect(folder / f"inserts-{next(made)}.sqlite", isolation_level=None)
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")
        db.execute("CREATE TABLE t (seq INTEGER PRIMARY KEY, id TEXT, body BLOB)")
        for i, size in enumerate(sizes):
            db.execute("BEGIN IMMEDIATE")
            db.execute("INSERT INTO t VALUES (?, ?, ?)", (i, f"{i:032x}", b"x" * size))
            db.execute("COMMIT")
        db.close()

    x, y = _pair(a, b, turns)
    return _ratio(f"{len(entries)} durable appends", x, y, 0.4, "bare inserts", at_most=False)


def _one_run(book: Path) -> Row:
    """The rules over one run in the middle of the book, its water calculated before, with what rules look at."""
    from compliance.book.derived_lookup import Index
    from compliance.book.store import Book
    from compliance.cli.nearby import around_run
    from compliance.rules.run import check_run
    from compliance.rules.scene import Scene
    from compliance.water.fold import calculate

    with Book.open(book) as opened:
        with Index.open(opened) as index:
            days = [day for (day,) in index.db.execute("SELECT day FROM run ORDER BY day")]
            row = index.between(days[len(days) // 2], "9999")[0]
            ref = index.ref(row)
        began = time.perf_counter()
        found = around_run(opened, ref)
        assert found is not None
        state = found[0]
        night = calculate(state)
        before = time.perf_counter() - began
    check_run(Scene(state, night, growth.TODAY), ref)
    alone = statistics.median(_timed(lambda: check_run(Scene(state, night, growth.TODAY), ref)) for _ in range(5))
    detail = f"in process; reading and calculating it and the {len(state.runs)} runs around it {before * 1000:.0f} ms"
    return Row("check one run", alone * 1000, "ms", 10.0, True, detail)


def _whole(stops: int, steps: Mapping[str, float]) -> Row:
    """The whole book: calculator and rules, CPU time, as the goal is of a core."""
    reading, calculating, judging = (steps[name] for name in growth.STEPS[:3])
    return Row(
        "check the whole book", stops / (calculating + judging), "stops/s", 10_000, False,
        f"CPU; calculator {stops / calculating:,.0f}, rules {stops / judging:,.0f}; reading {reading:.2f} s",
    )  # fmt: skip


def _timed(what: Callable[[], object]) -> float:
    began = time.perf_counter()
    what()
    return time.perf_counter() - began


def _full_month(book: Path) -> str:
    """The last month with about as many runs as any has: in a large book, one with years before it."""
    from collections import Counter

    from compliance.book.store import Book

    with Book.open(book) as opened:
        months = Counter(str(record.payload["fields"]["date"])[:7] for record in opened.records(kind="run"))
    most = max(months.values())
    return max(month for month, runs in months.items() if runs >= 0.9 * most)


def _month(folder: Path, book: Path, month: str, turns: int) -> Iterator[Row]:
    """The month as PDF and workbook, a whole process, against the imports and writing alone; and its memory."""
    out = str(folder / "pages")
    source = (  # the system counts what a process had before it became this program as its own, but for this line
        "import sys; from pathlib import Path; from compliance.cli.main import main\n"
        "main(sys.argv[1:]); status = Path('/proc/self/status').read_text()\n"
        "print('KB', status.partition('VmHWM:')[2].split()[0])"
    )
    args = ["--book", str(book), "month", month, "--preview", "--out", out]
    kilobytes = 0

    def a() -> None:
        nonlocal kilobytes
        done = subprocess.run([sys.executable, "-c", source, *args], check=True, capture_output=True, text=True)
        kilobytes = max(kilobytes, int(done.stdout.rsplit("KB", 1)[1]))

    floor = (
        "import sys, pandas; from pathlib import Path; from compliance.reports import pdf, html, workbook\n"
        "from compliance.reports.page_json import from_json; from compliance.reports.sheets import page_sheets\n"
        "page = from_json(Path(sys.argv[1]).read_text()); pdf.render(page); html.render(page)\n"
        "workbook.render('t', page_sheets(page))"
    )
    first = _timed(a)
    (page,) = (folder / "pages").glob("preview-month-*.json")
    b = _process(str(page), source=floor)
    x, y = _pair(a, b, turns) if turns > 1 else (first, statistics.median(_timed(b) for _ in range(3)))
    yield _ratio("month as PDF and workbook", x, y, 1.5, "imports + writing")
    yield Row("memory of the month report", kilobytes / 1024, "MiB", 300, True, month)


def _proof(book: Path, turns: int) -> Row:
    """A proof's PDF in process, against a platypus page with the same number of words in its own font."""
    import io

    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Table

    from compliance.book.store import Book
    from compliance.records.state import gather
    from compliance.reports import pdf
    from compliance.reports.imprint import Imprint
    from compliance.reports.proof import proof_page
    from compliance.water.fold import calculate
    from compliance.water.jobs import job_facts, job_names

    with Book.open(book) as opened:
        state = gather(islice(opened.records(), 400))
    night = calculate(state)
    job = job_facts(state, night, job_names(night)[0])
    assert job is not None
    style = getSampleStyleSheet()["Normal"]

    def a() -> bytes:
        return pdf.render(proof_page(state, night, (), job, Imprint("P-1", "2026-11-25")))

    def b() -> bytes:
        out = io.BytesIO()
        story = [Paragraph("Water was used, captured and handed over on this night.", style) for _ in range(40)]
        story.append(Table([["what", "amount", "how it was read", "by"]] * 24))
        SimpleDocTemplate(out).build(story)
        return out.getvalue()

    x, y = _pair(a, b, turns * 4)
    return _ratio("proof PDF in process", x, y, 3.0, "bare platypus page")


def _verify(book: Path, turns: int) -> Row:
    """Verify against reading every row and hashing payload, leaf and node once."""
    import sqlite3
    from hashlib import sha256

    from compliance.book.verify import verify

    def floor() -> int:
        db = sqlite3.connect(book / "records.sqlite")
        hashed = 0
        for row in db.execute("SELECT * FROM records ORDER BY seq"):
            inner = sha256(row[-1]).digest()
            leaf = sha256(b"\0" + inner + str(row[:7]).encode()).digest()
            sha256(b"\1" + leaf + leaf).digest()
            hashed += 1
        db.close()
        return hashed

    x, y = _pair(lambda: verify(book), floor, turns)
    return _ratio("verify", x, y, 0.6, "read and hash", at_most=False)


def document(sizes: list[int], turns: int) -> tuple[str, str]:
    """docs/performance.md, and the picture that goes with it."""
    profile = Profile()
    parts = [
        "# How fast it is\n",
        f"Measured {datetime.now(UTC).date().isoformat()} on {os.cpu_count()} cores, {platform.system()}, Python "
        f"{platform.python_version()}, by `python -m compliance.devtools bench --write`. Machines differ, and this one "
        "is shared and noisy: the ratios to a bare floor, taken in turn in the same run, are what counts.",
        "Books are made by the bulk loader, which passes the validator by; they hold route nights of an invented fleet "
        "of six rigs.\n",
    ]
    for stops in sizes:
        rows = list(measure(stops, turns=turns, profile=profile))
        parts += [f"## A book of {stops:,} stops\n", f"{profile.books[stops]}.\n"]
        parts += ["| what | measured | goal | | detail |", "|---|---|---|---|---|"]
        for row in rows:
            sign = "<=" if row.at_most else ">="
            figure = f"{row.value:,.2f}" if row.value < 100 else f"{row.value:,.0f}"
            parts.append(
                f"| {row.what} | {figure} {row.unit} | {sign} {row.goal:,.4g} {row.unit} "
                f"| {'met' if row.met else 'missed'} | {row.detail} |"
            )
        parts.append("")
    parts += [
        "## Where the time goes\n",
        "One process, once, CPU time. The first four steps are over the whole book, and grow with it: the morning "
        "list, `check` without a run or days, and lists without days read all of it. A month's summary reads the year "
        "before it too, for what is still open and for what is usual, and no more, however large the book is: at a "
        "thousand stops a month twelve thousand stops, which is what it takes beyond imports and writing. Proofs, "
        "clients' summaries, balances, one run's check, lists of some days and inquiries read what they need, through "
        "the index.\n",
        *growth.table(profile.by_size),
        "",
        "![CPU time a stop against the size of the book](performance.svg)\n",
        f"Other commands, the whole process, wall clock, best of three; from {LARGE:,} stops on, once:\n",
        *growth.table(profile.commands, "command, seconds"),
        "",
        "Importing, while one night is handed in, milliseconds by part of the program (`other`: the interpreter's own "
        "modules and click): "
        + ", ".join(f"{name} {spent:.0f}" for name, spent in profile.imports.items())
        + ". Most of it is the making of frozen classes; the rules are there because the crew is told what to do "
        "before it leaves.",
        "",
    ]
    return "\n".join(parts), growth.picture(profile.by_size)
