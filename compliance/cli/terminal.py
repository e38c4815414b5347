"""A crew at a terminal: a question, and what is typed, one key where that is enough; what is wrong, in its language."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from compliance.cli.shell import Shell, refused
from compliance.cli.wrapping import tell
from compliance.records.problem import ComplianceError

if TYPE_CHECKING:
    from compliance.intake.question import Question


def prompt(question: Question, typing: Typing) -> str:
    """Print one question and read its answer: one key where that is enough, else a line."""
    from compliance.intake.question import KEY

    hint = f" ({question.hint})" if question.hint else ""
    tell(f"{question.text}{hint}")
    for option in question.options:
        tell(f"  {option.key} {option.label}")
    if question.enter is not None:
        tell(f"  {question.enter}")
    click.echo("> ", nl=False)
    return typing.key() if question.kind == KEY and sys.stdin.isatty() else typing.line()


class Typing:
    """What is typed: one key where that is enough, else a line. Keys typed ahead may come in one piece."""

    def __init__(self) -> None:
        self._ahead = ""

    def key(self) -> str:
        """One key; '' for Enter. An Enter that comes with the key is of the habit to press it, and answers nothing."""
        piece = self._ahead or click.getchar()
        if piece[0] in "\x03\x04":
            raise click.Abort
        end = len(piece) if piece[0] == "\x1b" else 1  # an arrow is one key, of several characters
        pressed, self._ahead = piece[:end], piece[end:]
        if pressed in "\r\n":
            pressed = ""
        elif self._ahead[:1] in ("\r", "\n"):
            self._ahead = self._ahead[1:]
        click.echo(pressed)
        return pressed

    def line(self) -> str:
        """A line, without its end."""
        begun, end, rest = self._ahead.replace("\r", "\n").partition("\n")
        click.echo(begun, nl=bool(end))
        self._ahead = rest
        if end:
            return begun
        line = sys.stdin.readline()
        if not line:
            raise click.Abort
        return begun + line.rstrip("\r\n")


@contextmanager
def told_in(lang: str, as_json: bool) -> Iterator[None]:
    """Say what stops the questions in their language; a program that asks for JSON gets it as everywhere."""
    from compliance.intake.wording import say

    try:
        yield
    except ComplianceError as error:
        if as_json or lang == "en":
            raise
        for one in error.problems:
            told = (one.what, f"{say('where is it', lang)}: {one.where}", f"{say('do this', lang)}: {one.next_step}")
            tell("\n  ".join(told), err=True)
        raise click.exceptions.Exit(error.exit_code) from error


def there_is_a_book(shell: Shell, lang: str) -> None:
    """Raises ComplianceError, in the language of the questions, where there is none."""
    from compliance.book.schema import path_of
    from compliance.intake.wording import say

    if not path_of(shell.folder).is_file():
        raise refused(say("no book", lang), str(shell.folder.absolute()), say("no book step", lang))
