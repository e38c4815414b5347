"""Where the time goes in a book of some size, and how it grows: what a row that misses its goal is made of."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Final, TypeVar

T = TypeVar("T")

STEPS: Final = (
    "read and fold the records",
    "work out the water",
    "judge by all rules",
    "verify the book",
    "make the month's page",
    "set its PDF",
    "set its HTML",
    "set its workbook",
)
"""What is timed, in the order in which a month's command does it (verify aside)."""
OF_THE_BOOK: Final = STEPS[:4]
"""Steps whose time is that of the whole book; the others are those of one month."""
TODAY: Final = date(2026, 11, 25)


def steps(book: Path, month: str) -> Mapping[str, float]:
    """Step -> CPU seconds, in one process, once. month: 'YYYY-MM'."""
    from compliance.book.store import Book
    from compliance.book.verify import verify
    from compliance.cli.paging import month_days
    from compliance.cli.shell import collect_seldom
    from compliance.records.state import gather
    from compliance.reports import html, pdf, workbook
    from compliance.reports.imprint import Imprint
    from compliance.reports.month import month_page
    from compliance.reports.sheets import page_sheets
    from compliance.rules.run import check
    from compliance.rules.scene import Scene
    from compliance.water.fold import calculate

    took: dict[str, float] = {}

    def timed(step: str, what: Callable[[], T]) -> T:
        began = time.process_time()
        made = what()
        took[step] = time.process_time() - began
        return made

    collect_seldom()  # as the program does
    with Book.open(book) as opened:
        state = timed(STEPS[0], lambda: gather(opened.records()))
    night = timed(STEPS[1], lambda: calculate(state))
    report = timed(STEPS[2], lambda: check(Scene(state, night, TODAY)))
    timed(STEPS[3], lambda: verify(book))
    first, last = month_days(month)
    found = getattr(report, "findings", ())
    page = timed(STEPS[4], lambda: month_page(state, night, found, first, last, Imprint("M-1", "2026-11-25")))
    timed(STEPS[5], lambda: pdf.render(page))
    timed(STEPS[6], lambda: html.render(page))
    timed(STEPS[7], lambda: workbook.render(page.title, page_sheets(page)))
    return took


def steps_apart(book: Path, month: str) -> Mapping[str, float]:
    """The same in a process of its own, whose memory, gigabytes for a large book, is free again afterwards."""
    source = (
        "import json, sys; from pathlib import Path; from compliance.devtools.growth import steps\n"
        "print(json.dumps(steps(Path(sys.argv[1]), sys.argv[2])))"
    )
    done = subprocess.run(
        [sys.executable, "-c", source, str(book), month], check=True, stdout=subprocess.PIPE, text=True
    )
    return {str(name): float(spent) for name, spent in json.loads(done.stdout).items()}


def imports(command: Sequence[str]) -> Mapping[str, float]:
    """Part of the program -> milliseconds of importing it while a command runs; 'other' is all the rest."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", "from compliance.cli.main import run; run()", *command],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    found: dict[str, float] = {}
    for line in done.stderr.splitlines():
        head, _, rest = line.partition("|")
        own = head.removeprefix("import time:").strip()
        if not own.isdigit():
            continue
        parts = rest.rpartition("|")[2].strip().split(".")
        name = parts[1] if parts[0] == "compliance" and len(parts) > 1 else "other"
        found[name] = found.get(name, 0.0) + int(own) / 1000
    return dict(sorted(found.items(), key=lambda one: -one[1]))


OLD_ROWS: Final = 1_000
"""Rows of the old book that is looked at."""


def commands(book: Path, folder: Path, *, turns: int) -> Mapping[str, float]:
    """What an office does beside the nights -> seconds of the whole process, the best of some turns.

    Nothing is written into the book.
    """
    old = folder / "old.csv"
    rows = (
        f"2019-{1 + n % 12:02d}-{1 + n % 28:02d},Rig {n % 3},Client {n % 40},{100 + n % 300},{80 + n % 300}"
        for n in range(OLD_ROWS)
    )
    old.write_text("\n".join(["Date,Rig,Client,Used (gal),Recovered (gal)", *rows]), encoding="utf-8")
    last = last_run(book)
    asked = {
        "print the balance of a run": ["balance", last],
        "print a proof": ["proof", f"{last}.s1", "--preview", "--out", str(folder / "proof")],
        "list the runs of a day": ["list", "runs", "--from", last[:10]],
        "print a card": ["card", "--out", str(folder / "{n}.pdf")],
        "write the keying workbook": ["template", str(folder / "{n}.xlsx")],
        f"look at an old book of {OLD_ROWS:,} rows": ["import", str(old)],
        "list what is still needed": ["complete", "--list"],
        "search all that was typed": ["find", "canal"],
    }
    return {
        what: min(
            _took(["--book", str(book), *(word.replace("{n}", f"out-{n}") for word in command)]) for n in range(turns)
        )
        for what, command in asked.items()
    }


def last_run(book: Path) -> str:
    """The name of the newest run at which somebody worked."""
    from compliance.book.derived_lookup import Index
    from compliance.book.store import Book

    with Book.open(book) as opened, Index.open(opened) as index:
        newest = index.db.execute("SELECT DISTINCT day FROM run ORDER BY day DESC")
        rows = (row for (day,) in newest for row in index.between(day, day))
        return next(
            index.ref(row)
            for row in rows
            if any(line["line"] == "stop" and "not_worked" not in line["fields"]
                   for line in opened.record(row.id).payload["lines"])
        )  # fmt: skip


def _took(command: Sequence[str]) -> float:
    began = time.perf_counter()
    source = "from compliance.cli.main import run; run()"
    subprocess.run([sys.executable, "-c", source, *command], check=True, capture_output=True)
    return time.perf_counter() - began


def table(by_size: Mapping[int, Mapping[str, float]], what: str = "step, CPU seconds") -> list[str]:
    """Lines of Markdown: a row for each thing timed, a column a size of book, seconds."""
    sizes = sorted(by_size)
    lines = [f"| {what} | " + " | ".join(f"{size:,} stops" for size in sizes) + " |"]
    lines.append("|---" * (len(sizes) + 1) + "|")
    for name in by_size[sizes[0]]:
        lines.append(f"| {name} | " + " | ".join(f"{by_size[size][name]:.3f}" for size in sizes) + " |")
    return lines


def picture(by_size: Mapping[int, Mapping[str, float]]) -> str:
    """An SVG: microseconds a stop against the size of the book; what grows with the book is a level line."""
    from compliance.reports import charts
    from compliance.reports.html import svg
    from compliance.reports.model import Cell, Chart, Series

    sizes = sorted(by_size)

    def cell(size: int, step: str) -> Cell:
        value = f"{1e6 * by_size[size][step] / size:.1f}"
        return Cell(value, value, "µs a stop")

    series = tuple(Series(step, tuple(cell(size, step) for size in sizes)) for step in OF_THE_BOOK)
    chart = Chart("line", "CPU time a stop", "µs a stop", tuple(f"{size:,}" for size in sizes), series, "stops")
    return svg(charts.layout(chart, 640, "en"), chart.title)
