"""init and demo: a first book."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import click

from compliance.cli.shell import Shell, refused
from compliance.records.problem import ComplianceError, Problem


@click.command("init")
@click.argument("to", type=click.Path(path_type=Path, file_okay=False), required=False)
@click.option(
    "--from", "source", metavar="FILE", help="Take business, rigs, places ... from a registers file (TOML, JSON)."
)
@click.pass_obj
def init_command(shell: Shell, to: Path | None, source: str | None) -> None:
    """Start a real book in the folder TO (by default the one that --book names).

    It asks a dozen questions, of which only the business name and the time zone need an answer; everything else can be
    added later, and what is missing becomes a finding, not a gate.
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
        from compliance.cli.beginning import first_registers

        raw, where = first_registers(shell), "your answers"
    checked = check("registers", raw, state=None, where=where, now=shell.now())
    problems = [problem for one in checked for problem in one.problems]
    if problems:
        raise ComplianceError(*problems)
    with start_book(folder, checked, now=shell.stamp(), token=shell.token) as book:
        click.echo(f"A book is in {folder}: {book.head().size} records.")
    click.echo("Next: `washwater log` hands in a night; `washwater add client NAME` and the like fill the registers.")


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
