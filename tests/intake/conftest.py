"""What several tests of this room begin with."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from compliance.book.store import Book
from compliance.intake.handin import start_book
from compliance.intake.validate import check

from .desk import clock, token
from .making import NOW, REGISTERS


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A new book with its registers."""
    checked = check("registers", REGISTERS, state=None, where="r", now=NOW, who="Ruth")
    with start_book(tmp_path / "book", checked, now=clock(), token=token) as made:
        yield made
