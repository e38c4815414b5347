"""What one call of the command works with: the folder of the book, the clock, and where random ids come from."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from pathlib import Path  # help and completion do without it

    from compliance.book.store import Book
    from compliance.records.state import State
    from compliance.water.results import Night

BOOK_VARIABLE = "WASHWATER_BOOK"
OBJECTS_BETWEEN_COLLECTIONS = 100_000
"""New objects after which Python looks for cycles. A book is millions of small frozen objects without a cycle among
them: at Python's own 700, looking through them again and again took a tenth of the calculator's time and a quarter of
the rules'.
"""


def _now() -> datetime:
    return datetime.now(UTC).astimezone()


@dataclass
class Shell:
    """named: the folder given on the command line. now: the clock, with zone. token: 16 random bytes."""

    named: Path | None = None
    debug: bool = False
    now: Callable[[], datetime] = _now
    token: Callable[[], bytes] = lambda: os.urandom(16)

    @property
    def folder(self) -> Path:
        """The folder of the book: --book, else WASHWATER_BOOK, else the current folder or 'book' in it."""
        from pathlib import Path

        from compliance.book.schema import path_of

        if self.named is not None:
            return self.named
        if os.environ.get(BOOK_VARIABLE):
            return Path(os.environ[BOOK_VARIABLE])
        here = Path()
        return here if path_of(here).exists() or not path_of(here / "book").exists() else here / "book"

    def stamp(self) -> str:
        """The clock as it is written down: RFC 3339 with offset, to the second."""
        return self.now().isoformat(timespec="seconds")

    def open(self) -> Book:
        """The book, to be used in a `with` block."""
        from compliance.book.store import Book

        collect_seldom()
        return Book.open(self.folder)

    def zone_today(self, state: State) -> str:
        """Today's date where the business is."""
        from zoneinfo import ZoneInfo

        return self.now().astimezone(ZoneInfo(str(state.business["zone"]))).date().isoformat()


def collect_seldom() -> None:
    """Let this process look for cycles less often, for as long as it lasts; what is free is given back all the same."""
    gc.set_threshold(OBJECTS_BETWEEN_COLLECTIONS, 20, 20)


MANY_RUNS = 1000
"""Runs from which on their figures take long enough to say so."""


def whole(book: Book) -> State:
    """All that the book says; a terminal is told how far the reading is, where it is long."""
    from compliance.cli.progress import Progress
    from compliance.records.state import gather

    with Progress() as progress:
        return gather(progress.each(book.records(), book.head().size, "reading records"))


def reckoned(state: State) -> Night:
    """Where the water went, over the whole book."""
    from compliance.water.fold import calculate

    with long_work(state, "working out where the water went"):
        return calculate(state)


@contextmanager
def long_work(state: State, what: str) -> Iterator[None]:
    """Say what is being done while it lasts, in a book of many runs."""
    from compliance.cli.progress import PATIENCE, Progress

    with Progress(patience=0 if len(state.runs) >= MANY_RUNS else PATIENCE) as progress:
        progress.say(what)
        yield


def refused(what: str, where: str, next_step: str) -> ComplianceError:
    """One problem that stops the command."""
    return ComplianceError.one(what, where, next_step)


def near_name(name: str, known: list[str]) -> str:
    """The next step after a name that nothing has: the nearest one, or where the names are listed."""
    from difflib import get_close_matches

    near = get_close_matches(name, known, 1)
    return f"did you mean {near[0]}?" if near else "see `washwater list runs`"


def days_given(first: str | None, last: str | None) -> tuple[str | None, str | None]:
    """The days that --from and --to name, as they are stored; one that was not given is None.

    Raises ComplianceError for what is no day, and for a span that ends before it begins: of that one it would be said
    that there is nothing in it.
    """
    from compliance.intake.moments import check_date

    read = [
        None if typed is None else check_date(typed, option) for typed, option in ((first, "--from"), (last, "--to"))
    ]
    problems = [one for one in read if isinstance(one, Problem)]
    if problems:
        raise ComplianceError(*problems)
    first, last = (None if isinstance(one, Problem) else one for one in read)
    if first is not None and last is not None and first > last:
        raise refused(f"the first day, {first}, is after the last, {last}", "--from, --to", "swap the two")
    return first, last
