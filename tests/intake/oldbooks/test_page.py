"""docs/old-books.md names every column, every key and every limit, as they are."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from compliance.intake.oldbooks import limits
from compliance.intake.oldbooks.filemap import CHOICES
from compliance.intake.oldbooks.headings import COLUMNS, recognised
from compliance.intake.text import LONGEST

PAGE = (Path(__file__).parents[3] / "docs" / "old-books.md").read_text(encoding="utf-8")
TABLE = dict(re.findall(r"^\| (`[a-z_`, ]+`) \| ([^|]+) \|$", PAGE, re.M))


@pytest.mark.parametrize("column", COLUMNS, ids=lambda column: column.name)
def test_the_page_names_each_column_with_headings_that_are_recognised(column: object) -> None:
    """What stands in the table as an example is an example."""
    name = column.name  # type: ignore[attr-defined]  # a column of the table
    (row,) = [heads for names, heads in TABLE.items() if f"`{name}`" in names]
    found = {recognised(head.strip()) for head in row.split(",")}
    assert name in found
    assert "" not in found


@pytest.mark.parametrize("key", CHOICES)
def test_the_page_names_each_key_of_a_mapping_with_its_answers(key: str) -> None:
    """Short lists whole, long ones by their beginning."""
    (row,) = [line for line in PAGE.splitlines() if line.startswith(f"| `{key}` |")]
    named = re.findall(r"`([^`]+)`", row.rpartition(" | ")[2])
    assert set(named) <= set(CHOICES[key])
    assert "..." in row or set(named) == set(CHOICES[key])


def test_the_page_states_the_limits() -> None:
    """As the program holds them."""
    for figure in (
        f"{limits.FILE // 1_000_000} MB", f"{limits.UNPACKED // 1_000_000} MB unpacked", f"{limits.MEMBERS} parts",
        f"{limits.ROWS:,} rows", f"{limits.COLUMNS} columns", f"{LONGEST:,} characters",
    ):  # fmt: skip
        assert figure in PAGE
