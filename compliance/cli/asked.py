"""The inquiries of a book of any size: looked up without reading a run, and written down."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.shell import Shell, refused
from compliance.cli.writing import answer
from compliance.records.fields import GROUPS
from compliance.records.inquiries import called
from compliance.records.kinds import INQUIRY

if TYPE_CHECKING:
    from compliance.intake.handin import HandedIn
    from compliance.records.inquiries import Inquiry
    from compliance.records.state import State

NO_DAY = "9999"
"""A day on which there is no run."""


def question_options(command: Any) -> Any:
    """An option for each field of an inquiry, as the field table has them."""
    for row in reversed(GROUPS["inquiry"]):
        about = row.help or ", ".join(choice.value for choice in row.choices)
        text = f"{row.en}{f' ({about})' if about else ''}."
        command = click.option(f"--{row.name.replace('_', '-')}", row.name, help=text)(command)
    return command


def who_option(command: Any) -> Any:
    """Whose word it is."""
    return click.option("--who", required=True, help="Who says so.")(command)


def asked_only(shell: Shell) -> State:
    """The registers and the inquiries of a book of any size: no run is read."""
    from compliance.book.derived_lookup import Index
    from compliance.book.near import records_around
    from compliance.records.state import gather

    with shell.open() as book, Index.open(book) as index:
        return gather(records_around(index, NO_DAY, NO_DAY))


def write_down(
    shell: Shell, kind: str, raw: Mapping[str, Any], state: State, where: str = "the command line"
) -> HandedIn:
    """Check and append one entry, looked up in as much of the book as it needs."""
    from compliance.intake.handin import hand_in
    from compliance.intake.validate import check

    (checked,) = check(kind, raw, state=state, where=where, now=shell.now())
    with shell.open() as book:
        return hand_in(book, checked, state=state, now=shell.stamp(), token=shell.token)


def ask(shell: Shell, raw: Mapping[str, Any]) -> str:
    """Write an inquiry down that is not in the book yet, and return its name."""
    done = write_down(shell, INQUIRY, raw, asked_only(shell))
    assert done.record is not None
    return named(asked_only(shell), done.record.id).ref


def say(done: HandedIn, as_json: bool = False) -> None:
    answer((), (), done.lines, done.record.id if done.record else "", done.ref, as_json)


def named(state: State, name: str) -> Inquiry:
    found = state.inquiry(name)
    if found is None:
        several = called(state.inquiries, name)
        if several:
            names = ", ".join(one.ref for one in several)
            raise refused(f"{name!r} is the name of {len(several)} inquiries", "NAME", f"name one of: {names}")
        names = ", ".join(one.ref for one in state.inquiries) or "none yet; `washwater inquiry open`"
        raise refused(f"no inquiry is called {name!r}", "NAME", f"there are: {names}")
    return found
