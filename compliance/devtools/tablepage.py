"""docs/tables.md: the query tables that `washwater query` reads."""

from __future__ import annotations


def page() -> str:
    """The whole page, from the descriptions that the tables are built from."""
    from compliance.book.derived import table_docs

    return table_docs()
