"""The parts of an answer pack: their names, what they are made from, and a page of one. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from typing import Final

from compliance.records.answer import without_value
from compliance.records.inquiries import Inquiry
from compliance.records.sentences import local_permit_governs
from compliance.records.state import State
from compliance.reports.inquiry_found import Found
from compliance.reports.model import (
    Block,
    Fact,
    Footer,
    Language,
    Page,
    Paper,
    Paragraph,
)
from compliance.reports.refs import Source
from compliance.reports.words import Words
from compliance.rules.rule import Finding
from compliance.water.jobs import job_facts
from compliance.water.results import JobFacts, Night, StopFacts

LETTER, TIMELINE, WATER, PLACES, DRAINS, AGENTS, FILTERS = (
    "letter", "timeline", "water", "places", "drains", "agents", "filters",
)  # fmt: skip
TICKETS, PHOTOS, FORCE, INCIDENTS, CORRECTIONS, GAPS, REMARKS, METHOD, FINDINGS = (
    "tickets", "photos", "in force", "incidents", "corrections", "gaps", "remarks", "method", "findings",
)  # fmt: skip
PARTS: Final = (
    LETTER, TIMELINE, WATER, PLACES, DRAINS, AGENTS, FILTERS, TICKETS, PHOTOS, FORCE, INCIDENTS, CORRECTIONS, GAPS,
    REMARKS, METHOD, FINDINGS,
)  # fmt: skip
"""What a pack can hold, in its order; the index stands before and the list of what was withheld behind."""
HELD_BACK: Final = (FINDINGS,)
"""Parts that stay at home unless the owner says otherwise."""


@dataclass(frozen=True)
class Pack:
    """What a pack is made from. jobs: those of the stops that are near, without any that stays at home. findings: of
    their runs. home: how many jobs stay.
    """

    state: State
    night: Night
    inquiry: Inquiry
    found: Found
    jobs: tuple[JobFacts, ...]
    findings: tuple[Finding, ...]
    issued: str
    language: Language = "en"
    paper: Paper = "letter"
    home: int = 0

    @property
    def words(self) -> Words:
        """The words of its pages."""
        return Words(self.language)

    def source(self, job: JobFacts) -> Source:
        """For a page of one client's job."""
        client = self.state.registers.key("client", job.client) if job.client else ""
        return Source(self.state, self.night, self.words, client)

    def stops(self) -> Iterator[tuple[JobFacts, StopFacts]]:
        """Every stop of these jobs, with its job."""
        for job in self.jobs:
            yield from ((job, stop) for stop in job.stops)


def matched(pack: Pack, job: JobFacts) -> bool:
    """Whether one of a job's stops is near by more than an address that is only alike."""
    lines = {(where.record, where.line) for stop in job.stops for where in stop.lines}
    return any(spot.matched for spot in pack.found.near if (spot.run.record, spot.line.n) in lines)


def without_jobs(pack: Pack, home: Collection[str]) -> Pack:
    """The same pack without these jobs: their stops are 'another stop' in it."""
    left = tuple(job for job in pack.jobs if job.job not in home)
    return replace(pack, jobs=left, home=len(pack.jobs) - len(left))


def jobs_near(state: State, night: Night, found: Found) -> tuple[JobFacts, ...]:
    """The jobs of the stops that are near, in the order in which they were found."""
    near = {(spot.run.record, spot.line.n) for spot in found.near if spot.line.kind == "stop"}
    names = dict.fromkeys(
        stop.job
        for run in night.runs.values()
        for stop in run.stops
        if near & {(where.record, where.line) for where in stop.lines}
    )
    return tuple(job for name in names if (job := job_facts(state, night, name)) is not None)


def page(pack: Pack, part: str, blocks: tuple[Block, ...], facts: tuple[Fact, ...] = ()) -> Page:
    """A page of a pack."""
    words = pack.words
    return Page(
        f"pack {part}", title(words, part), pack.inquiry.ref, pack.language, pack.paper, facts, blocks,
        Footer(local_permit_governs(pack.language)), str(pack.state.business.get("name", "")),
    )  # fmt: skip


def nothing(pack: Pack) -> Paragraph:
    """That a part has nothing to tell; of jobs without pages it is never said that nothing is written down."""
    if pack.jobs:
        return Paragraph(pack.words("pack.nothing_going" if pack.home else "pack.nothing"))
    return Paragraph(pack.words("pack.nothing_home" if pack.home else "pack.nothing_near"))


def title(words: Words, part: str) -> str:
    """What a part is called."""
    return words(f"pack.part.{part.replace(' ', '_')}")


def known_text(value: object) -> str:
    """A stored value that is known, as text; '' where nobody said."""
    return str(value) if without_value(value) is None else ""
