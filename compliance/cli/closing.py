"""month: its summary, closing it, opening it again, and which months are closed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.completing import months
from compliance.cli.issuing import Form, Office
from compliance.cli.paging import (
    finish,
    month_days,
    month_wanted,
    page_options,
    told,
    version_options,
    within_the_book,
)  # fmt: skip
from compliance.cli.progress import Progress
from compliance.cli.shell import Shell, refused, whole
from compliance.cli.show import listing, listing_options
from compliance.records import kinds
from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.records.closing import Closing
    from compliance.records.state import State
    from compliance.reports.issue import Head


class MonthCommands(click.Group):
    """A group whose first word may also be the month itself: `month 2026-10` is `month summary 2026-10`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if args and args[0] not in self.commands and args[0] not in ctx.help_option_names:
            args = ["summary", *args]
        return super().parse_args(ctx, args)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[Any]:
        """The words of the group, and the months."""
        from click.shell_completion import CompletionItem

        return [*super().shell_complete(ctx, incomplete), *map(CompletionItem, months(ctx, None, incomplete))]


@click.group("month", cls=MonthCommands, subcommand_metavar="MONTH | COMMAND [ARGS]...")
def month_command() -> None:
    """Write the owner's summary of MONTH (like 2026-10), close the month, or open it again.

    `washwater month 2026-10` is short for `washwater month summary 2026-10`, with the same options.
    """


@month_command.command("summary", short_help="Write the summary; --version 2 for a closed month.")
@click.argument("month", shell_complete=months)
@version_options
@click.pass_obj
def summary_command(
    shell: Shell, month: str, out: Path, lang: str, paper: str, only_look: bool, version: int | None, who: str
) -> None:
    """Write the owner's summary of MONTH, as PDF, HTML, workbook and JSON.

    While the month is open, a summary is issued anew when its figures have changed. A closed month keeps the version
    that it was closed with; --version 2 issues what the records say now, and --version 1 is what was issued then.
    """
    first, last = month_days(month)
    with Progress() as progress, shell.open() as book:
        office = Office.for_summary(shell, book, progress, first, last)
        form = Form(lang, paper)
        closing = office.state.closing_of(first[:7])
        if closing is not None and not only_look and version is None:
            _of_closed(office, closing, (first, last), form, out, who)
        else:
            if not only_look and version is None:
                within_the_book(office, first, last, "MONTH")
            finish(office, month_wanted(office, first, last, form), out, who, only_look, version)


def _of_closed(office: Office, closing: Closing, span: tuple[str, str], form: Form, out: Path, who: str) -> None:
    """A closed month: its last version as it was issued; in another language or on other paper, as it was closed."""
    from compliance.reports.issue import MONTH, Head, about_span, in_form, versions

    kind, about = in_form(MONTH, form.language, form.paper), about_span(*span)
    pages = [one for one in versions(office.state, kind, about) if one.seq > closing.seq]
    if pages:
        done = office.kept(pages[-1], out)
    else:
        then = month_wanted(office.at(closing), *span, form)
        done = office.issue_anew(then, out, who, made_from=Head(closing.size, closing.root))
    before = f"{closing.month} was closed on {closing.day}; this is its summary as it was issued as {done.number}."
    told(done, before)
    for path in done.files:
        click.echo(f"  {path}")
    page = office.page(done.number)
    others = len(office.figures.differing(page)) if page is not None else 0
    if others:
        n = len(versions(office.state, kind, about)) + 1
        click.echo(f"The records say {others} of its figures otherwise now: `washwater pages --touched` lists them,")
        click.echo(f"`washwater month {closing.month} --version {n}` issues them.")


# ---- closing -----------------------------------------------------------------------------------------------------


@month_command.command("close", short_help="Close the month and issue its summary.")
@click.argument("month", shell_complete=months)
@page_options
@click.pass_obj
def close_command(shell: Shell, month: str, out: Path, lang: str, paper: str, who: str) -> None:
    """Close MONTH and issue its summary: what is not recorded yet by then is 'not recorded'.

    Nothing is locked. What comes late is handed in as ever; the summary stays as it was issued, the next month's
    summary says that it restates this one, and version 2 is issued when it is asked for.
    """
    from compliance.reports.span import looks_back_to

    first, last = month_days(month)
    month = first[:7]
    with Progress() as progress, shell.open() as book:
        office = Office.for_summary(shell, book, progress, first, last)
        name = _who(office.state, who)
        before = office.state.closing_of(month)
        if before is not None:
            click.echo(f"{month} was closed on {before.day} by {before.who}, as {before.page}; nothing was changed.")
            return
        if last >= office.today:
            raise refused(f"{month} is not over", "MONTH", f"close it from the day after {last} on")
        within_the_book(office, first, last, "MONTH")
        done = _close(office, first, last, Form(lang, paper), out, name)
        told(done, "")
        for path in done.files:
            click.echo(f"  {path}")
        found = [one for one in office.findings_between(looks_back_to(first), last) if one.day >= first]
        waiting, open_ = sum(len(one.missing) for one in found), sum(one.accepted is None for one in found)
    click.echo(f"{month} is closed. Open items: {open_}; fields that are 'not recorded' from now on: {waiting}.")
    judged = office.state.judged_from
    nights = [view.day for view in office.state.runs if view.cancelled is None and first <= view.day <= last]
    if any(day < judged for day in nights):
        click.echo(f"Nights before {judged} are from before the book: not judged, and what they lack is not counted.")


def _close(office: Office, first: str, last: str, form: Form, out: Path, who: str) -> Any:
    """The closing and its summary, both or neither."""
    from compliance.records.closing import Closing

    state = office.state
    divisions = office.figures.divisions(first, last)
    pending = Closing("", state.size + 1, first[:7], True, office.today, who)
    after = replace(office, state=replace(state, closings=(*state.closings, pending)))
    after.__dict__["night"], after.__dict__["scene"] = office.night, office.scene  # a closing moves no water
    wanted = month_wanted(after, first, last, form)

    def closing(number: str, head: Head) -> tuple[str, Mapping[str, Any]]:
        return kinds.CLOSE, {
            "month": first[:7], "page": number, "size": head.size, "root": head.root, "figures": dict(divisions),
            "who": who,
        }  # fmt: skip

    return office.issue_anew(wanted, out, who, before=closing)


@month_command.command("reopen", short_help="Open it again, with the reason.")
@click.argument("month", shell_complete=months)
@click.option("--why", required=True, help="The reason; it stands on the next summary of the month.")
@click.option("--who", required=True, help="Who opens it again.")
@click.pass_obj
def reopen_command(shell: Shell, month: str, why: str, who: str) -> None:
    """Open MONTH again: its summaries from now on say 'not recorded yet' again, and that it was opened, and why.

    The summary that it was closed with stays as it was issued.
    """
    from compliance.intake.checked import Checked
    from compliance.intake.entries import entry

    month = month_days(month)[0][:7]
    with shell.open() as book:
        state = whole(book)
        name = _who(state, who)
        if state.closing_of(month) is None:
            raise refused(f"{month} is not closed", "MONTH", "see `washwater month list`")
        payload = {"month": month, "why": _text(why, "--why", name=False), "who": name}
        checked = Checked(kinds.REOPEN, payload, shell.zone_today(state))
        now = shell.stamp()
        book.append([entry(checked, now=now, token=shell.token)], receipt_time=now)
    click.echo(f"{month} is open again. `washwater month close {month} --who NAME` closes it.")


def _who(state: State, who: str) -> str:
    """A name, which is a claim and no log-in, as the register of people spells it."""
    return state.registers.name("person", _text(who, "--who", name=True))


def _text(text: str, where: str, *, name: bool) -> str:
    from compliance.intake.text import check_text

    found = check_text(text, where, name=name)
    if isinstance(found, Problem):
        raise ComplianceError(found)
    if not found:
        raise refused("it is not said who" if name else "it is not said why", where, "the book keeps it with the month")
    return found


@month_command.command("list", short_help="What became of each month.")
@listing_options
@click.pass_obj
def list_command(shell: Shell, form: str | None) -> None:
    """List what became of each month: closed or opened again, on which day, by whom, as which summary, and why."""
    with shell.open() as book:
        state = whole(book)
    rows = [
        (one.month, "closed" if one.closes else "opened again", one.day, one.who, one.page, one.why)
        for one in sorted(state.closings, key=lambda one: (one.month, one.seq))
    ]
    listing(("month", "what", "date", "by", "summary", "why"), rows, form, none="No month was closed yet.")
