"""export."""

from __future__ import annotations

from pathlib import Path

import click

from compliance.cli.progress import Progress
from compliance.cli.shell import Shell
from compliance.records.problem import DAMAGED


@click.command("export")
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--zip", "pack", is_flag=True, help="Also as OUT.zip, to be sent.")
@click.pass_obj
def export_command(shell: Shell, out: Path, pack: bool) -> int:
    """Write everything the book holds into the new folder OUT: records, files, tables, and a checker for strangers.

    It names clients, sites and people: give it only to somebody who may see all of it. `washwater restore OUT FOLDER`
    makes a book of it again. Exit code 3 when a file that a record names is missing or changed; the rest is exported.
    """
    from compliance.book.export import export
    from compliance.reports.text import csv_field

    with Progress() as progress:
        made = export(shell.folder, out, now=shell.stamp(), cell=csv_field, pack=pack, say=progress.say)
    for sha, why in made.not_here.items():
        click.echo(f"Not exported: the file {sha}\n  why: {why}\n  do this: bring it back from a backup", err=True)
    click.echo(f"Exported {made.head.size} records and {made.files} files into {out}, and checked them there.")
    if made.zipped is not None:
        click.echo(f"Packed as {made.zipped.name} beside it.")
    click.echo(f"record code {made.head}")
    click.echo(f"SHA-256 of its contents.json {made.contents}")
    click.echo("It names clients, sites and people: give it only to somebody who may see all of it.")
    return DAMAGED if made.not_here else 0
