"""inquiry: a question from outside, from the call to the answer. What is written down of it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from compliance.cli.asked import asked_only, named, question_options, say, who_option, write_down
from compliance.cli.inquired import list_command, show_command
from compliance.cli.lettering import letter_command
from compliance.cli.packing import pack_command
from compliance.cli.searching import search_command
from compliance.cli.shell import Shell, refused, whole
from compliance.cli.writing import given
from compliance.records.inquiries import CLOSED, HELD, REOPENED, SENT
from compliance.records.kinds import INQUIRY, INQUIRY_STEP
from compliance.records.problem import ComplianceError, Problem


@click.group("inquiry")
def inquiry_command() -> None:
    """A question from outside: write it down, search the records, answer by letter and pack, keep what was sent.

    NAME is 'inquiry-1', the case number, or the beginning of the record's id.
    """


@click.command("open", short_help="Write down what was asked.")
@click.option(
    "--from", "source", metavar="FILE", help="A TOML or JSON file instead of options, or - for standard input."
)
@click.option("--follows", metavar="NAME", help="The inquiry that it follows.")
@question_options
@click.option("--who", help="Who writes it down.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def open_command(
    shell: Shell, /, source: str | None, follows: str | None, who: str | None, as_json: bool, **fields: str | None
) -> None:
    """Write down what was asked; whatever is not known is left out. The same twice changes nothing."""
    raw, where = given(**fields, follows=follows, who=who), "the command line"
    if source is not None:
        raw, where = {**_read(source), **raw}, source
    done = write_down(shell, INQUIRY, raw, asked_only(shell), where)
    say(done, as_json)
    if done.record is not None and not as_json:
        opened = named(asked_only(shell), done.record.id)
        click.echo(f"It is called {opened.ref}. Next: washwater inquiry search {opened.ref}")


def _read(source: str) -> dict[str, Any]:
    from compliance.intake.fromfile import read_entry

    read = read_entry(source, sys.stdin.buffer)
    if isinstance(read, Problem):
        raise ComplianceError(read)
    if read.raw.get("kind", INQUIRY) != INQUIRY:
        raise refused(f"this file is a {read.kind!r}", read.where, 'write kind = "inquiry", or leave kind out')
    return dict(read.raw)


@click.command("change", short_help="Add to what was asked, or change it.")
@click.argument("name")
@question_options
@click.option("--why", required=True, help="Why it is changed.")
@who_option
@click.pass_obj
def change_command(shell: Shell, /, name: str, why: str, who: str, **fields: str | None) -> None:
    """Add to what was asked, or change it; what it said before stays."""
    say(write_down(shell, INQUIRY, given(**fields, inquiry=name, why=why, who=who), asked_only(shell)))


def _reasoned(why: str) -> Callable[[Any], Any]:
    """What each step takes that needs a reason: NAME, why, and whose word it is."""

    def options(command: Any) -> Any:
        for option in (who_option, click.option("--why", required=True, help=why), click.argument("name")):
            command = option(command)
        return command

    return options


@click.command("hold", short_help="Keep records on hold while it is open.")
@_reasoned("Why they are kept.")
@click.argument("records", nargs=-1, required=True)
@click.pass_obj
def hold_command(shell: Shell, name: str, records: tuple[str, ...], why: str, who: str) -> None:
    """Keep RECORDS on hold while the inquiry is open: runs by name, anything else by its id. A kept search does so too.

    Nothing is destroyed by any command today; what once does has to refuse them.
    """
    with shell.open() as book:
        state = whole(book)
    raw = {"inquiry": name, "step": HELD, "holds": list(records), "why": why, "who": who}
    say(write_down(shell, INQUIRY_STEP, raw, state))


@click.command("close", short_help="Say that it is answered.")
@_reasoned("How it ended.")
@click.pass_obj
def close_command(shell: Shell, name: str, why: str, who: str) -> None:
    """Say that an inquiry is answered: what it touched is no longer on hold."""
    _turn(shell, name, CLOSED, why, who)


@click.command("reopen", short_help="Open it again.")
@_reasoned("Why it goes on.")
@click.pass_obj
def reopen_command(shell: Shell, name: str, why: str, who: str) -> None:
    """Open an inquiry again: what it touched is on hold once more."""
    _turn(shell, name, REOPENED, why, who)


def _turn(shell: Shell, name: str, step: str, why: str, who: str) -> None:
    raw = {"inquiry": name, "step": step, "why": why, "who": who}
    say(write_down(shell, INQUIRY_STEP, raw, asked_only(shell)))


@click.command("sent", short_help="Write down which files were sent, and to whom.")
@click.argument("name")
@click.argument("paths", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--to", required=True, help="To whom.")
@click.option("--how", help="How: by mail, by hand.")
@who_option
@click.pass_obj
def sent_command(shell: Shell, name: str, paths: tuple[Path, ...], to: str, how: str | None, who: str) -> None:
    """Write down that FILES were sent, by the SHA-256 of each; the book keeps a copy of them."""
    from hashlib import sha256

    from compliance.book import files

    made, kept = [], []
    for path in paths:
        try:
            data = path.read_bytes()
        except OSError as error:
            raise refused(f"the file cannot be read: {error.strerror}", str(path), "look at its name") from error
        made.append({"name": path.name, "sha256": sha256(data).hexdigest(), "size": len(data)})
        kept.append(data)
    state = asked_only(shell)
    named(state, name)
    for data in kept:
        files.put(shell.folder, data)
    raw = given(inquiry=name, step=SENT, to=to, how=how, files=made, who=who)
    say(write_down(shell, INQUIRY_STEP, raw, state))
    for one in made:
        click.echo(f"  {one['sha256']}  {one['name']}")


for _command in (
    open_command, change_command, hold_command, close_command, reopen_command, sent_command, list_command, show_command,
    search_command, letter_command, pack_command,
):  # fmt: skip
    inquiry_command.add_command(_command)
