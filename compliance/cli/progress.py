"""How far a long work is, on the terminal's stderr and nowhere else.

Silent when stderr is no terminal, and for the first second. NO_COLOR leaves the colour out; TERM=dumb, which cannot
take a line back, leaves it all out. Nothing is kept of it: the line is wiped when the work is done or interrupted.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from types import TracebackType
from typing import TextIO, TypeVar

T = TypeVar("T")

PATIENCE = 1.0
"""Seconds before the first word: what is done by then needs none."""
_OFTEN = 0.1
_DIM, _PLAIN = "\x1b[2m", "\x1b[0m"


def _on_terminal(stream: TextIO) -> bool:
    return stream.isatty() and os.environ.get("TERM", "") != "dumb"


@dataclass
class Progress:
    """One line that says what is being done. Use it in a `with` block. clock: seconds, for tests another one.

    patience: seconds before the first word, `PATIENCE` unless it is said; 0 where the work is known to be long.
    """

    stream: TextIO = field(default_factory=lambda: sys.stderr)
    clock: Callable[[], float] = time.monotonic
    patience: float | None = None
    _shown: bool = False

    def __post_init__(self) -> None:
        self._speaks = _on_terminal(self.stream)
        self._colour = not os.environ.get("NO_COLOR")
        self._next = self.clock() + (PATIENCE if self.patience is None else self.patience)

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.wipe()

    def say(self, what: str) -> None:
        """Say what is being done now; not every word is shown, so that saying costs nothing."""
        if not self._speaks or self.clock() < self._next:
            return
        self._next = self.clock() + _OFTEN
        room = _room()
        text = what[:room]
        self.wipe()
        self.stream.write(f"\r{_DIM}{text}{_PLAIN}" if self._colour else f"\r{text}")
        self.stream.flush()
        self._shown = True

    def each(self, things: Iterable[T], of: int, what: str) -> Iterator[T]:
        """The things one by one, told as 'what, n of N'."""
        for n, thing in enumerate(things, start=1):
            self.say(f"{what}, {n:,} of {of:,}")
            yield thing

    def wipe(self) -> None:
        """Take the line back, before something else is written on the terminal."""
        if self._shown:
            width = _room()
            self.stream.write(f"\r{' ' * width}\r")
            self.stream.flush()
            self._shown = False


def _room() -> int:
    """Columns of the terminal but one: a full line would be broken."""
    import shutil  # where nothing is shown, nobody waits for it

    return shutil.get_terminal_size((80, 24)).columns - 1
