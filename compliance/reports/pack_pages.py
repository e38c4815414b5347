"""The pages of an answer pack, each a part of its own, so that what is withheld was never put in. Pure.

A job's parts are taken from its own proof, which names no other client. Other jobs in a load are a count and gallons;
other stops of a night are 'another stop' with its times.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Final

from compliance.reports import changes
from compliance.reports.checking import SHOW_COMMAND
from compliance.reports.imprint import Imprint
from compliance.reports.model import (
    Block,
    Bullets,
    Cell,
    Column,
    Fact,
    Heading,
    OpenItems,
    Page,
    PageBreak,
    Paragraph,
    Photos,
    Statement,
    Table,
)
from compliance.reports.pack_night import timeline_blocks
from compliance.reports.pack_papers import finding_blocks, in_force_blocks, ticket_blocks
from compliance.reports.pack_parts import (
    AGENTS,
    CORRECTIONS,
    DRAINS,
    FILTERS,
    FINDINGS,
    FORCE,
    GAPS,
    INCIDENTS,
    LETTER,
    METHOD,
    PARTS,
    PHOTOS,
    PLACES,
    REMARKS,
    TICKETS,
    TIMELINE,
    WATER,
    Pack,
    nothing,
    page,
)
from compliance.reports.pack_withheld import Goes, awaiting, masked, open_items
from compliance.reports.proof import mixed_notes, proof_page
from compliance.reports.refs import Source
from compliance.water.results import JobFacts

_PATHS: Final = {"where.title": PLACES, "water.title": WATER, "drains.title": DRAINS, "agents.title": AGENTS,
                 "filters.title": FILTERS, "rain.title": FILTERS, "wrong.title": INCIDENTS,
                 "changes.title": CORRECTIONS, "files.title": PHOTOS, "remarks.title": REMARKS,
                 "check.title": METHOD}  # fmt: skip
"""Heading of a proof -> the part into which what stands under it goes."""
_OF_ALL: Final = (TIMELINE, CORRECTIONS, GAPS, FINDINGS)
"""Parts that speak of what the others tell, and are silent of those that stay at home."""


def pages(pack: Pack, wanted: Iterable[str], without: frozenset[str] = frozenset()) -> dict[str, Page]:
    """Part -> its page, for the parts that are wanted, in their order; the letter is the owner's and not among them.

    without: SHA-256 of photos' copies that stay at home. A part of which there is nothing says so.
    """
    goes = Goes(set(wanted))
    proofs = [(job, _sections(pack, job, goes, without)) for job in pack.jobs]
    made: dict[str, Callable[[], Iterable[Block]]] = {
        TIMELINE: lambda: timeline_blocks(pack, goes),
        TICKETS: lambda: ticket_blocks(pack, goes),
        FORCE: lambda: in_force_blocks(pack, goes),
        FINDINGS: lambda: finding_blocks(pack, goes),
        METHOD: lambda: _method(pack, [sections[METHOD] for _, sections in proofs]),
    }
    found: dict[str, Page] = {}
    for part in PARTS:
        if part in goes and part != LETTER:
            blocks = tuple(made[part]()) if part in made else tuple(_of_jobs(pack, part, proofs))
            silent = part in _OF_ALL and not goes.all
            note = (Paragraph(pack.words("pack.of_withheld"), "muted"),) if silent else ()
            found[part] = page(pack, part, (*blocks, *note) or (nothing(pack),))
    return found


def _sections(pack: Pack, job: JobFacts, goes: Goes, without: frozenset[str]) -> Mapping[str, Sequence[Block]]:
    """Part -> what the proof of a job says of it."""
    words = pack.words
    missing = list(awaiting(pack.findings, goes))  # only what is missing; what is amiss is another part
    whole = proof_page(
        pack.state, pack.night, missing, job, Imprint("", pack.issued, language=pack.language, paper=pack.paper)
    )
    heads = {words(key): part for key, part in _PATHS.items()}
    found: dict[str, list[Block]] = {part: [] for part in PARTS}
    part = WATER
    shown = [fact for fact in whole.facts if fact.label != words("fact.issued")]
    found[WATER].append(_facts(shown))
    for block in whole.blocks:
        match block:
            case Heading(text) if text in heads:
                part = heads[text]
                if part == FILTERS:
                    found[part].append(Heading(text, 3))
            case Heading() | PageBreak() | Statement():
                pass
            case OpenItems():
                found[GAPS].append(open_items(block, goes, words))
            case Photos(photos):
                left = tuple(photo for photo in photos if photo.shown not in without)
                found[PHOTOS] += [Photos(left)] if left else []
            case Table() if part == PHOTOS:
                pass  # names and hashes of the originals, photos that are withheld among them
            case _ if part == CORRECTIONS:
                pass  # told below, as far as it goes
            case _:
                found[part].append(block)
    source = pack.source(job)
    found[CORRECTIONS] = list(_corrections(source, job, goes))
    notes = mixed_notes(source, job, again=False)
    found[WATER] += [Bullets(tuple(notes))] if notes else []
    return {part: list(masked(blocks, part, goes, words)) for part, blocks in found.items()}


def _method(pack: Pack, told: Iterable[Sequence[Block]]) -> Iterator[Block]:
    """How the figures are found and checked, once for all jobs; how a proof is recognised is said of the pack."""
    words = pack.words
    business = str(pack.state.business.get("name") or words("check.us"))
    of_proof = (
        words("check.shows"),
        words("check.page", business=business, command=SHOW_COMMAND, number=words("number.preview")),
    )
    said = dict.fromkeys(item for blocks in told for one in blocks if isinstance(one, Bullets) for item in one.items)
    of_pack = (
        words("pack.check_hashes"),
        words("pack.check_sent", business=business, command=SHOW_COMMAND),
        words("pack.check_shows"),
    )
    yield Bullets((*(item for item in said if item not in of_proof), *of_pack))


def _corrections(source: Source, job: JobFacts, goes: Goes) -> Iterator[Block]:
    received, rows = changes.of_job(source, job, goes)
    yield Bullets(tuple(received))
    if rows:
        yield Table(changes.change_columns(source.words), tuple(rows))
    elif goes.all:
        yield Paragraph(source.words("changes.none"))


def _facts(shown: Iterable[Fact]) -> Table:
    rows = tuple((Cell(fact.label, tone="strong"), Cell(fact.value)) for fact in shown)
    return Table((Column(" ", width=2), Column(" ", width=6)), rows)


def _of_jobs(
    pack: Pack, part: str, proofs: Sequence[tuple[JobFacts, Mapping[str, Sequence[Block]]]]
) -> Iterator[Block]:
    for job, sections in proofs:
        blocks = sections[part]
        if blocks:
            yield Heading(job.job)
            yield from blocks
