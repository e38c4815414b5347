"""As what a page goes out: its number and day, what it replaces, language and paper, the record code."""

from __future__ import annotations

from dataclasses import dataclass

from compliance.records.sentences import local_permit_governs
from compliance.records.state import State
from compliance.reports import timeline
from compliance.reports.issue import Head
from compliance.reports.model import Block, Fact, Footer, Language, Page, Paper
from compliance.reports.numbers import answered
from compliance.reports.words import Words


@dataclass(frozen=True)
class Imprint:
    """What stands around the matter of a page.

    number: of the page, '' for a preview. issued: ISO date. replaces: the number of the page that this one replaces,
    '' for none. head: the record code, None for a preview.
    """

    number: str
    issued: str
    replaces: str = ""
    language: Language = "en"
    paper: Paper = "letter"
    head: Head | None = None

    def told(self, words: Words) -> str:
        """When the page was issued, and what it replaces."""
        key = "fact.replaces" if self.replaces else "fact.replaces.none"
        return words(key, issued=timeline.day(self.issued, words), number=self.replaces)

    def page(
        self,
        state: State,
        words: Words,
        *,
        kind: str,
        title: str,
        facts: tuple[Fact, ...],
        blocks: tuple[Block, ...],
        status: str,
    ) -> Page:
        """The page itself, with the business as its issuer and the record code at its foot."""
        return Page(
            kind=kind,
            title=title,
            number=self.number or words("number.preview"),
            language=self.language,
            paper=self.paper,
            facts=facts,
            blocks=blocks,
            footer=Footer(local_permit_governs(self.language), record_code(words, self.head)),
            issuer=business(state, "name"),
            status=status,
        )


def record_code(words: Words, head: Head | None) -> tuple[str, ...]:
    """The lines of the record code, which come small and last; what it shows is said among the words before it."""
    if head is None:
        return (words("code.none"),)
    return (words("code", size=f"{head.size:,}", root=head.root),)


def business(state: State, name: str) -> str:
    """A field of the business as a page shows it, '' when it is not recorded."""
    value = state.business.get(name)
    return str(value) if answered(value) else ""
