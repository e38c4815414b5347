"""The recipes of DEVELOPERS.md send nobody to a file or a name that is gone."""

from __future__ import annotations

import re
from collections.abc import Iterator

from compliance.devtools.here import ROOT

TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
RECIPES = TEXT.partition("## Recipes")[2].partition("\n## ")[0]
SOURCES = "\n".join(
    file.read_text(encoding="utf-8") for room in ("compliance", "tests") for file in sorted((ROOT / room).rglob("*.py"))
)


def gone_files(text: str) -> Iterator[str]:
    """Paths and bare names of files that are not in the checkout; one with a <place> in it is a pattern."""
    for path in re.findall(r"(?<![\w./<>-])(?:compliance|tests|docs|sample_jobs)/[\w./-]*[\w/](?![\w<])", text):
        if not (ROOT / path).exists():
            yield path
    for name in re.findall(r"(?<![\w./<>-])\w+\.(?:py|json)\b", text):
        if not any(list((ROOT / room).rglob(name)) for room in ("compliance", "tests")):
            yield name


def gone_names(text: str) -> Iterator[str]:
    """Names of constants, classes and functions between backticks that nothing defines."""
    for name in re.findall(r"`([A-Z][A-Z_]{2,}|_[A-Za-z_]+|[A-Z][a-z]+|[a-z]+_[a-z_]+)(?:\([^`]*\))?`", text):
        if not re.search(rf"^ *(?:(?:def|class) {name}\b|{name}\b[^=\n]*= ?)", SOURCES, re.M):
            yield name


def test_each_file_that_it_names_is_there() -> None:
    """In the recipes and everywhere else in it."""
    assert RECIPES
    assert list(gone_files(TEXT)) == []


def test_each_name_that_a_recipe_gives_is_defined() -> None:
    """Constants that get a row, and functions that stand as an example."""
    assert list(gone_names(RECIPES)) == []


def test_a_file_and_a_name_that_are_gone_are_found() -> None:
    """One renamed in the code and not here."""
    text = "in `compliance/water/tank.py`, tests/cli and `fieldz.py`: `SHAPEZ`, `_rainz`, `figure_cellz` and `GROUPS`"
    assert list(gone_files(text)) == ["compliance/water/tank.py", "fieldz.py"]
    assert list(gone_names(text)) == ["SHAPEZ", "_rainz", "figure_cellz"]
