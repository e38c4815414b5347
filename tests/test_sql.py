"""No SQL is glued together from values: what a statement is about goes in as a parameter."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import compliance

HOUSE = Path(compliance.__file__).parent
RUNS_SQL = {"execute", "executemany", "executescript", "query"}

FIXED = {
    ("book/schema.py", "PRAGMA {} = {}"): "names and numbers of CONNECTION",
    ("book/schema.py", "PRAGMA {}"): "names of CONNECTION",
    ("book/schema.py", "PRAGMA application_id = {}"): "a constant",
    ("book/schema.py", "PRAGMA user_version = {}"): "a constant",
    ("book/verify.py", "SELECT {} FROM records ORDER BY seq"): "a constant list of columns",
    ("book/store.py", "SELECT {} FROM records WHERE id = ?"): "a constant list of columns",
}
"""Statements that are put together, with {} for each piece, and why no piece can come from a user."""


def glued(file: Path) -> Iterator[str]:
    """The shape of every statement that is put together where it is run: f-string, %, + or format."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        runs = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in RUNS_SQL
        if not runs or not isinstance(node, ast.Call) or not node.args:
            continue
        sql = node.args[0]
        if isinstance(sql, ast.JoinedStr):
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in sql.values)
        elif isinstance(sql, ast.BinOp) or (isinstance(sql, ast.Call) and getattr(sql.func, "attr", "") == "format"):
            yield ast.unparse(sql)


def test_no_statement_is_glued_together_but_from_constants() -> None:
    """Each exception stands in a list with its reason, and the list holds no more than is there."""
    found = {(f"{file.parent.name}/{file.name}", shape) for file in HOUSE.rglob("*.py") for shape in glued(file)}
    assert sorted(found - FIXED.keys()) == []
    assert sorted(FIXED.keys() - found) == []


def test_a_statement_that_is_glued_together_is_found(tmp_path: Path) -> None:
    """In each of the four ways."""
    file = tmp_path / "a.py"
    file.write_text(
        'db.execute(f"SELECT {a}")\ndb.execute("SELECT %s" % a)\ndb.execute("SELECT " + a)\n'
        'db.execute("SELECT {}".format(a))\ndb.execute("SELECT ?", (a,))\n'
    )
    assert len(list(glued(file))) == 4


def test_only_the_book_opens_the_database() -> None:
    """One room holds every setting of a connection. devtools times a bare one as a floor."""
    wrong = [
        str(file.relative_to(HOUSE))
        for file in HOUSE.rglob("*.py")
        if file.parent.name not in ("book", "devtools") and "sqlite3.connect(" in file.read_text(encoding="utf-8")
    ]
    assert wrong == []
