"""log, drafts: a night into the book, by questions or from a file."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import click

from compliance.cli.shell import Shell, reckoned, refused, whole
from compliance.cli.show import listing, listing_options, print_json
from compliance.cli.wrapping import tell
from compliance.cli.writing import answer
from compliance.records import kinds
from compliance.records.problem import REFUSED, ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.checked import Checked
    from compliance.intake.question import Question, Setting
    from compliance.records.state import State
    from compliance.reports.model import Language
    from compliance.rules.rule import Finding

TAKE_BACK = "<"
"""Typed instead of an answer, it takes the last one back."""


@click.command("log")
@click.option(
    "--from", "source", metavar="FILE", help="Take the night from a TOML or JSON file; '-' is standard input."
)
@click.option(
    "--lang", type=click.Choice(("en", "es")), default="en", show_default=True, help="Language of the questions."
)
@click.option("--draft", "name", metavar="NAME", help="Go on with this draft.")
@click.option("--card", metavar="SERIAL", help="The night was written on this paper card, whose serial is its id.")
@click.option("--preview", is_flag=True, help="With --from: say what would be handed in, and write nothing.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@click.pass_obj
def log_command(
    shell: Shell, source: str | None, lang: str, name: str | None, card: str | None, preview: bool, as_json: bool
) -> None:
    """Hand in a night. Without --from it asks; Enter passes over what is not needed, '<' takes an answer back.

    A file may hold a run, registers, a ticket, a correction, a completion or a cancellation: see docs/files.md.
    """
    if source is None:
        with _told_in(lang, as_json):
            _by_questions(shell, lang, name, card, as_json)
    elif card is not None:
        raise refused("--card goes with the questions", "--from, --card", "write card = ... into the file")
    else:
        _from_file(shell, source, lang, preview, as_json)


def _from_file(shell: Shell, source: str, lang: str, preview: bool, as_json: bool) -> None:
    from compliance.cli.nearby import around_night
    from compliance.intake.fromfile import read_entry
    from compliance.intake.handin import hand_in_all
    from compliance.intake.validate import check

    read = read_entry(source, sys.stdin.buffer)
    if isinstance(read, Problem):
        raise ComplianceError(read)
    with shell.open() as book:
        state = around_night(book, read.raw) if read.kind == kinds.RUN else whole(book)
        found = check(read.kind, read.raw, state=state, where=read.where, now=shell.now(), language=lang)
        problems = [problem for one in found for problem in one.problems]
        if problems:
            raise ComplianceError(*problems)
        if preview:
            _say_preview(found, as_json)
        elif len(found) == 1:
            _hand_in(shell, book, state, found[0], lang, as_json)
        else:
            new = hand_in_all(book, found, now=shell.stamp(), token=shell.token)
            known = len(found) - len(new)
            lines = (f"{len(new)} new, {known} known before and unchanged",)
            answer((), (), lines, "", read.where, as_json)


def _say_preview(found: list[Checked], as_json: bool) -> None:
    if as_json:
        rows = [{"kind": one.kind, "new": one.payload is not None, "day": one.event_time, "notes": list(one.notes),
                 "cautions": list(one.cautions)} for one in found]  # fmt: skip
        print_json({"written": 0, "entries": rows})
        return
    for one in found:
        what = "nothing new" if one.payload is None else one.kind
        click.echo(f"{what}: {one.event_time}")
        for note in (*one.notes, *one.cautions):
            click.echo(f"  {note}")
    click.echo("Nothing was written; leave --preview out to hand it in.")


def _hand_in(shell: Shell, book: Book, state: State, checked: Checked, lang: str, as_json: bool) -> None:
    from compliance.intake.handin import hand_in

    if checked.kind == kinds.RUN and checked.id_text and checked.payload is not None:
        checked = _as_known(book, checked, lang)
    things, wanted = _left_to_do(shell, state, checked, lang) if checked.kind == kinds.RUN else ((), ())
    done = hand_in(
        book, checked, state=state, now=shell.stamp(), token=shell.token, things=things, wanted=wanted, language=lang
    )
    answer(checked.cautions, checked.notes, done.lines, done.record.id if done.record else "", done.ref, as_json, lang)


def _as_known(book: Book, checked: Checked, lang: str) -> Checked:
    """A night with an id of its own as the book knows it: new, in it already, or after one that was cancelled.

    Raises ComplianceError when the book says something else under that id; both sides are shown.
    """
    from compliance.intake.entries import record_id

    id = record_id(checked.id_text)
    if not book.by_ids([id]):
        return checked  # as nearly always: a crew waits for it
    from compliance.intake.rekeyed import DIFFERS, look_up
    from compliance.intake.wording import say

    came = look_up(book, checked, lambda: whole(book), lang)
    if came.became == DIFFERS:
        from compliance.cli.keyed import sides_of, sides_table

        assert checked.payload is not None
        card = checked.payload["fields"].get("card")
        language: Language = "es" if lang == "es" else "en"
        click.echo(sides_table(sides_of(came, language), language), err=True)
        what = say("card differs" if card else "id differs", lang, id=card or checked.id_text, ref=came.ref)
        raise refused(what, say("this night", lang), say("differs step", lang))
    if came.cancelled:
        tell(came.cancelled, err=True)
    return came.checked


def _left_to_do(shell: Shell, state: State, checked: Checked, lang: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """At most three things that the crew can still do, and labels of what the office will be asked for.

    Both are found by the rules over the night as if it were in the book, as `check` and `complete` will find them.
    """
    from datetime import date

    from compliance.intake.entries import entry
    from compliance.intake.handin import next_ref
    from compliance.intake.morning import needs
    from compliance.records.envelope import Record
    from compliance.records.state import gather, run_order
    from compliance.rules.run import check_run, for_crew
    from compliance.rules.scene import Scene

    if checked.payload is None:
        return (), ()
    made = entry(checked, now=shell.stamp(), token=shell.token)
    as_if = Record(
        state.size + 1, made.id, made.kind, made.schema, made.event_time, made.device_time, shell.stamp(), made.payload
    )
    tonight = replace(gather([as_if]).runs[0], ref=next_ref(made.payload["fields"], state))
    others = tuple(run for run in state.runs if run.record != tonight.record)
    with_it = replace(state, runs=tuple(sorted((*others, tonight), key=run_order)))
    scene = Scene(with_it, reckoned(with_it), date.fromisoformat(shell.zone_today(state)))
    report = check_run(scene, tonight.record)
    if isinstance(report, Problem):
        return (), ()
    own = [one for one in report.findings if _of_this_night(one, tonight.record)]
    asked = [one.ask.row for one in needs(scene, report) if one.ask is not None and _is_of(one.about, tonight.ref)]
    labels = dict.fromkeys(row.es if lang == "es" else row.en for row in asked)
    return for_crew(own, "es" if lang == "es" else "en"), tuple(labels)


def _is_of(about: str, ref: str) -> bool:
    """Whether a need is of a run: of itself, a line or a stop of it."""
    return about.partition("/")[0].partition(".")[0] == ref


def _of_this_night(finding: Finding, record: str) -> bool:
    """Whether the crew of a night can look again: a figure of another night in the same load is none of theirs.

    What is still aboard is, whoever took it on.
    """
    return finding.basis != "arithmetic" or not finding.lines or any(at.record == record for at in finding.lines)


@contextmanager
def _told_in(lang: str, as_json: bool) -> Iterator[None]:
    """Say what stops the questions in their language; a program that asks for JSON gets it as everywhere."""
    from compliance.intake.wording import say

    try:
        yield
    except ComplianceError as error:
        if as_json or lang == "en":
            raise
        for one in error.problems:
            told = (one.what, f"{say('where is it', lang)}: {one.where}", f"{say('do this', lang)}: {one.next_step}")
            tell("\n  ".join(told), err=True)
        raise click.exceptions.Exit(error.exit_code) from error


def _by_questions(shell: Shell, lang: str, name: str | None, card: str | None, as_json: bool) -> None:
    from compliance.book import drafts
    from compliance.intake import questions
    from compliance.intake.last import last_readings
    from compliance.intake.question import Setting
    from compliance.intake.run import check_run
    from compliance.intake.serial import read_serial, serial_id
    from compliance.intake.wording import say

    serial = read_serial(card, "--card", lang) if card is not None else None
    if isinstance(serial, Problem):
        raise ComplianceError(serial)
    _there_is_a_book(shell, lang)
    with shell.open() as book:
        state = whole(book)
        draft = questions.resumed(_loaded(shell, name, lang)) if name else _started(shell, lang)
        draft = draft if serial is None else questions.on_card(draft, serial)
        name = name or _draft_name(shell, draft)
        lang = str(draft["language"])
        card_before = None if serial is None else state.run(serial_id(serial))
        if card_before is not None:
            phrase = "card known" if card_before.cancelled is None else "card free"
            tell(say(phrase, lang, ref=card_before.ref, why=card_before.cancelled), err=True)
        with _told_in(lang, as_json):
            setting = Setting(state, lang, shell.now(), last_readings(state))
            draft = _ask_all(shell, draft, name, setting)
            if questions.handing_in(draft) == "keep":
                tell(say("kept", lang, name=name))
                return
            raw = questions.entry_of(draft, setting)
            checked = check_run(raw, state=state, where=say("draft", lang, name=name), now=shell.now(), language=lang)
            if checked.problems:
                tell(say("not taken", lang, name=name), err=True)
                raise ComplianceError(*checked.problems)
            shown_before = replace(checked, cautions=())  # each stood where its danger was entered
            _hand_in(shell, book, state, shown_before, lang, as_json)
            drafts.delete(shell.folder, name)


def _there_is_a_book(shell: Shell, lang: str) -> None:
    """Raises ComplianceError, in the language of the questions, where there is none."""
    from compliance.book.schema import path_of
    from compliance.intake.wording import say

    if not path_of(shell.folder).is_file():
        raise refused(say("no book", lang), str(shell.folder.absolute()), say("no book step", lang))


def _loaded(shell: Shell, name: str, lang: str) -> dict[str, Any]:
    """A draft by its name; what is wrong with it is said in the language of the questions."""
    from compliance.book import drafts
    from compliance.intake.wording import say

    there = drafts.names(shell.folder)
    if name not in there:
        step = say("these drafts", lang, names=", ".join(there)) if there else say("none unfinished", lang)
        raise refused(say("no draft", lang, name=name), "--draft", step)
    try:
        return drafts.load(shell.folder, name)
    except ComplianceError as error:
        if lang == "en":
            raise
        raise refused(say("draft damaged", lang, name=name), "--draft", say("draft damaged step", lang)) from error


def _started(shell: Shell, lang: str) -> dict[str, Any]:
    """A new draft, or the one that was left unfinished."""
    from compliance.book import drafts
    from compliance.intake import questions
    from compliance.intake.wording import say

    left = drafts.names(shell.folder)
    if left:
        tell(say("unfinished", lang, names=", ".join(left)), err=True)
    return questions.new_draft(lang, shell.token().hex())


def _draft_name(shell: Shell, draft: dict[str, Any]) -> str:
    return f"night-{shell.now().date().isoformat()}-{draft['id'][:6]}"


def _ask_all(shell: Shell, draft: dict[str, Any], name: str, setting: Setting) -> dict[str, Any]:
    """Ask until nothing is left; the draft is on the disk after every answer. Who stops is told what is kept."""
    from compliance.book import drafts

    drafts.save(shell.folder, name, draft)
    typing = _Typing()
    tell(setting.say("begin"))
    try:
        while (grown := _asked(draft, setting, typing)) is not None:
            if grown is not draft:
                draft = grown
                drafts.save(shell.folder, name, draft)
    except (click.Abort, KeyboardInterrupt) as stop:
        if draft["answers"]:
            told = setting.say("stopped", name=name)
        else:
            drafts.delete(shell.folder, name)
            told = setting.say("stopped at once")
        tell(f"\n{told}", err=True)
        raise click.exceptions.Exit(REFUSED) from stop
    return draft


def _asked(draft: dict[str, Any], setting: Setting, typing: _Typing) -> dict[str, Any] | None:
    """The draft after one question: with one answer more or less, or the same; None when nothing is left to ask."""
    from compliance.intake import questions

    question = questions.next_question(draft, setting)
    if question is None:
        return None
    if question.key == "do":
        for label, value in questions.summary(draft, setting):
            tell(f"  {label}: {value}")
    typed = _prompt(question, typing)
    if typed.strip() == TAKE_BACK:
        return questions.back(draft)
    grown = questions.answer(draft, typed, setting)
    if isinstance(grown, Problem):
        tell(f"  {grown.what}: {grown.next_step}", err=True)
        return draft
    shown = questions.comparison(grown, setting)
    if shown is not None:
        tell(f"  {shown}")
    for caution in questions.cautions(grown, setting):
        tell(f"  ! {caution}")
    return grown


def _prompt(question: Question, typing: _Typing) -> str:
    """Print one question and read its answer: one key where that is enough, else a line."""
    from compliance.intake.question import KEY

    hint = f" ({question.hint})" if question.hint else ""
    tell(f"{question.text}{hint}")
    for option in question.options:
        tell(f"  {option.key} {option.label}")
    if question.enter is not None:
        tell(f"  {question.enter}")
    click.echo("> ", nl=False)
    return typing.key() if question.kind == KEY and sys.stdin.isatty() else typing.line()


class _Typing:
    """What is typed: one key where that is enough, else a line. Keys typed ahead may come in one piece."""

    def __init__(self) -> None:
        self._ahead = ""

    def key(self) -> str:
        """One key; '' for Enter. An Enter that comes with the key is of the habit to press it, and answers nothing."""
        piece = self._ahead or click.getchar()
        if piece[0] in "\x03\x04":
            raise click.Abort
        end = len(piece) if piece[0] == "\x1b" else 1  # an arrow is one key, of several characters
        pressed, self._ahead = piece[:end], piece[end:]
        if pressed in "\r\n":
            pressed = ""
        elif self._ahead[:1] in ("\r", "\n"):
            self._ahead = self._ahead[1:]
        click.echo(pressed)
        return pressed

    def line(self) -> str:
        """A line, without its end."""
        begun, end, rest = self._ahead.replace("\r", "\n").partition("\n")
        click.echo(begun, nl=bool(end))
        self._ahead = rest
        if end:
            return begun
        line = sys.stdin.readline()
        if not line:
            raise click.Abort
        return begun + line.rstrip("\r\n")


@click.command("drafts")
@click.option("--throw-away", metavar="NAME", help="Throw this draft away.")
@click.option("--lang", type=click.Choice(("en", "es")), default="en", show_default=True, help="Language.")
@listing_options
@click.pass_obj
def drafts_command(shell: Shell, throw_away: str | None, lang: str, form: str | None) -> None:
    """List the nights that were begun and not handed in. They are files beside the book, never in it."""
    with _told_in(lang, form == "json"):
        _drafts(shell, throw_away, lang, form)


_COLUMNS: Final = ("draft", "date", "rig", "lead", "stops")
_COLUMNS_ES: Final = ("borrador", "fecha", "camión", "quien dirige", "paradas")


def _drafts(shell: Shell, throw_away: str | None, lang: str, form: str | None) -> None:
    from compliance.book import drafts
    from compliance.intake.wording import say

    _there_is_a_book(shell, lang)
    if throw_away is not None:
        there = drafts.names(shell.folder)
        if throw_away not in there:
            step = say("these drafts", lang, names=", ".join(there)) if there else say("none unfinished", lang)
            raise refused(say("no draft", lang, name=throw_away), "--throw-away", step)
        drafts.delete(shell.folder, throw_away)
        click.echo(say("thrown away", lang, name=throw_away))
        return
    rows = [(name, *_begun(shell, name, lang)) for name in drafts.names(shell.folder)]
    columns = _COLUMNS_ES if lang == "es" and form is None else _COLUMNS
    listing(columns, rows, form, none=say("none unfinished", lang))


def _begun(shell: Shell, name: str, lang: str) -> tuple[str, str, str, int | str]:
    """By what people know a draft: date, rig, lead and how many stops so far; '' for what is not answered yet."""
    from compliance.book import drafts
    from compliance.intake.wording import say

    try:
        answers = dict(drafts.load(shell.folder, name).get("answers", ()))
    except (ComplianceError, TypeError, ValueError):  # `log --draft` says what is wrong with it
        return "", say("cannot be read", lang), "", ""
    stops = sum(key.startswith("step/") and value == "stop" for key, value in answers.items())
    return str(answers.get("date", "")), str(answers.get("rig", "")), str(answers.get("lead", "")), stops
