"""`python -m compliance.devtools`: docs, console, coverage, picture, bench."""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import click


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
def devtools() -> None:
    """What keeps the documents of a checkout true."""


@devtools.command()
@click.option("--check", is_flag=True, help="Write nothing; exit 1 and name what is stale.")
def docs(check: bool) -> None:
    """Write the documents that are made from the code."""
    from compliance.devtools import generated

    if check:
        stale = list(generated.stale())
        for name in stale:
            click.echo(f"docs/{name} is stale; run: {generated.COMMAND}", err=True)
        sys.exit(1 if stale else 0)
    for name in generated.write():
        click.echo(f"wrote docs/{name}")


@devtools.command()
@click.argument("files", nargs=-1, type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--write", is_flag=True, help="Put what came back in place of what the document says.")
def console(files: tuple[Path, ...], write: bool) -> None:
    """Run the console blocks of FILES (of all documents: none), each against a fresh demo; show what differs."""
    from compliance.devtools.console import AskedOtherwise, Terminal, demo, differences, documents, rewritten

    differs = False
    with tempfile.TemporaryDirectory() as folder:
        made = demo(Path(folder) / "made")
        for i, file in enumerate(files or documents()):
            terminal = Terminal(shutil.copytree(made, Path(folder) / str(i)))
            text = file.read_text(encoding="utf-8")
            try:
                if write and (mended := rewritten(text, terminal)) != text:
                    file.write_text(mended, encoding="utf-8", newline="\n")
                    click.echo(f"wrote {file}")
                for typed, found in () if write else differences(text, terminal):
                    differs = True
                    click.echo(f"{file}: $ {typed.command}\n--- says\n{typed.expected}--- came back\n{found}")
            except AskedOtherwise as asked:
                differs = True
                click.echo(f"{file}: {asked}", err=True)
    sys.exit(1 if differs else 0)


@devtools.command()
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
def coverage(file: Path) -> None:
    """Judge a coverage report FILE (JSON, with branches) room by room; exit 1 when a room has too little."""
    from compliance.devtools.rooms import judge

    poor = False
    for room, enough in judge(file):
        click.echo(f"{room}{'' if enough else '   TOO LITTLE'}")
        if not enough:
            poor = True
            for line in room.missing:
                click.echo(f"    {line}")
    sys.exit(1 if poor else 0)


@devtools.command()
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
def picture(out: Path) -> None:
    """Write the first sheet of a proof of the demo as a picture. Needs pdftoppm (Debian: poppler-utils)."""
    from compliance.devtools.pictures import proof

    click.echo(f"wrote {out}: {proof(out):,} bytes")


@devtools.command("card-picture")
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--paper", type=click.Choice(("letter", "A4")), default="letter", show_default=True, help="Paper.")
def card_picture(out: Path, paper: Any) -> None:
    """Write a crew's card, filled in by hand, as a picture. Needs pdftoppm (Debian: poppler-utils)."""
    from compliance.devtools.cardpicture import filled

    click.echo(f"wrote {out}: {filled(out, paper):,} bytes")


@devtools.command()
@click.option(
    "--stops",
    multiple=True,
    type=click.IntRange(min=10),
    default=(1_000, 10_000),
    show_default=True,
    help="Size of the book; may be repeated.",
)
@click.option("--turns", type=click.IntRange(min=1), default=5, show_default=True, help="How often each is timed.")
@click.option("--write", is_flag=True, help="Write docs/performance.md.")
def bench(stops: tuple[int, ...], turns: int, write: bool) -> None:
    """Time what a user waits for, each as a ratio to a bare floor in the same run."""
    from compliance.devtools.bench import document
    from compliance.devtools.here import DOCS

    text, picture = document(list(stops), turns)
    if write:
        (DOCS / "performance.md").write_text(text, encoding="utf-8", newline="\n")
        (DOCS / "performance.svg").write_text(picture, encoding="utf-8", newline="\n")
    click.echo(text)


if __name__ == "__main__":
    devtools(prog_name="python -m compliance.devtools")
