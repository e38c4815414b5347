"""list, find, balance, query: reading the book. `showing` shows one record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from compliance.cli.completing import run_or_job_names
from compliance.cli.shell import Shell, days_given, near_name, reckoned, refused, whole
from compliance.cli.show import listing, listing_options, print_json
from compliance.records.answer import NOT_APPLICABLE, NOT_YET

if TYPE_CHECKING:
    from collections.abc import Sequence

    from compliance.book.store import Book
    from compliance.records.state import State
    from compliance.records.ticketing import Paper
    from compliance.records.views import RunView
    from compliance.water.results import Night

_LISTS = ("runs", "jobs", "loads", "handovers", "pages", "open")
_NOTHING = {what: f"No {what} there." for what in _LISTS} | {
    "open": "Nothing is open there: no ticket is awaited, no water is aboard.",
}


@click.command("list")
@click.argument("what", type=click.Choice(_LISTS), default="runs")
@click.option("--from", "start", metavar="DATE", help="From this day on.")
@click.option("--to", "end", metavar="DATE", help="Up to this day.")
@listing_options
@click.pass_obj
def list_command(shell: Shell, what: str, start: str | None, end: str | None, form: str | None) -> None:
    """List runs (the default), jobs, loads, handovers, issued pages, or what is open: tickets awaited, water aboard."""
    start, end = days_given(start, end)
    with shell.open() as book:
        state = _of_days(book, what, start, end)
    night = reckoned(state)
    columns, rows = _LISTINGS[what](state, night)
    within = [row for row in rows if (start or "") <= str(row[0]) and (end is None or str(row[0]) <= end)]
    listing(columns, within, form, none=_NOTHING[what])


def _of_days(book: Book, what: str, start: str | None, end: str | None) -> State:
    """As much of the book as the list takes; all of it where no day is given."""
    from compliance.cli import nearby

    if what == "pages":
        return nearby.around(book, (), nearby.PAGES)
    if start is None and end is None:
        return whole(book)
    return nearby.around(book, nearby.runs_between(book, start or "", end or "9999", whole_jobs=what == "jobs"))


def _runs(state: State, night: Night) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
    from compliance.cli.figures import amount

    rows: list[tuple[Any, ...]] = []
    for run in night.runs.values():
        stops = sum(stop.worked for stop in run.stops)
        if run.cancelled:
            rows.append((run.date, run.ref, run.rig, run.lead, "cancelled", "", "", ""))
            continue
        rows.append(
            (run.date, run.ref, run.rig, run.lead, stops, amount(run.used.figure, state.unit),
             amount(run.captured.figure, state.unit), amount(run.aboard_after, state.unit))
        )  # fmt: skip
    return ("date", "run", "rig", "lead", "stops worked", "used", "captured", "aboard at the end"), rows


def _jobs(state: State, night: Night) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
    from compliance.cli.figures import amount
    from compliance.water.jobs import Jobs

    jobs, rows = Jobs(state, night), []
    for name in jobs.names:
        job = jobs.of(name)
        if job is not None:
            first = night.runs[job.runs[0]].date
            rows.append(
                (first, job.job, job.client, job.site, len(job.stops), amount(job.used, state.unit),
                 amount(job.captured, state.unit))
            )  # fmt: skip
    return ("date", "job", "client", "site", "stops", "used", "captured"), rows


def _loads(state: State, night: Night) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
    from compliance.cli.figures import amount

    rows = [
        (night.runs[load.opened.record].date, load.name, load.tank, len(load.stops),
         amount(load.captured.figure, state.unit), amount(load.handed_over, state.unit),
         load.now)
        for load in night.loads.values()
    ]  # fmt: skip
    return ("date", "load", "tank", "stops", "captured", "handed over", "now"), sorted(rows, key=_by_day_and_name)


def _handovers(state: State, night: Night) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
    from compliance.cli.figures import amount
    from compliance.intake.ticket_amounts import difference
    from compliance.records.ticketing import papers

    views = {view.record: view for view in state.runs}
    rows = []
    for load in night.loads.values():
        for draw in load.draws:
            if draw.way != "handed over":
                continue
            view = views[draw.line.record]
            tickets = state.tickets_of(view.record, draw.line.line)
            said = view.line(draw.line.line) or view
            own = said.fields.get("ticket")
            each = papers(view.get("ticket") if own is None else own, said.fields.get("accepted"), tickets)
            numbers, accepted = _accepted(each)
            alone = all(one.handovers == 1 for one in each)  # else only all together can be compared
            theirs = [one.accepted for one in each] if alone else []
            rows.append((view.day, _line_name(view, draw.line.line), draw.place, amount(draw.known.figure, state.unit),
                         numbers, accepted, difference(theirs, draw.known.figure, state.unit)))  # fmt: skip
    columns = ("date", "handover", "place", "our volume", "tickets", "accepted", "difference")
    return columns, sorted(rows, key=_by_day_and_name)


def _by_day_and_name(row: tuple[Any, ...]) -> tuple[str, str]:
    return str(row[0]), str(row[1])


def _line_name(run: RunView, n: str) -> str:
    """A line as people name it; the run alone where it names the place of its water without a line of its own."""
    return f"{run.ref}/{n}" if n else run.ref


def _accepted(each: Sequence[Paper]) -> tuple[str, str]:
    """Numbers and accepted amounts of the tickets of a handover, pairwise."""
    nothing_to_accept = NOT_APPLICABLE if each[0].number == NOT_APPLICABLE else NOT_YET
    numbers = ", ".join(str(one.number or NOT_YET) for one in each)
    return numbers, ", ".join(str(one.accepted or nothing_to_accept) for one in each)


def _pages(state: State, night: Night) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
    from compliance.reports.issue import replaced_by

    rows = []
    for page in state.issued:
        newer = replaced_by(page, state.issued)
        rows.append((page.date, page.number, page.page, page.about, newer.number if newer else ""))
    return ("date", "number", "page", "about", "replaced by"), rows


def _open(state: State, night: Night) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
    from compliance.cli.figures import amount

    rows: list[tuple[Any, ...]] = []
    for run in state.runs:
        if run.cancelled is None and run.get("ticket") == "later" and not state.tickets_of(run.record, ""):
            rows.append((run.day, "ticket awaited", run.ref, str(run.get("where"))))
        for line in run.lines:
            awaited = line.kind == "hand over" and line.get("ticket") == "later"
            if run.cancelled is None and awaited and not state.tickets_of(run.record, line.n):
                rows.append((run.day, "ticket awaited", _line_name(run, line.n), str(line.get("place"))))
    for load in night.loads.values():
        if load.now != "empty":
            opened, what = night.runs[load.opened.record], "water aboard"
            what += "" if load.now == "aboard" else ", not known whether"
            rows.append((opened.date, what, load.name, amount(load.closing, state.unit)))
    return ("date", "what", "about", "detail"), sorted(rows)


_LISTINGS = {
    "runs": _runs, "jobs": _jobs, "loads": _loads, "handovers": _handovers, "pages": _pages, "open": _open,
}  # fmt: skip


_FOUND = ("about", "line", "what", "text", "record")


@click.command("find")
@click.argument("words", nargs=-1, required=True)
@listing_options
@click.pass_obj
def find_command(shell: Shell, words: tuple[str, ...], form: str | None) -> None:
    """Search everything that was typed: remarks, names, sites, escapes, tickets. Accents do not matter."""
    from compliance.book.derived_finding import find

    rows = [tuple(row[column] for column in _FOUND) for row in find(shell.folder, " ".join(words))]
    listing(_FOUND, rows, form, none="Nothing that was typed holds these words.")


@click.command("balance")
@click.argument("name", shell_complete=run_or_job_names)
@click.option("--json", "as_json", is_flag=True, help="As JSON: every figure with its unit, ± and state.")
@click.option(
    "--version",
    "version",
    type=click.IntRange(1),
    metavar="N",
    help="Of a load: as it was when version N of its division was printed, or its month closed.",
)
@click.pass_obj
def balance_command(shell: Shell, name: str, as_json: bool, version: int | None) -> None:
    """Print the water balance of a run, load, stop or job, so that each line can be redone by hand."""
    from compliance.cli import balance_data, balances, nearby
    from compliance.water.jobs import job_facts

    with shell.open() as book:
        ids = nearby.runs_of(book, name) if version is None else []
        state = nearby.around(book, ids) if ids else whole(book)
        if version is not None:
            state = _version(book, state, name, version)
    night = reckoned(state)
    view, job = state.run(name), None
    if view is not None:
        loads = night.runs[view.record].loads
    elif name in night.loads:
        loads = (name,)
    else:
        job = job_facts(state, night, name)
        if job is None:
            known = [run.ref for run in state.runs] + list(night.loads)
            raise refused(f"no run, load or job is called {name!r}", "NAME", near_name(name, known))
        loads = job.loads
    tanks = [night.loads[one] for one in loads if one in night.loads]
    told = balance_data if as_json else balances
    if view is not None:
        kind, said = "run", told.of_run(night.runs[view.record], state.unit, night.loads)
    elif job is not None:
        kind, said = "job", told.of_job(job, state, night)
    else:
        kind, said = "load", told.of_load(night.loads[name], state.unit, balances.names_of(state, night))
    if as_json:
        print_json(balance_data.document(kind, said, state, tanks))
        return
    unit = "US gallons" if state.unit == "gal" else "litres"
    ending = f"All amounts in {unit}; ± at about 95 % (k = 2)."
    click.echo("\n".join([*said, *balances.tanks_of(state, tanks), ending]))


def _version(book: Book, state: State, load: str, n: int) -> State:
    """What the records said when version n of a load's division was printed; the last one is that of now."""
    from compliance.records.state import gather
    from compliance.reports.figures import division_digest
    from compliance.water.versions import division_version, division_versions, stood

    frozen = division_versions(state, load)
    digest = division_digest(reckoned(state), load)
    last = division_version(state, load, digest) if digest else len(frozen)
    if n > max(last, len(frozen)):
        raise refused(f"{load!r} has no version {n} of its division", "--version", f"the last one is version {last}")
    return gather(stood(book.records(), frozen[n - 1].size)) if n <= len(frozen) else state


@click.command("query")
@click.argument("sql")
@listing_options
@click.pass_obj
def query_command(shell: Shell, sql: str, form: str | None) -> None:
    """Ask the query tables with SQL, like: query "select run, used from runs". They can be read, not changed."""
    from compliance.book.derived import query

    columns, rows = query(shell.folder, sql, ())
    listing(columns, rows, form, none="No rows.")
