"""One command line at a time against a book in a temporary folder, with a clock of its own."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from compliance.cli.main import main
from compliance.cli.shell import Shell
from tests.cases import SAMPLES


@dataclass
class Said:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@dataclass
class Desk:
    """Runs commands. clock moves on by a second a call, so that no two records share a moment."""

    folder: Path
    capture: pytest.CaptureFixture[str]
    clock: datetime = datetime(2026, 9, 1, 6, tzinfo=UTC)
    tokens: Any = field(default_factory=lambda: count(1))

    def __call__(self, *args: object) -> Said:
        self.clock += timedelta(seconds=1)
        shell = Shell(self.folder, now=lambda: self.clock, token=lambda: next(self.tokens).to_bytes(16, "big"))
        self.capture.readouterr()
        code = main(["--book", str(self.folder), *map(str, args)], shell)
        told = self.capture.readouterr()
        return Said(code, told.out, told.err)

    def case(self, number: str) -> None:
        """Hand in every file of one sample case."""
        (folder,) = SAMPLES.glob(f"case-{number}-*")
        for file in sorted(folder.glob("[0-9]*.toml")):
            said = self("log", "--from", file)
            assert said.code == 0, said.err


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Desk:
    """No book yet."""
    return Desk(tmp_path / "book", capsys)


@pytest.fixture
def book(desk: Desk) -> Desk:
    """A book with the sample registers, begun on the first of September 2026."""
    said = desk("init", "--from", SAMPLES / "registers.toml")
    assert said.code == 0, said.err
    return desk


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """What the person types, as standard input."""

    def stand_in(text: str) -> None:
        import io
        import sys

        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8"))

    return stand_in
