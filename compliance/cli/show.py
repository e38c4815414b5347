"""How listings are printed: as a table for people, as JSON or CSV for programs. Data goes to stdout, talk to stderr."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])
Rows = Sequence[Sequence[Any]]

NARROWEST = 24
"""A column of text is not made narrower than this; the terminal wraps instead."""


def listing_options(command: F) -> F:
    """--json and --csv, on every listing."""
    command = click.option("--json", "form", flag_value="json", help="As JSON.")(command)
    return click.option("--csv", "form", flag_value="csv", help="As CSV.")(command)


def form_options(command: F) -> F:
    """--lang and --paper, on everything that is written to be read."""
    paper = click.option(
        "--paper", type=click.Choice(("letter", "A4")), default="letter", show_default=True, help="Paper."
    )
    lang = click.option("--lang", type=click.Choice(("en", "es")), default="en", show_default=True, help="Language.")
    return paper(lang(command))


def listing(columns: Sequence[str], rows: Rows, form: str | None, *, none: str) -> None:
    """Print rows under columns. none: the sentence for people when there is no row."""
    if form == "json":
        print_json([dict(zip(columns, row, strict=True)) for row in rows])
    elif form == "csv":
        click.echo(as_csv(columns, rows), nl=False)
    elif not rows:
        click.echo(none)
    else:
        click.echo(as_table(columns, rows))


def print_json(value: Any) -> None:
    """One JSON document on stdout."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2, default=str))


def as_csv(columns: Sequence[str], rows: Rows) -> str:
    """CSV in which no text can become a formula."""
    from compliance.reports.text import csv_field

    out = io.StringIO()
    import csv  # most answers are no table

    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([csv_field(value) if isinstance(value, str) else value for value in row] for row in rows)
    return out.getvalue()


def as_table(columns: Sequence[str], rows: Rows) -> str:
    """Columns as wide as their contents; the last one takes what is left of the terminal."""
    texts = [[_printable(value) for value in row] for row in rows]
    widths = [max(len(cells[i]) for cells in [list(columns), *texts]) for i in range(len(columns))]
    import shutil

    room = shutil.get_terminal_size((120, 24)).columns - sum(widths[:-1]) - 2 * (len(widths) - 1)
    widths[-1] = min(widths[-1], max(NARROWEST, room))
    lines = [_line(columns, widths), _line(["-" * width for width in widths], widths)]
    return "\n".join(lines + [_line(row, widths) for row in texts])


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()


def _printable(value: Any) -> str:
    """A value on one line, with nothing in it that a terminal would obey."""
    text = "" if value is None else str(value)
    return "".join(c if c.isprintable() else " " for c in text)
