"""The small book of the tests of what is derived; and what could not be tested on this machine, said loudly."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from .deriving import NOW, book_with
from .replay import strace_works
from .small_book import ALL


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Skipped tests are easily overlooked; a loss of power that nobody replayed must not be."""
    if not strace_works():
        terminalreporter.write_sep("!", "strace cannot be used here: LOSS OF POWER AND FAILING DISKS WERE NOT TESTED")


@pytest.fixture
def folder() -> Iterator[Path]:
    """The folder of a book that holds `small_book.ALL`."""
    with book_with([]) as (book, _):
        book.append(ALL, receipt_time=NOW)
        yield book.folder
