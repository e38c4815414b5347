"""The query tables can be asked and not changed, and say what they hold."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from compliance.book import derived, derived_finding
from compliance.book.derived_tables import STATES, TABLES, Table
from compliance.records.problem import ComplianceError

from .small_book import asked


def _table(name: str) -> Table:
    return next(table for table in TABLES if table.name == name)


def test_a_query_gives_its_columns_even_without_rows(folder: Path) -> None:
    """An empty answer still says what was asked."""
    assert derived.query(folder, "SELECT run, used FROM runs WHERE rig = 'nobody'") == (["run", "used"], [])


def test_values_go_in_by_place_or_by_name(folder: Path) -> None:
    """Both ways of SQLite's parameters work."""
    assert asked(folder, "SELECT count(*) FROM runs WHERE date = ?", "2026-09-04") == [(1,)]
    by_name = derived.query(folder, "SELECT count(*) FROM runs WHERE date = :day", {"day": "2026-09-04"})
    assert by_name[1] == [(1,)]


@pytest.mark.parametrize(
    ("sql", "what", "step"),
    [
        ("SELECT usd FROM runs", "no such column: usd", "Did you mean 'used'?"),
        ("SELECT * FROM run", "no such table: run", "Did you mean 'runs'?"),
        ("SELECT place FROM runs", "no such column: place", "'place' is a column of: "),
        ("SELECT p.place FROM runs AS p", "no such column: p.place", "'place' is a column of: "),
        ("SELEC", "syntax error", "select * from help"),
        ("SELECT 1; SELECT 2", "one statement at a time", "select * from help"),
        ("SELECT run FROM runs WHERE rig = ?", "bindings", "select * from help"),
        ("DELETE FROM runs", "can be read, not changed", "SELECT"),
        ("DROP TABLE runs", "can be read, not changed", "SELECT"),
        ("PRAGMA query_only = OFF", "can be read, not changed", "SELECT"),
        ("ATTACH 'other.sqlite' AS other", "can be read, not changed", "SELECT"),
        ("VACUUM INTO 'other.sqlite'", "can be read, not changed", "SELECT"),
    ],
)
def test_a_query_that_cannot_be_answered_says_why(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, sql: str, what: str, step: str
) -> None:
    """In plain words, with what may have been meant; nothing is changed and no file is made."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ComplianceError) as error:
        derived.query(folder, sql)
    assert what in error.value.problems[0].what
    assert step in error.value.problems[0].next_step
    assert list(tmp_path.iterdir()) == []
    assert asked(folder, "SELECT count(*) FROM runs") == [(2,)]


def test_the_shape_of_the_tables_may_be_asked(folder: Path) -> None:
    """Tools look at it before they ask."""
    names = [row[1] for row in asked(folder, "PRAGMA table_info(tickets)")]
    assert names == [column.name for column in _table("tickets").columns]


def test_every_table_and_column_is_described(folder: Path) -> None:
    """The help table, the documentation and the file name the same columns, and each has a description."""
    derived_finding.find(folder, "brick")
    told = {(table, column) for table, column in asked(folder, "SELECT in_table, column FROM help WHERE about <> ''")}
    found = {
        (table.name, row[1])
        for table in derived.table_docs()
        for row in asked(folder, f"PRAGMA table_info({table.name})")
    }
    assert told == found | {(table.name, "") for table in derived.table_docs()}
    stated = {
        row[0] for name in ("runs", "stops", "loads") for row in asked(folder, f"SELECT used_again_state FROM {name}")
    }
    assert stated <= set(STATES)


def test_nothing_heavy_is_imported_before_it_is_needed() -> None:
    """Opening the room costs neither sqlite-utils nor pandas."""
    code = (
        "import sys, compliance.book.derived as d; print([m for m in ('sqlite_utils', 'pandas') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_tables_are_written_in_atomic_blocks_and_never_transformed() -> None:
    """`with db.conn:` does not roll sqlite-utils back, and `transform` drops triggers: neither stands in the room."""
    room = Path(derived.__file__).parent
    for file in room.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute):
                assert node.attr not in ("conn", "transform"), file.name
