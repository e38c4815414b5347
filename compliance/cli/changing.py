"""ticket, correct, complete, cancel, attach: records that concern other records."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from compliance.cli.shell import Shell, refused, whole
from compliance.cli.writing import answer, write
from compliance.records.kinds import REASONS


def _given(**values: Any) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def _value(value: str | None, typed: str) -> Any:
    """A value from the command line; a table in JSON (a measure, a list) is read as one."""
    import json

    if value is None or value[:1] not in "{[":
        return value
    try:
        return json.loads(value)
    except ValueError as error:
        raise refused(f"the value begins like JSON and is not: {error}", typed, "check quotes and brackets") from error


@click.command("ticket")
@click.argument("number")
@click.option(
    "--for",
    "handovers",
    multiple=True,
    required=True,
    metavar="RUN/LINE",
    help="The handover it is for, like 2026-09-14-big-blue/5; may be repeated.",
)
@click.option("--accepted", metavar="AMOUNT", help="What they say they accepted.")
@click.option("--date", "day", metavar="DATE", help="The date on it.")
@click.option("--place", help="The place.")
@click.option("--received-by", help="Who received the water.")
@click.option("--refused", "because", metavar="WHY", help="Why they refused the load.")
@click.option("--remark", help="A remark.")
@click.option("--who", help="Who enters it.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def ticket_command(
    shell: Shell,
    number: str,
    handovers: tuple[str, ...],
    accepted: str | None,
    day: str | None,
    place: str | None,
    received_by: str | None,
    because: str | None,
    remark: str | None,
    who: str | None,
    as_json: bool,
) -> None:
    """Enter the ticket NUMBER and match it to one or more handovers. Our own volume stays as it was read."""
    pairs = [one.rpartition("/") for one in handovers]
    raw = _given(
        number=number,
        accepted=accepted,
        date=day,
        place=place,
        received_by=received_by,
        refused=because,
        remark=remark,
        who=who,
        handovers=[_given(run=run or line, line=line if run else None) for run, _, line in pairs],
    )
    write(shell, "ticket", raw, as_json=as_json)


_SPOT = (
    click.argument("run"),
    click.argument("field"),
    click.argument("value"),
    click.option("--line", metavar="N", help="The line of the run; leave out for a field of the run itself."),
    click.option("--who", required=True, help="Who makes the change."),
    click.option("--json", "as_json", is_flag=True, help="Answer in JSON."),
)


def _spot(command: Any) -> Any:
    for decorate in reversed(_SPOT):
        command = decorate(command)
    return command


@click.command("correct")
@_spot
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

    VALUE is typed as in a night's file; a measure or a list as JSON, like '{"method": "meter", ...}'.
    """
    raw = _given(
        run=run,
        line=line,
        field=field,
        value=_value(value, "VALUE"),
        was=_value(was, "--was"),
        reason=reason,
        why=why,
        who=who,
    )
    write(shell, "correct", raw, as_json=as_json)


@click.command("complete")
@_spot
@click.pass_obj
def complete_command(shell: Shell, run: str, field: str, value: str, line: str | None, who: str, as_json: bool) -> None:
    """Fill in FIELD of RUN, which nobody has recorded yet. What was answered before is corrected, not completed."""
    raw = _given(run=run, line=line, field=field, value=_value(value, "VALUE"), who=who)
    write(shell, "complete", raw, as_json=as_json)


@click.command("cancel")
@click.argument("record")
@click.option("--why", required=True, help="The reason.")
@click.option("--who", required=True, help="Who cancels it.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def cancel_command(shell: Shell, record: str, why: str, who: str, as_json: bool) -> None:
    """Cancel a RECORD: a run by its name, anything else by its id. It stays in the book, and says so."""
    write(shell, "cancel", _given(record=record, why=why, who=who), as_json=as_json)


@click.command("attach")
@click.argument("about")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--line", metavar="N", help="The line of the run that it shows.")
@click.option(
    "--what", default="photo", show_default=True, help="What it is: photo, ticket, permission, data sheet ..."
)
@click.option("--who", required=True, help="Who attaches it.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def attach_command(
    shell: Shell, about: str, files: tuple[Path, ...], line: str | None, what: str, who: str | None, as_json: bool
) -> None:
    """Keep FILES with a run or another record ABOUT. They are kept by their SHA-256, exactly as they are."""
    from compliance.book import files as kept
    from compliance.intake.handin import hand_in
    from compliance.intake.validate import check_attach

    with shell.open() as book:
        for path in files:
            state = whole(book)
            raw = _given(
                record=about,
                line=line,
                name=path.name,
                sha256=kept.hash_of(path),
                size=path.stat().st_size,
                what=what,
                who=who,
            )
            checked = check_attach(raw, state=state, where=path.name, now=shell.now())
            if checked.payload is not None:
                kept.put(shell.folder, path)
            done = hand_in(book, checked, state=state, now=shell.stamp(), token=shell.token)
            answer(
                checked.cautions, checked.notes, done.lines, done.record.id if done.record else "", done.ref, as_json
            )
