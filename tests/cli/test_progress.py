"""Progress is for a terminal's stderr alone; it says little, and leaves nothing behind."""

from __future__ import annotations

import io
from collections.abc import Iterator
from itertools import count

import pytest

from compliance.cli.progress import PATIENCE, Progress
from tests.cli.conftest import Desk


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.fixture(autouse=True)
def plain(monkeypatch: pytest.MonkeyPatch) -> None:
    """A terminal that can do all, of 80 columns."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "80")


def clock(step: float) -> Iterator[float]:
    return (n * step for n in count())


def run(stream: io.StringIO, step: float) -> str:
    ticks = clock(step)
    with Progress(stream, lambda: next(ticks)) as progress:
        assert list(progress.each("abcd", 4, "proofs")) == list("abcd")
    return stream.getvalue()


def test_a_long_work_says_how_far_it_is_and_wipes_the_line() -> None:
    """Nothing in the first second; then one line, taken back at the end."""
    said = run(Terminal(), PATIENCE)
    assert "\r\x1b[2mproofs, 2 of 4\x1b[0m" in said
    assert "\n" not in said
    assert said.endswith("\r" + " " * 79 + "\r")


def test_a_short_work_says_nothing() -> None:
    """What is done within a second needs no words."""
    assert run(Terminal(), 0.1) == ""


def test_words_come_no_oftener_than_they_can_be_read() -> None:
    """Ten a second at most: of a hundred steps in two seconds about ten are told."""
    stream, ticks = Terminal(), clock(0.01)
    with Progress(stream, lambda: next(ticks)) as progress:
        for _ in progress.each(range(100), 100, "proofs"):
            progress.say("making the page")
    assert 5 <= stream.getvalue().count("\x1b[2m") <= 12


def test_nothing_is_said_where_nobody_sees_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file, a pipe, or a terminal that cannot take a line back."""
    assert run(io.StringIO(), PATIENCE) == ""
    monkeypatch.setenv("TERM", "dumb")
    assert run(Terminal(), PATIENCE) == ""


def test_no_color_is_honoured(monkeypatch: pytest.MonkeyPatch) -> None:
    """The words stay, the colour goes; an empty NO_COLOR is none."""
    monkeypatch.setenv("NO_COLOR", "1")
    said = run(Terminal(), PATIENCE)
    assert "proofs, 2 of 4" in said and "\x1b" not in said
    monkeypatch.setenv("NO_COLOR", "")
    assert "\x1b" in run(Terminal(), PATIENCE)


def test_a_line_fits_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """It never runs on to a second line, which could not be taken back."""
    monkeypatch.setenv("COLUMNS", "20")
    stream = Terminal()
    ticks = clock(PATIENCE)
    with Progress(stream, lambda: next(ticks)) as progress:
        progress.say("x" * 200)
    assert "x" * 19 in stream.getvalue() and "x" * 20 not in stream.getvalue()


def test_an_interruption_wipes_the_line_too() -> None:
    """The error passes on."""
    stream, ticks = Terminal(), clock(PATIENCE)
    with pytest.raises(KeyboardInterrupt), Progress(stream, lambda: next(ticks)) as progress:
        progress.say("working")
        raise KeyboardInterrupt
    assert stream.getvalue().endswith("\r")


def test_commands_say_nothing_on_stderr_of_a_pipe(book: Desk) -> None:
    """Scripts get data and nothing else."""
    book.case("01")
    assert book("month", "2026-09", "--out", book.folder.parent / "pages").err == ""
    assert book("pages", "--touched").err == ""


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["list", "runs"], "working out where the water went"),
        (["balance", "2026-09-01-big-blue"], "working out where the water went"),
        (["check"], "judging by the rules"),
        (["complete", "--list"], "judging by the rules"),
        (["verify"], "hashing the records"),
        (["backup", "COPY"], "copying the book, and hashing the copy"),
    ],
)
def test_every_long_work_says_what_it_does(
    book: Desk, monkeypatch: pytest.MonkeyPatch, words: list[str], told: str
) -> None:
    """At once, where the size of the book says beforehand that it will take long; never where nobody is looking."""
    from compliance.cli import keeping, shell

    book.case("01")
    args = [str(book.folder.parent / "copy") if word == "COPY" else word for word in words]
    assert told not in book(*args).err
    monkeypatch.setattr(shell, "MANY_RUNS", 1)
    monkeypatch.setattr(keeping, "_MUCH", 1)
    stream = Terminal()
    monkeypatch.setattr("sys.stderr", stream)
    args = [f"{arg} two" if arg.endswith("copy") else arg for arg in args]
    said = book(*args)
    assert said.code in (0, 1)
    assert told in stream.getvalue() and told not in said.out
    assert stream.getvalue().endswith("\r")
