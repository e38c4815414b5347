"""completion: what a shell offers behind TAB, and the names in the book among it.

click makes the script and answers the shell. The names come straight from the records: nothing is calculated, no
library of tables or documents is imported, and a book that cannot be read offers nothing and says nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.shell import Shell, whole
from compliance.records.answer import without_value

if TYPE_CHECKING:
    from compliance.records.state import State

Complete = Callable[[click.Context, "click.Parameter | None", str], list[str]]
"""(context, parameter, what was typed so far) -> what may stand there."""

_VARIABLE = "_WASHWATER_COMPLETE"


@click.command("completion")
@click.argument("shell_name", metavar="bash|zsh|fish", type=click.Choice(("bash", "zsh", "fish")))
@click.pass_obj
def completion_command(shell: Shell, shell_name: str) -> None:
    """Print the script that lets a shell complete commands, options, and names of jobs and runs.

    \b
    bash, in ~/.bashrc:                        eval "$(washwater completion bash)"
    zsh, in ~/.zshrc:                          eval "$(washwater completion zsh)"
    fish, in ~/.config/fish/config.fish:       washwater completion fish | source
    """
    from click.shell_completion import get_completion_class

    from compliance.cli.main import washwater

    made = get_completion_class(shell_name)
    assert made is not None  # click knows each of the three
    click.echo(made(washwater, {}, "washwater", _VARIABLE).source())


def _completing(names: Callable[[State], Iterable[str]]) -> Complete:
    """Complete by the names that the book holds, the newest first where they have a date."""

    def complete(ctx: click.Context, param: click.Parameter | None, incomplete: str) -> list[str]:
        try:
            with Shell(_folder(ctx)).open() as book:
                state = whole(book)
        except Exception:  # whatever is wrong with the book, behind TAB is no place to say it
            return []
        begun = incomplete.casefold()
        return [name for name in dict.fromkeys(names(state)) if name.casefold().startswith(begun)]

    return complete


def _folder(ctx: click.Context) -> Path | None:
    """The folder named by --book on the line that is being typed."""
    named: Any = ctx.find_root().params.get("folder")
    return Path(named).expanduser() if named is not None else None


def _runs(state: State) -> Iterable[str]:
    return (run.ref for run in reversed(state.runs))


def _jobs(state: State) -> Iterable[str]:
    """The jobs, and the stops that were jobs of their own."""
    for run in reversed(state.runs):
        number = 0
        for line in run.lines:
            if line.kind != "stop" or line.get("continued") == "yes":
                continue
            number += 1
            job = line.get("job")
            yield f"{run.ref}.s{number}" if without_value(job) is not None else state.registers.name("job", str(job))


def _months(state: State) -> Iterable[str]:
    return (run.day[:7] for run in reversed(state.runs))


def _clients(state: State) -> Iterable[str]:
    return (str(entry["name"]) for entry in state.registers.all("client"))


def _runs_and_jobs(state: State) -> Iterable[str]:
    yield from _runs(state)
    yield from _jobs(state)


run_names = _completing(_runs)
job_names = _completing(_jobs)
run_or_job_names = _completing(_runs_and_jobs)
months = _completing(_months)
client_names = _completing(_clients)
