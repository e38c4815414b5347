"""add, edit, same-as, registers: what is known of rigs, places, clients and the rest."""

from __future__ import annotations

from typing import Any

import click

from compliance.cli.shell import Shell, refused, whole
from compliance.cli.show import listing, listing_options
from compliance.cli.writing import answer, write
from compliance.records.fields import GROUPS, REGISTERS

BUSINESS = "business"
"""The facts of the business: shown and changed like a register of one entry, which nobody adds to."""
_WHAT = click.Choice(REGISTERS)
_WHAT_IS_THERE = click.Choice((BUSINESS, *REGISTERS))
_LISTED = f"WHAT is one of: {', '.join(REGISTERS)}."
_LISTED_THERE = f"WHAT is one of: {', '.join((BUSINESS, *REGISTERS))}."
"""Below the help: in the line of usage the names would be broken in the middle."""


def _fields(pairs: tuple[str, ...], what: str) -> dict[str, str]:
    """The NAME=VALUE pairs of the command line."""
    found: dict[str, str] = {}
    for pair in pairs:
        name, sign, value = pair.partition("=")
        if not sign:
            raise refused(f"{pair!r} is not FIELD=VALUE", "the command line", f"fields of a {what}: {_known(what)}")
        found[name.strip()] = value.strip()
    return found


def _register(shell: Shell, what: str, name: str, pairs: tuple[str, ...], who: str | None, *, new: bool) -> None:
    from compliance.intake.handin import hand_in
    from compliance.intake.registers import check_register

    with shell.open() as book:
        state = whole(book)
        standing = state.registers.find(what, name)
        if new and standing is not None:
            raise refused(f"{what} {name!r} is on its register already", "NAME", "use `washwater edit` to change it")
        if not new and standing is None:
            known = ", ".join(str(entry["name"]) for entry in state.registers.all(what)) or "none yet"
            raise refused(f"no {what} is called {name!r}", "NAME", f"the register holds: {known}")
        said = _fields(pairs, what)
        if "name" in said:
            step = f"for another spelling, add it as an entry of its own, then `washwater same-as {what} OTHER NAME`"
            raise refused(f"the name of {what} {name!r} stays: records name it by that", "name=", step)
        raw: dict[str, Any] = {"name": name, **said}
        if who is not None:
            raw["who"] = who
        checked = check_register(what, raw, state=state, where="the command line", now=shell.now())
        done = hand_in(book, checked, state=state, now=shell.stamp(), token=shell.token)
    answer(checked.cautions, checked.notes, done.lines, done.record.id if done.record else "", done.ref, False)


@click.command("add", epilog=_LISTED)
@click.argument("what", metavar="WHAT", type=_WHAT)
@click.argument("name")
@click.argument("fields", nargs=-1, metavar="[FIELD=VALUE]...")
@click.option("--who", help="Who adds it.")
@click.pass_obj
def add_command(shell: Shell, what: str, name: str, fields: tuple[str, ...], who: str | None) -> None:
    """Add NAME to the register WHAT, like: add place "Ridge Road station" kind="receiving station"

    The fields of each register are listed in docs/fields.md; unknown ones are refused with a suggestion.
    """
    _register(shell, what, name, fields, who, new=True)


@click.command("edit", epilog=_LISTED_THERE)
@click.argument("what", metavar="WHAT", type=_WHAT_IS_THERE)
@click.argument("name")
@click.argument("fields", nargs=-1, metavar="FIELD=VALUE...")
@click.option("--who", help="Who changes it.")
@click.pass_obj
def edit_command(shell: Shell, what: str, name: str, fields: tuple[str, ...], who: str | None) -> None:
    """Change fields of NAME in the register WHAT. Pages that went out stay as they are.

    The business has no NAME, like: edit business phone=555-0142
    """
    if what == BUSINESS:
        _business(shell, (name, *fields), who)
        return
    if not fields:
        raise refused(f"it is not said what changes of {what} {name!r}", "FIELD=VALUE", f"fields: {_known(what)}")
    _register(shell, what, name, fields, who, new=False)


def _business(shell: Shell, pairs: tuple[str, ...], who: str | None) -> None:
    from compliance.intake.handin import hand_in
    from compliance.intake.registers import check_business

    raw = _fields(pairs, BUSINESS)
    with shell.open() as book:
        state = whole(book)
        where = "the command line"
        checked = check_business(raw, state=state, where=where, now=shell.now(), who=who or "")
        done = hand_in(book, checked, state=state, now=shell.stamp(), token=shell.token)
    answer(checked.cautions, checked.notes, done.lines, done.record.id if done.record else "", done.ref, False)


def _known(what: str) -> str:
    return ", ".join(row.name for row in GROUPS[what])


@click.command("same-as", epilog=_LISTED)
@click.argument("what", metavar="WHAT", type=_WHAT)
@click.argument("name")
@click.argument("same")
@click.option("--who", help="Who says so.")
@click.pass_obj
def same_as_command(shell: Shell, what: str, name: str, same: str, who: str | None) -> None:
    """Say that NAME is the same WHAT as SAME, whose entry stays: two spellings of one client, for example."""
    raw = {"what": what, "name": name, "is": same}
    write(shell, "same as", raw if who is None else raw | {"who": who})


@click.command("registers", epilog=_LISTED_THERE)
@click.argument("what", metavar="[WHAT]", type=_WHAT_IS_THERE, required=False)
@listing_options
@click.pass_obj
def registers_command(shell: Shell, what: str | None, form: str | None) -> None:
    """Show the business and the registers, or the one register WHAT."""
    with shell.open() as book:
        state = whole(book)
    rows = [
        (register, entry["name"], {name: value for name, value in entry.items() if name != "name"})
        for register in ([what] if what else (BUSINESS, *REGISTERS))
        for entry in ([state.business] if register == BUSINESS else state.registers.all(register))
    ]
    in_words = [(what, name, "; ".join(f"{key}={value}" for key, value in said.items())) for what, name, said in rows]
    shown = rows if form == "json" else in_words
    listing(
        ("register", "name", "fields"), shown, form, none="Nothing is on the registers yet; `washwater add` does it."
    )
