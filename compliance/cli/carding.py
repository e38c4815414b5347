"""card, template: the paper on which a crew ticks its night, and the workbook into which the office keys it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.shell import Shell, refused
from compliance.cli.show import form_options
from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.records.state import State
    from compliance.reports.card_blank import Card

MOST_CARDS = 200
"""Cards of one printing: a rig's year of nights."""


@click.command("card")
@click.option("--rig", default="", metavar="NAME", help="Print the rig, and its tank and meters from the register.")
@click.option("--date", "day", default="", metavar="DATE", help="Print the date on which the night starts.")
@click.option("--lead", default="", metavar="NAME", help="Print who leads the crew.")
@click.option(
    "--stop", "stops", multiple=True, metavar="SITE", help="Print a stop; once for each, in order, up to eight."
)
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="The PDF file to write.")
@click.option(
    "--paper",
    type=click.Choice(("letter", "A4")),
    default="letter",
    show_default=True,
    help="The sheet for two cards, of half a letter each or of A5 each.",
)
@click.option(
    "--count",
    type=click.IntRange(1, MOST_CARDS),
    help="How many cards; each has its own serial. [one with stops, else two]",
)
@click.pass_obj
def card_command(
    shell: Shell, rig: str, day: str, lead: str, stops: tuple[str, ...], out: Path | None, paper: Any, count: int | None
) -> None:
    """Print the crew's card: one rig and night, eight stops, all ticks, Spanish and English side by side.

    Print it on both sides: the cautions are on the back. The serial on it is the id of the night that is keyed from
    it, so that a card keyed twice is never two nights. In a book, names are spelled as its registers spell them.
    """
    from compliance.intake.serial import new_serial
    from compliance.reports.card import cut_texts, render
    from compliance.reports.card_blank import printed

    state = _state(shell)
    blank = _card(state, rig, day, lead, stops)
    number = count or (1 if stops else 2)
    cards = [_with_serial(blank, new_serial(shell.token())) for _ in range(number)]
    path = out or Path(f"{_name(rig, day)}.pdf")
    _write(path, render(cards, paper))
    for text in printed(blank)[1]:
        told = f"look again: the card prints characters of {text!r} that its typeface lacks by their Unicode numbers"
        click.echo(told, err=True)
    for text in cut_texts(cards[0], paper):
        click.echo(f"look again: too long for the card, cut there: {text}", err=True)
    click.echo(f"{path}: {number} card{'s' if number > 1 else ''}, {', '.join(card.serial for card in cards)}")


def _state(shell: Shell) -> State | None:
    """The registers of the book, if there is one; one that was named has to be there."""
    from compliance.book.schema import path_of
    from compliance.cli.nearby import registers_of

    if shell.named is None and not path_of(shell.folder).is_file():
        return None
    with shell.open() as book:
        return registers_of(book)


def _card(state: State | None, rig: str, day: str, lead: str, stops: Sequence[str]) -> Card:
    """What is printed on each card, but for its serial."""
    from compliance.intake.card_lines import STOPS
    from compliance.intake.moments import check_date
    from compliance.reports import timeline
    from compliance.reports.card_blank import Card
    from compliance.reports.words import Words

    if len(stops) > STOPS:
        step = f"leave the last {len(stops) - STOPS} off, and write them on a second card"
        raise refused(f"a card has {STOPS} stops, and {len(stops)} are named", "--stop", step)
    if day:
        checked = check_date(day, "--date")
        if isinstance(checked, Problem):
            raise ComplianceError(checked)
        day = f"{timeline.day(checked, Words('es'))} · {timeline.day(checked, Words('en'))}"
    if state is None:
        return Card("", rig=rig, date=day, lead=lead, stops=tuple(stops))
    registers = state.registers
    rig = _spelled(state, "rig", rig, needed=True)
    tanks = [str(tank["name"]) for tank in registers.tanks(rig, "recovery")] if rig else []
    return Card(
        "",
        business=str(state.business["name"]),
        rig=rig,
        date=day,
        lead=_spelled(state, "person", lead),
        stops=tuple(_spelled(state, "site", site) for site in stops),
        tank=tanks[0] if len(tanks) == 1 else "",
        supply_meter=_meter(state, rig, "supply"),
        handover_meter=_meter(state, rig, "handover"),
        unit=state.unit,
    )


def _spelled(state: State, what: str, name: str, *, needed: bool = False) -> str:
    """A name as the register spells it; one that it lacks is printed as typed, unless it is needed there."""
    from compliance.intake.near import did_you_mean

    if not name or state.registers.find(what, name) is not None:
        return state.registers.name(what, name)
    known = [str(entry["name"]) for entry in state.registers.all(what)]
    step = did_you_mean(name, known, f"`washwater registers {what}` shows what is there")
    if needed:
        raise refused(f"no {what} is called {name!r}", f"--{what}", step)
    click.echo(f"look again: {name!r} is not on the register of {what}s; {step}", err=True)
    return name


def _meter(state: State, rig: str, measures: str) -> str:
    """The rig's meter for supply or handover, where it has one and no more."""
    from compliance.intake.keyed_night import meters

    found = meters(state.registers, rig, measures) if rig else []
    return found[0] if len(found) == 1 else ""


def _with_serial(card: Card, serial: str) -> Card:
    from dataclasses import replace

    return replace(card, serial=serial)


def _name(rig: str, day: str) -> str:
    from compliance.records.names import slug

    return "-".join(["card", *([day] if day else []), *([slug(rig)] if rig else [])])


def _write(path: Path, data: bytes) -> None:
    from compliance.book import files

    files.make_folder(path.parent)
    files.write_whole(path, data)


@click.command("template")
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False), required=False)
@form_options
@click.pass_obj
def template_command(shell: Shell, out: Path | None, lang: Any, paper: Any) -> None:
    """Write the workbook into which cards are keyed: one row a night, one row a stop, drop-downs and help.

    OUT is the file to write (keying.xlsx). `washwater import` takes it when it is filled in. In a book, the drop-downs
    offer the names of its registers.
    """
    from compliance.reports.card_workbook import render

    path = out or Path("keying.xlsx")
    if path.exists():
        raise refused("there is a file of this name, and what is keyed in it would be lost", str(path), "name another")
    state = _state(shell)
    registers, unit = (None, "gal") if state is None else (state.registers, state.unit)
    _write(path, render(lang, paper, registers, unit))
    click.echo(f"{path}: key each card on its two sheets, then `washwater import {path}`")
