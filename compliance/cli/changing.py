"""correct, cancel, join, order: records that concern other records."""

from __future__ import annotations

import click

from compliance.cli.completing import run_names
from compliance.cli.shell import Shell
from compliance.cli.writing import given, typed_value, write
from compliance.records.kinds import ORDER, REASONS, SAME_OUTING


@click.command("correct")
@click.argument("run", shell_complete=run_names)
@click.argument("field")
@click.argument("value")
@click.option("--line", metavar="N", help="The line of the run; leave out for a field of the run itself.")
@click.option("--who", required=True, help="Who makes the change.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.option(
    "--reason", type=click.Choice(REASONS), required=True, help="The paper said otherwise, or the instrument did."
)
@click.option("--why", required=True, help="In words.")
@click.option("--was", metavar="VALUE", help="What it says now, as a check.")
@click.pass_obj
def correct_command(
    shell: Shell,
    run: str,
    field: str,
    value: str,
    line: str | None,
    who: str,
    as_json: bool,
    reason: str,
    why: str,
    was: str | None,
) -> None:
    """Correct FIELD of RUN to VALUE. Both values stay in the book and on the pages.

    VALUE is typed as in a night's file; a measure or a list as JSON, like '{"method": "meter", ...}'. RUN may be a
    ticket, named 'ticket 4711'.
    """
    raw = given(
        run=run,
        line=line,
        field=field,
        value=typed_value(value, "VALUE"),
        was=typed_value(was, "--was"),
        reason=reason,
        why=why,
        who=who,
    )
    write(shell, "correct", raw, as_json=as_json)


@click.command("cancel")
@click.argument("record", shell_complete=run_names)
@click.option("--why", required=True, help="The reason.")
@click.option("--who", required=True, help="Who cancels it.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def cancel_command(shell: Shell, record: str, why: str, who: str, as_json: bool) -> None:
    """Cancel a RECORD: a run by its name, anything else by its id. It stays in the book, and says so."""
    write(shell, "cancel", given(record=record, why=why, who=who), as_json=as_json)


@click.command("join")
@click.argument("first", shell_complete=run_names)
@click.argument("second", shell_complete=run_names)
@click.option("--why", required=True, help="How it is known that they are one outing.")
@click.option("--who", required=True, help="Who says so.")
@click.option("--preview", is_flag=True, help="Say what the two say differently, and write nothing.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def join_command(shell: Shell, first: str, second: str, why: str, who: str, preview: bool, as_json: bool) -> None:
    """Say that FIRST and SECOND are hand-ins of one outing, in the order in which they went.

    They become one run: the lines of the second follow, with their numbers continued; what both say alike counts once;
    what they say differently is shown. `washwater cancel` of the record takes them apart again.
    """
    write(shell, SAME_OUTING, given(first=first, second=second, why=why, who=who), as_json=as_json, preview=preview)


@click.command("order")
@click.argument("tank")
@click.argument("runs", nargs=-1, required=True, shell_complete=run_names)
@click.option("--why", required=True, help="How it is known.")
@click.option("--who", required=True, help="Who says so.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def order_command(shell: Shell, tank: str, runs: tuple[str, ...], why: str, who: str, as_json: bool) -> None:
    """Say in which order RUNS came to a TANK that several rigs share, first to last. A later order goes before it."""
    write(shell, ORDER, given(tank=tank, runs=list(runs), why=why, who=who), as_json=as_json)
