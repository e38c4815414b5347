"""What places say they accepted, beside our own volume, which never changes by it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, Final

from compliance.records.ticketing import Paper, ticket_number
from compliance.rules.say import amount, percent, plain
from compliance.rules.scene import Scene
from compliance.rules.subjects import Handover, figure
from compliance.water.volume import CONTEXT, ZERO, Figure, Unknown, Volume, total_of

NEAR: Final = Decimal(10)
"""Percent within which an accepted amount hints at a handover whose own volume has no ±; a house figure, no source."""


def our_volume(these: Iterable[Handover]) -> Figure:
    """What our own readings say left with these handovers, together."""
    missing = Unknown("it was not drawn from a tank on file", "not recorded yet")
    return total_of(one.draw.known.figure if one.draw else missing for one in these)


def accepted_together(said: Iterable[Any], unit: str) -> Figure:
    """What tickets say was accepted, all together, from what each says; unknown where one does not say."""
    read = [figure(one, unit) for one in said]
    known = [Volume(one.low, one.high) for one in read if one is not None]
    return total_of(known) if len(known) == len(read) else Unknown("not said", "not recorded yet")


def fits_ours(accepted: Figure, ours: Figure) -> bool:
    """Whether an accepted amount lies within our own volume and its ±, or within `NEAR` where that has none."""
    if isinstance(accepted, Unknown) or isinstance(ours, Unknown) or accepted.best is None or ours.best is None:
        return False
    apart = CONTEXT.subtract(accepted.best, ours.best).copy_abs()
    near = CONTEXT.divide(CONTEXT.multiply(ours.best.copy_abs(), NEAR), Decimal(100))
    return apart <= max(ours.expanded() or ZERO, near)


def beside(ticket: str, scene: Scene) -> tuple[str, str]:
    """Our own volume of the handovers of a ticket in the book, and how far all their tickets lie from it; '' twice."""
    for one in scene.state.tickets:
        if one.record == ticket:
            these = [found for pair in one.handovers if (found := scene.handover(*pair)) is not None]
            told = {paper.record or of.ref: paper.accepted for of in these for paper in of.papers if is_ticket(paper)}
            ours, unit = our_volume(these), scene.state.unit
            return amount(ours, unit), difference(list(told.values()), ours, unit)
    return "", ""


def is_ticket(paper: Paper) -> bool:
    """Whether it is a ticket, in the book or by the number that was written down with the handover."""
    return bool(paper.record) or ticket_number(paper.number) is not None


def difference(accepted: Sequence[Any], ours: Figure, unit: str) -> str:
    """How far the accepted amounts together lie from our own volume: '42 gal less, 12.0 %'; '' where one is unknown."""
    read = [figure(one, unit) for one in accepted]
    theirs = total_of(Volume(one.low, one.high) for one in read if one is not None)
    if None in read or not read or isinstance(theirs, Unknown) or isinstance(ours, Unknown):
        return ""
    if theirs.best is None or ours.best is None:
        return ""
    apart = CONTEXT.subtract(theirs.best, ours.best)
    if apart == ZERO:
        return "the same"
    share = "" if ours.best == ZERO else f", {percent(CONTEXT.divide(apart, ours.best).copy_abs())}"
    return f"{plain(apart.copy_abs())} {unit} {'more' if apart > ZERO else 'less'}{share}"
