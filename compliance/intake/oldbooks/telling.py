"""How far the work on a long file is: a short text now and then, for whoever asked to be told."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Final, TypeVar

T = TypeVar("T")
Say = Callable[[str], None]

_EVERY: Final = 100
"""Things between two texts: each takes well below a millisecond, and nobody reads faster."""


def unsaid(text: str) -> None:
    """Nobody asked."""


def told(things: Iterable[T], say: Say, what: str, of: int = 0) -> Iterator[T]:
    """The things one by one, told as 'what, n of N', or as 'what, n' where nobody knows how many there are."""
    end = f" of {of:,}" if of else ""
    for n, thing in enumerate(things):
        if n % _EVERY == 0:
            say(f"{what}, {n:,}{end}")
        yield thing
