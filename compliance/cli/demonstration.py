"""What `washwater demo` does: a book from the sample jobs, its findings, its pages, and what to try next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from compliance.cli.paging import client_wanted, findings_of, issue, month_days, month_wanted, proof_wanted
from compliance.cli.shell import Shell, whole

if TYPE_CHECKING:
    from compliance.records.state import State
    from compliance.rules.rule import Finding
    from compliance.water.results import Night

CASES, CLEAN = "2026-09", "2026-10"
"""The month of the hand-worked cases, and the one that raises nothing."""
CLIENT = "Alder Oven Bakery"


def demonstrate(shell: Shell, out: Path) -> Iterator[str]:
    """Do it all, and yield the lines to print."""
    from compliance.cli.judging import scene_of
    from compliance.intake import samples
    from compliance.water.jobs import job_names

    folder, pages = out / "book", out / "pages"
    shell = replace(shell, named=folder)
    n = samples.make_book(folder, now=shell.now(), token=shell.token)
    with shell.open() as book:
        state = whole(book)
        scene = scene_of(shell, state)
        found = findings_of(scene)
        night = scene.night
        runs = Counter(run.date[:7] for run in night.runs.values())
        yield f"A book of {n} records is in {folder}: {runs[CASES]} runs in September 2026, {runs[CLEAN]} in October."
        yield "Everything in it is invented: county, business, people, places, products."
        yield ""
        yield from _findings(found)
        jobs = [job for job in job_names(night) if _was_worked(state, night, job)]
        for job in jobs:
            issue(shell, book, whole(book), proof_wanted(state, night, found, job, "en", "letter"), pages, "")
        spans = [month_days(month) for month in (CASES, CLEAN)]
        for first, last in spans:
            issue(shell, book, whole(book), month_wanted(state, night, found, first, last, "en", "letter"), pages, "")
        whole_span = (spans[0][0], spans[1][1])
        wanted = client_wanted(state, night, found, CLIENT, *whole_span, "en", "letter")
        client = issue(shell, book, whole(book), wanted, pages, "")
    yield ""
    yield f"{len(jobs)} proofs of recovery, 2 month summaries and a client summary are in {pages}"
    yield "as PDF, HTML and JSON, the summaries as workbooks too. The book keeps each of them as it was issued."
    yield ""
    yield "Three things to try next:"
    yield f"  washwater --book {folder} balance 2026-09-03-big-blue"
    yield f"  washwater --book {folder} explain escape-1"
    yield f"  washwater --book {folder} verify --page {client.files[0]}"


def _was_worked(state: State, night: Night, job: str) -> bool:
    from compliance.water.jobs import job_facts

    facts = job_facts(state, night, job)
    return facts is not None and any(stop.worked for stop in facts.stops)


def _findings(found: Sequence[Finding]) -> Iterator[str]:
    months = Counter(one.day[:7] for one in found)
    yield (
        f"The rules found {len(found)} things: {months[CASES]} in September, {months[CLEAN]} in October, "
        f"{months['']} about the book itself."
    )
    for one in found:
        yield f"  {one.severity}: {one.rule} {one.slug}, {one.about}"
        yield f"    {one.seen}"
