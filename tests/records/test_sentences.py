"""The fixed sentences are those of the term list, in both languages."""

from __future__ import annotations

import pytest

from compliance.records.sentences import local_permit_governs, statement


def test_statement_in_english() -> None:
    """The statement names its day and ends with the local permit."""
    assert statement("March 5, 2026", "en") == (
        "These are our records of this job as of March 5, 2026; they do not replace a permit or an inspection; "
        "the local permit governs."
    )


def test_statement_in_spanish() -> None:
    """The Spanish statement is the reviewed one, word for word."""
    assert statement("5 de marzo de 2026", "es") == (
        "Estos son nuestros registros de este trabajo al 5 de marzo de 2026; no sustituyen a ningún permiso ni a "
        "ninguna inspección; rige el permiso local."
    )


def test_clause_stands_alone_too() -> None:
    """The clause is a sentence of its own under findings."""
    assert local_permit_governs("en") == "The local permit governs."
    assert local_permit_governs("es") == "Rige el permiso local."


def test_other_languages_have_none() -> None:
    """A language without the sentence is refused, never filled in."""
    with pytest.raises(KeyError):
        statement("5 mars 2026", "fr")
