"""Looking at old books in tests: against one record book in memory, under a clock that stands still."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl

from compliance.intake.oldbooks.filemap import EMPTY, FileMap, read_map
from compliance.intake.oldbooks.lines import WORK, Line
from compliance.intake.oldbooks.preview import Preview, preview
from compliance.records.problem import Problem
from compliance.records.state import State
from tests.intake.making import NIGHT, pages

BOOKS = Path(__file__).parent.parent.parent / "oldbooks"
TODAY = date(2026, 10, 1)


def record_book() -> State:
    """Registers and one night, Big Blue on 2026-09-14."""
    state = pages(NIGHT).state
    assert state is not None
    return state


def mapping(text: str) -> FileMap:
    """A mapping from its text, which has no problem."""
    found = read_map(text.encode(), "mapping.toml")
    assert isinstance(found, FileMap), found
    return found


def look(
    data: bytes | str,
    name: str = "old.csv",
    *,
    said: str | FileMap = EMPTY,
    state: State | None = None,
    only: Sequence[str] = (),
) -> Preview:
    """Preview a file that can be read."""
    found = refused_or(data, name, said=said, state=state, only=only)
    assert isinstance(found, Preview), found
    return found


def refused_or(
    data: bytes | str,
    name: str = "old.csv",
    *,
    said: str | FileMap = EMPTY,
    state: State | None = None,
    only: Sequence[str] = (),
) -> Preview | Problem:
    """Preview a file, or the one problem with it."""
    raw = data.encode() if isinstance(data, str) else data
    return preview(
        raw,
        name,
        said=mapping(said) if isinstance(said, str) else said,
        state=record_book() if state is None else state,
        today=TODAY,
        only=only,
    )


def work(found: Preview) -> list[Line]:
    """The rows of work."""
    return [line for line in found.lines if line.kind == WORK]


def states(found: Preview) -> list[str]:
    """The states of the rows of work, in order."""
    return [line.state for line in work(found)]


def only_row(text: str, **options: Any) -> Line:
    """The one row of work of a text file."""
    (line,) = work(look(text, **options))
    return line


def workbook(sheets: Mapping[str, Sequence[Sequence[Any]]]) -> bytes:
    """A workbook with these rows on its sheets."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def with_parts(data: bytes, parts: Mapping[str, bytes | None]) -> bytes:
    """An archive with some of its parts replaced, added, or (None) taken out."""
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as target:
        for name in dict.fromkeys([*source.namelist(), *parts]):
            content = parts[name] if name in parts else source.read(name)
            if content is not None:
                target.writestr(name, content)
    return held.getvalue()
