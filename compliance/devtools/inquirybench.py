"""How long an owner waits for an answer to an inquiry, in a book of any size."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from compliance.devtools.growth import last_run

SEARCH, WORDS, PACK = "find an inquiry's night", "the same, with words to look for", "pack of one night"
GOALS = {SEARCH: 1.0, WORDS: 1.0, PACK: 5.0}
"""What is timed -> most seconds of the whole process."""
_WORD = "canal"


def waits(book: Path, folder: Path) -> Iterator[tuple[str, float, str]]:
    """(what, seconds of the whole process, what came of it).

    An inquiry about the newest night is written into the book. Its words are taken in by a first search with words,
    which is not timed: it happens once.
    """
    run = last_run(book)
    site, day = _site(book, run), run[:10]
    asked = ("--site", site, "--first", f"{day}T12:00", "--until", f"{_after(day)}T12:00")
    _told(book, "inquiry", "open", *asked, "--asked-by", "Storm water office", "--who", "bench")
    took, found = _timed(book, "inquiry", "search", "inquiry-1", "--json")
    yield SEARCH, took, f"stops at or near {site}: {len(found['near'])}"
    words = ("--words", _WORD, "--json")
    _told(book, "inquiry", "search", *asked, *words)
    took, found = _timed(book, "inquiry", "search", *asked, *words)
    yield WORDS, took, f"stops near it, or with {_WORD!r}: {len(found['near']) + len(found['other'])}"
    _told(book, "inquiry", "pack", "inquiry-1", "--out", str(folder / "plan"))
    (plan,) = (folder / "plan").iterdir()
    began = time.perf_counter()
    _told(book, "inquiry", "pack", "inquiry-1", "--plan", str(plan), "--out", str(folder / "pack"))
    took = time.perf_counter() - began
    made = [path for path in (folder / "pack").rglob("*") if path.is_file()]
    yield PACK, took, f"{len(made)} files, {sum(path.stat().st_size for path in made) / 1000:,.0f} kB"


def _site(book: Path, run: str) -> str:
    """A site at which the run worked."""
    lines = json.loads(_told(book, "show", run, "--json"))["lines"]
    return next(str(line["site"]) for line in lines if line["line"] == "stop" and "site" in line)


def _after(day: str) -> str:
    from datetime import date, timedelta

    return (date.fromisoformat(day) + timedelta(days=1)).isoformat()


def _timed(book: Path, *args: str) -> tuple[float, Any]:
    began = time.perf_counter()
    said = _told(book, *args)
    return time.perf_counter() - began, json.loads(said)


def _told(book: Path, *args: str) -> str:
    source = "from compliance.cli.main import run; run()"
    command = [sys.executable, "-c", source, "--book", str(book), *args]
    return subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout
