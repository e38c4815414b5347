"""The demo of a session, made once and copied for each document."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from compliance.devtools.console import Terminal, demo


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, as `washwater demo` leaves it."""
    return demo(tmp_path_factory.mktemp("documents") / "demo")


@pytest.fixture
def fresh(made: Path, tmp_path: Path) -> Callable[[], Terminal]:
    """A terminal in a fresh copy of the demo, as often as wanted."""

    def terminal() -> Terminal:
        return Terminal(shutil.copytree(made, tmp_path / f"copy-{len(list(tmp_path.iterdir()))}"))

    return terminal
