"""What is in an answer pack, and what is not. Pure."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from compliance.reports import timeline
from compliance.reports.model import (
    Block,
    Bullets,
    Cell,
    Column,
    Fact,
    Heading,
    Page,
    Paragraph,
    Table,
)
from compliance.reports.numbers import typed_text
from compliance.reports.pack_parts import LETTER, WATER, Pack, page, title


def index_page(pack: Pack, entries: Sequence[tuple[str, str]], files: Sequence[tuple[str, str]]) -> Page:
    """What is in a pack. entries: (title of a part, its first page label); files: (name, SHA-256)."""
    words, asked = pack.words, pack.inquiry
    facts = [
        Fact(words.label("inquiry", name), typed_text(asked.get(name), words))
        for name in ("asked_by", "case", "address")
    ]
    facts.append(Fact(words("pack.made"), timeline.day(pack.issued, words)))
    facts.append(Fact(words("pack.from"), words("code", size=f"{pack.found.size:,}", root=pack.found.root)))
    contents = Table(
        (Column(words("pack.part"), width=7), Column(words("pack.page"), "right", width=2)),
        tuple((Cell(name), Cell(label)) for name, label in entries),
    )
    blocks: list[Block] = [contents]
    if files:
        columns = (Column(words("files.name"), width=4), Column(words("files.hash"), width=9))
        blocks += [Heading(words("pack.files"), 3), Table(columns, tuple((Cell(a), Cell(b)) for a, b in files))]
    return page(pack, "index", tuple(blocks), tuple(facts))


def withheld_page(pack: Pack, parts: Collection[str], files: int, lost: int) -> Page:
    """What was withheld, by the names of parts and numbers of files, and what was not asked for.

    It sends nobody to a letter or to amounts that stay at home too.
    """
    words = pack.words
    told = LETTER not in parts
    items = [words("pack.withheld", part=title(words, part)) for part in parts]
    items += (
        [words.count("pack.withheld_jobs" if told else "pack.withheld_jobs_untold", pack.home)] if pack.home else []
    )
    items += [words.count("pack.withheld_files", files)] if files else []
    items += [words.count("pack.lost_files", lost)] if lost else []
    others = sorted({run.ref for says in pack.found.says for run in says.runs} - {s.run.ref for s in pack.found.near})
    asked = [words.count("pack.not_asked_runs", len(others))] if others else []
    asked = [words("pack.not_asked_letter", runs=one) for one in asked] if told else asked
    asked.append(words("pack.not_asked_jobs" if WATER not in parts else "pack.not_asked_jobs_untold"))
    asked.append(words("pack.not_asked_money"))
    blocks: tuple[Block, ...] = (
        Bullets(tuple(items)) if items else Paragraph(words("pack.nothing_withheld")),
        Heading(words("pack.not_asked"), 3),
        Bullets(tuple(asked)),
    )
    return page(pack, "withheld", blocks)
