"""The rooms that hold the figures say what each door of theirs is, and what it raises."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import compliance

HOUSE = Path(compliance.__file__).parent
ROOMS = ("records", "water", "rules", "book")

Door = tuple[str, ast.FunctionDef | ast.ClassDef]


def doors(file: Path) -> Iterator[Door]:
    """The public classes, functions and methods of a module; what only names a field of an object is left out."""
    for node in ast.parse(file.read_text(encoding="utf-8")).body:
        if not isinstance(node, ast.FunctionDef | ast.ClassDef) or node.name.startswith("_"):
            continue
        yield f"{file.parent.name}.{file.stem}.{node.name}", node
        if isinstance(node, ast.ClassDef):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_") and not inner.decorator_list:
                    yield f"{file.parent.name}.{file.stem}.{node.name}.{inner.name}", inner


def all_doors(room: str) -> list[Door]:
    found = [door for file in sorted((HOUSE / room).glob("*.py")) for door in doors(file)]
    assert found, f"the room {room} has no door"
    return found


@pytest.mark.parametrize("room", ROOMS)
def test_each_door_says_what_it_is(room: str) -> None:
    """A public class, function or method without a docstring is named here."""
    assert [name for name, node in all_doors(room) if not ast.get_docstring(node)] == []


@pytest.mark.parametrize("room", ROOMS)
def test_a_door_that_raises_says_so(room: str) -> None:
    """'Raises', or the name of the exception, for what is raised in its own lines; what is raised again is not new."""
    silent = []
    for name, node in all_doors(room):
        if isinstance(node, ast.ClassDef):
            continue
        said = ast.get_docstring(node) or ""
        for inner in ast.walk(node):
            if isinstance(inner, ast.Raise) and inner.exc is not None:
                raised = ast.unparse(inner.exc).partition("(")[0].partition(".")[0]
                if not re.search(r"\b[Rr]aises?\b", said) and raised not in said:
                    silent.append(f"{name}, line {inner.lineno}: {raised}")
    assert silent == []
