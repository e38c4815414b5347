"""What is told on a terminal, broken between words: a terminal breaks a line wherever it is full."""

from __future__ import annotations

import re
import sys
from typing import Final

import click

_HANGING: Final = "  "
"""Set before what goes on in a further line, so that the next text is seen to begin."""
_COMMAND: Final = re.compile(r"washwater [^`\n]*")
"""What somebody copies to type it: never broken, the terminal does it better."""
_TIED: Final = "\x1f"
"""Stands for a blank at which no line may end; no text has it."""


def tell(text: str, *, err: bool = False) -> None:
    """Print a text; on a terminal no word of it is broken. What a program reads is left as it is."""
    stream = sys.stderr if err else sys.stdout
    click.echo(wrapped(text, _width()) if stream.isatty() else text, err=err)


def wrapped(text: str, width: int) -> str:
    """The text in lines of at most so many characters, a longer word in a line of its own.

    Each of its own lines stays one, and what is set in stays so.
    """
    from textwrap import wrap  # nobody waits for it who hands in a file

    lines = []
    for line in _COMMAND.sub(lambda found: found[0].replace(" ", _TIED), text).split("\n"):
        inset = line[: len(line) - len(line.lstrip(" "))]
        further = f"{inset}{_HANGING}"
        lines += wrap(line, width, subsequent_indent=further, break_long_words=False, break_on_hyphens=False) or [""]
    return "\n".join(lines).replace(_TIED, " ")


def _width() -> int:
    from shutil import get_terminal_size

    return get_terminal_size().columns
