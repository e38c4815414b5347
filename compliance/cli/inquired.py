"""inquiry list, inquiry show: what was asked, what was done about it, and what is on hold."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.asked import asked_only, named
from compliance.cli.shell import Shell
from compliance.cli.show import listing, listing_options, print_json
from compliance.records.fields import GROUPS
from compliance.records.inquiries import SEARCHED, SENT

if TYPE_CHECKING:
    from compliance.records.inquiries import Inquiry


@click.command("list", short_help="List the inquiries: what is due, what was done.")
@listing_options
@click.pass_obj
def list_command(shell: Shell, form: str | None) -> None:
    """List the inquiries: what is due, and what was done about each."""
    state = asked_only(shell)
    rows = [
        (one.ref, one.get("case") or "", one.get("asked_by") or "", one.get("due") or "", _standing(one),
         ", ".join(dict.fromkeys(step.what for step in one.steps)), len(one.held))
        for one in state.inquiries
    ]  # fmt: skip
    columns = ("inquiry", "case", "asked by", "due", "now", "done", "on hold")
    listing(columns, rows, form, none="Nobody has asked anything yet.")


def _standing(one: Inquiry) -> str:
    return "cancelled" if one.cancelled is not None else "open" if one.is_open else "closed"


@click.command("show", short_help="Show one inquiry with all that was done.")
@click.argument("name")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def show_command(shell: Shell, name: str, as_json: bool) -> None:
    """Show an inquiry: what was asked, each change and step, what is on hold, and the chain in which it stands."""
    from compliance.records.inquiries import chain

    state = asked_only(shell)
    one = named(state, name)
    held = sorted(_refs(shell, one.held))
    if as_json:
        print_json({
            "inquiry": one.ref, "record": one.record, "received": one.received, "who": one.who, "now": _standing(one),
            "fields": one.fields, "chain": [other.ref for other in chain(state.inquiries, one)], "on_hold": held,
            "changes": [vars(change) for change in one.changes],
            "steps": [{**step.said, "received": step.received} for step in one.steps],
        })  # fmt: skip
        return
    click.echo(f"{one.ref}   record {one.record[:12]}   received {one.received}   {_standing(one)}")
    for row in GROUPS["inquiry"]:
        click.echo(f"  {row.en}: {one.get(row.name) or 'not recorded yet'}")
    for change in one.changes:
        was = "nothing yet" if change.was is None else change.was
        click.echo(
            f"  changed {change.received} by {change.who}: {change.field} said {was}, says {change.now}; {change.why}"
        )
    for step in one.steps:
        click.echo(f"  {step.what} {step.received} by {step.who}{_about(step.said)}")
    click.echo(f"  on hold: {', '.join(held) or 'nothing'}")
    others = [other.ref for other in chain(state.inquiries, one) if other is not one]
    if others:
        click.echo(f"  in one chain with: {', '.join(others)}")


def _refs(shell: Shell, records: Collection[str]) -> list[str]:
    """How people name these records: a run by its day and rig, anything else by the beginning of its id."""
    from compliance.book.derived_lookup import Index

    with shell.open() as book, Index.open(book) as index:
        heads = index.heads(records)
        return list(dict.fromkeys(index.ref(heads[id]) if id in heads else id[:12] for id in records))


def _about(said: Mapping[str, Any]) -> str:
    if said["step"] == SENT:
        files = "".join(f"\n      {one['sha256']}  {one['name']}" for one in said["files"])
        return f": to {said['to']}{', ' + said['how'] if said['how'] else ''}{files}"
    if said["step"] == SEARCHED:
        rigs = "".join(f"\n      {rig}: {', '.join(what)}" for rig, what in said["found"].items())
        rigs += "".join(
            f"\n      near: {one['run']} / {one['line']} ({', '.join(one['how'])})" for one in said.get("stops", ())
        )
        return f": {said['size']} records, entered up to {said['entered']}{rigs}"
    return f": {said['why']}"
