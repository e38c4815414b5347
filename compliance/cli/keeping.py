"""verify, backup, restore."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from compliance.cli.shell import Shell, refused, whole
from compliance.cli.show import print_json
from compliance.records.inquiries import SENT
from compliance.records.problem import DAMAGED, REFUSED

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from compliance.book.backup import Backup
    from compliance.book.store import Book
    from compliance.book.tree import Head
    from compliance.records.inquiries import Inquiry, Step
    from compliance.records.state import State
    from compliance.reports.issue import Head as Code


@click.command("verify")
@click.option("--deep", is_flag=True, help="Hash every kept file again too.")
@click.option("--record-code", "kept", metavar="SIZE:ROOT", help="A record code printed on a page, or noted elsewhere.")
@click.option("--page", type=click.Path(path_type=Path, exists=True, dir_okay=False), help="A page to recognise.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def verify_command(shell: Shell, deep: bool, kept: str | None, page: Path | None, as_json: bool) -> int:
    """Say whether the records agree with their hashes and record codes: what is damaged, how serious, what next.

    With --page: whether a page was issued by this book, as which number, what replaced it (or whether it was sent in
    answer to an inquiry), and whether the records still have the record code that it prints; exit 2 when it is neither.
    Somebody who rewrites the whole book can make it agree with itself: only a page or a record code from elsewhere
    shows that.
    """
    if page is not None:
        return _page(shell, page, as_json)
    from compliance.book.verify import verify

    named = _named_files(shell)
    with _long_copying(shell, "hashing the records"):
        report = verify(shell.folder, deep=deep, kept_head=_head(kept), named_files=named)
    if as_json:
        print_json(
            {
                "sound": report.sound,
                "records": report.head.size,
                "root": report.head.root_hex,
                "files": report.files,
                "deep": report.deep,
                "own_record_codes": report.own_heads,
                "damage": [vars(damage) for damage in report.damage],
            }
        )
    else:
        for damage in report.damage:
            click.echo(f"{damage}\n")
        looked = "hashed again" if report.deep else "there; --deep hashes them again"
        click.echo(f"{report.head.size} records, {report.files} files ({looked}).")
        click.echo(f"record code {report.head}")
        if report.sound:
            click.echo(_agrees(report.own_heads))
            click.echo(_BEYOND if kept is None else "It goes on from the record code that was given.")
        if derived := _derived(shell.folder):
            click.echo(f"Not looked at: {', '.join(derived)}, made from the records. Deleted, they are made again.")
    return 0 if report.sound else DAMAGED


_MUCH = 20_000_000
"""Bytes of records from which on going through them takes long enough to say so."""


@contextmanager
def _long_copying(shell: Shell, what: str) -> Iterator[None]:
    """Say what is being done while it lasts, with a large book."""
    from compliance.book.schema import path_of
    from compliance.cli.progress import PATIENCE, Progress

    records = path_of(shell.folder)
    large = records.is_file() and records.stat().st_size >= _MUCH
    with Progress(patience=0 if large else PATIENCE) as progress:
        progress.say(what)
        yield


_BEYOND = "Whoever rewrote all of it could make it agree; a record code from elsewhere tells (--record-code, --page)."


def _agrees(own: int) -> str:
    among = f" and with the {own} record code{'s' if own > 1 else ''} kept among them" if own else ""
    return f"The records agree with their hashes{among}."


def _derived(folder: Path) -> list[str]:
    """The files beside the records that are made from them and prove nothing."""
    from compliance.book.derived_files import INDEX, QUERY

    return [name for name in (INDEX, QUERY) if (folder / name).is_file()]


def _head(kept: str | None) -> Head | None:
    if kept is None:
        return None
    from compliance.book.tree import Head

    size, _, root = kept.partition(":")
    if not size.isdigit() or len(root) != 64 or set(root.lower()) - set("0123456789abcdef"):
        raise refused(
            f"{kept!r} is not a record code", "--record-code", "copy it as it stands: a size, a colon, 64 hex digits"
        )
    return Head(int(size), root.lower())


def _named_files(shell: Shell) -> list[tuple[str, str]]:
    """The files that records name; none where the book is too damaged to be read, which `verify` then says."""
    from compliance.records.problem import ComplianceError

    try:
        with shell.open() as book:
            return files_of(book)
    except (ComplianceError, KeyError, TypeError, ValueError):
        return []


def files_of(book: Book) -> list[tuple[str, str]]:
    """(record id, SHA-256) of each file that a record names, those of cancelled records too: they are kept as long."""
    from compliance.book.check_export import files_named

    return [(one.id, sha) for one in book.records() for sha in files_named(one.kind, one.payload)]


def _sendings(state: State) -> Iterator[tuple[Inquiry, Step]]:
    """Every time that an answer was sent."""
    for inquiry in state.inquiries:
        yield from ((inquiry, step) for step in inquiry.steps if step.what == SENT)


def _sent(folder: Path, state: State, digest: str) -> Iterator[str]:
    """When a file with these bytes was sent in answer to an inquiry: itself, or in a pack that the book has."""
    from compliance.book.files import FOLDER

    for inquiry, step in _sendings(state):
        for one in step.said["files"]:
            inside = "" if one["sha256"] == digest else _member(folder / FOLDER / one["sha256"], digest)
            if one["sha256"] == digest or inside:
                what = f"{inside} in {one['name']}" if inside else one["name"]
                yield f"Sent as {what} to {step.said['to']}, in answer to {inquiry.ref}, written down {step.received}."


def _member(path: Path, digest: str) -> str:
    """The name of the file with this hash in a ZIP archive; '' where it is none, or has none."""
    import zipfile
    from hashlib import sha256

    try:
        with zipfile.ZipFile(path) as archive:
            return next((name for name in archive.namelist() if sha256(archive.read(name)).hexdigest() == digest), "")
    except (OSError, ValueError, zipfile.BadZipFile):
        return ""


def _page(shell: Shell, page: Path, as_json: bool) -> int:
    from hashlib import sha256

    from compliance.reports import printed
    from compliance.reports.issue import Head, replaced_by

    data = page.read_bytes()
    digest = sha256(data).hexdigest()
    with shell.open() as book:
        state = whole(book)
        found = next((one for one in state.issued if digest in one.files.values()), None)
        codes = printed.codes(data)
        named = codes if found is None else codes | {Head(found.size, found.root)}
        fit = {
            code: _had(book, code.size, code.root) for code in sorted(named, key=lambda code: (code.size, code.root))
        }
    newer = None if found is None else replaced_by(found, state.issued)
    sent = list(_sent(shell.folder, state, digest))
    if as_json:
        print_json(
            {
                "sha256": digest,
                "issued": found is not None,
                "number": found.number if found else None,
                "date": found.date if found else None,
                "about": found.about if found else None,
                "replaced_by": newer.number if newer else None,
                "sent": sent,
                "record_codes": [
                    {"code": f"{code.size}:{code.root}", "printed": code in codes, "fits": fits}
                    for code, fits in fit.items()
                ],
            }
        )
    elif found is None and sent:
        for line in (*sent, *_code_lines(fit, codes)):
            click.echo(line)
    elif found is None:
        click.echo("Not a page of this book: no page with these bytes was ever issued from it.")
        for code, fits in fit.items():
            had = "had" if fits else "never had"
            click.echo(f"It prints record code {code.size}:{code.root}, which this book {had}.")
        if any(fit.values()):
            click.echo("So it was changed, or its issue is gone from the book, or it is a letter not noted as sent.")
    else:
        click.echo(f"Issued by this book as {found.number} on {found.date}, about {found.about}.")
        click.echo(f"Replaced by {newer.number} of {newer.date}." if newer else "Not replaced.")
        for line in _code_lines(fit, codes):
            click.echo(line)
    if found is None and not sent:
        return REFUSED
    return 0 if all(fit.values()) else DAMAGED


def _had(book: Book, size: int, root: str) -> bool:
    """Whether the book had this record code when it held so many records."""
    return size <= book.head().size and book.head_at(size).root_hex == root


def _code_lines(fit: Mapping[Code, bool], printed: Collection[Code]) -> Iterator[str]:
    """What the record codes of an issued page say, those that it prints and the one in the record of its issue."""
    for code, fits in fit.items():
        said = f"{code.size}:{code.root}"
        if not fits:
            yield f"BUT the book is not the one that it was made from: record code {said} does not fit its records."
            yield "  do this: rely on no figure of this book; run `washwater verify`, and compare with a backup."
        elif code in printed:
            yield f"The first {code.size} records still have the record code that it prints."
        else:
            yield f"The first {code.size} records still have record code {said}: look whether the page prints the same."


@click.command("backup")
@click.argument("to", type=click.Path(path_type=Path))
@click.pass_obj
def backup_command(shell: Shell, to: Path) -> int:
    """Copy the book into the new folder TO while it is in use; the copy is opened and verified.

    That it was made, and of which record code, is then written into the book: `check` tells when the last is old.
    """
    from compliance.book.backup import backup

    with shell.open() as book:
        named = files_of(book)
    with _whole_or_nothing(to), _long_copying(shell, "copying the book, and hashing the copy"):
        made = backup(shell.folder, to, now=shell.stamp(), named_files=named)
    _remember(shell, made)
    for damage in made.damage:
        click.echo(f"{damage}\n", err=True)
    click.echo(
        f"Backed up {made.head.size} records and {len(made.files)} files into {to}; the copy was opened and verified."
    )
    click.echo(f"record code {made.head}")
    click.echo(f"SHA-256 of its records {made.sha256}")
    click.echo("Keep the folder away from this machine, and the record code on paper.")
    return DAMAGED if made.damage else 0


@contextmanager
def _whole_or_nothing(to: Path) -> Iterator[None]:
    """Take back what an interrupted copy has put into a folder that was new or empty: nobody shall find half a book."""
    new = not to.exists()
    ours = new or (to.is_dir() and not any(to.iterdir()))
    try:
        yield
    except KeyboardInterrupt:
        if ours:
            import shutil

            shutil.rmtree(to, ignore_errors=True)
            if not new:
                to.mkdir(exist_ok=True)
        raise


def _remember(shell: Shell, made: Backup) -> None:
    """Write down that the book was copied; where to is nobody's business."""
    from compliance.records.envelope import Entry
    from compliance.records.kinds import BACKUP

    payload = {
        "made": made.made, "head": str(made.head), "sha256": made.sha256, "files": len(made.files),
        "spoilt": len(made.damage),
    }  # fmt: skip
    entry = Entry(shell.token().hex(), BACKUP, made.made, made.made, payload)
    with shell.open() as book:
        book.append([entry], receipt_time=shell.stamp())


@click.command("restore")
@click.argument("backup", type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.argument("to", type=click.Path(path_type=Path))
@click.pass_obj
def restore_command(shell: Shell, backup: Path, to: Path) -> int:
    """Bring the BACKUP back into the empty or new folder TO, and verify what was brought back.

    An export made by `washwater export` will do as well: the book has the same records and the same record code.
    """
    from compliance.book import rebuild
    from compliance.book.backup import restore
    from compliance.cli.progress import Progress

    with _whole_or_nothing(to), Progress() as progress:
        if rebuild.is_export(backup):
            report = rebuild.rebuild(backup, to, say=progress.say)
        else:
            report = restore(backup, to)
    for damage in report.damage:
        click.echo(f"{damage}\n", err=True)
    if report.sound:
        click.echo(f"Restored {report.head.size} records and {report.files} files into {to}, and verified them.")
        click.echo(f"record code {report.head}")
    return 0 if report.sound else DAMAGED
