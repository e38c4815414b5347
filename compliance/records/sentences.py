"""The sentences that are the same wherever they stand: on every page, in every answer of `check`.

They live here and nowhere else, so that no copy of them can drift. The Spanish wording is that of the term list
(spanish-terms 4).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

LOCAL_PERMIT_GOVERNS: Final[Mapping[str, str]] = {
    "en": "the local permit governs",
    "es": "rige el permiso local",
}
"""The clause, by language; it closes the statement and stands alone under findings."""

_STATEMENT: Final[Mapping[str, str]] = {
    "en": "These are our records of this job as of {date}; they do not replace a permit or an inspection; {governs}.",
    "es": "Estos son nuestros registros de este trabajo al {date}; no sustituyen a ningún permiso ni a ninguna "
    "inspección; {governs}.",
}


def local_permit_governs(language: str) -> str:
    """The clause as a sentence of its own. KeyError for a language that is not 'en' or 'es'."""
    clause = LOCAL_PERMIT_GOVERNS[language]
    return f"{clause[0].upper()}{clause[1:]}."


def statement(date: str, language: str) -> str:
    """The statement on a page. date: as it is written in that language ('March 5, 2026', '5 de marzo de 2026')."""
    return _STATEMENT[language].format(date=date, governs=LOCAL_PERMIT_GOVERNS[language])
