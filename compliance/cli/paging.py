"""proof, client, pages: pages that go out, each kept by the book as it was issued. `closing` has those of a month."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli import nearby
from compliance.cli.completing import client_names, job_names, months
from compliance.cli.issuing import Form, Office, Out, Wanted
from compliance.cli.progress import Progress
from compliance.cli.shell import Shell, days_given, refused
from compliance.cli.show import form_options, listing, listing_options
from compliance.records.problem import REFUSED

if TYPE_CHECKING:
    from compliance.records.state import State
    from compliance.reports.issue import Head
    from compliance.reports.model import Page


def page_options(command: Any) -> Any:
    """What every command takes that makes a page."""
    out = click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("pages"),
                       show_default=True, help="Folder to write the files into.")  # fmt: skip
    who = click.option("--who", default="", help="Who issues it.")
    return who(form_options(out(command)))


def version_options(command: Any) -> Any:
    """What every command takes that makes a page of which there may be versions."""
    version = click.option("--version", "version", type=click.IntRange(1), metavar="N",
                           help="Version N as it was issued; the next one is issued now.")  # fmt: skip
    preview = click.option("--preview", "only_look", is_flag=True,
                           help="Write it without a number; the book keeps nothing.")  # fmt: skip
    return page_options(preview(version(command)))


# ---- proof -------------------------------------------------------------------------------------------------------


def proof_wanted(office: Office, job: str, form: Form) -> Wanted:
    """The proof of one job."""
    from compliance.reports.issue import PROOF, closes, in_form
    from compliance.reports.proof import proof_page
    from compliance.water.jobs import job_facts
    from compliance.water.jobs import job_names as all_jobs

    facts = job_facts(office.state, office.night, job)
    if facts is None:
        raise refused(f"no job is called {job!r}", "JOB", _job_meant(office, job, all_jobs(office.night)))

    def build(number: str, day: str, replaces: str, head: Head | None) -> Page:
        closed = all(closes(office.state, office.night.runs[record].date) for record in facts.runs)
        return proof_page(
            office.state, office.night, office.findings, facts, form.imprint(number, day, replaces, head),
            closed=closed, replaced=office.past(replaces),
        )  # fmt: skip

    client = office.state.registers.name("client", facts.client) if facts.client else PROOF
    kind = in_form(PROOF, form.language, form.paper)
    return Wanted(kind, facts.job, client, build, office.figures.of_job(facts.job))


def _job_meant(office: Office, name: str, jobs: Iterable[str]) -> str:
    """What to write instead: of a run, the jobs at which somebody worked; else the nearest name."""
    from difflib import get_close_matches

    run = office.state.run(name)
    if run is not None:
        worked = dict.fromkeys(stop.job for stop in office.night.runs[run.record].stops if stop.worked)
        return f"that is a run; its jobs are: {', '.join(worked)}" if worked else "that is a run, and nobody worked"
    near = get_close_matches(name, jobs, 1)
    return f"did you mean {near[0]!r}?" if near else "see `washwater list jobs`"


def _somebody_worked(office: Office, job: str) -> None:
    """Refuse a numbered page of a job at which nobody worked: it proves no recovery."""
    from compliance.water.jobs import job_facts

    facts = job_facts(office.state, office.night, job)
    if facts is None or any(stop.worked for stop in facts.stops):
        return
    why = "; ".join(dict.fromkeys(stop.not_worked or "" for stop in facts.stops)).strip("; ")
    step = "with --not-worked it is issued all the same, and says why; --preview keeps nothing"
    raise refused(f"nobody worked at {job!r}" + (f": {why}" if why else ""), "JOB", step)


@click.command("proof")
@click.argument("job", required=False, shell_complete=job_names)
@click.option("--month", metavar="MONTH", shell_complete=months, help="Every job of this month, one after the other.")
@click.option("--not-worked", is_flag=True, help="Issue it though nobody worked at any of its stops.")
@version_options
@click.pass_obj
def proof_command(
    shell: Shell,
    job: str | None,
    month: str | None,
    not_worked: bool,
    out: Path,
    lang: str,
    paper: str,
    only_look: bool,
    version: int | None,
    who: str,
) -> int:
    """Issue the proof of recovery of JOB, as PDF, HTML and JSON: our records of where its water went.

    JOB is the name of a job, or the stop (like 2026-09-03-big-blue.s4) where a stop was its own job. A job whose
    figures have changed since is issued anew: the new page says which one it replaces, and what differs.
    """
    if (job is None) == (month is None):
        raise refused("it is not said of what", "JOB, --month", "name one JOB, or a month with --month")
    if job is None and (only_look or version is not None):
        raise refused("--preview and --version are of one page", "--month", "name the JOB instead of the month")
    with Progress() as progress, shell.open() as book:
        form = Form(lang, paper)
        if job is not None:
            ids = nearby.runs_of(book, job)  # without any, the whole book is asked what may have been meant
            office = Office.around(shell, book, progress, ids) if ids else Office.open(shell, book, progress)
            if not (not_worked or only_look or version is not None):
                _somebody_worked(office, job)
            finish(office, proof_wanted(office, job, form), out, who, only_look, version)
            return 0
        span = month_days(str(month))
        ids = nearby.runs_between(book, *span, whole_jobs=True)
        return _all_of(Office.around(shell, book, progress, ids), span, form, out, who)


def _all_of(office: Office, span: tuple[str, str], form: Form, out: Path, who: str) -> int:
    """Every proof of a month; an interruption leaves whole pages behind and says how many."""
    jobs = worked_jobs(office, *span)
    done, new = 0, 0
    try:
        for job in office.progress.each(jobs, len(jobs), "proofs"):
            made = office.issue(proof_wanted(office, job, form), out, who)
            done, new = done + 1, new + made.new
            click.echo(f"{_became(made)}  {job}")
    except KeyboardInterrupt:
        click.echo(f"Stopped after {done} of {len(jobs)} proofs; each of these is whole. Run it again for the rest.")
        return REFUSED
    click.echo(f"{len(jobs)} proofs: {new} issued now, {len(jobs) - new} issued before and unchanged; in {out}")
    return 0


def worked_jobs(office: Office, first: str, last: str) -> list[str]:
    """The jobs of which a stop was worked in a span of days, in the order of their first stop there."""
    runs = [run for run in office.night.runs.values() if first <= run.date <= last]
    return list(dict.fromkeys(stop.job for run in runs for stop in run.stops if stop.worked))


def _became(made: Out) -> str:
    if not made.new:
        return f"{made.number}, issued before"
    return f"{made.number}, replaces {made.replaces}" if made.replaces else f"{made.number}, new"


def finish(office: Office, wanted: Wanted, out: Path, who: str, only_look: bool, version: int | None) -> None:
    if only_look:
        done = office.preview(wanted, out)
        click.echo("A preview; the book keeps nothing of it.")
    elif version is not None:
        done = office.version(wanted, version, out, who)
        told(done, f"Version {version}, as it was issued as {done.number}.")
    else:
        done = office.issue(wanted, out, who)
        told(done, f"Issued before as {done.number}; nothing that it prints has changed, so these are the same files.")
    for path in done.files:
        click.echo(f"  {path}")


def told(done: Out, before: str) -> None:
    """Say under which number a page was issued now, or that it was issued before."""
    replaces = f", which replaces {done.replaces}." if done.replaces else "."
    click.echo(f"Issued as {done.number}{replaces}" if done.new else before)


# ---- the owner's summary --------------------------------------------------------------------------------------


def month_days(text: str) -> tuple[str, str]:
    """First and last day of '2026-10'. Raises ComplianceError for anything else."""
    try:
        first = date.fromisoformat(f"{text}-01")
    except ValueError as error:
        raise refused(f"{text!r} is not a month", "MONTH", "write it like 2026-10") from error
    following = (first + timedelta(days=31)).replace(day=1)
    return first.isoformat(), (following - timedelta(days=1)).isoformat()


def within_the_book(office: Office, first: str, last: str, where: str) -> None:
    """Refuse a numbered page of days that have not come yet, or that were over before anything on record.

    A span without a night in between is a page like any other: that nothing was done is known there.
    """
    if first > office.today:
        raise refused(f"{first} has not come yet", where, f"today is {office.today}; --preview keeps nothing")
    first_night = nearby.first_day(office.book)
    days = [*([first_night] if first_night else []), *(row.day for row in office.state.old_rows)]
    if not days:
        raise refused("no night is recorded yet", where, "`washwater log` hands one in")
    if last < min(days):
        raise refused(f"nothing is recorded up to {last}", where, f"the first night on record is {min(days)}")


def month_wanted(office: Office, first: str, last: str, form: Form) -> Wanted:
    """The owner's summary of a span of days."""
    from compliance.reports.issue import MONTH, OWNER, about_span, in_form
    from compliance.reports.month import month_page
    from compliance.reports.span import looks_back_to
    from compliance.reports.touched import restated

    found = restated(office.figures, first, last, since=office.start)

    def build(number: str, day: str, replaces: str, head: Head | None) -> Page:
        findings = office.findings_between(looks_back_to(first), last)
        pasts = [(one, office.past(one.page.number)) for one in found]
        return month_page(
            office.state, office.night, findings, first, last, form.imprint(number, day, replaces, head),
            replaced=office.past(replaces),
            restates=[(one, past) for one, past in pasts if past is not None],
        )  # fmt: skip

    figures = {**office.figures.of_month(first, last), **dict(one.figure for one in found)}
    kind = in_form(MONTH, form.language, form.paper)
    return Wanted(kind, about_span(first, last), OWNER, build, figures, workbook=True)


# ---- client ------------------------------------------------------------------------------------------------------


def client_wanted(office: Office, client: str, first: str, last: str, form: Form) -> Wanted:
    """One client's summary of a span of days; nothing in it is of anybody else."""
    from compliance.reports.client import client_page
    from compliance.reports.issue import CLIENT, about_span, in_form

    registers = office.state.registers
    figures = office.figures.of_client(client, first, last)
    if not figures and registers.find("client", client) is None:
        known = ", ".join(str(entry["name"]) for entry in registers.all("client")) or "none yet"
        raise refused(f"no client is called {client!r}", "CLIENT", f"the register holds: {known}")
    name = registers.name("client", client)

    def build(number: str, day: str, replaces: str, head: Head | None) -> Page:
        return client_page(
            office.state, office.night, office.findings, client, first, last,
            form.imprint(number, day, replaces, head), replaced=office.past(replaces),
        )  # fmt: skip

    kind = in_form(CLIENT, form.language, form.paper)
    return Wanted(kind, about_span(first, last, name), name, build, figures, workbook=True)


@click.command("client")
@click.argument("client", shell_complete=client_names)
@click.option("--from", "first", required=True, metavar="DATE", help="First day.")
@click.option("--to", "last", required=True, metavar="DATE", help="Last day.")
@version_options
@click.pass_obj
def client_command(
    shell: Shell,
    client: str,
    first: str,
    last: str,
    out: Path,
    lang: str,
    paper: str,
    only_look: bool,
    version: int | None,
    who: str,
) -> None:
    """Write the summary of CLIENT from one day to another, as PDF, HTML, workbook and JSON."""
    from compliance.water.oldrows import old_totals

    days_given(first, last)
    with Progress() as progress, shell.open() as book:
        ids = nearby.runs_between(book, first, last)
        office = Office.around(shell, book, progress, ids, nearby.PAGES_AND_OLD_ROWS)
        wanted = client_wanted(office, client, first, last, Form(lang, paper))
        if not only_look:
            within_the_book(office, first, last, "--from, --to")
        if not (only_look or wanted.figures or old_totals(office.state, first, last, client)):
            step = "look at `washwater list jobs`; --preview shows the empty page and keeps nothing"
            raise refused(f"no work for {client!r} is recorded from {first} to {last}", "--from, --to", step)
        finish(office, wanted, out, who, only_look, version)


# ---- pages -------------------------------------------------------------------------------------------------------


@click.command("pages")
@click.option("--touched", "only_touched", is_flag=True, help="Only figures that are others now: as printed, and now.")
@listing_options
@click.pass_obj
def pages_command(shell: Shell, only_touched: bool, form: str | None) -> None:
    """List the pages that were issued, or with --touched each printed figure that the records say otherwise now.

    A page stays as it was issued, whatever comes later. `proof`, `client` and `month --version` issue the next version.
    """
    with Progress() as progress, shell.open() as book:
        if not only_touched:
            rows = list(_page_rows(nearby.around(book, (), nearby.PAGES)))
            listing(_PAGE_COLUMNS, rows, form, none="No page was issued yet.")
            return
        rows = list(_touched_rows(Office.open(shell, book, progress)))
    listing(_TOUCHED_COLUMNS, rows, form, none="No page prints a figure that the records say otherwise now.")
    if rows and form is None:
        click.echo("Each page stays as it was issued. Issued again it is a new version, which says what differs.")


_PAGE_COLUMNS = ("date", "number", "page", "about", "version", "replaced by")
_TOUCHED_COLUMNS = ("number", "about", "figure", "printed", "now")


def _page_rows(state: State) -> Iterable[tuple[Any, ...]]:
    from compliance.reports.issue import replaced_by, versions

    for page in state.issued:
        newer = replaced_by(page, state.issued)
        counted = versions(state, page.page, page.about)
        version = counted.index(page) + 1 if page in counted else "before closing"
        yield page.date, page.number, page.page, page.about, version, newer.number if newer else ""


def _touched_rows(office: Office) -> Iterable[tuple[str, ...]]:
    from compliance.reports.touched import told as figure_told
    from compliance.reports.touched import touched

    for one in touched(office.figures):
        for name, both in one.figures.items():
            yield one.page.number, one.page.about, *figure_told(office.figures, name, *both)
