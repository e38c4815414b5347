"""What every command works with."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from pathlib import Path

import pytest

from compliance.cli.shell import OBJECTS_BETWEEN_COLLECTIONS, Shell
from compliance.intake import seeded_book


@pytest.fixture
def as_python_has_it() -> Iterator[None]:
    """Python's own thresholds, before and after."""
    before = gc.get_threshold()
    gc.set_threshold(700, 10, 10)
    yield
    gc.set_threshold(*before)


@pytest.mark.usefixtures("as_python_has_it")
def test_a_book_that_is_opened_is_not_searched_for_cycles_all_the_time(tmp_path: Path) -> None:
    """Collection stays on, at the threshold of the shell."""
    seeded_book.make(tmp_path / "book", 0)
    with Shell(tmp_path / "book").open():
        assert gc.isenabled() and gc.get_threshold()[0] == OBJECTS_BETWEEN_COLLECTIONS
