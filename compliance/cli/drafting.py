"""Nights that were begun and not handed in: which of them to go on with, and the list of them (drafts)."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import Any, Final

import click

from compliance.cli.shell import Shell, refused
from compliance.cli.show import listing, listing_options
from compliance.cli.terminal import Typing, prompt, there_is_a_book, told_in
from compliance.cli.wrapping import tell
from compliance.records.problem import REFUSED, ComplianceError


def loaded(shell: Shell, name: str, lang: str) -> dict[str, Any]:
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


def to_go_on(shell: Shell, name: str | None, lang: str, typing: Typing) -> tuple[str, dict[str, Any]]:
    """The draft of this name; without one, a draft chosen from those that were left unfinished, or a new one."""
    from compliance.intake import questions

    name = name or _chosen(shell, lang, typing)
    if name:
        return name, questions.resumed(loaded(shell, name, lang))
    draft = questions.new_draft(lang, shell.token().hex())
    return f"night-{shell.now().date().isoformat()}-{draft['id'][:6]}", draft


def _chosen(shell: Shell, lang: str, typing: Typing) -> str:
    """The name of the unfinished night to go on with; '' for a new one. Whoever is at no terminal is told of them."""
    from compliance.book import drafts
    from compliance.intake.question import FEW, KEY, Option, Question, chosen, numbered
    from compliance.intake.wording import say

    left = drafts.names(shell.folder)
    if not left:
        return ""
    if not sys.stdin.isatty():
        tell(say("unfinished", lang, names=", ".join(left)), err=True)
        return ""
    nights = numbered([(name, _told(shell, name, lang)) for name in left[::-1][:FEW]])  # the newest first
    new = Option("n", "new", say("new night", lang))
    asked = Question("draft", say("which unfinished", lang), KEY, (*nights, new), hint=say("hint key", lang))
    try:
        while (answer := chosen(asked, typed := prompt(asked, typing))) is None:
            tell(f"  {say('not understood', lang, text=repr(typed[:60]))}: {asked.hint}", err=True)
    except (click.Abort, KeyboardInterrupt) as stop:
        tell(f"\n{say('stopped at once', lang)}", err=True)
        raise click.exceptions.Exit(REFUSED) from stop
    return "" if answer == new.value else answer


def _told(shell: Shell, name: str, lang: str) -> str:
    """A draft in one line."""
    from compliance.intake.wording import say

    *known, stops = _begun(shell, name, lang)
    return ", ".join([*(one for one in known if one), say("stops so far", lang, n=stops or 0)])


@click.command("drafts")
@click.option("--throw-away", metavar="NAME", help="Throw this draft away.")
@click.option("--lang", type=click.Choice(("en", "es")), default="en", show_default=True, help="Language.")
@listing_options
@click.pass_obj
def drafts_command(shell: Shell, throw_away: str | None, lang: str, form: str | None) -> None:
    """List the nights that were begun and not handed in. They are files beside the book, never in it."""
    with told_in(lang, form == "json"):
        _drafts(shell, throw_away, lang, form)


_COLUMNS: Final = ("draft", "date", "rig", "lead", "stops")
_COLUMNS_ES: Final = ("borrador", "fecha", "camión", "quien dirige", "paradas")


def _drafts(shell: Shell, throw_away: str | None, lang: str, form: str | None) -> None:
    from compliance.book import drafts
    from compliance.intake.wording import say

    there_is_a_book(shell, lang)
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
    return str(answers.get("date", "")), _named(answers, "rig"), _named(answers, "lead"), stops


def _named(answers: Mapping[str, object], key: str) -> str:
    """The name that was answered, '' for none: one of the list, or typed after 'another', or asked back and settled."""
    from compliance.intake.asking import TYPED

    given = [str(answers[path]) for path in (f"{key}/name/near", f"{key}/name", f"{key}/near", key) if path in answers]
    return given[0] if given and given[0] != TYPED else ""
