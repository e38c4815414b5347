"""What `washwater import` does with a keying workbook: its cards, looked at first and written when asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, field
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING

import click

from compliance.cli.shell import Shell, refused, whole
from compliance.cli.show import print_json
from compliance.records.problem import ComplianceError, Problem
from compliance.records.quick import dataclass

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.checked import Checked
    from compliance.intake.rekeyed import Came
    from compliance.records.envelope import Entry, Record
    from compliance.records.state import State
    from compliance.reports.model import Language
    from compliance.reports.sidebyside import Side


@dataclass(frozen=True)
class KeyedCard:
    """One card of the workbook. became: a word of `intake.rekeyed`; ref: of the run that the book has for it.

    differences: field by field, where the book says something else. notes: what to look at again.
    """

    card: str
    night: str
    became: str
    ref: str = ""
    differences: tuple[Side, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass
class _Found:
    """What the workbook holds: its cards, the entries that are new, what to mind, and all that is wrong.

    language: of its sheets.
    """

    language: Language
    cards: list[KeyedCard] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def import_cards(
    shell: Shell, file: Path, *, write: bool, as_json: bool, who: str = "", unneeded: Sequence[str] = ()
) -> None:
    """Say what the cards of a keying workbook would become; with `write`, hand in the new ones, all or none.

    A card that the book has with the same values changes nothing; one with other values is shown with both sides.
    who: who imports, unless the workbook says who keyed a card. unneeded: options that were given and have no sense
    here. Raises ComplianceError when any card cannot be taken; then none is.
    """
    from compliance.intake.keying import language_of, read_keying
    from compliance.intake.run import check_run

    if unneeded:
        options = ", ".join(unneeded)
        step = "leave it out: the workbook says itself what it holds"
        raise refused(f"a keying workbook needs no {options}", file.name, step)
    with shell.open() as book:
        state = whole(book)
        read = read_keying(file, state.registers)
        problems = [one for one in read if isinstance(one, Problem)]
        if problems:
            raise ComplianceError(*problems)
        found = _Found(language_of(file))
        for one in read:
            assert not isinstance(one, Problem)
            named = {"who": who} if who and "keyed_by" not in one.raw else {}
            checked = check_run({**one.raw, **named}, state=state, where=one.where, now=shell.now())
            found.problems += checked.problems
            if not checked.problems:
                _look(book, state, checked, one.where, shell, found)
        written: tuple[Record, ...] = ()
        if write and not found.problems and found.entries:
            written = book.append(found.entries, receipt_time=shell.stamp()).new
    _say(found, written, write, as_json)
    if found.problems:
        raise ComplianceError(*found.problems)


def _look(book: Book, state: State, checked: Checked, where: str, shell: Shell, found: _Found) -> None:
    """Tell a new card from one that the book has."""
    from compliance.intake.entries import entry
    from compliance.intake.rekeyed import KNOWN, NEW, look_up, nights_beside
    from compliance.intake.wording import say

    assert checked.payload is not None
    fields = checked.payload["fields"]
    card, night = str(fields["card"]), f"{fields['date']} {fields['rig']}"
    came = look_up(book, checked, lambda: state)
    notes: tuple[str, ...] = (came.cancelled,) if came.cancelled else ()
    if came.became == NEW:
        notes += tuple(_each_once(checked.notes))
        if others := nights_beside(state, fields):
            notes += (say("same night", "en", refs=", ".join(others)),)
        if mates := [other.card for other in found.cards if other.night == night]:
            notes += (f"this workbook has a card of this rig and day already: {', '.join(mates)}",)
        found.cards.append(KeyedCard(card, night, NEW, notes=notes))
        found.cautions += checked.cautions
        found.entries.append(entry(came.checked, now=shell.stamp(), token=shell.token))
    elif came.became == KNOWN:
        found.cards.append(KeyedCard(card, night, KNOWN, came.ref, notes=notes))
    else:
        sides = sides_of(came, found.language)
        found.cards.append(KeyedCard(card, night, came.became, came.ref, sides))
        step = "look at the card: if the book is wrong, `washwater correct` it; take the card out of the workbook then"
        found.problems.append(Problem(say("card differs", "en", id=card, ref=came.ref), where, step))


def _each_once(notes: Sequence[str]) -> list[str]:
    """The notes of a night, a name that is on no register told once: where the water is, the card asks in one place."""
    return list({note.rpartition("): ")[2]: note for note in reversed(notes)}.values())[::-1]


def sides_of(came: Came, language: Language) -> tuple[Side, ...]:
    """What the book and a night that has the id of one in it say differently."""
    from compliance.reports.sidebyside import side_by_side
    from compliance.reports.words import Words

    assert came.stands is not None
    assert came.checked.payload is not None
    return side_by_side(came.stands, came.checked.payload, Words(language))


def sides_table(sides: Sequence[Side], language: Language) -> str:
    """The same as a table under headings, set in under its card; long texts are broken, never cut."""
    from shutil import get_terminal_size
    from textwrap import wrap

    from compliance.reports.sidebyside import HEADINGS

    rows: list[Sequence[str]] = [HEADINGS[language], *((side.field, side.book, side.here) for side in sides)]
    room = (get_terminal_size((120, 24)).columns - _INDENT - 4) // 3
    widths = [min(max(room, _NARROWEST), max(len(row[i]) for row in rows)) for i in range(3)]
    rows.insert(1, ["-" * width for width in widths])
    lines = []
    for row in rows:
        broken = [wrap(text, width) or [""] for text, width in zip(row, widths, strict=True)]
        for parts in zip_longest(*broken, fillvalue=""):
            cells = (part.ljust(width) for part, width in zip(parts, widths, strict=True))
            lines.append(f"{' ' * _INDENT}{'  '.join(cells)}".rstrip())
    return "\n".join(lines)


_INDENT = 4
_NARROWEST = 16


def _say(found: _Found, written: tuple[Record, ...], write: bool, as_json: bool) -> None:
    from compliance.intake.rekeyed import DIFFERS, KNOWN, NEW

    counts = {word: sum(card.became == word for card in found.cards) for word in (NEW, KNOWN, DIFFERS)}
    if as_json:
        cards = [asdict(card) for card in found.cards]
        print_json({"cards": cards, "counts": counts, "written": [record.id for record in written]})
        return
    for card in found.cards:
        click.echo(f"{card.card}  {card.night}  {card.became}{f' as {card.ref}' if card.ref else ''}")
        if card.differences:
            click.echo(sides_table(card.differences, found.language))
        for note in card.notes:
            click.echo(f"    look again: {note}")
    for caution in dict.fromkeys(found.cautions):
        click.echo(f"caution: {caution}", err=True)
    click.echo(f"cards: {', '.join(f'{n} {word}' for word, n in counts.items())}")
    if written:
        click.echo(f"Handed in: {len(written)}.")
    elif not write and found.entries and not found.problems:
        click.echo("Nothing was written; the same with --commit hands them in.")
    else:
        click.echo("Nothing was written.")
