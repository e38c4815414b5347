"""ticket, attach: one at a time, or a whole list of tickets and a whole folder of photos."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from compliance.cli.completing import run_names
from compliance.cli.shell import Shell, refused, whole
from compliance.cli.show import listing, listing_options
from compliance.cli.writing import answer, given, write
from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.checked import Checked
    from compliance.intake.photos import Placed
    from compliance.intake.ticketlist import Match
    from compliance.records.state import State

T = TypeVar("T")

# ---- tickets -------------------------------------------------------------------------------------------------


@click.command("ticket")
@click.argument("number", required=False)
@click.option(
    "--for",
    "handovers",
    multiple=True,
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
@click.option(
    "--from",
    "source",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    metavar="FILE",
    help="Match a list of tickets (CSV: number, date, place, accepted, received_by); a preview unless --commit.",
)
@click.option("--commit", is_flag=True, help="With --from: write all that is matched, in one go.")
@listing_options
@click.pass_obj
def ticket_command(
    shell: Shell,
    number: str | None,
    handovers: tuple[str, ...],
    accepted: str | None,
    day: str | None,
    place: str | None,
    received_by: str | None,
    because: str | None,
    remark: str | None,
    who: str | None,
    source: Path | None,
    commit: bool,
    form: str | None,
) -> None:
    """Enter the ticket NUMBER and match it to one or more handovers. Our own volume stays as it was read.

    Without --for it is for the handover at its --place that has its number, once the night is in the book.

    With --from, a whole list is matched to the handovers that await a ticket, by place and date, with the amount as a
    hint. The preview as CSV may be saved, settled in its column 'for', and handed in in place of the list.
    """
    if source is not None:
        if number is not None or handovers:
            raise click.UsageError("--from takes a list; give no NUMBER and no --for with it")
        _list(shell, source, commit, who, form)
        return
    if number is None:
        raise click.UsageError("a ticket needs its NUMBER; a list of tickets needs --from")
    if not handovers and not place:
        raise refused(
            "it is not said which handover the ticket is for, nor of which place it is",
            "--for, --place",
            "add --place with the name of the place whose ticket it is, or --for RUN/LINE",
        )
    pairs = [one.rpartition("/") for one in handovers]
    raw = given(
        number=number,
        accepted=accepted,
        date=day,
        place=place,
        received_by=received_by,
        refused=because,
        remark=remark,
        who=who,
        handovers=[given(run=run or line, line=line if run else None) for run, _, line in pairs],
    )
    write(shell, "ticket", raw, as_json=form == "json")


_TICKETS = (
    "row", "number", "date", "place", "accepted", "received_by", "outcome", "for", "our volume", "difference",
    "days after", "because",
)  # fmt: skip


def _list(shell: Shell, source: Path, commit: bool, who: str | None, form: str | None) -> None:
    from compliance.cli.judging import scene_of
    from compliance.intake.ticketfile import read_tickets
    from compliance.intake.ticketlist import OUTCOMES, match

    read = read_tickets(source.read_bytes(), source.name)
    if isinstance(read, Problem):
        raise ComplianceError(read)
    for heading in read.passed_over:
        click.echo(f"the column {heading!r} is passed over", err=True)
    with shell.open() as book:
        state = whole(book)
        found = match(read.slips, scene_of(shell, state), where=source.name, now=shell.now(), who=who or "")
        listing(_TICKETS, [_ticket_row(one) for one in found], form, none="The list holds no ticket.")
        made = [checked for one in found for checked in one.made]
        new = _commit(shell, book, made) if commit else 0
    _count(Counter(one.outcome for one in found), OUTCOMES, made, new, commit)


def _ticket_row(one: Match) -> tuple[object, ...]:
    fields = one.slip.fields
    texts = [fields.get(name, "") for name in ("number", "date", "place", "accepted", "received_by")]
    handovers = "; ".join(one.refs or one.slip.named)
    days = "" if one.days is None else one.days
    return (one.slip.row, *texts, one.outcome, handovers, one.ours, one.difference, days, one.because)


def _commit(shell: Shell, book: Book, made: Sequence[Checked]) -> int:
    from compliance.intake.handin import hand_in_all

    return len(hand_in_all(book, made, now=shell.stamp(), token=shell.token))


def _count(outcomes: Counter[str], order: Iterable[str], made: Sequence[Checked], new: int, commit: bool) -> None:
    """How many of each, and whether anything was written: for people, beside the data."""
    told = ", ".join(f"{outcomes[one]} {one}" for one in order if outcomes[one]) or "nothing"
    if commit:
        click.echo(f"{told}. {'1 record was' if new == 1 else f'{new} records were'} written.", err=True)
    else:
        rest = f"; --commit writes {len(made)} record{'s' * (len(made) != 1)}" if made else ""
        click.echo(f"{told}. Nothing was written{rest}.", err=True)


# ---- files and photos ----------------------------------------------------------------------------------------


@click.command("attach")
@click.argument("about", required=False, shell_complete=run_names)
@click.argument("files", nargs=-1, type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--line", metavar="N", help="The line of the run that it shows.")
@click.option(
    "--what", default="photo", show_default=True, help="What it is: photo, ticket, permission, data sheet ..."
)
@click.option("--who", required=True, help="Who attaches it.")
@click.option(
    "--photos",
    "folder",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    metavar="FOLDER",
    help="Match all photos in a folder to runs by the time they were taken; a preview unless --commit.",
)
@click.option("--run", shell_complete=run_names, help="With --photos: the run that they are all of.")
@click.option("--commit", is_flag=True, help="With --photos: keep all that is matched, in one go.")
@listing_options
@click.pass_obj
def attach_command(
    shell: Shell,
    about: str | None,
    files: tuple[Path, ...],
    line: str | None,
    what: str,
    who: str,
    folder: Path | None,
    run: str | None,
    commit: bool,
    form: str | None,
) -> None:
    """Keep FILES with a run or another record ABOUT. They are kept by their SHA-256, exactly as they are.

    Beside a photo a copy for pages is kept: upright, small, and without position, device or time. Those stay in the
    original, and the original stays in the book. With --photos, all photos of a folder are matched and kept so.
    """
    if folder is not None:
        if about is not None or line is not None:
            raise click.UsageError("--photos finds run and line by itself, or takes --run; give no ABOUT and no --line")
        _photos(shell, folder, run, what, who, commit, form)
        return
    if about is None or not files:
        raise click.UsageError("name what it is ABOUT and the FILES, or a folder with --photos")
    if form == "csv":
        raise click.UsageError("--csv goes with --photos")
    _attach(shell, about, files, line, what, who, form == "json")


def _attach(
    shell: Shell, about: str, files: tuple[Path, ...], line: str | None, what: str, who: str, as_json: bool
) -> None:
    from compliance.book import files as kept
    from compliance.intake.handin import hand_in
    from compliance.intake.papers import check_attach

    with shell.open() as book:
        for path in files:
            state = whole(book)
            copy = _copy_of(path)
            raw = given(
                record=about,
                line=line,
                name=path.name,
                sha256=kept.hash_of(path),
                size=path.stat().st_size,
                what=what,
                who=who,
                copy=None if copy is None else {"sha256": sha256(copy).hexdigest(), "size": len(copy)},
            )
            checked = check_attach(raw, state=state, where=path.name, now=shell.now())
            if checked.payload is not None:
                kept.put(shell.folder, path)
                if copy is not None:
                    kept.put(shell.folder, copy)
            done = hand_in(book, checked, state=state, now=shell.stamp(), token=shell.token)
            answer(
                checked.cautions, checked.notes, done.lines, done.record.id if done.record else "", done.ref, as_json
            )


def _copy_of(path: Path) -> bytes | None:
    """The copy of a photo for pages; None, and a word of it, for one that cannot be shown, and for any other file."""
    from compliance.intake.photos import ENDINGS, copy_for_pages

    if path.suffix.lower() not in ENDINGS:
        return None
    try:
        return copy_for_pages(path.read_bytes())
    except ValueError as error:
        click.echo(f"look again: {path.name}: {error}; it is kept, and no page can show it", err=True)
        return None


_PHOTOS = ("photo", "taken", "outcome", "run", "line", "because")


def _photos(shell: Shell, folder: Path, run: str | None, what: str, who: str, commit: bool, form: str | None) -> None:
    from compliance.intake.moments import zone_named
    from compliance.intake.photos import OUTCOMES, look_at, photos_in, place

    paths, others = photos_in(folder)
    with shell.open() as book:
        state = whole(book)
        if run is not None and state.run(run) is None:
            raise refused(f"no run is called {run!r}", "--run", "see `washwater list runs`")
        zone = zone_named(str(state.business["zone"]))
        assert zone is not None
        looked = [look_at(path, zone) for path in _shown(paths, "looking at photos")]
        found, made = _with_copies(shell, state, place(looked, state, run or ""), what, who, commit)
        rows = [_photo_row(one) for one in found]
        listing(_PHOTOS, rows, form, none="There is no photo in the folder.")
        new = _commit(shell, book, made) if commit else 0
    if others:
        click.echo("1 other file is passed over" if others == 1 else f"{others} other files are passed over", err=True)
    _count(Counter(one.outcome for one in found), OUTCOMES, made, new, commit)


def _with_copies(
    shell: Shell, state: State, placed: Sequence[Placed], what: str, who: str, commit: bool
) -> tuple[list[Placed], list[Checked]]:
    """Each photo with its copy made and checked; both are in the book's folder before a record names them."""
    from dataclasses import replace

    from compliance.book import files as kept
    from compliance.intake.papers import check_attach
    from compliance.intake.photos import MATCHED, REFUSED, copy_for_pages

    found, made = [], []
    for one in _shown(placed, "making copies for pages"):
        if one.outcome != MATCHED:
            found.append(one)
            continue
        photo = one.photo
        try:
            data = photo.path.read_bytes()
            copy = copy_for_pages(data)
        except (OSError, ValueError) as error:
            found.append(replace(one, outcome=REFUSED, run="", line="", because=str(error)))
            continue
        raw = given(
            record=one.run,
            line=one.line or None,
            name=photo.path.name,
            sha256=sha256(data).hexdigest(),
            size=len(data),
            what=what,
            who=who,
            copy={"sha256": sha256(copy).hexdigest(), "size": len(copy)},
        )
        checked = check_attach(raw, state=state, where=photo.path.name, now=shell.now())
        if checked.problems:
            because = "; ".join(problem.what for problem in checked.problems)
            found.append(replace(one, outcome=REFUSED, run="", line="", because=because))
            continue
        if commit:
            kept.put(shell.folder, data)
            kept.put(shell.folder, copy)
        found.append(one)
        made.append(checked)
    return found, made


def _photo_row(one: Placed) -> tuple[str, ...]:
    taken = "" if one.photo.taken is None else f"{one.photo.taken:%Y-%m-%d %H:%M}"
    return one.photo.path.name, taken, one.outcome, one.run, one.line, one.because


def _shown(items: Sequence[T], doing: str) -> Iterator[T]:
    """The items one by one; how far it got is shown on a terminal, which may be left with Ctrl-C."""
    shown = sys.stderr.isatty() and len(items) > 3
    for n, item in enumerate(items, start=1):
        if shown:
            click.echo(f"\r{doing}: {n} of {len(items)}", err=True, nl=n == len(items))
        yield item
