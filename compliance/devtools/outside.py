"""docs/outside-checks.md: values from outside the project, each with the test that holds the code to it.

The rows stand in outside.toml beside this file. A test that is named there and does not exist is an error.
"""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from compliance.devtools.here import ROOT
from compliance.devtools.markdown import code, table

_HEAD = """\
# Checks from outside

Values that others published or computed, and the test that holds the program to each; or why it is not used. The
numbers are those by which comments in the code name them: 'check-values 2.1' is section 2.1 here. Addresses and the
other short names of sources stand in [sources.md](sources.md).

Marks: *read*: read in a copy at the source named; *computed*: computed apart from this program, with a general
library or exact rationals; *from memory*: nobody has looked it up, and no page cites it.

"""


@dataclass(frozen=True)
class Row:
    """One value. Either tests or unused is given."""

    value: str
    source: str
    mark: str
    tests: tuple[str, ...] = ()
    unused: str = ""


@cache
def sections() -> Sequence[tuple[str, str, tuple[Row, ...]]]:
    """(number, title, rows) of every section. Raises ValueError for a row with both or neither of tests and unused."""
    raw = tomllib.loads((Path(__file__).parent / "outside.toml").read_text(encoding="utf-8"))
    return [(one["number"], one["title"], tuple(_row(row) for row in one["row"])) for one in raw["section"]]


def _row(raw: Mapping[str, Any]) -> Row:
    row = Row(raw["value"], raw["source"], raw["mark"], tuple(raw.get("tests", ())), raw.get("unused", ""))
    if bool(row.tests) == bool(row.unused):
        raise ValueError(f"give tests or why it is unused: {row.value}")
    return row


def page() -> str:
    """The whole page. Raises ValueError when a test that it names is not there."""
    absent = list(missing())
    if absent:
        raise ValueError(f"no such test: {', '.join(absent)}")
    checked = sum(bool(row.tests) for _, _, rows in sections() for row in rows)
    unused = sum(bool(row.unused) for _, _, rows in sections() for row in rows)
    head = f"{_HEAD}{checked} values are checked, {unused} are not used.\n"
    return "\n".join([head, *(f"## {number} {title}\n\n{_table(rows)}" for number, title, rows in sections())])


def missing() -> Iterator[str]:
    """Tests that are named and do not exist."""
    for _, _, rows in sections():
        for row in rows:
            for test in row.tests:
                file, _, name = test.partition("::")
                if name not in functions(ROOT / file):
                    yield test


@cache
def functions(file: Path) -> frozenset[str]:
    """The names of the functions in a file of tests; none when there is no such file."""
    if not file.is_file():
        return frozenset()
    tree = ast.parse(file.read_text(encoding="utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


def _table(rows: Sequence[Row]) -> str:
    return table(
        ("value", "source", "mark", "test, or why unused"),
        [(row.value, row.source, row.mark, row.unused or " ".join(code(test) for test in row.tests)) for row in rows],
    )
