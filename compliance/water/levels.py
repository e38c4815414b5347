"""What stood in a tank when each run began and when it ended, in one pass over its intervals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from compliance.water.intervals import Span
from compliance.water.timeline import Look, run_of
from compliance.water.volume import Figure, Unknown, total_of

_OPEN = Unknown("the tank was not read at the end of the run", "not recorded yet")


LOOKED, SAID, LEFT = "levels", "declared", "worked out"
_WEAKEST_LAST: Final = (LOOKED, SAID, LEFT)


class Level(NamedTuple):
    """What stood in a tank. method: by a look, by somebody's word, or as the figures of the nights leave it."""

    figure: Figure
    method: str = LOOKED


def seen(look: Look) -> Level:
    """A level by a look, or by the word that all of it went to a place."""
    return Level(look.level, SAID if look.how.method == SAID else LOOKED)


def of_all(tanks: Sequence[Level]) -> Level:
    """What stood in several tanks, known no better than the one of which least is known. tanks: at least one."""
    return Level(total_of(tank.figure for tank in tanks), max((tank.method for tank in tanks), key=_WEAKEST_LAST.index))


def levels(records: Sequence[str], spans: Sequence[Span], before: Level | None) -> Mapping[str, tuple[Level, Level]]:
    """Run record -> the levels at its beginning and its end. records: runs in order. before: as last seen, if it was.

    A look that comes before anything else of a run is its beginning, so that what changed over the idle hours stands
    between the runs and in neither. Runs before the first that did anything with the tank are left out.
    """
    order = {record: i for i, record in enumerate(records)}
    found: dict[str, tuple[Level, Level]] = {}
    if not spans:
        return found
    level = Level(spans[0].before) if before is None else before
    at = 0
    first = _first(spans[0], order)
    for i, record in enumerate(records):
        at_start = level
        begun = False
        while at < len(spans) and order.get(spans[at].closed.record, len(order)) <= i:
            span = spans[at]
            level = Level(_told(span), LEFT) if span.after is None else seen(span.after)
            if not begun and not any(run_of(event) == record for event in span.events):
                at_start = level
            begun = True
            at += 1
        if at < len(spans) and spans[at].events and order[run_of(spans[at].events[0])] <= i:
            over = order[run_of(spans[at].events[-1])] > i
            level = Level(_OPEN if over or spans[at].after is not None else _told(spans[at]), LEFT)
        if i >= first:
            found[record] = (at_start, level)
    return found


def _first(span: Span, order: Mapping[str, int]) -> int:
    """The run that first did anything with the tank; a tank that was seen empty before has been used already."""
    if span.opened.record:
        return 0
    return order[run_of(span.events[0]) if span.events else span.closed.record]


def _told(span: Span) -> Figure:
    """The level after an interval that no look closed, as far as its own figures tell."""
    return _OPEN if span.level_after is None else span.level_after
