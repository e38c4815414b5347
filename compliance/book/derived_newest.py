"""The newest runs, and the months in which there are any, for who is typing a name and cannot be kept waiting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from compliance.book.derived_index import ROW, Row, row_of

if TYPE_CHECKING:
    from compliance.book.derived_lookup import Index


def newest(index: Index, most: int, begun: str = "") -> list[Row]:
    """At most so many runs, the newest first, cancelled ones too. begun: how their day begins ('2026-09')."""
    sql = f"{ROW} WHERE day >= ? AND day < ? AND head = seq ORDER BY day DESC, moment DESC, id DESC LIMIT ?"
    return [row_of(found) for found in index.db.execute(sql, (begun, f"{begun}~", most))]


def months(index: Index) -> list[str]:
    """The months of the runs, the newest first."""
    sql = "SELECT DISTINCT substr(day, 1, 7) AS month FROM run ORDER BY month DESC"
    return [month for (month,) in index.db.execute(sql)]
