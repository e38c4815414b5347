"""What a crew reads on a narrow terminal."""

from __future__ import annotations

import io
import os
import sys
from pathlib import Path
from shutil import rmtree

import pexpect
import pytest

from compliance.cli.wrapping import tell, wrapped
from tests.cli.conftest import Desk


def test_no_word_is_broken_and_nothing_is_lost() -> None:
    """At every width; a word that is longer than the line stands alone."""
    text = "  ! hoses under pressure: keep hands away from the nozzle, and a-very-long-word-with-hyphens-in-it stays"
    for width in range(14, 120):
        lines = wrapped(text, width).split("\n")
        assert " ".join(lines).split() == text.split()
        assert all(len(line) <= width or len(line.split()) == 1 for line in lines)
        assert lines[0].startswith("  ! hoses")
        assert all(line.startswith("    ") for line in lines[1:])


def test_a_command_is_never_broken() -> None:
    """Somebody copies it."""
    text = "Stopped. It is kept: washwater log --draft night-2026-11-25-a9f2d0"
    assert wrapped(text, 30).split("\n") == ["Stopped. It is kept:", "  washwater log --draft night-2026-11-25-a9f2d0"]
    assert "`washwater --help`" in wrapped("see `washwater --help`, which says what it takes", 20)


def test_lines_of_a_text_stay_lines() -> None:
    """An empty one among them."""
    assert wrapped("\none two\n  three", 80) == "\none two\n  three"


def test_a_program_reads_each_text_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only a terminal gets it broken."""

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("COLUMNS", "20")
    for stream, lines in ((io.StringIO(), 1), (Terminal(), 3)):
        monkeypatch.setattr(sys, "stdout", stream)
        tell("as many words as go beyond twenty columns")
        assert len(stream.getvalue().splitlines()) == lines


def _first_screens(folder: Path, columns: int) -> str:
    environment = {**os.environ, "WASHWATER_BOOK": str(folder), "TERM": "dumb"}
    environment.pop("COLUMNS", None)
    command = ["-c", "from compliance.cli.main import run; run()", "log", "--lang", "es"]
    child = pexpect.spawn(
        sys.executable, command, encoding="utf-8", timeout=20, dimensions=(40, columns), env=environment
    )
    read = ""
    try:
        for key in ("1", "1", "\r", "\r"):
            child.expect("(?m)^> ")
            read += str(child.before)
            child.send(key)
    finally:
        child.close(force=True)
        rmtree(folder / "drafts")
    return read


def test_the_questions_fit_a_narrow_terminal(book: Desk) -> None:
    """Sixty columns, the same words as on a wide one."""
    narrow, wide = (_first_screens(book.folder, columns) for columns in (60, 400))
    assert narrow.split() == wide.split()
    assert max(len(line) for line in wide.splitlines()) > 60 >= max(len(line) for line in narrow.splitlines())
