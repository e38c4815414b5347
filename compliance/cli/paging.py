"""proof, month, client: pages that go out, each kept by the book as it was issued."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.judging import scene_of
from compliance.cli.shell import Shell, refused, whole
from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.records.state import Issued, State
    from compliance.reports.issue import Head, Prepared
    from compliance.reports.model import Page
    from compliance.rules.rule import Finding
    from compliance.water.results import Night

Build = Callable[[str, str, str, "Head | None"], "Page"]
"""(number, date of issue, number of the replaced page, record code) -> the page."""

_TYPES = {"pdf": "application/pdf", "html": "text/html", "xlsx": "application/vnd.openxmlformats-officedocument."
          "spreadsheetml.sheet", "json": "application/json"}  # fmt: skip
"""Ending of a file -> its media type in the record of issue."""


@dataclass(frozen=True)
class Wanted:
    """A page to be issued. kind and about say which earlier page it replaces; figures, what it prints of loads."""

    kind: str
    about: str
    counted_under: str
    build: Build
    figures: Mapping[str, str]
    workbook: bool = False


@dataclass(frozen=True)
class Out:
    """What became of it: the files written, the number, and whether it was issued now."""

    files: tuple[Path, ...]
    number: str
    new: bool
    replaces: str


def issue(shell: Shell, book: Book, state: State, wanted: Wanted, out: Path, who: str) -> Out:
    """Issue a page, unless the last one of its kind says the same: then that one is written out again.

    The files are kept by the book before the record that names them.
    """
    from compliance.book import files
    from compliance.intake.entries import entry
    from compliance.intake.validate import Checked
    from compliance.records.kinds import ISSUE
    from compliance.reports.issue import Head, payload, prepare

    last = _last(state, wanted)
    if last is not None:
        again = _rendered(wanted, last.number, last.date, last.replaces, Head(last.size, last.root))
        if {_TYPES[end]: _digest(data) for end, data in again.items()} == dict(last.files):
            return Out(_write(out, last.number, again), last.number, False, last.replaces)
    prepared: Prepared = prepare(wanted.kind, wanted.about, wanted.counted_under, state.issued)
    stands = book.head()
    head = Head(stands.size, stands.root_hex)
    day = shell.zone_today(state)
    made = _rendered(wanted, prepared.number, day, prepared.replaces, head)
    kept = {_TYPES[end]: files.put(shell.folder, data) for end, data in made.items()}
    form = payload(
        wanted.kind, wanted.about, prepared, date=day, files=kept, head=head, figures=wanted.figures, who=who
    )
    checked = Checked(ISSUE, dict(form), day)
    book.append([entry(checked, now=shell.stamp(), token=shell.token)], receipt_time=shell.stamp())
    return Out(_write(out, prepared.number, made), prepared.number, True, prepared.replaces)


def preview(shell: Shell, state: State, wanted: Wanted, out: Path) -> Out:
    """The page without number and record code; the book does not keep it."""
    made = _rendered(wanted, "", shell.zone_today(state), "", None)
    return Out(_write(out, f"preview-{wanted.kind}", made), "", False, "")


def _last(state: State, wanted: Wanted) -> Issued | None:
    before = [one for one in state.issued if one.page == wanted.kind and one.about == wanted.about]
    return before[-1] if before else None


def _rendered(wanted: Wanted, number: str, day: str, replaces: str, head: Head | None) -> dict[str, bytes]:
    """The page's bytes by ending."""
    from compliance.reports import html, pdf
    from compliance.reports.model import to_json

    page = wanted.build(number, day, replaces, head)
    made = {"pdf": pdf.render(page), "html": html.render(page).encode(), "json": to_json(page).encode()}
    if wanted.workbook:
        from compliance.reports import workbook
        from compliance.reports.sheets import page_sheets

        title = f"{page.title} {page.number}".strip()
        made["xlsx"] = workbook.render(
            title, page_sheets(page), language=page.language, paper=page.paper, issuer=page.issuer
        )
    return made


def _digest(data: bytes) -> str:
    from hashlib import sha256

    return sha256(data).hexdigest()


def _write(out: Path, name: str, made: Mapping[str, bytes]) -> tuple[Path, ...]:
    from compliance.book import files

    files.make_folder(out)
    written = []
    for end, data in made.items():
        files.write_whole(out / f"{name}.{end}", data)
        written.append(out / f"{name}.{end}")
    return tuple(written)


def in_language(kind: str, language: str) -> str:
    """A page in Spanish is a page of its own: it does not replace the English one."""
    return kind if language == "en" else f"{kind} {language}"


def findings_of(scene: Any) -> tuple[Finding, ...]:
    """What the rules find today, for the open items of a page."""
    from compliance.rules.run import check

    report = check(scene)
    if isinstance(report, Problem):
        raise ComplianceError(report)
    return report.findings


def _options(command: Any) -> Any:
    for option in (
        click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("pages"), show_default=True,
                     help="Folder to write the files into."),
        click.option("--lang", type=click.Choice(("en", "es")), default="en", show_default=True, help="Language."),
        click.option("--paper", type=click.Choice(("letter", "A4")), default="letter", show_default=True, help="Paper."),
        click.option("--preview", "only_look", is_flag=True, help="Write it without a number; the book keeps nothing."),
        click.option("--who", default="", help="Who issues it."),
    ):  # fmt: skip
        command = option(command)
    return command


def proof_wanted(state: State, night: Night, findings: tuple[Finding, ...], job: str, lang: Any, paper: Any) -> Wanted:
    """The proof of one job."""
    from compliance.reports.issue import OWNER, closes, job_figures
    from compliance.reports.proof import proof_page
    from compliance.water.jobs import job_facts, job_names

    facts = job_facts(state, night, job)
    if facts is None:
        from difflib import get_close_matches

        near = get_close_matches(job, job_names(night), 1)
        hint = f"did you mean {near[0]!r}?" if near else "see `washwater list jobs`"
        raise refused(f"no job is called {job!r}", "JOB", hint)
    closed = all(closes(state, night.runs[record].date) for record in facts.runs)

    def build(number: str, day: str, replaces: str, head: Head | None) -> Page:
        return proof_page(
            state, night, findings, facts, number=number, issued=day, replaces=replaces, language=lang, paper=paper,
            head=head, closed=closed,
        )  # fmt: skip

    client = state.registers.name("client", facts.client) if facts.client else OWNER
    return Wanted(in_language("proof", lang), facts.job, client, build, job_figures(night, facts))


@click.command("proof")
@click.argument("job")
@_options
@click.pass_obj
def proof_command(shell: Shell, job: str, out: Path, lang: str, paper: str, only_look: bool, who: str) -> None:
    """Issue the proof of recovery of JOB, as PDF, HTML and JSON: our records of where its water went.

    JOB is the name of a job, or the stop (like 2026-09-03-big-blue.s4) where a stop was its own job.
    """
    with shell.open() as book:
        state = whole(book)
        scene = scene_of(shell, state)
        wanted = proof_wanted(state, scene.night, findings_of(scene), job, lang, paper)
        _finish(shell, book, state, wanted, out, who, only_look)


def _finish(shell: Shell, book: Book, state: State, wanted: Wanted, out: Path, who: str, only_look: bool) -> None:
    done = preview(shell, state, wanted, out) if only_look else issue(shell, book, state, wanted, out, who)
    if only_look:
        click.echo("A preview; the book keeps nothing of it.")
    elif done.new:
        click.echo(f"Issued as {done.number}" + (f", which replaces {done.replaces}." if done.replaces else "."))
    else:
        click.echo(f"Issued before as {done.number}; nothing that it prints has changed, so these are the same files.")
    for path in done.files:
        click.echo(f"  {path}")


def month_days(text: str) -> tuple[str, str]:
    """First and last day of '2026-10'. Raises ComplianceError for anything else."""
    try:
        first = date.fromisoformat(f"{text}-01")
    except ValueError as error:
        raise refused(f"{text!r} is not a month", "MONTH", "write it like 2026-10") from error
    following = (first + timedelta(days=31)).replace(day=1)
    return first.isoformat(), (following - timedelta(days=1)).isoformat()


def month_wanted(
    state: State, night: Night, findings: tuple[Finding, ...], first: str, last: str, lang: Any, paper: Any
) -> Wanted:
    """The owner's summary of a span of days."""
    from compliance.reports.issue import OWNER, about_span, figures, restated
    from compliance.reports.month import month_page

    restates = restated(state.issued, night, first)

    def build(number: str, day: str, replaces: str, head: Head | None) -> Page:
        return month_page(
            state, night, findings, first, last, number=number, issued=day, replaces=replaces, language=lang,
            paper=paper, head=head, restates=restates,
        )  # fmt: skip

    inside = [stop for run in night.runs.values() if first <= run.date <= last for stop in run.stops]
    about = about_span(first, last)
    return Wanted(in_language("month", lang), about, OWNER, build, figures(night, inside), workbook=True)


@click.command("month")
@click.argument("month")
@_options
@click.pass_obj
def month_command(shell: Shell, month: str, out: Path, lang: str, paper: str, only_look: bool, who: str) -> None:
    """Write the owner's summary of MONTH (like 2026-10), as PDF, HTML, workbook and JSON."""
    first, last = month_days(month)
    with shell.open() as book:
        state = whole(book)
        scene = scene_of(shell, state)
        wanted = month_wanted(state, scene.night, findings_of(scene), first, last, lang, paper)
        _finish(shell, book, state, wanted, out, who, only_look)


def client_wanted(
    state: State, night: Night, findings: tuple[Finding, ...], client: str, first: str, last: str, lang: Any, paper: Any
) -> Wanted:
    """One client's summary of a span of days; nothing in it is of anybody else."""
    from compliance.reports.client import client_page
    from compliance.reports.issue import about_span, figures

    key = state.registers.key("client", client)
    mine = [
        stop
        for run in night.runs.values()
        if first <= run.date <= last
        for stop in run.stops
        if stop.client and state.registers.key("client", stop.client) == key
    ]
    if not mine and state.registers.find("client", client) is None:
        known = ", ".join(str(entry["name"]) for entry in state.registers.all("client")) or "none yet"
        raise refused(f"no client is called {client!r}", "CLIENT", f"the register holds: {known}")
    name = state.registers.name("client", client)

    def build(number: str, day: str, replaces: str, head: Head | None) -> Page:
        return client_page(
            state, night, findings, client, first, last, number=number, issued=day, replaces=replaces, language=lang,
            paper=paper, head=head,
        )  # fmt: skip

    about = about_span(first, last, name)
    return Wanted(in_language("client", lang), about, name, build, figures(night, mine), workbook=True)


@click.command("client")
@click.argument("client")
@click.option("--from", "first", required=True, metavar="DATE", help="First day.")
@click.option("--to", "last", required=True, metavar="DATE", help="Last day.")
@_options
@click.pass_obj
def client_command(
    shell: Shell, client: str, first: str, last: str, out: Path, lang: str, paper: str, only_look: bool, who: str
) -> None:
    """Write the summary of CLIENT from one day to another, as PDF, HTML, workbook and JSON."""
    for day in (first, last):
        _a_day(day)
    with shell.open() as book:
        state = whole(book)
        scene = scene_of(shell, state)
        wanted = client_wanted(state, scene.night, findings_of(scene), client, first, last, lang, paper)
        _finish(shell, book, state, wanted, out, who, only_look)


def _a_day(text: str) -> None:
    try:
        date.fromisoformat(text)
    except ValueError as error:
        raise refused(f"{text!r} is not a day", "--from, --to", "write it like 2026-10-31") from error
