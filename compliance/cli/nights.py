"""log: a night into the book, by questions or from a file."""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.drafting import to_go_on
from compliance.cli.shell import Shell, reckoned, refused, whole
from compliance.cli.show import print_json
from compliance.cli.terminal import Typing, prompt, there_is_a_book, told_in
from compliance.cli.wrapping import tell
from compliance.cli.writing import answer
from compliance.records import kinds
from compliance.records.problem import REFUSED, ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.checked import Checked
    from compliance.intake.question import Setting
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
@click.option("--draft", "name", metavar="NAME", help="Go on with this draft, one of `washwater drafts`.")
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
        with told_in(lang, as_json):
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
    notes = (*checked.notes, *(_of_that_day(state, checked, lang) if done.new else ()))
    answer(checked.cautions, notes, done.lines, done.record.id if done.record else "", done.ref, as_json, lang)


def _of_that_day(state: State, checked: Checked, lang: str) -> tuple[str, ...]:
    """A word of other nights of the rig on that day, as the book stood before: handed in twice, or in two halves."""
    from compliance.intake.rekeyed import nights_beside
    from compliance.intake.wording import say

    if checked.kind != kinds.RUN or checked.payload is None:
        return ()
    others = nights_beside(state, checked.payload["fields"])
    return (say("same night", lang, refs=", ".join(others)),) if others else ()


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
    there_is_a_book(shell, lang)
    with shell.open() as book:
        state = whole(book)
        typing = Typing()
        name, draft = to_go_on(shell, name, lang, typing)
        draft = draft if serial is None else questions.on_card(draft, serial)
        lang = str(draft["language"])
        card_before = None if serial is None else state.run(serial_id(serial))
        if card_before is not None:
            phrase = "card known" if card_before.cancelled is None else "card free"
            tell(say(phrase, lang, ref=card_before.ref, why=card_before.cancelled), err=True)
        with told_in(lang, as_json):
            setting = Setting(state, lang, shell.now(), last_readings(state))
            draft = _ask_all(shell, draft, name, setting, typing)
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


def _ask_all(shell: Shell, draft: dict[str, Any], name: str, setting: Setting, typing: Typing) -> dict[str, Any]:
    """Ask until nothing is left; the draft is on the disk after every answer. Who stops is told what is kept."""
    from compliance.book import drafts

    drafts.save(shell.folder, name, draft)
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


def _asked(draft: dict[str, Any], setting: Setting, typing: Typing) -> dict[str, Any] | None:
    """The draft after one question: with one answer more or less, or the same; None when nothing is left to ask."""
    from compliance.intake import questions

    question = questions.next_question(draft, setting)
    if question is None:
        return None
    if question.key == "do":
        for label, value in questions.summary(draft, setting):
            tell(f"  {label}: {value}")
    typed = prompt(question, typing)
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
