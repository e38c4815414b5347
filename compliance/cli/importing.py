"""import: the rows of an old spreadsheet, looked at first and written when asked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from compliance.cli.progress import Progress
from compliance.cli.shell import Shell
from compliance.cli.show import as_table, print_json
from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.oldbooks.filemap import FileMap
    from compliance.intake.oldbooks.layout import Layout
    from compliance.intake.oldbooks.lines import Line
    from compliance.intake.oldbooks.preview import Preview
    from compliance.intake.oldbooks.writing import Imported
    from compliance.records.state import State

_LONGEST: Final = 160
"""Characters of a row's own text in the listing; --json has all of them."""


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--mapping", metavar="FILE.toml", type=click.Path(path_type=Path), help="How the file is read; see --save-mapping."
)
@click.option(
    "--save-mapping",
    "save",
    metavar="FILE.toml",
    type=click.Path(path_type=Path),
    help="Write down how the file is read, to be edited and used again.",
)
@click.option("--sheet", "sheets", multiple=True, metavar="NAME", help="Read only this sheet; may be repeated.")
@click.option("--all", "everything", is_flag=True, help="List the new rows too, and those that are no work.")
@click.option("--commit", "write", is_flag=True, help="Write the new rows into the book, all or none.")
@click.option("--who", default="", help="Who imports, or takes back.")
@click.option(
    "--take-back", "why", metavar="WHY", help="Cancel the rows of FILE that are in the book; they stay, marked so."
)
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def import_command(
    shell: Shell,
    file: Path,
    mapping: Path | None,
    save: Path | None,
    sheets: tuple[str, ...],
    everything: bool,
    write: bool,
    who: str,
    why: str | None,
    as_json: bool,
) -> None:
    """Bring the rows of an old spreadsheet FILE (.xlsx, .csv, .tsv) into the book, as what they are: stated there.

    Without --commit nothing is written: it says what is new, a duplicate, refused or questioned, row by row. Old rows
    are no nights: no balance takes them in and no rule judges them. See docs/old-books.md.

    A workbook from `washwater template` is known by itself: its cards become nights. See docs/card.md.
    """
    from datetime import date

    from compliance.cli.keyed import import_cards
    from compliance.intake.keying import is_keying_workbook
    from compliance.intake.oldbooks.opening import read_bytes
    from compliance.intake.oldbooks.preview import preview
    from compliance.intake.oldbooks.table import visible
    from compliance.intake.oldbooks.writing import commit
    from compliance.records.state import gather

    if is_keying_workbook(file):
        given = {"--mapping": mapping, "--save-mapping": save, "--sheet": sheets, "--take-back": why}
        import_cards(shell, file, write=write, who=who, as_json=as_json, unneeded=[o for o, v in given.items() if v])
        return
    said = _mapping(mapping)
    with Progress() as progress, shell.open() as book:
        data = read_bytes(file)
        if isinstance(data, Problem):
            raise ComplianceError(data)
        state = gather(progress.each(book.records(), book.head().size, "reading records"))
        if why is not None:
            progress.wipe()
            _take_back(shell, book, state, data, why, who, sheets, as_json)
            return
        today = date.fromisoformat(shell.zone_today(state))
        found = preview(data, visible(file.name), said=said, state=state, today=today, only=sheets, say=progress.say)
        if isinstance(found, Problem):
            raise ComplianceError(found)
        if save is not None:
            progress.wipe()
            _save(save, mapping, found)
        done = None
        if write:
            done = commit(book, data, found, who=who, now=shell.stamp(), token=shell.token, say=progress.say)
    if as_json:
        print_json(_as_json(found, done))
        return
    try:
        _say(found, done, everything)
    except KeyboardInterrupt:  # a long listing was cut short; what was written is written
        click.echo()
        _say_done(found, done)
        raise


def _take_back(
    shell: Shell, book: Book, state: State, data: bytes, why: str, who: str, sheets: tuple[str, ...], as_json: bool
) -> None:
    """Cancel what came from a file: it was read wrongly, or should not have come at all."""
    from hashlib import sha256

    from compliance.intake.oldbooks.writing import take_back

    digest = sha256(data).hexdigest()
    n = take_back(book, state, digest, why=why, who=who, now=shell.stamp(), token=shell.token, only=sheets)
    if as_json:
        print_json({"sha256": digest, "taken_back": n})
    elif n:
        click.echo(
            f"{n:,} {'row was' if n == 1 else 'rows were'} taken back; the book still says what they said, and why."
        )
    else:
        click.echo("Nothing of this file is in the book; nothing was changed.")


def _mapping(path: Path | None) -> FileMap:
    from compliance.intake.oldbooks.filemap import EMPTY, read_map
    from compliance.intake.oldbooks.opening import read_bytes

    if path is None:
        return EMPTY
    data = read_bytes(path)
    if isinstance(data, Problem):
        raise ComplianceError(data)
    said = read_map(data, path.name)
    if isinstance(said, list):
        raise ComplianceError(*said)
    return said


def _save(to: Path, mapping: Path | None, found: Preview) -> None:
    """Write the mapping down; a file that is there already is only replaced when it is the mapping that was used."""
    from compliance.book.files import write_whole

    if to.exists() and (mapping is None or to.resolve() != mapping.resolve()):
        raise ComplianceError.one(f"there is a file {to.name!r} already", str(to), "name another file, or take it away")
    write_whole(to, found.mapping.encode())
    click.echo(f"The mapping is in {to}.", err=True)


# ---- for people --------------------------------------------------------------------------------------------------


def _say(found: Preview, done: Imported | None, everything: bool) -> None:
    before: list[tuple[str, str, str]] = []
    for read in found.sheets:
        layout = read.layout
        columns = _columns(layout)
        rows = f"row{'s' if len(layout.headings) == 2 else ''} {' and '.join(map(str, layout.headings))}"
        name = f"sheet {layout.sheet.name!r}: " if layout.sheet.name else ""
        alike = ", columns as above" if columns == before else ""
        click.echo(f"{name}{f'headings in {rows}' if layout.headings else 'no headings'}{alike}")
        if columns != before:
            click.echo(as_table(("column", "heading", "read as"), columns))
        for told in read.told:
            click.echo(f"  {told}")
        before = columns
    _say_not_used(found)
    click.echo()
    for told in found.told:
        click.echo(told)
    for text in found.totals_told:
        click.echo(text)
    examples = _examples(found)
    for line in found.lines:
        if everything or line in examples or _worth_listing(line):
            _say_line(line)
    _say_questions(found)
    click.echo()
    click.echo("rows of work: " + ", ".join(f"{n:,} {state}" for state, n in found.counts.items()))
    aside = [f"{kind} {n:,}" for kind, n in found.aside.items() if n]
    if aside:
        click.echo("left aside: " + ", ".join(aside))
    _say_done(found, done)


_WITH_A_MAPPING: Final = "--save-mapping FILE.toml writes one to be edited, --mapping FILE.toml reads it"


def _say_not_used(found: Preview) -> None:
    """What to do with columns whose headings are not known here: a figure may stand in one."""
    from compliance.intake.oldbooks.headings import NOT_USED

    aside = {read.layout.labels[index] for read in found.sheets for index, why in read.layout.aside.items()
             if why == NOT_USED}  # fmt: skip
    if any(aside):
        click.echo(f"A column that is not used can be named in a mapping: {_WITH_A_MAPPING}.")


def _columns(layout: Layout) -> list[tuple[str, str, str]]:
    from compliance.intake.oldbooks.table import letter

    names = {index: name for name, index in layout.columns.items()}
    units = layout.units
    rows = []
    for index, label in enumerate(layout.labels):
        name = names.get(index)
        if name is not None:
            rows.append((letter(index), label, f"{name} ({units[name]})" if name in units else name))
        elif index in layout.aside:
            rows.append((letter(index), label, f"- {layout.aside[index]}"))
    return rows


def _examples(found: Preview) -> list[Line]:
    """The first new row of each sheet: how it is read shows whether the columns are the right ones."""
    from compliance.intake.oldbooks.lines import NEW

    firsts = [next((line for line in read.lines if line.state == NEW), None) for read in found.sheets]
    return [line for line in firsts if line is not None]


def _worth_listing(line: Line) -> bool:
    """Rows that need a look: every row of work that is not plainly new, and what stands out elsewhere."""
    from compliance.intake.oldbooks.lines import NEW, NOTE, WORK

    return bool(line.looks) or (line.kind == WORK and line.state != NEW) or line.kind == NOTE


def _say_line(line: Line) -> None:
    """One row: where it stands, its state, why, and under it its own text; a new one with what is read in it."""
    from compliance.intake.oldbooks.lines import NEW

    place = f"row {line.number}" + (f" of sheet {line.sheet!r}" if line.sheet else "")
    why = "; ".join(line.reasons)
    click.echo(f"{place}, {line.state or line.kind}" + (f": {why}" if why else ""))
    click.echo(f"    {_short(line.text)}")
    if line.state == NEW:
        click.echo(f"    read as {_short('; '.join(f'{name} {value}' for name, value in line.fields.items()))}")


def _short(text: str) -> str:
    from compliance.intake.oldbooks.table import visible

    plain = visible(text)
    return plain if len(plain) <= _LONGEST else plain[: _LONGEST - 3] + "..."


def _say_questions(found: Preview) -> None:
    if not found.questions:
        return
    click.echo()
    click.echo("Questions for the file as a whole, which the mapping answers, above its first line in brackets:")
    for number, asked in enumerate(found.questions, start=1):
        click.echo(f"{number:3}. {asked.why} ({asked.rows:,} {'row' if asked.rows == 1 else 'rows'})")
        for line in asked.write:
            click.echo(f"     {line}")


def _say_done(found: Preview, done: Imported | None) -> None:
    counts = found.counts
    if done is None:
        click.echo("Nothing was written; --commit writes the new rows.")
    elif done.records:
        click.echo(f"{done.records:,} rows were written, as stated in {found.book.name}; the file itself is kept.")
    else:
        click.echo("There was nothing new to write.")
    answer = f"answer the questions in a mapping: {_WITH_A_MAPPING}"
    for state, step in (("questioned", answer), ("refused", "mend the file")):
        if counts[state]:
            click.echo(f"Not written: {counts[state]:,} {state} {'row' if counts[state] == 1 else 'rows'}; {step}.")


# ---- for programs ------------------------------------------------------------------------------------------------


def _as_json(found: Preview, done: Imported | None) -> dict[str, Any]:
    return {
        "file": found.book.name,
        "sha256": found.book.sha256,
        "written": None if done is None else done.records,
        "mapping": None if done is None else done.mapping,
        "counts": found.counts,
        "aside": found.aside,
        "told": list(found.told),
        "questions": [
            {
                "key": asked.key, "why": asked.why, "rows": asked.rows, "answers": list(asked.answers),
                "under": dict(asked.under), "also": asked.also,
            }
            for asked in found.questions
        ],
        "sheets": [
            {
                "name": read.layout.sheet.name,
                "heading_rows": list(read.layout.headings),
                "columns": {name: read.layout.labels[index] for name, index in read.layout.columns.items()},
                "values": dict(read.layout.values),
                "year": read.layout.year,
                "told": list(read.told),
            }
            for read in found.sheets
        ],
        "totals": [
            {
                "sheet": total.sheet, "row": total.row, "column": total.column, "unit": total.unit,
                "says": None if total.says is None else str(total.says), "adds_up": str(total.adds_up),
                "rows": [total.first, total.last], "agrees": total.agrees, "why": total.why,
            }
            for total in found.totals
        ],
        "rows": [
            {
                "sheet": line.sheet, "row": line.number, "kind": line.kind, "state": line.state,
                "why": line.reasons, "text": line.text, "fields": line.fields, "typed": line.typed,
                "meter_difference": None if line.difference is None else str(line.difference),
            }
            for line in found.lines
        ],
    }  # fmt: skip
