"""complete: fill in one field by name, or go through the morning list and answer in place."""

from __future__ import annotations

import sys
from collections import deque
from typing import TYPE_CHECKING

import click

from compliance.cli.completing import run_names
from compliance.cli.shell import Shell, long_work, refused, whole
from compliance.cli.show import listing, listing_options
from compliance.cli.writing import given, typed_value, write
from compliance.records.problem import ComplianceError

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.morning import Need
    from compliance.records.state import State

_COLUMNS = ("date", "kind", "about", "needed", "next step")
_STOP = "q"


@click.command("complete")
@click.argument("run", required=False, shell_complete=run_names)
@click.argument("field", required=False)
@click.argument("value", required=False)
@click.option("--line", metavar="N", help="The line of the run; leave out for a field of the run itself.")
@click.option("--who", help="Who says so; needed with a value.")
@click.option("--list", "only_list", is_flag=True, help="Only list what is needed, and ask nothing.")
@listing_options
@click.pass_obj
def complete_command(
    shell: Shell,
    run: str | None,
    field: str | None,
    value: str | None,
    line: str | None,
    who: str | None,
    only_list: bool,
    form: str | None,
) -> None:
    """Fill in what nobody has recorded yet: by a list of questions, or one FIELD of RUN at once.

    Without arguments it goes through all that is still needed, oldest first; with RUN alone, through that run's. Enter
    passes a question over, 'q' ends, and each answer is in the book before the next question. What was answered before
    is corrected, not completed. RUN may be a ticket, 'ticket 4711'; FIELD may lead into a list, 'drain_list/1/on'.
    """
    if field is None:
        _list(shell, run, who, only_list, form)
        return
    if run is None or value is None:
        raise click.UsageError("RUN, FIELD and VALUE belong together")
    if who is None:
        raise click.UsageError("Missing option '--who'.")
    raw = given(run=run, line=line, field=field, value=typed_value(value, "VALUE"), who=who)
    write(shell, "complete", raw, as_json=form == "json")


def _list(shell: Shell, run: str | None, who: str | None, only_list: bool, form: str | None) -> None:
    with shell.open() as book:
        state = whole(book)
        found = _needs(shell, state, run)
        if only_list or form is not None:
            shown = _COLUMNS if form is not None else _COLUMNS[:-1]  # a terminal is not wide enough for what to do
            rows = [(one.day, one.kind, one.about, one.needed, one.next_step)[: len(shown)] for one in found]
            listing(shown, rows, form, none="Nothing is needed.")
            return
        _Morning(shell, book, state, who).go_through(found)


def _needs(shell: Shell, state: State, run: str | None) -> list[Need]:
    """What is still needed, of one run where it is named."""
    from compliance.book import drafts
    from compliance.cli.judging import scene_of
    from compliance.intake.morning import needs
    from compliance.rules.run import Report, check

    scene = scene_of(shell, state)
    with long_work(state, "judging by the rules"):
        report = check(scene)
    assert isinstance(report, Report)  # all rules run: only a choice of rules can be a mistake
    found = needs(scene, report, drafts.names(shell.folder))
    if run is None:
        return list(found)
    view = state.run(run)
    if view is None:
        raise refused(f"no run is called {run!r}", "RUN", "see `washwater list runs`")
    return [one for one in found if one.about.partition("/")[0].partition(".")[0] == view.ref]


class _Morning:
    """One going through the list. Answers are checked against the book as it is when they are given."""

    def __init__(self, shell: Shell, book: Book, state: State, who: str | None) -> None:
        self.shell, self.book, self.state, self.who = shell, book, state, who
        self.answered = self.passed = self.told = 0

    def go_through(self, found: list[Need]) -> None:
        """Ask each question in turn; what cannot be answered here is told in its place."""
        if not found:
            click.echo("Nothing is needed.")
            return
        questions = sum(one.ask is not None for one in found)
        needed = "1 thing is needed" if len(found) == 1 else f"{len(found)} things are needed"
        asked = "1 of them a question" if questions == 1 else f"{questions} of them questions"
        click.echo(f"{needed}, {asked}. Enter passes over, q ends; 'not read' is an answer where nobody looked.")
        waiting = deque(found)
        while waiting:
            need = waiting.popleft()
            if need.ask is None:
                click.echo(f"\n{need.day or 'now'}  {need.kind}  {need.about}\n  {need.needed}")
                click.echo(f"  do this: {need.next_step}")
                self.told += 1
                continue
            more = self._ask(need)
            if more is None:
                break
            waiting.extendleft(reversed(more))
        left = len(waiting) + (1 if waiting or self._broken_off else 0)
        click.echo(
            f"\n{self.answered} answered, {self.passed} passed over, {self.told} told"
            + (f", {left} left" if left else "")
            + "."
        )

    _broken_off = False

    def _ask(self, need: Need) -> list[Need] | None:
        """One question until it is answered or passed over; what it leads on to, or None for an end."""
        assert need.ask is not None
        row = need.ask.row
        click.echo(f"\n{need.day or 'now'}  {need.about}\n  {need.needed}" + (f" ({row.help})" if row.help else ""))
        for n, choice in enumerate(row.choices, start=1):
            click.echo(f"  {n} {choice.value}")
        while True:
            typed = _line("> ")
            if typed is None or typed.strip().lower() == _STOP:
                self._broken_off = True
                return None
            if not typed.strip():
                self.passed += 1
                return []
            if self.who is None:
                self.who = (_line("Who says so: ") or "").strip()
            more = self._answer(need, typed.strip())
            if more is not None:
                self.answered += 1
                return more

    def _answer(self, need: Need, typed: str) -> list[Need] | None:
        """Hand one answer in; None when it is not taken and has to be asked again."""
        from compliance.intake.handin import hand_in
        from compliance.intake.morning import after_ticket, entry_of
        from compliance.intake.validate import check
        from compliance.records import kinds

        assert need.ask is not None
        if self.book.head().size != self.state.size:
            self.state = whole(self.book)
        choices = need.ask.row.choices
        chosen = choices[int(typed) - 1].value if typed.isdecimal() and 0 < int(typed) <= len(choices) else typed
        try:
            value = typed_value(chosen, "the answer")
            kind, raw = entry_of(need.ask, value, self.state, self.who or "")
            (checked,) = check(kind, raw, state=self.state, where=need.about, now=self.shell.now(), who=self.who or "")
            done = hand_in(self.book, checked, state=self.state, now=self.shell.stamp(), token=self.shell.token)
        except ComplianceError as error:
            for problem in error.problems:
                click.echo(f"  {problem.what}. {problem.next_step}", err=True)
            if not self.who:
                self.who = None
            return None
        for said in (*checked.notes, *checked.cautions, *done.lines):
            click.echo(f"  {said}")
        if kind == kinds.TICKET and done.record is not None:
            self.state = whole(self.book)
            return list(after_ticket(done.record.id, self.state))
        if need.ask.group == "ticket" and need.ask.path == "accepted":
            self._beside(need.ask.about)
        return []

    def _beside(self, ticket: str) -> None:
        """What they accepted beside our own volume, which stays as it was read."""
        from compliance.cli.judging import scene_of
        from compliance.intake.ticket_amounts import beside

        self.state = whole(self.book)
        ours, difference = beside(ticket, scene_of(self.shell, self.state))
        click.echo(f"  our own volume: {ours}" + (f"; they accepted {difference}" if difference else ""))


def _line(prompt: str) -> str | None:
    """One line that is typed; None at the end of the input."""
    click.echo(prompt, nl=False)
    line = sys.stdin.readline()
    return line.rstrip("\r\n") if line else None
