"""What is searched of an inquiry."""

from __future__ import annotations

from typing import Any

from compliance.book.derived_words import words_of
from compliance.records import kinds
from compliance.records.envelope import Record


def _words(kind: str, **payload: Any) -> list[tuple[str, str]]:
    at = "2026-09-24T16:10:00-06:00"
    return [(row["name"], row["text"]) for row in words_of(Record(1, "0" * 32, kind, 1, at, at, at, payload))]


def test_an_inquiry_is_found_by_what_was_typed_of_it() -> None:
    """Who asked, what is alleged, why it was changed; no times."""
    fields = {"asked_by": "Lena Ostrow", "alleged": "foam", "due": "2026-09-25"}
    assert _words(kinds.INQUIRY, fields=fields, who="Priya Lund") == [("inquiry", "Lena Ostrow · foam · Priya Lund")]


def test_a_step_of_an_inquiry_is_found_by_to_whom_it_went() -> None:
    """Each word once."""
    said = {"step": "sent", "to": "Lena Ostrow", "how": "by mail", "who": "Priya Lund"}
    assert _words(kinds.INQUIRY_STEP, inquiry="1" * 32, **said) == [
        ("inquiry sent", "Lena Ostrow · by mail · Priya Lund")
    ]
