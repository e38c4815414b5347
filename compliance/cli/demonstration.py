"""What `washwater demo` does: a book from the sample jobs, its findings, its pages, and what to try next."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from secrets import token_hex
from shutil import rmtree, which
from typing import TYPE_CHECKING, Final

from compliance.cli.issuing import Form, Office
from compliance.cli.paging import client_wanted, month_days, month_wanted, proof_wanted
from compliance.cli.progress import Progress
from compliance.cli.shell import Shell

if TYPE_CHECKING:
    from compliance.records.state import State
    from compliance.rules.rule import Finding
    from compliance.water.results import Night

CASES, CLEAN = "2026-09", "2026-10"
"""The month of the hand-worked cases, and the one that raises nothing."""
CLIENTS: Final = ("Alder Oven Bakery", "Copperleaf Row Owners")
"""Whose summaries are written: a business with a dock of its own, and the owners of two walks."""
QUESTION: Final = {
    "asked_by": "Lena Ostrow", "behalf": "Tamarack County stormwater office", "case": "TC-2026-117",
    "asked": "2026-09-24T16:10", "how": "by telephone", "address": "214 Canal Street, the gutter by the bakery",
    "first": "2026-09-03T18:00", "until": "2026-09-04T06:00", "alleged": "foam in the gutter", "due": "2026-09-25",
    "who": "Priya Lund",
}  # fmt: skip
"""Of an address that is no site: one rig was near it that night, and of the others nothing is written down."""


def demonstrate(shell: Shell, out: Path) -> Iterator[str]:
    """Do it all, and yield the lines to print.

    It is made beside OUT and takes its name when it is done, so that an interrupted demo leaves nothing behind.
    """
    made = _parent(out) / f".{out.absolute().name}-{token_hex(4)}"
    made.mkdir()
    try:
        yield from _made(replace(shell, named=made / "book"), made, out)
    except BaseException:
        rmtree(made, ignore_errors=True)
        raise


def _parent(out: Path) -> Path:
    from compliance.book import files

    parent = out.absolute().parent
    files.make_folder(parent)
    return parent


def _made(shell: Shell, folder: Path, out: Path) -> Iterator[str]:
    from compliance.intake import samples
    from compliance.water.jobs import job_names

    pages = folder / "pages"
    with Progress() as progress:
        progress.say("handing in the sample jobs")
        n = samples.make_book(folder / "book", now=shell.now(), token=shell.token)
        with shell.open() as book:
            office = Office.open(shell, book, progress)
            found, night = office.findings, office.night
            jobs = [job for job in job_names(night) if _was_worked(office.state, night, job)]
            for job in progress.each(jobs, len(jobs), "proofs"):
                office.issue(proof_wanted(office, job, Form()), pages, "")
            spans = [month_days(month) for month in (CASES, CLEAN)]
            for span in spans:
                office.issue(month_wanted(office, *span, Form()), pages, "")
            for client in CLIENTS:
                summary = office.issue(client_wanted(office, client, spans[0][0], spans[1][1], Form()), pages, "")
    _answered(shell, folder / "letters")
    if out.exists():
        out.rmdir()  # it is empty, and not every system puts a folder in the place of another
    folder.rename(out)
    runs = Counter(run.date[:7] for run in night.runs.values())
    book_folder = out / "book"
    yield f"A book of {n} records is in {book_folder}: {runs[CASES]} runs in September 2026, {runs[CLEAN]} in October."
    yield "Everything in it is invented: county, business, people, places, products."
    yield ""
    yield from _findings(found)
    yield ""
    yield f"{len(jobs)} proofs of recovery, 2 month and {len(CLIENTS)} client summaries are in {out / 'pages'}"
    yield "as PDF, HTML and JSON, the summaries as workbooks too. The book keeps each of them as it was issued."
    yield f"The answer to a question about a Thursday night is in {out / 'letters'}, as text to be edited and as PDF."
    yield ""
    yield "Three things to try next:"
    called = _as_called()
    yield f"  {called} --book {book_folder} balance 2026-09-03-big-blue"
    yield f"  {called} --book {book_folder} explain escape-1"
    yield f"  {called} --book {book_folder} verify --page {out / 'pages' / summary.files[0].name}"


def _as_called() -> str:
    """What to type for the program: its name where the shell finds it, else the path by which it was called."""
    called = Path(sys.argv[0])
    found = which("washwater")
    return str(called) if called.stem == "washwater" and found is None else "washwater"


def _answered(shell: Shell, letters: Path) -> None:
    """Write down a question, search for it, and answer it by a letter."""
    from compliance.book import files
    from compliance.cli.asked import ask
    from compliance.cli.lettering import letter_of, letter_pdf
    from compliance.cli.searching import keep_search, searched

    ref = ask(shell, QUESTION)
    state, inquiry, found = searched(shell, ref, {})
    keep_search(shell, state, inquiry, found, QUESTION["who"])
    text = letter_of(shell, state, inquiry, found, "en")
    files.make_folder(letters)
    files.write_whole(letters / f"{ref}.en.txt", text.encode())
    files.write_whole(letters / f"{ref}.en.pdf", letter_pdf(state, inquiry, text, "en", "letter"))


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
