"""inquiry: a question from outside, from the call to the answer."""

from __future__ import annotations

import sys
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.packing import pack_command
from compliance.cli.shell import Shell, refused, whole
from compliance.cli.show import listing, listing_options, print_json
from compliance.cli.writing import answer, given
from compliance.records.fields import GROUPS
from compliance.records.inquiries import CLOSED, HELD, REOPENED, SEARCHED, SENT
from compliance.records.kinds import BACKUP, INQUIRY, INQUIRY_STEP, ISSUE
from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.handin import HandedIn
    from compliance.records.inquiries import Inquiry
    from compliance.records.state import State
    from compliance.reports.inquiry_letter import Demanded
    from compliance.reports.inquiry_search import Found

_NO_DAY = "9999"
"""A day on which there is no run."""
_AFTERWARDS = (INQUIRY, INQUIRY_STEP, ISSUE, BACKUP)
_LAST = 500
"""Records that are looked at for the last one that tells of work."""


def question_options(command: Any) -> Any:
    """An option for each field of an inquiry, as the field table has them."""
    for row in reversed(GROUPS["inquiry"]):
        about = row.help or ", ".join(choice.value for choice in row.choices)
        text = f"{row.en}{f' ({about})' if about else ''}."
        command = click.option(f"--{row.name.replace('_', '-')}", row.name, help=text)(command)
    return command


def who_option(command: Any) -> Any:
    """Whose word it is."""
    return click.option("--who", required=True, help="Who says so.")(command)


@click.group("inquiry")
def inquiry_command() -> None:
    """A question from outside: write it down, search the records, answer by letter and pack, keep what was sent.

    NAME is 'inquiry-1', the case number, or the beginning of the record's id.
    """


def asked_only(shell: Shell) -> State:
    """The registers and the inquiries of a book of any size: no run is read."""
    from compliance.book.derived_lookup import Index
    from compliance.book.near import records_around
    from compliance.records.state import gather

    with shell.open() as book, Index.open(book) as index:
        return gather(records_around(index, _NO_DAY, _NO_DAY))


def write_down(
    shell: Shell, kind: str, raw: Mapping[str, Any], state: State, where: str = "the command line"
) -> HandedIn:
    """Check and append one entry, looked up in as much of the book as it needs."""
    from compliance.intake.handin import hand_in
    from compliance.intake.validate import check

    (checked,) = check(kind, raw, state=state, where=where, now=shell.now())
    with shell.open() as book:
        return hand_in(book, checked, state=state, now=shell.stamp(), token=shell.token)


def ask(shell: Shell, raw: Mapping[str, Any]) -> str:
    """Write an inquiry down that is not in the book yet, and return its name."""
    done = write_down(shell, INQUIRY, raw, asked_only(shell))
    assert done.record is not None
    return _named(asked_only(shell), done.record.id).ref


def keep_search(shell: Shell, state: State, inquiry: Inquiry, found: Found, who: str) -> HandedIn:
    """Write a search down with its inquiry; what is near is on hold from then on."""
    raw = {"inquiry": inquiry.ref, "step": SEARCHED, "holds": _touched(found), "search": _kept(found), "who": who}
    return write_down(shell, INQUIRY_STEP, raw, state)


def _say(done: HandedIn, as_json: bool = False) -> None:
    answer((), (), done.lines, done.record.id if done.record else "", done.ref, as_json)


# ---- writing it down ---------------------------------------------------------------------------------------------


@inquiry_command.command("open")
@click.option(
    "--from", "source", metavar="FILE", help="A TOML or JSON file instead of options, or - for standard input."
)
@click.option("--follows", metavar="NAME", help="The inquiry that it follows.")
@question_options
@click.option("--who", help="Who writes it down.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def open_command(
    shell: Shell, /, source: str | None, follows: str | None, who: str | None, as_json: bool, **fields: str | None
) -> None:
    """Write down what was asked; whatever is not known is left out. The same twice changes nothing."""
    raw, where = given(**fields, follows=follows, who=who), "the command line"
    if source is not None:
        raw, where = {**_read(source), **raw}, source
    done = write_down(shell, INQUIRY, raw, asked_only(shell), where)
    _say(done, as_json)
    if done.record is not None and not as_json:
        opened = _named(asked_only(shell), done.record.id)
        click.echo(f"It is called {opened.ref}. Next: washwater inquiry search {opened.ref}")


def _read(source: str) -> dict[str, Any]:
    from compliance.intake.fromfile import read_entry

    read = read_entry(source, sys.stdin.buffer)
    if isinstance(read, Problem):
        raise ComplianceError(read)
    if read.raw.get("kind", INQUIRY) != INQUIRY:
        raise refused(f"this file is a {read.kind!r}", read.where, 'write kind = "inquiry", or leave kind out')
    return dict(read.raw)


@inquiry_command.command("change")
@click.argument("name")
@question_options
@click.option("--why", required=True, help="Why it is changed.")
@who_option
@click.pass_obj
def change_command(shell: Shell, /, name: str, why: str, who: str, **fields: str | None) -> None:
    """Add to what was asked, or change it; what it said before stays."""
    _say(write_down(shell, INQUIRY, given(**fields, inquiry=name, why=why, who=who), asked_only(shell)))


@inquiry_command.command("hold")
@click.argument("name")
@click.argument("records", nargs=-1, required=True)
@click.option("--why", required=True, help="Why they are kept.")
@who_option
@click.pass_obj
def hold_command(shell: Shell, name: str, records: tuple[str, ...], why: str, who: str) -> None:
    """Keep RECORDS on hold while the inquiry is open: runs by name, anything else by its id. A kept search does so too.

    Nothing is destroyed by any command today; what once does has to refuse them.
    """
    with shell.open() as book:
        state = whole(book)
    raw = {"inquiry": name, "step": HELD, "holds": list(records), "why": why, "who": who}
    _say(write_down(shell, INQUIRY_STEP, raw, state))


@inquiry_command.command("close")
@click.argument("name")
@click.option("--why", required=True, help="How it ended.")
@who_option
@click.pass_obj
def close_command(shell: Shell, name: str, why: str, who: str) -> None:
    """Say that an inquiry is answered: what it touched is no longer on hold."""
    raw = {"inquiry": name, "step": CLOSED, "why": why, "who": who}
    _say(write_down(shell, INQUIRY_STEP, raw, asked_only(shell)))


@inquiry_command.command("reopen")
@click.argument("name")
@click.option("--why", required=True, help="Why it goes on.")
@who_option
@click.pass_obj
def reopen_command(shell: Shell, name: str, why: str, who: str) -> None:
    """Open an inquiry again: what it touched is on hold once more."""
    raw = {"inquiry": name, "step": REOPENED, "why": why, "who": who}
    _say(write_down(shell, INQUIRY_STEP, raw, asked_only(shell)))


@inquiry_command.command("sent")
@click.argument("name")
@click.argument("paths", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--to", required=True, help="To whom.")
@click.option("--how", help="How: by mail, by hand.")
@who_option
@click.pass_obj
def sent_command(shell: Shell, name: str, paths: tuple[Path, ...], to: str, how: str | None, who: str) -> None:
    """Write down that FILES were sent, by the SHA-256 of each; the book keeps a copy of them."""
    from hashlib import sha256

    from compliance.book import files

    made, kept = [], []
    for path in paths:
        try:
            data = path.read_bytes()
        except OSError as error:
            raise refused(f"the file cannot be read: {error.strerror}", str(path), "look at its name") from error
        made.append({"name": path.name, "sha256": sha256(data).hexdigest(), "size": len(data)})
        kept.append(data)
    state = asked_only(shell)
    _named(state, name)
    for data in kept:
        files.put(shell.folder, data)
    raw = given(inquiry=name, step=SENT, to=to, how=how, files=made, who=who)
    _say(write_down(shell, INQUIRY_STEP, raw, state))
    for one in made:
        click.echo(f"  {one['sha256']}  {one['name']}")


# ---- looking -----------------------------------------------------------------------------------------------------


@inquiry_command.command("list")
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


@inquiry_command.command("show")
@click.argument("name")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def show_command(shell: Shell, name: str, as_json: bool) -> None:
    """Show an inquiry: what was asked, each change and step, what is on hold, and the chain in which it stands."""
    from compliance.records.inquiries import chain

    state = asked_only(shell)
    one = _named(state, name)
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
        return f": {said['size']} records, entered up to {said['entered']}{rigs}"
    return f": {said['why']}"


def _named(state: State, name: str) -> Inquiry:
    found = state.inquiry(name)
    if found is None:
        names = ", ".join(one.ref for one in state.inquiries) or "none yet; `washwater inquiry open`"
        raise refused(f"no inquiry is called {name!r}", "NAME", f"there are: {names}")
    return found


@inquiry_command.command("search")
@click.argument("name", required=False)
@question_options
@click.option("--keep", is_flag=True, help="Write the search down with the inquiry; what is near is then on hold.")
@click.option("--who", default="", help="Who searches, with --keep.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def search_command(
    shell: Shell, /, name: str | None, keep: bool, who: str, as_json: bool, **fields: str | None
) -> None:
    """Search for stops near in place and time: for the inquiry NAME, or without one for what the options say.

    What got away and drains stand first. Then rig by rig: near, elsewhere, off, or no record, of which the records
    cannot say anything.
    """
    asked = given(**fields)
    if (name is None) == (not asked):
        raise refused("it is not said what to search for", "NAME", "name an inquiry, or say place and time by options")
    if keep and (name is None or not who):
        raise refused("a search is kept with an inquiry, by somebody", "--keep", "name the inquiry, and --who")
    state, inquiry, found = searched(shell, name, asked)
    if keep:
        done = keep_search(shell, state, inquiry, found, who)
        if not as_json:
            _say(done)
    if as_json:
        print_json(document(found))
        return
    for line in told(found):
        click.echo(line)


def searched(shell: Shell, name: str | None, asked: Mapping[str, Any]) -> tuple[State, Inquiry, Found]:
    """Search a book of any size: only the records of the days in question are read, and the state holds no more."""
    from compliance.book.derived_lookup import Index
    from compliance.book.near import records_around, said_in
    from compliance.intake.inquiries import check_inquiry
    from compliance.records.inquiries import Inquiry
    from compliance.records.state import gather
    from compliance.reports.inquiry_search import asked_of, days_of, search

    with shell.open() as book, Index.open(book) as index:
        known = gather(records_around(index, _NO_DAY, _NO_DAY))
        if name is None:
            checked = check_inquiry(asked, state=known, where="the command line", now=shell.now(), who="-")
            if checked.problems:
                raise ComplianceError(*checked.problems)
            fields = checked.payload["fields"] if checked.payload is not None else _same_fields(known, asked)
            inquiry = Inquiry("", "this question", 0, "", "", fields)
        else:
            inquiry = _named(known, name)
        wanted = asked_of(inquiry, known)
        if isinstance(wanted, Problem):
            raise ComplianceError(wanted)
        state = gather(records_around(index, *days_of(wanted)))
        records = [one.record for run in state.runs for one in run.handed_in_as]
        said = said_in(book, wanted.words, records) if wanted.words else {}
        head = book.head()
        found = search(
            state,
            wanted,
            said=said,
            entered=_entered(book, head.size),
            size=head.size,
            root=head.root_hex,
            now=shell.now(),
        )
    return state, inquiry, found


def _entered(book: Book, size: int) -> str:
    """When the last record was received that tells of work: pages and inquiries come after the work."""
    last = list(book.records(after=max(0, size - _LAST)))
    return next((one for one in reversed(last) if one.kind not in _AFTERWARDS), last[0]).receipt_time


def _same_fields(state: State, asked: Mapping[str, Any]) -> Mapping[str, Any]:
    """The fields of an inquiry that says the same: the validator has nothing new to give then."""
    return next(one.fields for one in state.inquiries if set(one.fields) == set(asked))


def _touched(found: Found) -> list[str]:
    return list(dict.fromkeys(spot.run.record for spot in (*found.near, *found.other)))


def _kept(found: Found) -> dict[str, Any]:
    """What is written down of a search: what was looked for, in which book, and what these records say."""
    rigs: dict[str, list[str]] = {}
    for one in found.says:
        rigs.setdefault(one.rig, []).append(f"{one.window.start.date().isoformat()} {one.verdict}")
    asked = found.asked
    looked = {
        "place": asked.place, "position": asked.position, "radius": f"{asked.radius} ft" if asked.position else "",
        "site": asked.site, "drain": asked.drain, "words": asked.words,
        "from": asked.windows[0].start.isoformat(), "until": asked.windows[-1].end.isoformat(),
        "windows": len(asked.windows),
    }  # fmt: skip
    return {"size": found.size, "root": found.root, "entered": found.entered, "asked": looked, "found": rigs}


def document(found: Found) -> dict[str, Any]:
    """What was found, for programs."""

    def spot(one: Any) -> dict[str, Any]:
        return {
            "rig": one.rig, "run": one.run.ref, "line": one.line.n, "name": one.name, "address": one.address,
            "how": [list(how) for how in one.how], "feet": None if one.feet is None else str(one.feet),
            "start": one.times.start, "end": one.times.end, "not_before": one.times.low.isoformat(),
            "not_after": one.times.high.isoformat(), "in_time": one.when, "worked": one.worked,
            "escapes": [line.fields for line in one.escapes], "drains": list(one.drains),
        }  # fmt: skip

    return {
        **_kept(found),
        "near": [spot(one) for one in found.near],
        "other": [spot(one) for one in found.other],
        "rigs": [
            {"rig": one.rig, "from": one.window.start.isoformat(), "until": one.window.end.isoformat(),
             "says": one.verdict, "runs": [run.ref for run in one.runs], "why": one.why}
            for one in found.says
        ],
        "old_rows": [{"file": row.file, "sheet": row.sheet, "row": row.row, "how": how} for row, how in found.old],
        "begins_before_the_book": found.before_book,
        "not_over": found.not_over,
    }  # fmt: skip


def told(found: Found) -> Sequence[str]:
    """What was found, for people."""
    from compliance.reports.inquiry_letter import answer_lines
    from compliance.reports.words import Words

    return list(answer_lines(found, Words("en")))


# ---- the letter --------------------------------------------------------------------------------------------------


def form_options(command: Any) -> Any:
    """What every command takes that makes an answer to be read."""
    for option in (
        click.option("--lang", type=click.Choice(("en", "es")), default="en", show_default=True, help="Language."),
        click.option(
            "--paper", type=click.Choice(("letter", "A4")), default="letter", show_default=True, help="Paper."
        ),
    ):
        command = option(command)
    return command


@inquiry_command.command("letter")
@click.argument("name")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("letters"), show_default=True,
              help="Folder to write into.")  # fmt: skip
@click.option("--from", "edited", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
              help="Make the PDF of this text, as you left it.")  # fmt: skip
@click.option("--anew", is_flag=True, help="Write the text anew over one that is there.")
@click.option("--demanded-by", metavar="AUTHORITY", help="An authority that asks for a sentence in so many words.")
@click.option("--sentence", help="That sentence; else the letter ends with a plain statement.")
@click.option("--signed-by", metavar="NAME", help="Who signs that sentence.")
@click.option("--signer-role", metavar="ROLE", help="The role by which that person may sign it.")
@form_options
@click.pass_obj
def letter_command(
    shell: Shell,
    name: str,
    out: Path,
    edited: Path | None,
    anew: bool,
    demanded_by: str | None,
    sentence: str | None,
    signed_by: str | None,
    signer_role: str | None,
    lang: Any,
    paper: Any,
) -> None:
    """Write the answer as text to be edited; with --from, the PDF of the text as you left it.

    It says what the records show near there, which rigs were elsewhere, of which rigs they cannot say, and how far they
    reach. It names no client: addresses only.
    """
    from compliance.book import files

    demanded = _demanded(demanded_by, sentence, signed_by, signer_role)
    if edited is None:
        state, inquiry, found = searched(shell, name, {})
        path = out / f"{inquiry.ref}.{lang}.txt"
        if path.exists() and not anew:
            raise refused("there is a letter already", str(path), "edit it, or write it again with --anew")
        text = letter_of(shell, state, inquiry, found, lang, demanded)
        files.make_folder(out)
        files.write_whole(path, text.encode())
        click.echo(f"  {path}")
        click.echo(f"Read it, change what you like, then: washwater inquiry letter {inquiry.ref} --from {path}")
        return
    state = asked_only(shell)
    inquiry = _named(state, name)
    text = read_letter(edited)
    path = edited.with_suffix(".pdf")
    files.write_whole(path, letter_pdf(state, inquiry, text, lang, paper))
    click.echo(f"  {path}")


def letter_pdf(state: State, inquiry: Inquiry, text: str, language: Any, paper: Any) -> bytes:
    """The PDF of a letter's text as the owner left it."""
    from compliance.reports import pdf
    from compliance.reports.inquiry_letter import letter_page

    issuer = str(state.business["name"])
    return pdf.render(letter_page(text, issuer=issuer, number=inquiry.ref, language=language, paper=paper))


def read_letter(path: Path) -> str:
    """The text of a letter. Raises ComplianceError for a file that cannot be read as text."""
    try:
        return path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        why = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise refused(f"the letter cannot be read: {why}", str(path), "save it as UTF-8 text") from error


def letter_of(
    shell: Shell,
    state: State,
    inquiry: Inquiry,
    found: Found,
    language: Any,
    demanded: Demanded | None = None,
    without: Collection[str] = (),
) -> str:
    """The letter's text, dated today."""
    from compliance.reports.inquiry_letter import letter_text

    today = shell.zone_today(state)
    return letter_text(state, inquiry, found, today=today, language=language, demanded=demanded, without=without)


def _demanded(authority: str | None, sentence: str | None, by: str | None, role: str | None) -> Demanded | None:
    from compliance.reports.inquiry_letter import Demanded

    parts = (authority, sentence, by, role)
    if not any(parts):
        return None
    if authority and sentence and by and role:
        return Demanded(authority, sentence, by, role)
    raise refused(
        "a sentence that is asked for stands only with who asks for it and who may sign it", "--sentence",
        "give --demanded-by, --sentence, --signed-by and --signer-role together, or none of them",
    )  # fmt: skip


inquiry_command.add_command(pack_command)
