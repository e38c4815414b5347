"""What `washwater import` does with a keying workbook: its cards, looked at first and written when asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.shell import Shell, refused, whole
from compliance.cli.show import print_json
from compliance.records.problem import ComplianceError, Problem
from compliance.records.quick import dataclass

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.checked import Checked
    from compliance.records.envelope import Entry, Record
    from compliance.records.state import State

NEW, KNOWN, DIFFERS = "new", "in the book already", "differs from the book"


@dataclass(frozen=True)
class KeyedCard:
    """One card of the workbook. became: one of the words above; ref: of the run that the book has for it.

    differences: both sides, where the book says something else. notes: what to look at again.
    """

    card: str
    night: str
    became: str
    ref: str = ""
    differences: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass
class _Found:
    """What the workbook holds: its cards, the entries that are new, what to mind, and all that is wrong."""

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
    from compliance.intake.keying import read_keying
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
        found = _Found()
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
    from compliance.book.incoming import differences
    from compliance.intake.entries import entry
    from compliance.intake.handin import as_typed

    assert checked.payload is not None
    fields = checked.payload["fields"]
    made = entry(checked, now=shell.stamp(), token=shell.token)
    held = book.by_ids([made.id]).get(made.id)
    card, night = str(fields["card"]), f"{fields['date']} {fields['rig']}"
    if held is None:
        found.cards.append(KeyedCard(card, night, NEW, notes=(*checked.notes, *_beside(state, fields))))
        found.cautions += checked.cautions
        found.entries.append(made)
        return
    run = state.run(held.id)
    ref = held.id if run is None else run.ref
    if held.kind == made.kind and as_typed(held.payload) == as_typed(made.payload):
        found.cards.append(KeyedCard(card, night, KNOWN, ref))
        return
    sides = tuple(
        line.removeprefix("payload.")
        for line in differences(held, made)
        if not line.startswith(("device_time", "payload.typed", "payload.who", "payload.fields.keyed_by"))
    )
    found.cards.append(KeyedCard(card, night, DIFFERS, ref, sides))
    found.problems.append(
        Problem(
            f"card {card} is in the book as {ref} and says something else there",
            where,
            "look at the card: if the book is wrong, `washwater correct` it; then take the card out of the workbook",
        )
    )


def _beside(state: State, fields: dict[str, Any]) -> tuple[str, ...]:
    """Other nights of the rig on that day: perhaps the same one, handed in by another door."""

    def key(rig: Any) -> str:
        return state.registers.key("rig", str(rig))

    mine = [run for run in state.runs if run.day == fields["date"] and run.cancelled is None]
    same = [run.ref for run in mine if key(run.get("rig")) == key(fields["rig"])]
    return (f"the book has a run of this rig and day already: {', '.join(same)}",) if same else ()


def _say(found: _Found, written: tuple[Record, ...], write: bool, as_json: bool) -> None:
    counts = {word: sum(card.became == word for card in found.cards) for word in (NEW, KNOWN, DIFFERS)}
    if as_json:
        cards = [asdict(card) for card in found.cards]
        print_json({"cards": cards, "counts": counts, "written": [record.id for record in written]})
        return
    for card in found.cards:
        click.echo(f"{card.card}  {card.night}  {card.became}{f' as {card.ref}' if card.ref else ''}")
        for side in card.differences:
            click.echo(f"    {side}")
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
