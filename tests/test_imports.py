"""The rooms import one way, and the pure ones import nothing that reaches the world."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import compliance

HOUSE = Path(compliance.__file__).parent
ROOMS = ("records", "water", "rules", "book", "intake", "reports", "cli", "devtools")
"""A room may import from itself and from the rooms before it."""
PURE = ("records", "water", "rules")
WORLD = {
    "sqlite3", "sqlite_utils", "pandas", "openpyxl", "reportlab", "click", "pathlib", "os", "io", "sys", "shutil",
    "tempfile", "subprocess", "socket", "urllib", "http", "ssl", "random", "secrets", "time", "threading",
    "multiprocessing", "asyncio", "importlib", "logging", "locale", "uuid",
}  # fmt: skip
"""Modules of files, clocks, networks, chance and other programs."""
CALLS = {"open", "input", "print", "exec", "eval", "now", "today", "utcnow"}
"""Calls by which a pure function would reach the world without importing anything more."""
COMPILES = {("quick.py", "exec")}
"""The one place that compiles: an `__init__` of the names of fields, as the standard module does."""
NO_MODULES = {"washwater", "demo"}
"""Names of commands, between backticks in the map of a room."""


def imported(file: Path) -> Iterator[str]:
    """The full names of the modules that a file imports, inside functions too."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: relative imports hide where a module lives"
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_from_itself_and_the_rooms_before_it(room: str) -> None:
    """records, water, rules, book, intake, reports, cli; devtools looks at all of them and nobody looks at it."""
    before = ROOMS[: ROOMS.index(room) + 1]
    files = sorted((HOUSE / room).rglob("*.py"))
    assert files, f"the room {room} is empty"
    wrong = [
        f"{file.relative_to(HOUSE)} imports {name}"
        for file in files
        for name in imported(file)
        if name.startswith("compliance.") and name.split(".")[1] not in before
    ]
    assert wrong == []


def test_every_folder_of_the_house_is_a_room() -> None:
    """A new room has to be given its place in the order."""
    found = {folder.name for folder in HOUSE.iterdir() if (folder / "__init__.py").is_file()}
    assert found == set(ROOMS)


def test_no_two_modules_need_each_other() -> None:
    """Nor three in a ring, imports inside functions and those for types alone included: each is read after others."""
    house = {".".join(file.relative_to(HOUSE.parent).with_suffix("").parts): file for file in HOUSE.rglob("*.py")}
    needs = {name: {other for other in imported(file) if other in house} for name, file in house.items()}
    assert len(list(TopologicalSorter(needs).static_order())) == len(house)


@pytest.mark.parametrize("room", [*ROOMS, "intake/oldbooks"])
def test_the_map_of_a_room_names_each_of_its_modules_and_none_that_is_gone(room: str) -> None:
    """The docstring of `__init__`: each name between backticks is a module's, and each module is among them."""
    folder = HOUSE / room
    there = {file.stem for file in folder.glob("*.py") if not file.stem.startswith("__")}
    there |= {inner.name for inner in folder.iterdir() if (inner / "__init__.py").is_file()}
    said = ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8"))) or ""
    named = set(re.findall(r"`([a-z_]+)`", said))
    assert named - NO_MODULES == there


@pytest.mark.parametrize("room", PURE)
def test_a_pure_room_imports_nothing_that_reaches_the_world(room: str) -> None:
    """No database, file, clock, network, chance or library of documents."""
    wrong = [
        f"{file.name} imports {name}"
        for file in (HOUSE / room).rglob("*.py")
        for name in imported(file)
        if name.split(".")[0] in WORLD
    ]
    assert wrong == []


@pytest.mark.parametrize("room", PURE)
def test_a_pure_room_asks_neither_the_clock_nor_the_user(room: str) -> None:
    """Time, ids and files come in as arguments."""
    wrong = []
    for file in (HOUSE / room).rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                called = node.func
                name = called.id if isinstance(called, ast.Name) else getattr(called, "attr", "")
                if name in CALLS and (file.name, name) not in COMPILES:
                    wrong.append(f"{file.name}, line {node.lineno}: {name}()")
    assert wrong == []


@pytest.mark.parametrize("room", PURE)
def test_no_float_is_written_in_a_pure_room(room: str) -> None:
    """Volumes are Decimal or whole hundredths; a float constant or a call of float() would leak into them."""
    wrong = []
    for file in (HOUSE / room).rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            literal = isinstance(node, ast.Constant) and isinstance(node.value, float)
            called = isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "float"
            if literal or called:
                wrong.append(f"{file.name}, line {getattr(node, 'lineno', 0)}")
    assert wrong == []
