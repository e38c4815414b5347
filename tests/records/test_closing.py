"""Months that were closed and opened again: both stay in the book, the last word holds."""

from __future__ import annotations

from typing import Any

from compliance.records import kinds
from compliance.records.closing import in_force
from compliance.records.envelope import Record
from compliance.records.state import gather

DAY = "2026-10-02"


def close(month: str, **changed: Any) -> tuple[str, dict[str, Any]]:
    held = {"month": month, "page": "summary-1", "size": 4, "root": "ab", "figures": {"l1": "f"}, "who": "Ruth"}
    return kinds.CLOSE, held | changed


def reopen(month: str) -> tuple[str, dict[str, Any]]:
    return kinds.REOPEN, {"month": month, "why": "a card was found", "who": "Ruth"}


def book(*made: tuple[str, dict[str, Any]]) -> Any:
    """A book with these records behind its first one."""
    first = (kinds.BOOK, {"fields": {"name": "Bluebank", "unit": "gal", "zone": "America/Denver"}, "who": ""})
    return gather(
        Record(seq, f"{seq:032x}", kind, 1, DAY, f"{DAY}T23:00:00-06:00", f"{DAY}T23:00:00-06:00", payload)
        for seq, (kind, payload) in enumerate((first, *made), start=1)
    )


def test_a_closing_is_remembered_with_all_that_it_froze() -> None:
    """Who, when, as which page, of which book, and the division of each load."""
    (one,) = book(close("2026-09")).closings
    assert (one.month, one.closes, one.day, one.who, one.why) == ("2026-09", True, DAY, "Ruth", "")
    assert (one.page, one.size, one.root, one.figures, one.seq) == ("summary-1", 4, "ab", {"l1": "f"}, 2)


def test_the_last_word_about_a_month_holds() -> None:
    """Closed, opened again, closed again; what was said before stays readable."""
    assert book().closing_of("2026-09") is None
    closed = book(close("2026-09"))
    assert closed.closing_of("2026-09") is closed.closings[0]
    assert closed.closing_of("2026-10") is None
    opened = book(close("2026-09"), reopen("2026-09"))
    assert opened.closing_of("2026-09") is None
    assert [(one.closes, one.why) for one in opened.closings] == [(True, ""), (False, "a card was found")]
    again = book(close("2026-09"), reopen("2026-09"), close("2026-09", page="summary-2"))
    found = again.closing_of("2026-09")
    assert found is not None and found.page == "summary-2"
    assert len(again.closings) == 3


def test_one_month_says_nothing_of_another() -> None:
    """September stays closed when October is opened again."""
    state = book(close("2026-09"), close("2026-10"), reopen("2026-10"))
    assert in_force(state.closings, "2026-09") is state.closings[0]
    assert in_force(state.closings, "2026-10") is None
