"""Tickets that name no handover: which one each of them is for, by its place and its number. And what they come to.

A ticket is a paper of its own and may be keyed before the card of its night. What it is for is found each time the
records are read, so it makes no difference which of the two came first. Nothing is guessed from its date or its amount.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any, Final

from compliance.records.answer import without_value
from compliance.records.fields import WHERE_WORDS
from compliance.records.names import folded
from compliance.records.quick import dataclass
from compliance.records.views import RunView, TicketView

LATER: Final = "later"
"""What a handover says whose ticket is to come."""
NO_HANDOVER: Final = "no handover has its number yet"
NO_PLACE: Final = "it does not say both its number and its place"
SEVERAL: Final = "several handovers have its number"
ANOTHER: Final = "another ticket has its number"

_Key = tuple[str, str]


def ticket_number(value: Any) -> str | None:
    """The number of a ticket for looking it up, None where the field holds none: no answer, or 'later'."""
    number = folded(value) if isinstance(value, str) and without_value(value) is None else ""
    return number if number not in ("", LATER) else None


@dataclass(frozen=True)
class Paper:
    """What one ticket of a handover says was accepted. record: the ticket's, '' where the handover itself says it.

    number, accepted: as stored, None when not recorded yet; handovers: how many it is for.
    """

    record: str
    number: Any
    accepted: Any
    handovers: int = 1


def papers(number: Any, accepted: Any, tickets: Sequence[TicketView]) -> tuple[Paper, ...]:
    """Every ticket of one handover, each number once: their amounts add up to what was accepted there.

    number, accepted: what the handover itself says. The ticket that came goes before what was written down of it, as
    long as it says an amount. A handover that names no number means the ticket that came; one that names another
    number waits for that ticket too.
    """
    found: dict[str, Paper] = {}
    for ticket in tickets:
        said = ticket.fields.get("number")
        key = ticket_number(said) or ticket.record
        if key not in found or not _says(found[key].accepted):
            found[key] = Paper(ticket.record, said, ticket.fields.get("accepted"), len(ticket.handovers))
    noted, own = Paper("", number, accepted), ticket_number(number)
    if not found:
        return (noted,)
    if own is not None and own not in found:
        return (noted, *found.values())
    if not _says(accepted):
        return tuple(found.values())
    if own is None:
        return tuple(found.values()) if any(_says(one.accepted) for one in found.values()) else (noted,)
    return tuple(noted if key == own and not _says(one.accepted) else one for key, one in found.items())


def _says(accepted: Any) -> bool:
    return without_value(accepted) is None


def numbered(run: RunView) -> Iterator[tuple[str, Any, str]]:
    """(line, place, ticket number) of each handover of a run that has one; line '' where only the run names the place.

    A line that says nothing of its ticket has the run's, as everywhere.
    """
    lines = [line for line in run.lines if line.kind == "hand over"]
    of_run, where = run.get("ticket"), run.get("where")
    spots = [(line.n, line.get("place"), of_run if (own := line.get("ticket")) is None else own) for line in lines]
    if not lines and where not in WHERE_WORDS:
        spots = [("", where, of_run)]
    for n, place, said in spots:
        number = ticket_number(said)
        if number is not None:
            yield n, place, number


def matched(
    tickets: Sequence[TicketView], runs: Iterable[RunView], place_key: Callable[[str], str]
) -> tuple[TicketView, ...]:
    """The tickets, those that name no handover with the one that has their number at their place, or why there is none.

    Where two handovers or two tickets have one number nobody but the office can say which belongs to which, and what
    the office matched goes before. place_key: equal for two spellings of one place.
    """
    if all(ticket.handovers for ticket in tickets):
        return tuple(tickets)

    def key(place: Any, number: str | None) -> _Key | None:
        return None if number is None or without_value(place) is not None else (place_key(str(place)), number)

    def of(ticket: TicketView) -> _Key | None:
        return key(ticket.fields.get("place"), ticket_number(ticket.fields.get("number")))

    times = Counter(of(ticket) for ticket in tickets)
    by_office = {(ticket_number(t.fields.get("number")), spot) for t in tickets for spot in t.handovers}
    wanted = {found[1] for ticket in tickets if not ticket.handovers and (found := of(ticket)) is not None}
    there: dict[_Key, list[tuple[str, str]]] = defaultdict(list)
    for run in runs:
        for n, place, number in numbered(run) if run.cancelled is None else ():
            at = key(place, number) if number in wanted else None
            if at is not None:
                there[at].append((run.record, n))

    def put(ticket: TicketView) -> TicketView:
        if ticket.handovers:
            return ticket
        own = of(ticket)
        if own is None:
            return replace(ticket, waits=NO_PLACE)
        spots = there[own]
        if times[own] > 1 or any((own[1], spot) in by_office for spot in spots):
            return replace(ticket, waits=ANOTHER)
        if len(spots) != 1:
            return replace(ticket, waits=SEVERAL if spots else NO_HANDOVER)
        return replace(ticket, handovers=tuple(spots), by_number=True)

    return tuple(put(ticket) for ticket in tickets)
