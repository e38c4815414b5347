"""init and demo: a first book."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import Any

import click

from compliance.cli.shell import Shell, refused
from compliance.records.fields import PLACE_KINDS
from compliance.records.problem import ComplianceError, Problem

_READ_BY = {"1": "marks", "2": "float", "3": "not read"}


@click.command("init")
@click.argument("to", type=click.Path(path_type=Path, file_okay=False), required=False)
@click.option(
    "--from", "source", metavar="FILE", help="Take business, rigs, places ... from a registers file (TOML, JSON)."
)
@click.pass_obj
def init_command(shell: Shell, to: Path | None, source: str | None) -> None:
    """Start a real book in the folder TO (by default the one that --book names).

    It asks a dozen questions; everything else can be added later, and what is missing becomes a finding, not a gate.
    """
    from compliance.book.schema import path_of
    from compliance.intake.fromfile import read_entry
    from compliance.intake.handin import start_book
    from compliance.intake.validate import check

    folder = to or shell.folder
    if path_of(folder).exists():
        raise refused("there is a book here already", str(folder), "go on with it, or name another folder")
    if source is not None:
        read = read_entry(source, sys.stdin.buffer)
        if isinstance(read, Problem):
            raise ComplianceError(read)
        raw, where = dict(read.raw), read.where
    else:
        raw, where = _ask(shell), "your answers"
    checked = check("registers", raw, state=None, where=where, now=shell.now())
    problems = [problem for one in checked for problem in one.problems]
    if problems:
        raise ComplianceError(*problems)
    with start_book(folder, checked, now=shell.stamp(), token=shell.token) as book:
        click.echo(f"A book is in {folder}: {book.head().size} records.")
    click.echo("Next: `washwater log` hands in a night; `washwater add client NAME` and the like fill the registers.")


def _ask(shell: Shell) -> dict[str, Any]:
    """The dozen questions of a first book, as a registers entry."""
    business: dict[str, Any] = {
        "name": click.prompt("Business name"),
        "unit": _choice("Unit of volume (US gallon or litre)", ("gal", "L"), "gal"),
        "zone": _zone(shell),
    }
    lead = click.prompt("Your name")
    business |= {"signer": lead, "signer_role": click.prompt("Your role", default="owner")}
    rig = click.prompt("Nickname of your rig", default="Rig 1")
    raw: dict[str, Any] = {
        "business": business,
        "person": [{"name": lead, "role": business["signer_role"]}],
        "rig": [{"name": rig}],
        "tank": [_tank(rig, business["unit"])],
        "place": [_place()],
    }
    raw["limit"] = [_threshold()]
    return raw


def _zone(shell: Shell) -> str:
    """The zone of the business; a wrong name is asked again."""
    from compliance.intake.moments import zone_named

    here = _zone_here()
    while True:
        name: str = click.prompt("Time zone", default=here) if here else click.prompt("Time zone, like America/Denver")
        if zone_named(name) is not None:
            return name
        click.echo("  No such zone; write it like America/Denver.", err=True)


def _zone_here() -> str:
    """The zone of this machine, '' where the system does not say."""
    import os

    link = Path("/etc/localtime")
    target = str(link.resolve()) if link.is_symlink() else ""
    named = os.environ.get("TZ") or (target.partition("zoneinfo/")[2] if "zoneinfo/" in target else "")
    return named if "/" in named and not named.startswith(("Etc/", ":")) else ""


def _tank(rig: str, unit: str) -> dict[str, Any]:
    tank: dict[str, Any] = {"name": f"{rig} recovery", "rig": rig, "role": "recovery"}
    capacity = click.prompt(
        f"Capacity of its recovery tank to the float, in {unit} (Enter: not known yet)", default="", show_default=False
    )
    if capacity:
        tank["capacity"] = capacity
    click.echo("How is the level read, from outside? Never lean into a tank.")
    how = _READ_BY[_choice("1 marks or a stick, 2 full and empty only, 3 not read", tuple(_READ_BY), "2")]
    if how == "marks":
        tank |= _shape()
    return tank


def _shape() -> dict[str, str]:
    shapes = {"1": ("rectangle", ("length", "width", "depth")), "2": ("upright cylinder", ("diameter", "depth")),
              "3": ("horizontal cylinder", ("diameter", "length"))}  # fmt: skip
    which = _choice("Shape: 1 rectangle, 2 upright cylinder, 3 horizontal cylinder, 4 later", (*shapes, "4"), "1")
    if which == "4":
        return {}
    shape, sizes = shapes[which]
    found = {"shape": shape}
    for size in sizes:
        found[size] = click.prompt(f"  Inside {size} (like '66 in')")
    found["mark_step"] = click.prompt("  Smallest mark that can be told apart", default="0.5 in")
    return found


def _place() -> dict[str, Any]:
    name = click.prompt("One place where the water goes")
    kinds = [choice.value for choice in PLACE_KINDS]
    for i, kind in enumerate(kinds, 1):
        click.echo(f"  {i} {kind}")
    which = _choice("Kind of place", tuple(str(i) for i in range(1, len(kinds) + 1)), "2")
    return {"name": name, "kind": kinds[int(which) - 1]}


def _threshold() -> dict[str, Any]:
    """Asked once; no published figure says how much must be recovered, so there is no default."""
    value = click.prompt(
        "A recovery threshold in percent, your own or a local permit's (Enter: none yet)",
        default="",
        show_default=False,
    )
    if not value:
        return {"name": "recovery ratio", "none_yet": "yes"}
    whose = {"1": "house policy", "2": "local permit"}[
        _choice("Whose: 1 your own, 2 a local permit's", ("1", "2"), "1")
    ]
    source = click.prompt("Where it stands", default="house policy" if whose == "house policy" else None)
    return {"name": "recovery ratio", "value": f"{value.rstrip('% ')} %", "whose": whose, "source": source}


def _choice(text: str, options: tuple[str, ...], default: str) -> str:
    answer: str = click.prompt(text, type=click.Choice(options), default=default, show_choices=False)
    return answer


@click.command("demo")
@click.argument("out", type=click.Path(path_type=Path, file_okay=False))
@click.pass_obj
def demo_command(shell: Shell, out: Path) -> None:
    """Build a book from the sample jobs in the new folder OUT, check it, and write its pages.

    Everything in it is invented: county, business, people, places and products.
    """
    from compliance.cli.demonstration import demonstrate

    if out.exists() and any(out.iterdir()):
        raise refused(f"{out} is not empty", "OUT", "name a new folder")
    began = time.perf_counter()
    for line in demonstrate(shell, out):
        click.echo(line)
    click.echo(f"({time.perf_counter() - began:.1f} s)")
