"""The group of commands, loaded one by one, and what becomes of an error.

Exit codes: 0 done; 1 `check` found something; 2 the command could not be carried out, or `verify --page` was given what
is no page of the book; 3 the book is damaged.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence
from typing import Any, Final

import click

from compliance.cli.shell import Shell
from compliance.records.problem import REFUSED, ComplianceError, Problem

COMMANDS: Final = {
    "init": ("starting", "Start a real book: business, one rig, one place the water goes."),
    "demo": ("starting", "Build a book from the sample jobs, check it and write its pages."),
    "log": ("nights", "Hand in a night, by questions or from a file."),
    "card": ("carding", "Print the crew's card, Spanish and English, blank or with tonight's stops."),
    "template": ("carding", "Write the workbook into which cards are keyed."),
    "drafts": ("drafting", "List the nights that were begun and not handed in, or throw one away."),
    "ticket": ("bulk", "Enter a ticket, or a list of them, and match it to handovers."),
    "correct": ("changing", "Correct a figure; what it said before stays."),
    "complete": ("morning", "Go through what is still needed, oldest first, or fill in one field."),
    "cancel": ("changing", "Cancel a run or another record, with the reason."),
    "join": ("changing", "Say that two hand-ins are of one outing."),
    "order": ("changing", "Say in which order runs came to a tank that rigs share."),
    "attach": ("bulk", "Keep files with a record, or a folder of photos with their runs."),
    "add": ("registering", "Add to a register: client, site, place, permission ..."),
    "edit": ("registering", "Change an entry of a register."),
    "same-as": ("registering", "Say that two names are one client, site or place."),
    "registers": ("registering", "Show the registers."),
    "import": ("importing", "Look at an old spreadsheet row by row; with --commit, bring its rows in."),
    "list": ("looking", "List runs, jobs, loads, handovers or pages."),
    "show": ("showing", "Show one record as it stands, with its changes."),
    "find": ("looking", "Search everything that was typed."),
    "balance": ("looking", "Where the water of a run, job or load went, line by line."),
    "query": ("looking", "Ask the query tables with SQL of your own."),
    "check": ("judging", "Judge the records by the rules; exit 1 when there are findings."),
    "rules": ("judging", "List the rules."),
    "explain": ("judging", "Explain one rule."),
    "accept": ("judging", "Accept a finding, for a reason, until a day; it still shows."),
    "proof": ("paging", "Issue the proof of recovery of a job."),
    "month": ("closing", "Write the month summary of the owner, close the month, open it again."),
    "client": ("paging", "Write the summary of one client for any span."),
    "pages": ("paging", "List the issued pages, and those whose figures are others now."),
    "inquiry": ("inquiring", "A question from outside: search, answer by letter and pack, keep what was sent."),
    "verify": ("keeping", "Say whether the book, or a page of it, is what was written."),
    "backup": ("keeping", "Copy the book while it is in use, and verify the copy."),
    "restore": ("keeping", "Bring a backup or an export back into an empty folder."),
    "export": ("exporting", "Write everything the book holds into a folder that a stranger can read and check."),
    "completion": ("tabbing", "Print the script for completing behind TAB."),
}
"""Command -> its module and its one line of help; the order is that of a working life."""


class Commands(click.Group):
    """A group that imports a command's module only when the command is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"compliance.cli.{COMMANDS[cmd_name][0]}")
        command: click.Command = getattr(module, cmd_name.replace("-", "_") + "_command")
        command.short_help = COMMANDS[cmd_name][1]
        if ctx.resilient_parsing:  # behind TAB
            from compliance.cli.completing import offer

            offer(command, cmd_name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.option(
    "--book",
    "folder",
    type=click.Path(file_okay=False),
    help="Folder of the book. [env: WASHWATER_BOOK]",
)
@click.option("--debug", is_flag=True, help="Show where an unexpected error came from.")
@click.version_option(package_name="washwater", prog_name="washwater")
@click.pass_context
def washwater(ctx: click.Context, folder: str | None, debug: bool) -> None:
    """The record keeper of a wash-water recovery contractor: where every gallon went, and how that is known.

    The book is the folder named by --book or WASHWATER_BOOK, else the current folder or 'book' in it.
    The local permit governs; this program records and never grants permission.
    """
    shell = ctx.ensure_object(Shell)
    if folder is not None:
        from pathlib import Path

        shell.named = Path(folder)
    shell.debug = debug


def main(args: Sequence[str], shell: Shell | None = None) -> int:
    """Carry out one command line and return its exit code; `shell` brings another clock or folder for tests."""
    shell = shell or Shell()
    try:
        done: Any = washwater.main(list(args), prog_name="washwater", standalone_mode=False, obj=shell)
        return done if isinstance(done, int) else 0
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.UsageError as error:
        from compliance.cli.usage import help_asked, usage_problem

        click.echo(help_asked(error) or usage_problem(error, args, washwater), err=True)
        return REFUSED
    except click.ClickException as error:
        error.show()
        return REFUSED
    except (click.Abort, KeyboardInterrupt):
        click.echo("\nStopped. Nothing more was handed in or issued.", err=True)
        return REFUSED
    except ComplianceError as error:
        for problem in error.problems:
            click.echo(f"{problem}", err=True)
        if "--json" in args:  # who reads the answer reads why there is none, too
            _print_problems(error.problems)
        return error.exit_code
    except BrokenPipeError:
        sys.stderr.close()
        return REFUSED
    except Exception as error:
        if shell.debug:
            raise
        click.echo(
            f"Something went wrong inside the program: {type(error).__name__}: {error}\n"
            "  where: this command; nothing was half-written\n"
            "  do this: run it again with --debug before the command's name and report what it prints",
            err=True,
        )
        return REFUSED


def _print_problems(problems: Sequence[Problem]) -> None:
    from compliance.cli.show import print_json

    print_json({"problems": [{"what": p.what, "where": p.where, "next_step": p.next_step} for p in problems]})


def run() -> None:
    """The console script."""
    sys.exit(main(sys.argv[1:]))
