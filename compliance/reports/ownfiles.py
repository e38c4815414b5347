"""Files kept with a job's records: its own alone, the photos among them as copies made of their pixels."""

from __future__ import annotations

from typing import Final

from compliance.intake.photos import photos_for
from compliance.records.views import Attachment
from compliance.reports.awaited import handover_lines, own_lines
from compliance.reports.model import Block, Cell, Column, Paragraph, Photo, Photos, Table
from compliance.reports.refs import Source
from compliance.water.results import JobFacts, Line

MOST_PHOTOS: Final = 24
"""Photos printed on one proof; the others are listed with their hashes."""


def own_files(source: Source, job: JobFacts) -> list[Attachment]:
    """The kept files that a page of this job may show: of its lines, its own runs, its own tickets."""
    return [one for one in source.state.attachments if _is_ours(source, job, one)]


def list_of_files(source: Source, job: JobFacts) -> list[Block]:
    words = source.words
    found = own_files(source, job)
    if not found:
        return [Paragraph(words("files.none"))]
    columns = (
        Column(words("files.name"), width=5),
        Column(words("files.what"), width=5),
        Column(words("files.hash"), width=9),
    )
    rows = tuple((Cell(one.name), Cell(one.what), Cell(one.sha256)) for one in found)
    return [Table(columns, rows, note=words("files.note"))]


def photos(source: Source, job: JobFacts) -> list[Block]:
    """The photos of our own lines, as copies made of their pixels alone."""
    words = source.words
    runs = [source.runs[record] for record in dict.fromkeys(stop.lines[0].record for stop in job.stops)]
    ours = [one for run in runs for one in photos_for(source.state, run) if _is_ours(source, job, one.file)]
    if not ours:
        return []
    shown = [
        Photo(one.caption, one.file.copy, words("photos.hashes", original=one.file.sha256, copy=one.file.copy))
        for one in ours[:MOST_PHOTOS]
    ]
    cut = [Paragraph(words("photos.more", shown=len(shown), all=len(ours)))] if len(ours) > len(shown) else []
    return [Paragraph(words("photos.copies"), "muted"), *cut, Photos(tuple(shown))]


def _is_ours(source: Source, job: JobFacts, file: Attachment) -> bool:
    """A file of one of our lines, of a run that is ours alone, or of a ticket of one of our handovers alone."""
    runs = {stop.lines[0].record for stop in job.stops}
    if file.about in runs:
        if file.line:
            own = own_lines(source, job)
            stop = own.get(Line(file.about, file.line))
            return stop is not None or (
                Line(file.about, file.line) in own and not source.shares_run(source.runs[file.about])
            )
        return not source.shares_run(source.runs[file.about])
    ours = set(handover_lines(source, job))
    for ticket in source.state.tickets:
        if ticket.record == file.about:
            lines = {Line(*one) for one in ticket.handovers}
            return bool(lines & ours) and not any(source.shares_run(source.runs[one.record]) for one in lines)
    return False
