"""Tickets: that there is one, that it agrees with us, that the load was taken."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from itertools import chain
from typing import Any, Final

from compliance.records.answer import without_value
from compliance.records.ticketing import LATER, ticket_number
from compliance.rules.places import NO_KIND
from compliance.rules.rule import (
    NO_SOURCE,
    NOTHING,
    READ_IN_PART,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Parameter,
    Params,
    Rule,
    Silent,
    Words,
)
from compliance.rules.say import amount, percent, plain
from compliance.rules.scene import Scene
from compliance.rules.subjects import Handover, days_between, figure
from compliance.water.volume import CONTEXT, ZERO, Unknown, Volume, total_of

TICKETED: Final = ("receiving station", "treatment plant", "hauler", "waste facility")
"""Kinds of place that write a ticket."""


def handover_without_ticket(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """ticket-1."""
    if handover.led_away or (handover.kind is not None and handover.kind not in TICKETED):
        return DoesNotApply("the place writes no tickets")
    if handover.refused is not None:
        return DoesNotApply("the load was not taken")
    if handover.kind is None:
        return CannotTell(NO_KIND)
    if handover.tickets:
        return NOTHING
    said = handover.ticket
    waiting = days_between(date.fromisoformat(handover.day), scene.today)
    if isinstance(said, str) and said.strip().lower() == LATER:
        if waiting <= params["days"]:
            return Silent("the ticket is to come, and its time is not over")
    elif said is not None:
        return NOTHING
    so_far = "'later'" if said is not None else "not recorded yet"
    return Fault(
        f"handed over to {handover.place!r}, a {handover.kind}; ticket: {so_far}, {waiting} days ago",
        f"a ticket, or 'later' for at most {plain(params['days'])} days",
    )


def ticket_amounts_disagree(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """ticket-2."""
    handovers = _together(scene, handover)
    if handovers[0].ref != handover.ref:
        return DoesNotApply(f"compared with the other handovers of its ticket at {handovers[0].ref}")
    said = {(one.record or of.ref): one for of in handovers for one in of.papers}
    accepted = _accepted(scene, [one.accepted for one in said.values()])
    if accepted is None:
        return DoesNotApply("no accepted amount is on file")
    if any(one.draw is not None and one.draw.known.how.method == "ticket" for one in handovers):
        return DoesNotApply("our own figure is the one on the ticket")
    ours = total_of(one.draw.known.figure if one.draw else _NOT_OURS for one in handovers)
    if isinstance(ours, Unknown):
        return CannotTell(f"our own volume is {ours.kind}: {ours.reason}")
    low, high = _bounds(ours, params["percent"])
    apart = (accepted.low is not None and high is not None and accepted.low > high) or (
        accepted.high is not None and low is not None and accepted.high < low
    )
    if (
        not apart
        and accepted.high is None
        and any(figure(one.accepted, scene.state.unit) is None for one in said.values())
    ):
        return DoesNotApply("not every ticket of it says an amount")
    if not apart:
        return NOTHING
    unit = scene.state.unit
    came = any(one.record for one in said.values())
    names = [str(one.number) for one in said.values() if came and ticket_number(one.number)]
    return Fault(
        f"accepted: {_bare(accepted, unit)}"
        + (f" on ticket {', '.join(names)}" if names else "")
        + _apart(accepted, ours, unit),
        f"our own volume: {amount(ours, unit)}" + ("" if ours.expanded() else f", within {plain(params['percent'])} %"),
        lines=tuple(dict.fromkeys(at for one in handovers for at in one.at)),
    )


_NOT_OURS: Final = Unknown("it was not drawn from a tank on file", "not recorded yet")


def _together(scene: Scene, handover: Handover) -> list[Handover]:
    """All handovers whose tickets can only be compared as a whole: one ticket for two handovers, two for one."""
    handovers, tickets = {handover.ref: handover}, {one.record: one for one in handover.tickets}
    looked_at: set[str] = set()
    while unseen := [one for one in tickets.values() if one.record not in looked_at]:
        for ticket in unseen:
            looked_at.add(ticket.record)
            for record, line in ticket.handovers:
                other = scene.handover(record, line)
                if other is not None and other.ref not in handovers:
                    handovers[other.ref] = other
                    tickets |= {one.record: one for one in other.tickets}
    return sorted(handovers.values(), key=lambda one: (one.day, one.ref))


def _accepted(scene: Scene, said: Sequence[Any]) -> Volume | None:
    """What the places say they took, None when none of them says; at least that where another one says nothing."""
    read = [figure(one, scene.state.unit) for one in said]
    volumes = [Volume(one.low, one.high) for one in read if one is not None]
    if not volumes:
        return None
    total = total_of(volumes)
    assert isinstance(total, Volume)
    return total if len(volumes) == len(read) else Volume(total.low, None)


def _bounds(ours: Volume, percent: Decimal) -> tuple[Decimal | None, Decimal | None]:
    """Our volume widened by its ±; where nobody stated one, by the house's percentage."""
    expanded = ours.expanded()

    def wider(end: Decimal) -> Decimal:
        if expanded:
            return expanded
        return CONTEXT.divide(CONTEXT.multiply(end.copy_abs(), percent), Decimal(100))

    low = None if ours.low is None else CONTEXT.subtract(ours.low, wider(ours.low))
    high = None if ours.high is None else CONTEXT.add(ours.high, wider(ours.high))
    return low, high


def _apart(accepted: Volume, ours: Volume, unit: str) -> str:
    """The difference, where both are one figure."""
    if accepted.best is None or ours.best is None:
        return ""
    difference = CONTEXT.subtract(accepted.best, ours.best)
    share = "" if ours.best == ZERO else f", {percent(CONTEXT.divide(difference, ours.best).copy_abs())}"
    return f"; {plain(difference.copy_abs())} {unit} {'more' if difference > ZERO else 'less'} than ours{share}"


def _bare(accepted: Volume, unit: str) -> str:
    if accepted.best is not None:
        return f"{plain(accepted.best)} {unit}"
    return amount(accepted, unit)


def load_refused(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """ticket-3."""
    why = handover.refused
    if why is None:
        return NOTHING
    after = _later_handover(scene, handover)
    if after:
        return Silent(f"the load went on to {after!r} afterwards")
    return Fault(
        f"{handover.place!r} did not take the load: {why}", "another handover of the same load, not on file yet"
    )


def _later_handover(scene: Scene, refused: Handover) -> str | None:
    """The place that took water of the same tank afterwards: a load that nobody took is still in there."""
    run = scene.run(refused.run)
    assert run is not None
    order = {line.n: at for at, line in enumerate(run.view.lines)}
    here = order.get(refused.n, len(order))
    same_night = (one for one in run.handovers if order.get(one.n, here) > here)
    later = (one for after in scene.after(run) for one in after.handovers)
    for other in chain(same_night, later):
        if not other.led_away and other.refused is None and _same_tank(scene, refused, other):
            return other.place
    return None


def _same_tank(scene: Scene, one: Handover, other: Handover) -> bool:
    """Whether two handovers of one rig may be of one load: two different loads say no, and two different tanks do."""
    if one.load is not None and other.load is not None and one.load.name != other.load.name:
        return False
    tanks = [handover.get("tank") for handover in (one, other)]
    return any(without_value(tank) is not None for tank in tanks) or scene.same("tank", *map(str, tanks))


def ticket_says_two_amounts(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """ticket-4."""
    said: dict[str, dict[str, None]] = {}
    names: dict[str, str] = {}
    own = (handover.ticket, handover.get("accepted"))
    for number, accepted in (
        own,
        *((one.fields.get("number"), one.fields.get("accepted")) for one in handover.tickets),
    ):
        key, read = ticket_number(number), figure(accepted, scene.state.unit)
        if key is not None and read is not None:
            names.setdefault(key, str(number))
            said.setdefault(key, {})[_bare(Volume(read.low, read.high), scene.state.unit)] = None
    if not said:
        return DoesNotApply("no ticket of it says an amount")
    unlike = {key: amounts for key, amounts in said.items() if len(amounts) > 1}
    if not unlike:
        return NOTHING
    counted = [one.accepted for one in handover.papers if ticket_number(one.number) in unlike]
    return Fault(
        "; ".join(f"ticket {names[key]} says {' and '.join(amounts)}" for key, amounts in unlike.items()),
        f"a ticket says one amount; counted here: {', '.join(map(str, counted))}",
    )


RULES: Final = (
    Rule(
        id="ticket-1",
        slug="handover-without-ticket",
        title=Words("Handover without a ticket", "Entrega sin recibo"),
        severity="missing",
        basis="practice",
        citations=(
            Citation("hauled-load ticket codes, regulation notes, section 9", READ_IN_PART),
            Citation("30 TAC 312.145, one state's ticket fields, as an example", READ_IN_PART),
        ),
        scope="handover",
        judge=handover_without_ticket,
        looks_for="Water taken by a receiving station, treatment plant, hauler or waste facility, with no ticket "
        "number and no ticket record; or with 'later' for more than the days below.",
        why="The ticket is the other side's word for what it took, and the only one that is not ours.",
        next_step="ask the place for the ticket and put it in; 'not applicable' is an answer where none is written",
        crew=Words("Take the ticket along.", "Llévese el recibo."),
        parameters=(
            Parameter("days", Decimal(21), "days", "how long 'later' may stand", "common practice, no source"),
        ),
        example='line = "hand over"\nplace = "North Plant"\n# ticket left out',
    ),
    Rule(
        id="ticket-2",
        slug="ticket-amounts-disagree",
        title=Words("The ticket and our own volume disagree", "El recibo y nuestra cantidad no concuerdan"),
        severity="look at",
        basis="practice",
        citations=(
            Citation("30 TAC 312.145(c), one state's rule that discrepancies are noted, as an example", READ_IN_PART),
        ),
        scope="handover",
        judge=ticket_amounts_disagree,
        looks_for="An accepted amount that lies outside our own volume and its ±; where nobody stated a ±, outside "
        "the percentage below. Handovers that share a ticket are compared together.",
        why="Both figures stay as they are; what matters is that somebody saw the difference and said why.",
        next_step="ask how they measured, look at our readings, and note on the ticket what is known of the difference",
        parameters=(
            Parameter(
                "percent",
                Decimal(10),
                "%",
                "how far the two may lie apart when our volume has no ±",
                "a house figure; common practice, no source",
            ),
        ),
        example='accepted = "430 gal"    # our own volume is 371 gal',
    ),
    Rule(
        id="ticket-3",
        slug="load-refused",
        title=Words("A load was refused", "Una carga fue rechazada"),
        severity="act now",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="handover",
        judge=load_refused,
        looks_for="A handover that the place refused, on the line or on its ticket, until another handover of the "
        "same load follows.",
        why="The water is still aboard, somebody thinks that something is wrong with it, and its time in the tank "
        "runs.",
        next_step="find out why it was refused, keep the load apart from other water, and hand it over where it may go",
        crew=Words(
            "The load was refused: keep it apart and call the office.",
            "La carga fue rechazada: no la mezcle y llame a la oficina.",
        ),
        caution="Do not dilute or treat the load to make it pass before the office knows why it was refused.",
        example='line = "hand over"\nrefused = "solids"',
    ),
    Rule(
        id="ticket-4",
        slug="ticket-says-two-amounts",
        title=Words("One ticket, two amounts", "Un recibo, dos cantidades"),
        severity="look at",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="handover",
        judge=ticket_says_two_amounts,
        looks_for="A ticket number that stands twice for one handover, on its line or as a ticket, with two accepted "
        "amounts that are not alike.",
        why="The same number is the same ticket, so one of the two counts and the other does nothing: which of them "
        "is right, the paper says.",
        next_step="read the paper; correct the amount that is wrong or cancel that ticket; where there are two papers, "
        "correct the number of one",
        example='number = "T-100"\naccepted = "371 gal"\nnumber = "t-100"\naccepted = "317 gal"',
    ),
)
