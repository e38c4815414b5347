"""No SQL is glued together from values: what a statement is about goes in as a parameter."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import compliance

HOUSE = Path(compliance.__file__).parent
RUNS_SQL = {"execute", "executemany", "executescript", "query"}
MARKS = "marks"
"""The function that makes as many question marks as there are values."""

FIXED = {
    ("book/schema.py", "name"): "a name of the constant CONNECTION",
    ("book/schema.py", "value"): "a number of the constant CONNECTION",
    ("book/schema.py", "sql"): "a statement of the constant SCHEMA",
    ("book/derived.py", "sql"): "the owner's own question, on a connection that cannot write",
    ("book/export.py", "_select(table)"): "names of the constants TABLES and WORDS, quoted",
    ("book/derived_index.py", "sql"): "a statement of the constant _SCHEMA",
    ("book/derived_index.py", "kind"): "'table' or 'index', as SQLite itself says of the derived file",
    ("book/derived_index.py", "name"): "a name of the derived file's own schema, quoted",
}
"""Pieces of statements that are no constant by their look, and why none of them can come from a user."""


class Glue:
    """The pieces, other than constants and question marks, that a file puts into the statements it runs."""

    def __init__(self, file: Path) -> None:
        self.tree = ast.parse(file.read_text(encoding="utf-8"))

    def pieces(self) -> Iterator[str]:
        for function in [node for node in ast.walk(self.tree) if isinstance(node, ast.FunctionDef)]:
            for node in ast.walk(function):
                if isinstance(node, ast.Call) and getattr(node.func, "attr", "") in RUNS_SQL and node.args:
                    yield from self.of(node.args[0], function, frozenset())

    def of(self, sql: ast.expr, function: ast.FunctionDef, seen: frozenset[str]) -> Iterator[str]:
        """What is glued into an expression; a local name is followed to all that is assigned to it."""
        match sql:
            case ast.Constant():
                return
            case ast.JoinedStr():
                for part in sql.values:
                    if isinstance(part, ast.FormattedValue):
                        yield from self.of(part.value, function, seen)
            case ast.BinOp():
                yield from self.of(sql.left, function, seen)
                yield from self.of(sql.right, function, seen)
            case ast.IfExp():
                yield from self.of(sql.body, function, seen)
                yield from self.of(sql.orelse, function, seen)
            case ast.Call(func=ast.Attribute(value=base, attr="format")):
                for one in (base, *sql.args):
                    yield from self.of(one, function, seen)
            case ast.Call(func=ast.Name(id=name)) if name == MARKS:
                return
            case ast.Name(id=name) if name.lstrip("_").isupper():
                return
            case ast.Attribute(attr=name) if name.isupper():
                return
            case ast.Name(id=name) if name not in seen and self.assigned(name, function):
                for value in self.assigned(name, function):
                    yield from self.of(value, function, seen | {name})
            case ast.Name(id=name) if name in seen:
                return
            case _:
                yield ast.unparse(sql)

    def assigned(self, name: str, function: ast.FunctionDef) -> list[ast.expr]:
        """Every expression that a function assigns to a local name, in a row of names too."""
        found = []
        for node in ast.walk(function):
            if isinstance(node, ast.AugAssign) and getattr(node.target, "id", "") == name:
                found.append(node.value)
            if isinstance(node, ast.Assign):
                for target in node.targets:
                    if getattr(target, "id", "") == name:
                        found.append(node.value)
                    elif isinstance(target, ast.Tuple):
                        at = [i for i, one in enumerate(target.elts) if getattr(one, "id", "") == name]
                        found += [value for i in at for value in self.nth(node.value, i)]
        return found

    def nth(self, value: ast.expr, i: int) -> list[ast.expr]:
        """What a row of values gives in its place i, either way of a condition."""
        match value:
            case ast.IfExp():
                return [*self.nth(value.body, i), *self.nth(value.orelse, i)]
            case ast.Tuple():
                return [value.elts[i]]
            case _:
                return [value]


def test_no_statement_is_glued_together_but_from_constants() -> None:
    """Each exception stands in a list with its reason, and the list holds no more than is there."""
    files = [file for file in HOUSE.rglob("*.py") if file.parent.name != "devtools"]
    found = {(f"{file.parent.name}/{file.name}", piece) for file in files for piece in Glue(file).pieces()}
    assert sorted(found - FIXED.keys()) == []
    assert sorted(FIXED.keys() - found) == []


def test_a_statement_that_is_glued_together_is_found(tmp_path: Path) -> None:
    """In any of the usual ways, at once or by way of a name; constants and question marks may be glued."""
    file = tmp_path / "a.py"
    file.write_text(
        'def f(db, a):\n    db.execute(f"SELECT {a.b}")\n    db.execute("SELECT %s" % a.c)\n'
        '    db.execute("SELECT " + a.d)\n    db.execute("SELECT {}".format(a.e))\n'
        '    sql = f"SELECT {COLUMNS} FROM t WHERE x IN ({marks(a)})"\n    sql += a.g\n    db.execute(sql, a)\n'
        '    way, sign = ("<", "DESC") if a else (">", a.h)\n    db.execute(f"SELECT {way} {sign}")\n'
    )
    assert sorted(Glue(file).pieces()) == ["a.b", "a.c", "a.d", "a.e", "a.g", "a.h"]


def test_only_the_book_opens_the_database() -> None:
    """One room holds every setting of a connection. devtools times a bare one as a floor."""
    wrong = [
        str(file.relative_to(HOUSE))
        for file in HOUSE.rglob("*.py")
        if file.parent.name not in ("book", "devtools") and "sqlite3.connect(" in file.read_text(encoding="utf-8")
    ]
    assert wrong == []
