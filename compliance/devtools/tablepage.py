"""The list in docs/tables.md: the query tables that `washwater query` reads."""

from __future__ import annotations

from compliance.book.derived import table_docs
from compliance.book.derived_tables import STATES, Column, Table
from compliance.devtools.markdown import code, table


def part() -> str:
    """What may stand in a state, then every table, from the descriptions that the tables are built from."""
    states = table(("state", "means"), [(code(state), about) for state, about in STATES.items()])
    return states + "\n" + "\n".join(_table(one) for one in table_docs())


def _table(one: Table) -> str:
    key = ", ".join(code(name) for name in one.key)
    return f"## {one.name}\n\n{one.about.rstrip('.')}. Key: {key}.\n\n{_columns(one.columns)}"


def _columns(columns: tuple[Column, ...]) -> str:
    return table(("column", "type", "holds"), [(code(one.name), one.type, one.about) for one in columns])
