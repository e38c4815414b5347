"""Which handovers a ticket may come for, and which of them await one."""

from __future__ import annotations

from collections.abc import Iterator

from compliance.records.answer import without_value
from compliance.records.names import folded
from compliance.records.ticketing import LATER, ticket_number
from compliance.rules.scene import Scene
from compliance.rules.subjects import Handover
from compliance.rules.tickets import TICKETED


def awaiting(scene: Scene) -> list[Handover]:
    """The handovers for which no ticket is in the book, oldest first, where one may come.

    Water led away, a load that was refused, a line that has number and amount of its ticket, and a place that writes no
    tickets have none to wait for. Nights from before the book opened are among them: their tickets may still come.
    """
    found = [one for one in handovers(scene) if may_have_ticket(one) and not one.tickets and not is_noted(one)]
    return sorted(found, key=lambda one: (one.day, one.ref))


def handovers(scene: Scene) -> Iterator[Handover]:
    """Every handover of every run that counts."""
    for view in scene.state.runs:
        run = scene.run(view)
        if view.cancelled is None and run is not None:
            yield from run.handovers


def is_noted(one: Handover) -> bool:
    """Whether number and accepted amount of its ticket were written down with a handover: it awaits no other."""
    return ticket_number(one.ticket) is not None and without_value(one.get("accepted")) is None


def may_have_ticket(one: Handover) -> bool:
    """Whether a place writes a ticket for a handover: not for water led away, refused, or where somebody said so."""
    said = one.ticket
    if one.led_away or one.refused is not None or said == "not applicable":
        return False
    return one.kind is None or one.kind in TICKETED or (isinstance(said, str) and folded(said) == LATER)
